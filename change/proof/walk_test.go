package proof

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
	"legroom/solid"
)

// Everything that a walk promises, looked at with other means than it was found with: gaps along the ways by sampling, the Sun by
// the clock, the points by the distance between them.
func TestWalkKeepsItsPromises(t *testing.T) {
	for _, name := range rigFiles {
		s := sceneOf(t, name)
		w := s.walk
		g := s.m.Gauge()
		site, err := sky.NewSite(s.rig.Site)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(w.Steps); n < 8 || n > MostSteps {
			t.Errorf("%s: %d steps", name, n)
		}
		scratch := g.NewScratch()
		at := w.Start
		seen := map[axes.Angles]bool{}
		for i, st := range w.Steps {
			if seen[st.Axes] {
				t.Errorf("%s, step %d: the same pose twice", name, i+1)
			}
			seen[st.Axes] = true
			if st.Way[len(st.Way)-1] != st.Axes || len(st.Way) > 2 {
				t.Errorf("%s, step %d: the way %v does not lead there", name, i+1, st.Way)
			}
			for _, to := range st.Way {
				slew := s.rig.Mount.Slew
				for _, ratio := range []float64{0.71, 1, 1.29} { // of the rates, within the spread of 30%
					ra, dec := axes.Deg(to.RA-at.RA), axes.Deg(to.Dec-at.Dec)
					last := math.Max(math.Abs(ra)/slew.RADegPerS, math.Abs(dec)/slew.DecDegPerS/ratio)
					for k := range 101 {
						now := last * float64(k) / 100
						p := axes.Angles{
							RA:  at.RA + axes.Rad(math.Copysign(math.Min(math.Abs(ra), now*slew.RADegPerS), ra)),
							Dec: at.Dec + axes.Rad(math.Copysign(math.Min(math.Abs(dec), now*slew.DecDegPerS*ratio), dec)),
						}
						if gap := g.Gap(p, scratch); gap.Lower < LeastGapMM {
							t.Fatalf("%s, on the way to step %d: %.1f mm left at RA axis %.1f°, declination axis %.1f°", name, i+1, gap.Lower, axes.Deg(p.RA), axes.Deg(p.Dec))
						}
					}
				}
				at = to
			}
			if d := r3.Norm(r3.Sub(st.PointA, st.PointB)); math.Abs(d-st.GapMM) > 1e-6 || d < shortest || d > longest {
				t.Errorf("%s, step %d: points %.3f mm apart, gap %.3f", name, i+1, d, st.GapMM)
			}
			if got := g.Gap(st.Axes, scratch).Lower; got != st.LeastMM || got < g.MarginMM {
				t.Errorf("%s, step %d: %.2f mm left, said %.2f", name, i+1, got, st.LeastMM)
			}
			u := g.Model.Head.Pointing(st.Axes)
			if u.Z < 0 {
				t.Errorf("%s, step %d points below the horizontal", name, i+1)
			}
			for d := time.Duration(0); d <= w.End.Sub(w.Begin); d += time.Minute {
				alt, az := site.AltAz(morning.Add(d), site.Sun(morning.Add(d)))
				v := r3.Vec{X: math.Cos(alt) * math.Sin(az), Y: math.Cos(alt) * math.Cos(az), Z: math.Sin(alt)}
				if apart := axes.Deg(math.Acos(r3.Dot(u, v))); apart < sunKeep-1 || apart < st.SunDeg-1 {
					t.Fatalf("%s, step %d: %.1f° from the Sun at %v", name, i+1, apart, morning.Add(d))
				}
			}
			for _, words := range []string{st.WhereA, st.WhereB} {
				if !strings.Contains(words, "facing ") {
					t.Errorf("%s, step %d: where? %q", name, i+1, words)
				}
			}
		}
		// From roomy to tight: the last third is no roomier than the first.
		third := len(w.Steps) / 3
		for _, a := range w.Steps[:third] {
			for _, b := range w.Steps[len(w.Steps)-third:] {
				if a.LeastMM < b.LeastMM {
					t.Errorf("%s: a step with %.1f mm left comes before one with %.1f", name, a.LeastMM, b.LeastMM)
				}
			}
		}
		for i := 1; i < len(w.Expect); i++ {
			if w.Expect[i].Left < w.Expect[i-1].Left || w.Expect[i].Left > 1+1e-9 {
				t.Errorf("%s: %s has %.3f left", name, w.Expect[i].Quantity.Path, w.Expect[i].Left)
			}
		}
		if w.Expect[0].Left > 0.6 {
			t.Errorf("%s: the walk tells nothing: %.2f of %s left", name, w.Expect[0].Left, w.Expect[0].Quantity.Path)
		}
	}
}

// A way is no nearer to the Sun than it says, and a straight one that passes it closely is left for one that does not.
func TestWayAndSun(t *testing.T) {
	s := sceneOf(t, "terrace-long-refractor")
	h := &s.m.Gauge().Model.Head
	here, err := newSun(s.rig, morning, time.Hour)
	if err != nil || !here.up {
		t.Fatal(err)
	}
	mid := h.Angles(axes.Pose{Side: axes.West, HourAngle: axes.FromHours(-1), Dec: axes.Rad(-20)}) // about where it stands at eleven in November
	from, to := axes.Angles{RA: mid.RA - 0.4, Dec: mid.Dec}, axes.Angles{RA: mid.RA + 0.4, Dec: mid.Dec}
	if near := here.along(h, from, to); near > 12 {
		t.Errorf("a way across the Sun's place passes it by %.1f°", near)
	}
	if a, b := here.along(h, from, to), here.along(h, to, from); math.Abs(a-b) > 1e-9 {
		t.Errorf("one way %.3f°, back %.3f°", a, b)
	}
	for _, name := range rigFiles {
		s := sceneOf(t, name)
		h := &s.m.Gauge().Model.Head
		high, err := newSun(s.rig, s.walk.Begin, s.walk.End.Sub(s.walk.Begin))
		if err != nil {
			t.Fatal(err)
		}
		at := s.walk.Start
		for i, st := range s.walk.Steps {
			if len(st.Way) == 1 && at != s.walk.Start && high.along(h, at, st.Axes) < sunNear &&
				math.Min(high.along(h, at, s.walk.Start), high.along(h, s.walk.Start, st.Axes)) >= sunNear {
				t.Errorf("%s, step %d goes by the Sun", name, i+1)
			}
			at = st.Axes
		}
	}
}

// Nothing stands where the ruler goes: no part is nearer to the middle of the line than the two that it ends at are.
func TestWalkLinesAreClear(t *testing.T) {
	for _, name := range rigFiles {
		s := sceneOf(t, name)
		m := s.walk.Gauge.Model
		placed := make([]solid.Placed, len(m.Parts))
		ball, err := solid.NewSphere(2)
		if err != nil {
			t.Fatal(err)
		}
		for i, st := range s.walk.Steps {
			m.Place(st.Axes, placed)
			for k := 1; k < 20; k++ {
				at := ball.At(solid.Pose{R: solid.Identity().R, T: r3.Add(st.PointA, r3.Scale(float64(k)/20, r3.Sub(st.PointB, st.PointA)))})
				for j := range placed {
					if n := m.Parts[j].Name; n != st.A && n != st.B && k > 4 && k < 16 && solid.Distance(&at, &placed[j]).Upper <= 0 {
						t.Errorf("%s, step %d: %s stands between %s and %s", name, i+1, n, st.A, st.B)
					}
				}
			}
		}
	}
}

func TestWalkLeavesOut(t *testing.T) {
	s := sceneOf(t, "terrace-long-refractor")
	w, err := NewWalk(context.Background(), s.m, Options{Time: morning, Steps: 5, Avoid: []string{"plug and cable bend"}})
	if err != nil {
		t.Fatal(err)
	}
	if len(w.Steps) != 5 {
		t.Errorf("%d steps, want 5", len(w.Steps))
	}
	for i, st := range w.Steps {
		if st.A == "plug and cable bend" || st.B == "plug and cable bend" || st.A == "cap" || st.B == "cap" {
			t.Errorf("step %d: %s to %s", i+1, st.A, st.B)
		}
	}
}

func TestWalkRefuses(t *testing.T) {
	s := sceneOf(t, "terrace-long-refractor")
	g, err := room.NewGauge(s.m.Gauge().Model, room.Options{MarginMM: 10})
	if err != nil {
		t.Fatal(err)
	}
	tight, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 4})
	if err != nil {
		t.Fatal(err)
	}
	g, err = room.NewGauge(s.m.Gauge().Model, room.Options{MarginMM: 900})
	if err != nil {
		t.Fatal(err)
	}
	none, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 4})
	if err != nil {
		t.Fatal(err)
	}
	g, err = room.NewGauge(s.m.Gauge().Model, room.Options{Mode: rig.None})
	if err != nil {
		t.Fatal(err)
	}
	bare, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 4})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		m    *room.Map
		o    Options
		want string
	}{
		{s.m, Options{Steps: 13}, "give 1 to 12"},
		{s.m, Options{Steps: -1}, "give 1 to 12"},
		{s.m, Options{RulerMM: math.NaN()}, "give 0.1 to 50"},
		{s.m, Options{Avoid: []string{"kettle"}}, `no part "kettle"`},
		{tight, Options{}, "keeps at least 25"},
		{none, Options{}, "not proven free"},
		{bare, Options{}, "takes them off"},
	} {
		c.o.Time = morning
		if _, err := NewWalk(context.Background(), c.m, c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", c.o, err, c.want)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := NewWalk(ctx, s.m, Options{Time: morning}); !errors.Is(err, context.Canceled) {
		t.Errorf("a walk that was given up: %v", err)
	}
}

// The same rig, the same walk.
func TestWalkIsRepeatable(t *testing.T) {
	s := sceneOf(t, "balcony-strain-wave")
	w, err := NewWalk(context.Background(), safeMap(t, load(t, "balcony-strain-wave")), Options{Time: morning})
	if err != nil {
		t.Fatal(err)
	}
	for i := range w.Steps {
		if w.Steps[i].Axes != s.walk.Steps[i].Axes || w.Steps[i].A != s.walk.Steps[i].A || w.Steps[i].B != s.walk.Steps[i].B {
			t.Errorf("step %d differs", i+1)
		}
	}
}

func TestWhere(t *testing.T) {
	leg := &rig.Part{Shape: rig.Cylinder, SizeMM: []float64{40, 1000}, From: "support.legs"}
	for z, want := range map[float64]string{500: " at the tripod's head", 445: " at the tripod's head", 430: "", -470: " at its foot"} {
		if got := legEnd(leg, r3.Vec{X: 20, Z: z}, [2]string{"lower end", "upper end"}); got != want {
			t.Errorf("%g mm along a leg of a metre: %q, want %q", z, got, want)
		}
	}
	if got := legEnd(&rig.Part{Shape: rig.Cylinder, SizeMM: []float64{40, 1000}, From: "support.head"}, r3.Vec{Z: 500}, [2]string{"lower end", "upper end"}); got != "" {
		t.Errorf("no leg: %q", got)
	}
	for _, c := range []struct {
		shape rig.ShapeKind
		size  []float64
		x     r3.Vec
		want  string
	}{
		{rig.Box, []float64{40, 60, 80}, r3.Vec{X: 20, Y: 30, Z: -40}, "a corner of its rear end"},
		{rig.Box, []float64{40, 60, 80}, r3.Vec{X: 20, Y: 0, Z: 40}, "an edge of its front end"},
		{rig.Box, []float64{40, 60, 80}, r3.Vec{X: 20, Y: -30, Z: 0}, "a long edge"},
		{rig.Box, []float64{40, 60, 80}, r3.Vec{X: 0, Y: 0, Z: 40}, "the face of its front end"},
		{rig.Box, []float64{40, 60, 80}, r3.Vec{X: 20, Y: 0, Z: 0}, "a side"},
		{rig.Cylinder, []float64{100, 30}, r3.Vec{X: 50, Z: 15}, "the rim of its front end"},
		{rig.Cylinder, []float64{100, 30}, r3.Vec{X: 20, Z: 15}, "the face of its front end"},
		{rig.Cone, []float64{100, 50, 60}, r3.Vec{Y: 37.5}, "its round side"},
		{rig.Capsule, []float64{20, 100}, r3.Vec{Z: -60}, "the round of its rear end"},
		{rig.Sphere, []float64{20}, r3.Vec{X: 10}, "its round side"},
	} {
		if got := feature(&rig.Part{Shape: c.shape, SizeMM: c.size}, c.x, [2]string{"rear end", "front end"}); got != c.want {
			t.Errorf("%s at %v: %q, want %q", c.shape, c.x, got, c.want)
		}
	}
	for _, c := range []struct {
		n    r3.Vec
		want string
	}{
		{r3.Vec{Z: -1}, "facing down"}, {r3.Vec{Y: 1}, "facing north"}, {r3.Vec{X: -1, Y: -1}, "facing south-west"},
		{r3.Vec{X: 1, Z: 1}, "facing east and up"}, {r3.Vec{X: -1, Y: 0.01, Z: -1}, "facing west and down"},
	} {
		if got := facing(r3.Unit(c.n)); got != c.want {
			t.Errorf("%v: %q, want %q", c.n, got, c.want)
		}
	}
}
