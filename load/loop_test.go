package load

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// catenary gives points of a heavy chain of a length that hangs between two points: z = z₀ + k·cosh((x − x₀)/k) with
// √(ℓ² − v²) = 2k·sinh(w/2k) and tanh of the middle = v/ℓ (E. J. Routh, A Treatise on Analytical Statics, the chapter on strings; from
// memory). Plumb below each other, it is a fold.
func catenary(a, b r3.Vec, length float64, n int) []r3.Vec {
	w, v := math.Hypot(b.X-a.X, b.Y-a.Y), b.Z-a.Z
	out := make([]r3.Vec, n+1)
	if w < 1e-9 {
		for i := range out {
			z := length * float64(i) / float64(n)
			out[i] = r3.Vec{X: a.X, Y: a.Y, Z: a.Z - math.Min(z, 0)}
			down := (length - v) / 2
			if z < down {
				out[i].Z = a.Z - z
			} else {
				out[i].Z = a.Z - down + (z - down)
			}
		}
		return out
	}
	// sinh(q)/q = √(ℓ² − v²)/w, q = w/2k: by halving.
	want := math.Sqrt(length*length-v*v) / w
	lo, hi := 1e-9, 1.0
	for math.Sinh(hi)/hi < want {
		hi *= 2
	}
	for range 200 {
		q := (lo + hi) / 2
		if math.Sinh(q)/q < want {
			lo = q
		} else {
			hi = q
		}
	}
	k := w / (lo + hi)
	x0 := w/2 - k*math.Atanh(v/length)
	z0 := a.Z - k*math.Cosh(x0/k)
	for i := range out {
		x := w * float64(i) / float64(n)
		share := x / w
		out[i] = r3.Vec{X: a.X + share*(b.X-a.X), Y: a.Y + share*(b.Y-a.Y), Z: z0 + k*math.Cosh((x-x0)/k)}
	}
	return out
}

// The chain itself: as long as it should be, from the one point to the other.
func TestCatenary(t *testing.T) {
	for _, c := range []struct {
		b      r3.Vec
		length float64
	}{{r3.Vec{X: 300, Y: 400}, 700}, {r3.Vec{X: -30, Y: 4, Z: 800}, 1100}, {r3.Vec{Z: -500}, 640}, {r3.Vec{X: 200, Z: -90}, 219.4}} {
		p := catenary(r3.Vec{}, c.b, c.length, 100000)
		sum := 0.0
		for i := 1; i < len(p); i++ {
			sum += r3.Norm(r3.Sub(p[i], p[i-1]))
		}
		if math.Abs(sum-c.length) > 0.05 || r3.Norm(r3.Sub(p[len(p)-1], c.b)) > 1e-6 {
			t.Errorf("%v: %g mm, not %g, to %v", c.b, sum, c.length, p[len(p)-1])
		}
	}
}

// outside is how far the farthest of some points is outside of the boxes of a hang.
func outside(h *hang, points []r3.Vec) float64 {
	worst := math.Inf(-1)
	for _, x := range points {
		least := math.Inf(1)
		h.strips(0, func(box *solid.Placed) {
			dot, err := solid.NewSphere(2e-6)
			if err != nil {
				panic(err)
			}
			p := dot.At(solid.Pose{R: solid.Identity().R, T: x})
			least = math.Min(least, solid.Distance(box, &p).Upper)
		})
		worst = math.Max(worst, least)
	}
	return worst
}

// Every point of a chain of the length, or of a shorter one, lies in the shape, however the ties stand. The shape of a cable a little
// shorter does not hold it, which shows that this check can fail; and the shape is not much deeper than the chain.
func TestHangHoldsTheCatenary(t *testing.T) {
	const seed = 11
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	caught, deep := 0, 0
	const n = 3000
	for i := range n {
		a := r3.Vec{X: rnd.NormFloat64() * 300, Y: rnd.NormFloat64() * 300, Z: 900 + rnd.NormFloat64()*300}
		d := r3.Vec{X: rnd.NormFloat64() * 400, Y: rnd.NormFloat64() * 400, Z: rnd.NormFloat64() * 500}
		switch i % 10 {
		case 0:
			d.X, d.Y = 0, 0 // plumb
		case 1:
			d.X, d.Y = d.X/1000, d.Y/1000 // nearly
		case 2:
			d.Z = 0
		}
		b := r3.Add(a, d)
		length := r3.Norm(d)*(1+math.Pow(10, -4*rnd.Float64())) + 0.01
		h := newHang(a, b, length)
		chain := catenary(a, b, length, 60)
		if far := outside(&h, chain); far > 1e-3 {
			t.Fatalf("%v – %v, %g mm: a point is %g mm outside", a, b, length, far)
		}
		part := r3.Norm(d) + rnd.Float64()*(length-r3.Norm(d)) + 1e-3
		if far := outside(&h, catenary(a, b, math.Min(part, length), 60)); far > 1e-3 {
			t.Fatalf("%v – %v, %g of %g mm: a point is %g mm outside", a, b, part, length, far)
		}
		low := slices.MinFunc(chain, func(x, y r3.Vec) int { return int(math.Copysign(1, x.Z-y.Z)) }).Z
		hangs := math.Min(a.Z, b.Z) - low
		below := sag(d.Z, length*length-r3.Norm2(d))
		if below < hangs-1e-6 {
			t.Fatalf("%v – %v, %g mm: hangs %g mm below, bound %g", a, b, length, hangs, below)
		}
		if hangs > 20 && below < 1.3*hangs {
			deep++
		}
		// Planted: as if the cable were a third less loose.
		if short := newHang(a, b, r3.Norm(d)+(length-r3.Norm(d))*0.6); length > r3.Norm(d)+10 && outside(&short, chain) > 1 {
			caught++
		}
	}
	if caught < n/5 || deep < n/5 {
		t.Errorf("a shape too small was caught %d times, one not much too deep seen %d times of %d", caught, deep, n)
	}
}

// However it lies: no curve of the length reaches a point that is said to be out of reach.
func TestAnyhowHoldsTheEllipsoid(t *testing.T) {
	const seed = 12
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	dot, err := solid.NewSphere(2e-3)
	if err != nil {
		t.Fatal(err)
	}
	vec := func(s float64) r3.Vec {
		return r3.Scale(s, r3.Vec{X: rnd.NormFloat64(), Y: rnd.NormFloat64(), Z: rnd.NormFloat64()})
	}
	near := 0
	for i := range 200000 {
		a, x := vec(300), vec(500)
		b := r3.Add(a, vec(300))
		if i%5 == 0 {
			b = a
		}
		h := newHang(a, b, r3.Norm(r3.Sub(a, b))*(1+rnd.Float64()*rnd.Float64())+rnd.Float64()*100)
		p := dot.At(solid.Pose{R: solid.Identity().R, T: x})
		gap := h.anyhow(&p)
		// A lower bound of the distance from the ellipsoid, thickness and all: by its own definition, along random ways to it.
		over := r3.Norm(r3.Sub(x, a)) + r3.Norm(r3.Sub(x, b)) - h.length
		if over <= 0 && gap > 0 {
			t.Fatalf("%v is %g mm within the ellipsoid of %+v, and said to be %g mm from it", x, -over/2, h, gap)
		}
		y := r3.Add(r3.Scale(rnd.Float64(), r3.Sub(b, a)), r3.Add(a, vec(60)))
		if r3.Norm(r3.Sub(y, a))+r3.Norm(r3.Sub(y, b)) <= h.length && r3.Norm(r3.Sub(x, y)) < gap+cableRadius-2e-3 {
			t.Fatalf("%v of the ellipsoid is %g mm from %v, said to be %g", y, r3.Norm(r3.Sub(x, y)), x, gap)
		}
		if gap > 0 && over < 100 {
			near++
		}
	}
	if near < 1000 {
		t.Errorf("only %d points near to it were said to be out of reach", near)
	}
}

// A loop within h of a pose lies in the outer shape grown as it says, for random ties in every two frames.
func TestLoopAcrossACell(t *testing.T) {
	const seed = 13
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	l := newLoad(t, loaded(t, "karoo-newtonian"))
	for range 3000 {
		place := func() hold { return randomHold(l, rnd, 200) }
		s := loose{l: l, ends: []hold{place(), place()}, others: [][]hold{{place(), place()}}, most: 300 + rnd.Float64()*1500}
		g := axes.Angles{RA: rnd.Float64() * 7, Dec: rnd.Float64() * 7}
		h := math.Pow(10, -3*rnd.Float64())
		_, outer, grow := s.at(g, h)
		near := axes.Angles{RA: g.RA + h*(2*rnd.Float64()-1), Dec: g.Dec + h*(2*rnd.Float64()-1)}
		now, _, _ := s.at(near, 0)
		straight := r3.Norm(r3.Sub(now.a, now.b))
		if far := outside(&outer, catenary(now.a, now.b, math.Max(now.length, straight+1e-6), 40)); far > grow+0.05 {
			t.Fatalf("%+v at %v ± %g: %g mm outside, grown by %g", s.ends, g, h, far, grow)
		}
		_, longest, _, deepest := s.size(g, h)
		length, _, sags, _ := s.size(near, 0)
		if length > longest+1e-6 || sags > deepest+1e-3 || math.Abs(length-now.length) > 1e-6 {
			t.Fatalf("%+v at %v ± %g: %g mm long (%g), at most %g; hangs %g mm below, at most %g", s.ends, g, h, length, now.length, longest, sags, deepest)
		}
	}
}

// What is said of each part against chains at random poses: none comes nearer than proven, at the pose found a gap is what it says, and a
// ball hung where a chain hangs is touched.
func TestLoopsAgainstChains(t *testing.T) {
	const seed = 14
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	dot, err := solid.NewSphere(2 * cableRadius)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"terrace-long-refractor", "balcony-strain-wave"} {
		r := loaded(t, name)
		l, p := newLoad(t, r), freePoses(t, r)
		cables, err := l.Cables(context.Background(), p)
		if err == nil {
			err = l.Loops(context.Background(), p, cables, func(float64) {})
		}
		if err != nil {
			t.Fatal(err)
		}
		holds, err := l.holds(0)
		if err != nil {
			t.Fatal(err)
		}
		path := func(g axes.Angles, j int) float64 {
			rest := r.Cables[0].LengthMM.Value + r.Cables[0].LengthMM.Tol
			for k := 1; k < len(holds); k++ {
				if k != j+1 {
					d, _, _ := l.path(holds[k-1:k+1], g, 0)
					rest -= d
				}
			}
			return rest
		}
		for j, s := range cables[0].Spans {
			if len(s.Left.Parts) != len(s.Loose.Parts) || s.Left.LengthMM < s.Longest.ValueMM || s.Loose.LengthMM < s.Longest.ValueMM {
				t.Errorf("%s, %s – %s: left %+v, loose %+v", name, s.From, s.To, s.Left, s.Loose)
			}
			random(p, rnd, 30, func(g axes.Angles) {
				var at places
				at.polar, at.arm, at.tube = l.Model.Frames(g)
				a, b := at.of(&holds[j]), at.of(&holds[j+1])
				straight := r3.Norm(r3.Sub(a, b)) + 1e-6
				for loop, length := range map[*Loop]float64{s.Left: s.Longest.BoundMM, s.Loose: path(g, j)} {
					length = straight + (math.Max(length, straight)-straight)*rnd.Float64()
					if rnd.IntN(2) == 0 {
						length = math.Max(length, math.Min(loop.LengthMM, path(g, j)))
					}
					if loop == s.Left {
						length = math.Max(straight, math.Min(length, s.Longest.BoundMM))
					}
					for _, x := range catenary(a, b, length, 24) {
						if low := math.Min(a.Z, b.Z) - x.Z; low > loop.Below.BoundMM {
							t.Fatalf("%s, %s – %s at %v: hangs %g mm below, bound %g", name, s.From, s.To, g, low, loop.Below.BoundMM)
						}
						ball := dot.At(solid.Pose{R: solid.Identity().R, T: x})
						for _, n := range loop.Parts {
							i := l.index(n.Part)
							part := l.Model.Parts[i].Solid.At(l.Model.PartPose(i, g))
							if gap := solid.Distance(&ball, &part); gap.Upper < n.Gap.BoundMM {
								t.Fatalf("%s, %s – %s at %v: %g mm from %s, said to be %s by %g", name, s.From, s.To, g, gap.Upper, n.Part, n.Touch, n.Gap.BoundMM)
							}
						}
					}
				}
			})
			for _, n := range s.Left.Parts {
				if !p.Used(n.Gap.At) || n.Touch == MayTouch != (n.Gap.BoundMM <= 0) || n.Gap.BoundMM > n.Gap.ValueMM {
					t.Errorf("%s: %+v", name, n)
				}
			}
		}
	}
}

// A ball hung where the loop hangs at one used pose is touched; one far off is out of reach.
func TestLoopCatchesWhatHangsInIt(t *testing.T) {
	const cables = `
  - {name: a, length_mm: 900 ± 10, plug: {frame: arm, at_mm: [60, 0, 60]}, box: {frame: ground, at_mm: [300, -500, 900]}}
`
	r := cabled(t, "karoo-newtonian", cables)
	l := newLoad(t, r)
	p := freePoses(t, r)
	g := p.Grid(15)[20]
	var at places
	at.polar, at.arm, at.tube = l.Model.Frames(g)
	holds, err := l.holds(0)
	if err != nil {
		t.Fatal(err)
	}
	chain := catenary(at.of(&holds[0]), at.of(&holds[1]), 900, 2)
	for _, c := range []struct {
		at   r3.Vec
		want Touch
	}{{chain[1], MayTouch}, {r3.Vec{X: 4000}, NoReach}} {
		text := strings.TrimSpace(cables)
		body := cabled(t, "karoo-newtonian", "  "+text+"\n")
		asm, err := body.Assemble(nil)
		if err != nil {
			t.Fatal(err)
		}
		asm.Parts = append(asm.Parts, rig.Part{Name: "ball", Frame: rig.Ground, Shape: rig.Sphere, SizeMM: []float64{2},
			Place: [12]float64{1, 0, 0, c.at.X, 0, 1, 0, c.at.Y, 0, 0, 1, c.at.Z}, From: "parts"})
		m, err := axes.FromAssembly(body, asm)
		if err != nil {
			t.Fatal(err)
		}
		l := &Load{Model: m}
		list, err := l.Cables(context.Background(), p)
		if err == nil {
			err = l.Loops(context.Background(), p, list, func(float64) {})
		}
		if err != nil {
			t.Fatal(err)
		}
		loop := list[0].Spans[0].Loose
		i := slices.IndexFunc(loop.Parts, func(n Near) bool { return n.Part == "ball" })
		if i < 0 || loop.Parts[i].Touch != c.want {
			t.Errorf("a ball at %v: %+v, want %s", c.at, loop.Parts, c.want)
		}
	}
}
