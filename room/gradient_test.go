package room

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// moved measures one pair with a quantity changed by dx, straight from a new assembly.
func moved(t testing.TB, g *Gauge, ax axes.Angles, a, b, id int, dx float64) float64 {
	t.Helper()
	r := g.Model.Rig.Clone()
	r.Quantities[id].Value += dx
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	h, err := NewGauge(m, Options{Mode: g.Mode})
	if err != nil {
		t.Fatal(err)
	}
	return pairGap(t, h, ax, a, b)
}

func pairGap(t testing.TB, g *Gauge, ax axes.Angles, a, b int) float64 {
	t.Helper()
	i := slices.IndexFunc(g.pairs, func(p pair) bool { return p.fixed == a && p.moving == b })
	if i < 0 {
		t.Fatalf("no pair %d, %d", a, b)
	}
	s := g.NewScratch()
	s.at.set(g, ax.RA, ax.Dec)
	d, _ := (&Rates{g: g}).measure(&g.pairs[i], s)
	return d.Gap
}

// Central differences of whole new assemblies, over every example rig: each quantity that the gradient lists, and those that it does
// not. Where the differences to either side disagree the nearest points switch within the step, and the derivative has to lie between
// the two.
func TestGradientAgainstDifferences(t *testing.T) {
	const seed = 20261125
	rng := rand.New(rand.NewPCG(seed, 6))
	for _, file := range examples(t) {
		g := exampleGauge(t, file, rig.RSS)
		r, err := g.NewRates()
		if err != nil {
			t.Fatal(err)
		}
		s := g.NewScratch()
		tried, switches, worst := 0, 0, 0.0
		for tried < 400 {
			ax := axes.Angles{RA: (2*rng.Float64() - 1) * math.Pi, Dec: (2*rng.Float64() - 1) * math.Pi}
			near := g.Nearest(ax, 6)
			p := near[rng.IntN(len(near))]
			if p.Gap < 2 || p.Gap > 800 {
				continue
			}
			d, grad, ok := r.Gradient(ax, p.A, p.B, s, nil)
			if !ok || math.Abs(d.Gap-p.Gap) > closed {
				t.Fatalf("seed %d, %s: gap %v, by the gauge %v", seed, file, d.Gap, p.Gap)
			}
			by := map[int]float64{}
			for i, e := range grad {
				by[e.Quantity] = e.MMPerUnit
				if i > 0 && grad[i-1].Quantity >= e.Quantity {
					t.Fatalf("the gradient is not sorted: %v", grad)
				}
			}
			var id int
			if rng.IntN(4) == 0 || len(grad) == 0 {
				id = rng.IntN(len(g.Model.Rig.Quantities))
			} else {
				id = grad[rng.IntN(len(grad))].Quantity
			}
			q := g.Model.Rig.Quantities[id]
			if !(q.Tol > 0) {
				continue
			}
			tried++
			const h = 0.02
			up, down := moved(t, g, ax, p.A, p.B, id, h), moved(t, g, ax, p.A, p.B, id, -h)
			right, left, central := (up-d.Gap)/h, (d.Gap-down)/h, (up-down)/(2*h)
			if math.Abs(right-left) > 2e-3*math.Max(math.Abs(central), 0.05) {
				switches++
				if lo, hi := math.Min(left, right), math.Max(left, right); by[id] < lo-2e-3*(hi-lo)-1e-3 || by[id] > hi+2e-3*(hi-lo)+1e-3 {
					t.Errorf("seed %d, %s, %s: gradient %.6f is not between the one-sided differences %.6f and %.6f", seed, file, q.Path, by[id], left, right)
				}
				continue
			}
			off := math.Abs(by[id]-central) / math.Max(math.Abs(central), 0.01)
			worst = math.Max(worst, off)
			if off > 1e-4 {
				t.Errorf("seed %d, %s, RA %.3f° dec %.3f°, %s to %s, %s: gradient %.9f, difference %.9f (right %.9f, left %.9f), gap %.3f mm",
					seed, file, axes.Deg(ax.RA), axes.Deg(ax.Dec), g.Model.Parts[p.A].Name, g.Model.Parts[p.B].Name, q.Path, by[id], central, right, left, d.Gap)
			}
		}
		t.Logf("%s: %d derivatives, %d at switches, largest error %.1e", file, tried, switches, worst)
		if switches > tried/5 {
			t.Errorf("%s: %d of %d at switches: that is no test", file, switches, tried)
		}
	}
}

// Where two pairs are equally near, the least gap's derivative is that of either pair, the lesser on the right and the greater on the
// left: both must be what a small step to that side does.
func TestGradientAtASwitch(t *testing.T) {
	g := exampleGauge(t, "../examples/terrace-long-refractor.yaml", rig.RSS)
	r, err := g.NewRates()
	if err != nil {
		t.Fatal(err)
	}
	s := g.NewScratch()
	least := func(g *Gauge, ax axes.Angles) PairGap { return g.Gap(ax, g.NewScratch()).Nearest }
	found, inner := 0, 0
	// switches tells that the nearest points of a single pair switch there: its derivative must lie between its one-sided differences.
	switches := func(to [2]float64, gap, grad, h float64) bool {
		right, left := (to[0]-gap)/h, (gap-to[1])/h
		if math.Abs(right-left) < 1e-2 {
			return false
		}
		if grad < math.Min(left, right)-1e-2 || grad > math.Max(left, right)+1e-2 {
			t.Errorf("gradient %.5f is not between the one-sided differences %.5f and %.5f", grad, left, right)
		}
		return true
	}
	for dec := -0.9; dec < 0.9 && found < 6; dec += 0.07 {
		for ra := -1.4; ra < 1.4; ra += 0.05 {
			a, b := axes.Angles{RA: ra, Dec: dec}, axes.Angles{RA: ra + 0.05, Dec: dec}
			pa, pb := least(g, a), least(g, b)
			if pa.A == pb.A && pa.B == pb.B || pa.Gap < 5 || pb.Gap < 5 {
				continue
			}
			for range 60 { // to where the two are equally near
				mid := axes.Angles{RA: (a.RA + b.RA) / 2, Dec: dec}
				if d, _ := r.Between(mid, pa.A, pa.B, s); d.Gap < must(r.Between(mid, pb.A, pb.B, s)).Gap {
					a = mid
				} else {
					b = mid
				}
			}
			da, ga, _ := r.Gradient(a, pa.A, pa.B, s, nil)
			db, gb, _ := r.Gradient(a, pb.A, pb.B, s, nil)
			if math.Abs(da.Gap-db.Gap) > 1e-6 || math.Abs(least(g, a).Gap-da.Gap) > 1e-3 {
				continue // a third pair is nearer there
			}
			found++
			by := [2]map[int]float64{{}, {}}
			for k, list := range [2][]Derivative{ga, gb} {
				for _, e := range list {
					by[k][e.Quantity] = e.MMPerUnit
				}
			}
			for id, q := range g.Model.Rig.Quantities {
				x, y := by[0][id], by[1][id]
				if !(q.Tol > 0) || math.Abs(x-y) < 0.2 {
					continue
				}
				const h = 0.01
				px := [2]float64{moved(t, g, a, pa.A, pa.B, id, h), moved(t, g, a, pa.A, pa.B, id, -h)}
				py := [2]float64{moved(t, g, a, pb.A, pb.B, id, h), moved(t, g, a, pb.A, pb.B, id, -h)}
				if switches(px, da.Gap, x, h) || switches(py, db.Gap, y, h) {
					inner++
					continue
				}
				right, left := (math.Min(px[0], py[0])-da.Gap)/h, (da.Gap-math.Min(px[1], py[1]))/h
				if math.Abs(right-math.Min(x, y)) > 5e-3 || math.Abs(left-math.Max(x, y)) > 5e-3 {
					t.Errorf("%s at RA %.4f° dec %.3f°: gradients %.5f and %.5f, right %.5f, left %.5f", q.Path, axes.Deg(a.RA), axes.Deg(dec), x, y, right, left)
				}
			}
		}
	}
	t.Logf("%d switches between pairs, %d derivatives at which the nearest points of a pair switch too", found, inner)
	if found < 3 || inner > 20 {
		t.Errorf("%d switches between pairs found, %d derivatives left out", found, inner)
	}
}

func must(d PairGap, ok bool) PairGap {
	if !ok {
		panic("no such pair")
	}
	return d
}

// The proven bound of a gap's change is never less than its derivative: √Σ and Σ of the gradient's shares stay below the allowances.
func TestGradientWithinTheAllowance(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	for _, file := range examples(t) {
		for _, mode := range []rig.ToleranceMode{rig.RSS, rig.Worst} {
			g := exampleGauge(t, file, mode)
			r, err := g.NewRates()
			if err != nil {
				t.Fatal(err)
			}
			s := g.NewScratch()
			for range 300 {
				ax := axes.Angles{RA: (2*rng.Float64() - 1) * math.Pi, Dec: (2*rng.Float64() - 1) * math.Pi}
				for _, p := range g.Nearest(ax, 4) {
					d, grad, _ := r.Gradient(ax, p.A, p.B, s, nil)
					var shares []rig.Share
					for _, e := range grad {
						shares = append(shares, rig.Share{Quantity: e.Quantity, MM: math.Abs(e.MMPerUnit) * g.Model.Rig.Quantities[e.Quantity].Tol})
					}
					if got := rig.Allowance(shares, mode); got > d.Allowance+1e-6 {
						t.Fatalf("%s: %s to %s: %.4f mm by the gradient, %.4f proven (%s)", file, g.Model.Parts[p.A].Name, g.Model.Parts[p.B].Name, got, d.Allowance, mode)
					}
				}
			}
		}
	}
}

// How a point of each shape moves with the sizes, worked by hand.
func TestGradientOfAShape(t *testing.T) {
	for _, c := range []struct {
		kind rig.ShapeKind
		size []float64
		x, n r3.Vec
		want [3]float64
	}{
		{rig.Box, []float64{40, 60, 80}, r3.Vec{X: 20, Y: 3, Z: -40}, r3.Vec{X: 0.6, Z: -0.8}, [3]float64{0.3, 0, 0.4}},
		{rig.Cylinder, []float64{100, 60}, r3.Vec{X: 50, Z: 10}, r3.Vec{X: 1}, [3]float64{0.5 * (1 - 40./60), 0.5 * 40 / 60, 0}},
		{rig.Cone, []float64{100, 50, 60}, r3.Vec{Y: 25, Z: 30}, r3.Vec{Y: 0.6, Z: 0.8}, [3]float64{0, 0.3, 0.4}},
		{rig.Capsule, []float64{20, 100}, r3.Vec{Z: 60}, r3.Vec{Z: 1}, [3]float64{0.5, 0.5, 0}},
		{rig.Sphere, []float64{20}, r3.Vec{X: -10}, r3.Vec{X: -1}, [3]float64{0.5, 0, 0}},
	} {
		var p movable
		p.kind, p.size = sized(&rig.Part{Shape: c.kind, SizeMM: c.size})
		got := p.grown(c.x, c.n)
		for k := range got {
			if math.Abs(got[k]-c.want[k]) > 1e-12 {
				t.Errorf("%s: %v, want %v", c.kind, got, c.want)
			}
		}
	}
}

// nearPoses are poses with a pair to measure, for the benchmarks.
func nearPoses(b *testing.B, g *Gauge) (ax []axes.Angles, pairs []PairGap) {
	rng := rand.New(rand.NewPCG(7, 7))
	for len(ax) < 256 {
		at := axes.Angles{RA: (2*rng.Float64() - 1) * math.Pi, Dec: (2*rng.Float64() - 1) * math.Pi}
		if p := g.Nearest(at, 1)[0]; p.Gap > 0 {
			ax, pairs = append(ax, at), append(pairs, p)
		}
	}
	return ax, pairs
}

func BenchmarkPairGap(b *testing.B) {
	g := exampleGauge(b, "../examples/terrace-long-refractor.yaml", rig.RSS)
	ax, pairs := nearPoses(b, g)
	r, err := g.NewRates()
	if err != nil {
		b.Fatal(err)
	}
	s := g.NewScratch()
	for i := 0; b.Loop(); i++ {
		k := i % len(ax)
		r.Between(ax[k], pairs[k].A, pairs[k].B, s)
	}
}

func BenchmarkPairGradient(b *testing.B) {
	g := exampleGauge(b, "../examples/terrace-long-refractor.yaml", rig.RSS)
	ax, pairs := nearPoses(b, g)
	r, err := g.NewRates()
	if err != nil {
		b.Fatal(err)
	}
	s := g.NewScratch()
	var dst []Derivative
	for i := 0; b.Loop(); i++ {
		k := i % len(ax)
		_, dst, _ = r.Gradient(ax[k], pairs[k].A, pairs[k].B, s, dst[:0])
	}
}

func BenchmarkNewRates(b *testing.B) {
	g := exampleGauge(b, "../examples/terrace-long-refractor.yaml", rig.RSS)
	for b.Loop() {
		if _, err := g.NewRates(); err != nil {
			b.Fatal(err)
		}
	}
}
