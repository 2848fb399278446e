package sim

import (
	"math"
	"testing"
	"time"

	"legroom/axes"
)

// What the sim counts is what looking every 0.01° finds: as often in contact, as deep, between the same parts.
func TestContactsAgainstBruteForce(t *testing.T) {
	t.Parallel()
	r := load(t, terrace)
	rnd := seeded(t)
	touched := 0
	for range 6 {
		m, clk := place(t, r, rnd.Uint64(), at(axes.West, -1+2*rnd.Float64(), -20+70*rnd.Float64()))
		var path []axes.Angles
		run := func(d, step time.Duration) {
			for ; d > 0; d -= step {
				clk.pass(step)
				path = append(path, m.really())
				m.State()
			}
		}
		// Hours of tracking, then by hand through thick and thin.
		run(5*time.Hour, 2*time.Second)
		for axis, deg := range []float64{-60, 90} {
			if err := m.MoveAxis(axis, axes.Rad(math.Copysign(2, deg))); err != nil {
				t.Fatal(err)
			}
			run(time.Duration(math.Abs(deg)/2*1e9), 5*time.Millisecond)
			if err := m.MoveAxis(axis, 0); err != nil {
				t.Fatal(err)
			}
			run(2*time.Second, 5*time.Millisecond)
		}
		got := m.Contacts()
		g := m.TrueGauge()
		s := g.NewScratch()
		count, in, deepest, least, longest := 0, false, 0.0, math.Inf(1), 0.0
		for i, p := range path {
			d := g.Gap(p, s).Nearest.Gap
			least, deepest = math.Min(least, d), math.Max(deepest, -d)
			if d <= 0 && !in {
				count++
			}
			in = d <= 0
			if i > 0 {
				longest = math.Max(longest, math.Abs(p.RA-path[i-1].RA)+math.Abs(p.Dec-path[i-1].Dec))
			}
		}
		if axes.Deg(longest) > 0.02 {
			t.Fatalf("the brute force looks every %.3f° alone", axes.Deg(longest))
		}
		touched += count
		slack := m.touch.reach * fineStep
		if got.Count != count || math.Abs(got.DeepestMM-deepest) > slack || least < closeBy && math.Abs(got.LeastMM-least) > slack {
			t.Errorf("%d contacts, %.2f mm deep, least gap %.2f; brute force over %d poses finds %d, %.2f, %.2f", got.Count, got.DeepestMM, got.LeastMM,
				len(path), count, deepest, least)
		}
		if len(got.List) != got.Count {
			t.Errorf("%d are listed of %d", len(got.List), got.Count)
		}
		for _, c := range got.List {
			if d := g.Gap(c.At, s).Nearest; -d.Gap != c.DepthMM || g.Model.Parts[d.A].Name != c.A || g.Model.Parts[d.B].Name != c.B || c.To.Before(c.From) {
				t.Errorf("%+v, but the gap there is %+v", c, d)
			}
		}
		if got.Looks > len(path)/5 {
			t.Errorf("%d looks on a way of %d poses", got.Looks, len(path))
		}
	}
	if touched == 0 {
		t.Error("nothing ever touched: the test proves nothing")
	}
}

// Two looks are never further apart than 0.1°, where the gap is small.
func TestLooksAreDense(t *testing.T) {
	m, clk := place(t, load(t, terrace), 2, at(axes.West, 0, 40))
	m.touch.gap = 0
	if err := m.MoveAxis(0, axes.Rad(3)); err != nil {
		t.Fatal(err)
	}
	last, worst := m.touch.last, 0.0
	for range 4000 {
		m.touch.gap = math.Min(m.touch.gap, closeBy) // as if it were small everywhere
		clk.pass(time.Millisecond)
		m.State()
		if m.touch.last != last {
			worst = math.Max(worst, axes.Deg(m.touch.turned(last)))
			last = m.touch.last
		}
	}
	if worst == 0 || worst > 0.1+1e-9 {
		t.Errorf("%.4f° between two looks", worst)
	}
}
