package load

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// cabled is an example with cables written behind it.
func cabled(t *testing.T, name, cables string) *rig.Rig {
	t.Helper()
	text, err := os.ReadFile("../examples/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	body, _, _ := strings.Cut(string(text), "\ncables:")
	r, err := rig.Parse([]byte(body+"\ncables:\n"+cables), filepath.Join("../examples", name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Reach in closed form: from a point r beside the RA axis on the arm to one ρ beside it on the head, z apart along it, the longest
// way is √((r + ρ)² + z²); from the tube, d out along the declination axis and r beside it, to the arm alike about that axis.
func TestReachInClosedForm(t *testing.T) {
	r := cabled(t, "karoo-newtonian", `
  - {name: round the RA axis, length_mm: 700 ± 10, plug: {frame: arm, at_mm: [-120, 90, 40]}, box: {frame: polar, at_mm: [0, -200, -60]}}
  - {name: round the declination axis, length_mm: 700 ± 10, plug: {frame: tube, at_mm: [0, 90, 120]}, box: {frame: arm, at_mm: [100, 80, 0]}}
  - {name: fixed, length_mm: 700 ± 10, plug: {part: camera}, box: {part: power box}}
`)
	l := newLoad(t, r)
	cables, err := l.Cables(context.Background(), AbovePoses(l.Model))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{math.Hypot(150+200, 100), math.Hypot(150+80, 210-100)} {
		c := cables[i]
		if math.Abs(c.Reach.ValueMM-want) > 1 || c.Reach.BoundMM < want || c.Reach.BoundMM > c.Reach.ValueMM+reachTol || c.SlackMM != 690-c.Reach.BoundMM {
			t.Errorf("%s: %+v, want %g", c.Name, c, want)
		}
	}
	if !cables[0].Spans[0].ByRA || cables[0].Spans[0].ByDec || cables[1].Spans[0].ByRA || !cables[1].Spans[0].ByDec {
		t.Errorf("the wrong axes: %+v", cables)
	}
	f := cables[2]
	if f.Spans[0].ByRA || f.Spans[0].ByDec || f.Spans[0].LoopMM > 1e-6 || math.Abs(f.Reach.ValueMM-f.Least.ValueMM) > 1e-6 || f.Tie != nil {
		t.Errorf("both ends on the tube: %+v", f)
	}
}

// Reach is never exceeded at random poses, reached at its own, and a tie that is suggested makes the loop as small as it says.
func TestReachIsTheLongest(t *testing.T) {
	const seed = 5
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	r := cabled(t, "terrace-long-refractor", `
  - name: camera data
    length_mm: 3200 ± 20
    plug: {part: camera}
    ties: [{part: dovetail, at_mm: [0, 30, 0]}]
    box: {frame: ground, at_mm: [300, 0, 400]}
`)
	l, p := newLoad(t, r), freePoses(t, r)
	cables, err := l.Cables(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	c := cables[0]
	tightest, err := l.Slack(0, c.Reach.At)
	if err != nil || !p.Used(c.Reach.At) || math.Abs(3180-tightest-c.Reach.ValueMM) > 1e-9 {
		t.Errorf("%g mm of slack at the tightest pose, %+v %v", tightest, c, err)
	}
	random(p, rnd, 3000, func(g axes.Angles) {
		if s, _ := l.Slack(0, g); s < c.SlackMM || 3180-s < c.Least.ValueMM-reachTol {
			t.Errorf("slack %g mm at %v, proven %g; path %g, least %g", s, g, c.SlackMM, 3180-s, c.Least.ValueMM)
		}
	})
	if c.Tie == nil || c.TiedMM < c.Reach.ValueMM {
		t.Fatalf("%+v", c)
	}
	if c.Tie.LoopMM >= c.Tie.WasMM {
		t.Errorf("%+v", c.Tie)
	}
	at := []float64{c.Tie.AtMM.X, c.Tie.AtMM.Y, c.Tie.AtMM.Z}
	r.Cables[0].Ties = append(r.Cables[0].Ties, rig.Anchor{Part: c.Tie.Part, AtMM: at})
	again, err := newLoad(t, r).Cables(context.Background(), p)
	if err != nil || math.Abs(again[0].TiedMM-c.Tie.TiedMM) > 1e-6 || math.Max(again[0].Spans[1].LoopMM, again[0].Spans[2].LoopMM) != c.Tie.LoopMM {
		t.Errorf("tied as suggested: %+v %v, suggested %+v", again, err, c.Tie)
	}
	if again[0].Tie != nil && again[0].Tie.LoopMM >= c.Tie.LoopMM {
		t.Errorf("a second tie makes it worse: %+v", again[0].Tie)
	}
}

// randomHold is a place in any frame, about so far from where the axes cross, mm.
func randomHold(l *Load, r *rand.Rand, far float64) hold {
	at := r3.Vec{X: r.NormFloat64() * far, Y: r.NormFloat64() * far, Z: r.NormFloat64() * far}
	f := []rig.Frame{rig.Ground, rig.Polar, rig.Arm, rig.TubeFrame}[r.IntN(4)]
	if f == rig.Ground {
		at = r3.Add(at, l.Model.Head.Crossing)
	}
	return newHold("", f, at)
}

// The bounds of a distance within h of a pose, at random places of every two frames.
func TestDistanceBounds(t *testing.T) {
	const seed = 8
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	l := newLoad(t, loaded(t, "karoo-newtonian"))
	worth := 0
	for range 200000 {
		a, b := randomHold(l, r, 300), randomHold(l, r, 300)
		g := axes.Angles{RA: r.Float64() * 7, Dec: r.Float64() * 7}
		h := math.Pow(10, -3*r.Float64()) // 1 to 0.001
		d, least, most := l.path([]hold{a, b}, g, h)
		to, _, _ := l.path([]hold{a, b}, axes.Angles{RA: g.RA + h*(2*r.Float64()-1), Dec: g.Dec + h*(2*r.Float64()-1)}, 0)
		if !(least <= to && to <= most && least <= d && d <= most) {
			t.Fatalf("%v, %v at %v ± %g: %g outside of %g…%g", a, b, g, h, to, least, most)
		}
		if to > d+0.8*(most-d) {
			worth++
		}
	}
	if worth < 200 {
		t.Errorf("only %d of the bounds are nearly reached: they are too wide to be tried by this", worth)
	}
}

// A cable that names no part is refused with its place.
func TestCableOfNoPart(t *testing.T) {
	r := cabled(t, "karoo-newtonian", "  - {name: a, length_mm: 500, plug: {part: camera}, box: {part: nowhere}}\n")
	if _, err := New(r, nil); err == nil || !strings.Contains(err.Error(), `cables[0].box: there is no part "nowhere"`) {
		t.Errorf("%v", err)
	}
	// A part of a condition that does not hold is not there to hold a cable.
	r = cabled(t, "terrace-long-refractor", "  - {name: a, length_mm: 500, plug: {part: cap}, box: {part: tray}}\n")
	l, err := New(r, rig.Conditions{"cap on": rig.HoldsNot})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.Cables(context.Background(), AbovePoses(l.Model)); err == nil || !strings.Contains(err.Error(), `cables[0].plug: the part "cap" is not there`) {
		t.Errorf("%v", err)
	}
}
