package load

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime/debug"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

var examples = []string{"terrace-long-refractor", "terrace-riser", "karoo-newtonian", "balcony-strain-wave"}

// The tests' live heap is small and much goes through it: collecting it took up to two fifths of their time.
func init() { debug.SetGCPercent(400) }

func loaded(t testing.TB, name string) *rig.Rig {
	t.Helper()
	r, err := rig.Load("../examples/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func newLoad(t testing.TB, r *rig.Rig) *Load {
	t.Helper()
	l, err := New(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// freePoses proves a coarse map, which is enough for tests.
func freePoses(t testing.TB, r *rig.Rig) *Poses {
	t.Helper()
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := room.NewGauge(m, room.Options{})
	if err != nil {
		t.Fatal(err)
	}
	mp, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 1.5})
	if err != nil {
		t.Fatal(err)
	}
	return FreePoses(mp)
}

// random draws used poses.
func random(p *Poses, r *rand.Rand, n int, f func(axes.Angles)) {
	for n > 0 {
		if g := (axes.Angles{RA: (2*r.Float64() - 1) * math.Pi, Dec: (2*r.Float64() - 1) * math.Pi}); p.Used(g) {
			f(g)
			n--
		}
	}
}

// The centre of mass against a plain sum over the placed parts, and how far it strays against its bound.
func TestCentre(t *testing.T) {
	const seed = 1
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	for _, name := range examples {
		l := newLoad(t, loaded(t, name))
		plain := func(g axes.Angles) (kg float64, at r3.Vec) {
			for i := range l.Model.Parts {
				p := l.Model.Parts[i].Rig
				if strings.HasPrefix(p.From, "support.obstacles") {
					continue
				}
				kg += p.MassKg
				at = r3.Add(at, r3.Scale(p.MassKg, l.Model.PartPose(i, g).T))
			}
			s := &l.Model.Rig.Support
			kg += s.MassKg.Value
			h := s.HeightMM.Value / 2
			if v := s.Level; v != nil {
				λ, A := axes.Rad(v.LeanDeg.Value), axes.Rad(v.AzimuthDeg.Value)
				at = r3.Add(at, r3.Scale(s.MassKg.Value*h, r3.Vec{X: math.Sin(λ) * math.Sin(A), Y: math.Sin(λ) * math.Cos(A), Z: math.Cos(λ)}))
			} else {
				at = r3.Add(at, r3.Vec{Z: s.MassKg.Value * h})
			}
			return kg, r3.Scale(1/kg, at)
		}
		for range 200 {
			g := axes.Angles{RA: rnd.Float64()*8 - 4, Dec: rnd.Float64()*8 - 4}
			kg, want := plain(g)
			if d := r3.Norm(r3.Sub(l.Centre(g), want)); d > 1e-6 || math.Abs(kg-l.MassKg()) > 1e-9 {
				t.Fatalf("%s at %v: %v, plain %v; %g kg, plain %g", name, g, l.Centre(g), want, l.MassKg(), kg)
			}
			hRA, hDec := rnd.Float64()*0.3, rnd.Float64()*0.3
			to := axes.Angles{RA: g.RA + hRA, Dec: g.Dec - hDec}
			if d := r3.Norm(r3.Sub(l.Centre(to), want)); d > l.centreMoves(hRA, hDec)+1e-9 {
				t.Fatalf("%s: the centre of mass goes %g mm, bound %g", name, d, l.centreMoves(hRA, hDec))
			}
		}
	}
}

// The most that gravity turns an axis with, against the torque r × m·g at random poses: never more, and nearly reached.
func TestBalanceAgainstTorque(t *testing.T) {
	const seed = 2
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	for _, name := range examples {
		l := newLoad(t, loaded(t, name))
		b := l.Balance()
		var ra, dec float64
		for range 20000 {
			g := axes.Angles{RA: rnd.Float64() * 2 * math.Pi, Dec: rnd.Float64() * 2 * math.Pi}
			_, arm, tube := l.Model.Frames(g)
			about := func(axis r3.Vec, h lump, at r3.Vec) float64 {
				arm := r3.Sub(at, l.Model.Head.Crossing)
				return r3.Dot(axis, r3.Cross(arm, r3.Vec{Z: -h.kg * Gravity})) / 1000
			}
			atTube, atArm := tube.Apply(l.tube.centre()), arm.Apply(l.arm.centre())
			ra = math.Max(ra, math.Abs(about(l.Model.Head.P, l.tube, atTube)+about(l.Model.Head.P, l.arm, atArm)))
			dec = math.Max(dec, math.Abs(about(arm.Rotate(r3.Vec{X: 1}), l.tube, atTube)))
		}
		for what, v := range map[string][2]float64{"RA": {ra, b.RA.MomentNm}, "declination": {dec, b.Dec.MomentNm}} {
			if v[0] > v[1]*(1+1e-9)+1e-9 || v[0] < 0.98*v[1]-1e-3 {
				t.Errorf("%s, %s axis: %g N·m at random poses, bound %g", name, what, v[0], v[1])
			}
		}
	}
}

// Done what balance says, the axes are in balance: the tube slid, the weights moved, in the document itself.
func TestBalanceHolds(t *testing.T) {
	for _, name := range examples {
		r := loaded(t, name)
		b := newLoad(t, r).Balance()
		r.Tube.SlideMM.Value += b.Dec.SlideMM
		if b.RA.Fits {
			for i, w := range b.RA.Weights {
				r.Mount.Counterweights.Weights[i].AtMM.Value = w.AtMM
			}
		}
		after := newLoad(t, r).Balance()
		if math.Abs(after.Dec.SlideMM) > 1e-6 || math.Abs(after.Dec.MomentNm-b.Dec.LeftNm) > 1e-6 {
			t.Errorf("%s: slid by %g, still %+v", name, b.Dec.SlideMM, after.Dec)
		}
		if b.RA.Fits && (math.Abs(after.RA.ShiftMM) > 1e-6 || math.Abs(after.RA.MomentNm-b.RA.LeftNm) > 1e-6) {
			t.Errorf("%s: weights moved by %g, still %+v, was %+v", name, b.RA.ShiftMM, after.RA, b.RA)
		}
	}
}

// Weights that do not fit the bar: what is still missing, hung on its end, balances it.
func TestBarTooShort(t *testing.T) {
	r := loaded(t, "terrace-long-refractor")
	for i := range r.Mount.Counterweights.Weights {
		r.Mount.Counterweights.Weights[i].MassKg.Value = 4
	}
	b := newLoad(t, r).Balance().RA
	if b.Fits || b.LackKg <= 0 || b.Weights[1].AtMM != b.Weights[1].GreatestMM || b.Weights[1].AtMM-b.Weights[0].AtMM != 65 {
		t.Fatalf("%+v", b)
	}
	for i, w := range b.Weights {
		r.Mount.Counterweights.Weights[i].AtMM.Value = w.AtMM
	}
	end := r.Mount.Counterweights.Weights[1]
	end.MassKg.Value = b.LackKg
	r.Mount.Counterweights.Weights = append(r.Mount.Counterweights.Weights, end)
	if after := newLoad(t, r).Balance().RA; math.Abs(after.TowardsSaddleMM) > 1e-9 {
		t.Errorf("%g kg more, still %+v", b.LackKg, after)
	}
	// Too heavy: the weights go in as far as they can, and the lack is negative.
	for i := range r.Mount.Counterweights.Weights {
		r.Mount.Counterweights.Weights[i].MassKg.Value = 40
	}
	if b := newLoad(t, r).Balance().RA; b.Fits || b.LackKg >= 0 || b.Weights[0].AtMM != b.Weights[0].LeastMM {
		t.Errorf("%+v", b)
	}
}

// A mass that is not given is named, and counts nothing.
func TestMissing(t *testing.T) {
	r := loaded(t, "terrace-riser")
	r.Tube.Train.Items[0].MassKg = rig.Mass{}
	r.Support.MassKg = rig.Mass{}
	r.Support.Extension.MassKg = rig.Mass{}
	l := newLoad(t, r)
	for _, want := range []string{"focuser", "tripod", "pier extension"} {
		if !strings.Contains(strings.Join(l.Missing, ","), want) {
			t.Errorf("%s has no mass and is not named: %v", want, l.Missing)
		}
	}
	if got := l.Balance().Missing; len(got) != 1 || got[0] != "focuser" {
		t.Errorf("balance misses %v", got)
	}
	for i := range l.Model.Parts {
		l.Model.Parts[i].Rig.MassKg = 0
	}
	bare := &Load{Model: l.Model}
	bare.weigh()
	bare.stand()
	if _, err := bare.Tipping(context.Background(), AbovePoses(l.Model)); err != ErrNoMass {
		t.Errorf("nothing has a mass: %v", err)
	}
}

// What stands still over the feet and has no mass only holds the rig down: whatever it weighs, no figure falls below what was proven
// without it. One that stands beyond them is named, and may tip it.
func TestUnweighedStill(t *testing.T) {
	const seed = 6
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	tipping := func(shelf string, edit func(r *rig.Rig)) Tipping {
		t.Helper()
		text, err := os.ReadFile("../examples/terrace-riser.yaml")
		if err != nil {
			t.Fatal(err)
		}
		body, _, _ := strings.Cut(string(text), "\ncables:")
		r, err := rig.Parse(fmt.Appendf(nil, "%s\nparts:\n  - {name: shelf, frame: polar, shape: box, size_mm: [80, 80, 80], %s}\n", body, shelf),
			"../examples/terrace-riser.yaml")
		if err != nil {
			t.Fatal(err)
		}
		if edit != nil {
			edit(r)
		}
		l := newLoad(t, r)
		tip, err := l.Tipping(t.Context(), AbovePoses(l.Model))
		if err != nil {
			t.Fatal(err)
		}
		return tip
	}
	bare := func(r *rig.Rig) { r.Support.MassKg, r.Support.Extension.MassKg = rig.Mass{}, rig.Mass{} }
	const over, beyond = "at_mm: [80, 0, -150]", "at_mm: [0, 0, 1100]" // the pole's way is north and up
	least := tipping(over, bare)
	if len(least.Missing) != 3 || least.Beyond != nil {
		t.Fatalf("missing %v, beyond %v", least.Missing, least.Beyond)
	}
	for range 6 {
		var kg [3]float64
		for i := range kg {
			kg[i] = math.Pow(10, 3*rnd.Float64()-1)
		}
		got := tipping(fmt.Sprintf("%s, mass_kg: %g", over, kg[0]), func(r *rig.Rig) {
			r.Support.MassKg.Value, r.Support.Extension.MassKg.Value = kg[1], kg[2]
		})
		for what, e := range map[string][2]Edge{"distance": {least.Distance, got.Distance}, "moment": {least.Moment, got.Moment},
			"push": {least.Push, got.Push}, "wind": {least.Wind, got.Wind}} {
			if e[1].Value < e[0].Bound {
				t.Errorf("%s with %.3g kg is %g, below what was proven without: %g", what, kg, e[1].Value, e[0].Bound)
			}
		}
	}
	if got := tipping(beyond, nil).Beyond; !slices.Equal(got, []string{"shelf"}) {
		t.Errorf("beyond the feet: %v", got)
	}
	if got := tipping(beyond+", mass_kg: 300", nil); got.Beyond != nil || got.Push.Value > 0 {
		t.Errorf("300 kg beyond the feet: %v, tipped by %g N", got.Beyond, got.Push.Value)
	}
}

// What is found stands at a used pose, what is proven holds at random ones, and both are near each other.
func TestTippingIsTheWorst(t *testing.T) {
	const seed = 3
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	for _, name := range examples {
		r := loaded(t, name)
		r.Support.Anchored = ""
		l, p := newLoad(t, r), freePoses(t, r)
		tip, err := l.Tipping(context.Background(), p)
		if err != nil {
			t.Fatal(err)
		}
		k := l.newTipper()
		for what, e := range map[what]Edge{distance: tip.Distance, push: tip.Push, wind: tip.Wind} {
			now, _ := k.tips(e.At, 0, what)
			if !p.Used(e.At) || now.Value != e.Value || e.Bound > e.Value {
				t.Errorf("%s, %d: %+v at its own pose %g", name, what, e, now.Value)
			}
			random(p, rnd, 400, func(g axes.Angles) {
				v, _ := k.tips(g, 0, what)
				if v.Value < e.Bound {
					t.Errorf("%s, %d: %g at %v, below the proven %g", name, what, v.Value, g, e.Bound)
				}
				h := rnd.Float64() * 0.1
				_, bound := k.tips(g, h, what)
				to, _ := k.tips(axes.Angles{RA: g.RA + h*(2*rnd.Float64()-1), Dec: g.Dec + h*(2*rnd.Float64()-1)}, 0, what)
				if to.Value < bound {
					t.Errorf("%s, %d: %g within %g of %v, bound %g", name, what, to.Value, h, g, bound)
				}
			})
		}
		// The wind between the directions that are looked at, on every edge: the bound holds there too.
		random(p, rnd, 50, func(g axes.Angles) {
			s, c := math.Sincos(rnd.Float64() * 2 * math.Pi)
			to := r3.Vec{X: s, Y: c}
			for i := range k.edges {
				e := &k.edges[i]
				if r3.Dot(to, e.normal) <= 0 {
					continue
				}
				moment := 0.0
				for j := range k.parts {
					s := &k.parts[j]
					at := l.Model.PartPose(l.index(s.part.Name), g)
					moment += s.sail.dragArea(&at, to) * (at.T.Z - k.low) * r3.Dot(to, e.normal)
				}
				if v := windSpeed(l.MassKg()*Gravity*e.inside(l.Centre(g)), moment); v < tip.Wind.Bound {
					t.Errorf("%s: %g m/s at %v, below the proven %g", name, v, g, tip.Wind.Bound)
				}
			}
		})
	}
}

// With the ballast, or the feet further out, the rig stands what was wanted; with a tenth less it was not told to.
func TestRemedy(t *testing.T) {
	for _, w := range []Wanted{{PushN: 90}, {WindMS: 25}} {
		r := loaded(t, "terrace-long-refractor")
		p := freePoses(t, r)
		remedy, err := newLoad(t, r).Remedy(context.Background(), p, w)
		if err != nil || remedy.BallastKg <= 0 || remedy.SpreadMM <= 0 {
			t.Fatalf("%+v %v", remedy, err)
		}
		stands := func(r *rig.Rig) bool {
			l := newLoad(t, r)
			left, err := l.Remedy(context.Background(), p, w)
			if err != nil {
				t.Fatal(err)
			}
			return left.BallastKg < 0.05*remedy.BallastKg
		}
		spread := loaded(t, "terrace-long-refractor")
		spread.Support.Legs.FootRadiusMM.Value += remedy.SpreadMM
		if !stands(spread) {
			t.Errorf("%+v: feet %g mm further out do not do it", w, remedy.SpreadMM)
		}
		laden := loaded(t, "terrace-long-refractor")
		laden.Support.MassKg.Value += remedy.BallastKg
		if !stands(laden) {
			t.Errorf("%+v: %g kg of ballast do not do it", w, remedy.BallastKg)
		}
	}
	r := loaded(t, "terrace-long-refractor")
	if remedy, err := newLoad(t, r).Remedy(context.Background(), AbovePoses(newLoad(t, r).Model), Wanted{PushN: 1}); err != nil || remedy != (Remedy{}) {
		t.Errorf("a push of 1 N: %+v %v", remedy, err)
	}
}

// An anchored pier does not tip, and is not asked.
func TestAnchored(t *testing.T) {
	r := loaded(t, "karoo-newtonian")
	r.Support.Anchored = "yes"
	l := newLoad(t, r)
	tip, err := l.Tipping(context.Background(), AbovePoses(l.Model))
	if err != nil || !tip.Anchored || tip.Push != (Edge{}) {
		t.Errorf("%+v %v", tip, err)
	}
}

// A riser bends more in more wind, its bound holds at random poses, and its frequency is below that of its burden as a point on its top.
func TestBending(t *testing.T) {
	const seed = 4
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	r := loaded(t, "terrace-riser")
	e := r.Support.Extension
	e.WallMM.Quantity = rig.Quantity{Value: 5, Source: rig.Measured}
	e.Material = rig.Aluminium
	l, p := newLoad(t, r), freePoses(t, r)
	got, err := l.Bending(context.Background(), p, Wanted{PushN: 10, WindMS: 4})
	if err != nil || len(got) != 1 || got[0].Unknown != "" {
		t.Fatalf("%+v %v", got, err)
	}
	b := got[0]
	// By hand: 10 N at the crossing, 380 mm above the riser of 200 mm.
	d, tilt := b.Upright.Top(10, 10*380)
	near(t, "push", b.Push.TiltRad, tilt, 1e-12)
	near(t, "push", b.Push.DeflectionMM, d, 1e-12)
	if !p.Used(b.Wind.At) || b.Wind.TiltRad > b.Wind.BoundRad || b.Wind.BoundRad > 1.1*b.Wind.TiltRad || b.Frequency.Bound > b.Frequency.Value || b.Frequency.Bound < 0.95*b.Frequency.Value {
		t.Errorf("%+v", b)
	}
	if f := b.Upright.FrequencyHz(Burden{MassKg: b.CarriesKg, CantileverKg: e.MassKg.Value}); !(b.Frequency.Value < f) {
		t.Errorf("%g Hz, as a point on the top %g", b.Frequency.Value, f)
	}
	u := l.uprights()[0]
	k := l.newTipper()
	var above []sailing
	for _, s := range k.parts {
		if s.part.Frame != rig.Ground || s.part.Name == "mount base" {
			above = append(above, s)
		}
	}
	random(p, rnd, 500, func(g axes.Angles) {
		now, _ := l.burden(&u, above, g, 0)
		near(t, "carries", now.MassKg, b.CarriesKg, 1e-9)
		if f := b.Upright.FrequencyHz(now); f < b.Frequency.Bound {
			t.Errorf("%g Hz at %v, below the proven %g", f, g, b.Frequency.Bound)
		}
	})
	e.WallMM = rig.Length{}
	if got, err := newLoad(t, r).Bending(context.Background(), p, Wanted{}); err != nil || got[0].Unknown != "wall_mm" || got[0].Push.TiltRad != 0 {
		t.Errorf("without a wall: %+v %v", got, err)
	}
}

// The search against a grid: no used pose of a fine grid is below the bound, nor below what was found by more than the tolerance; and
// with a band of declinations, none outside of it counts.
func TestLeastAgainstGrid(t *testing.T) {
	r := loaded(t, "terrace-long-refractor")
	p := freePoses(t, r)
	far := func(g axes.Angles) float64 { return math.Sin(3*g.RA+1)*math.Cos(2*g.Dec) + 0.3*math.Sin(g.Dec) }
	for _, q := range []*Poses{p, p.Declinations(axes.Rad(-20), axes.Rad(-10)), AbovePoses(newLoad(t, r).Model)} {
		e, err := q.least(context.Background(), func(float64) float64 { return 0.01 }, func(g axes.Angles, h float64) (float64, float64) {
			v := far(g)
			return v, v - 5.3*h
		})
		if err != nil || !e.Any || !q.Used(e.At) || e.Bound > e.Value || e.Value-e.Bound > 0.0101 {
			t.Fatalf("%+v %v", e, err)
		}
		for i := range 720 {
			for j := range 720 {
				g := axes.Angles{RA: axes.Rad(float64(i)/2 - 180), Dec: axes.Rad(float64(j)/2 - 180)}
				if q.Used(g) && far(g) < e.Bound {
					t.Fatalf("%g at %v, below the bound %g", far(g), g, e.Bound)
				}
			}
		}
	}
	none := p.Declinations(axes.Rad(-89.9), axes.Rad(-89)) // never rises
	if e, err := none.least(context.Background(), relative(0.1, 0), func(axes.Angles, float64) (float64, float64) { return 0, 0 }); err != nil || e.Any {
		t.Errorf("%+v %v", e, err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := p.least(ctx, relative(0.1, 0), func(axes.Angles, float64) (float64, float64) { return 0, 0 }); err != context.Canceled {
		t.Errorf("stopped: %v", err)
	}
}

func BenchmarkTipping(b *testing.B) {
	for _, name := range []string{"terrace-riser", "balcony-strain-wave"} {
		r := loaded(b, name)
		l, p := newLoad(b, r), freePoses(b, r)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := l.Tipping(context.Background(), p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
