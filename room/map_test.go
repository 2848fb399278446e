package room

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync/atomic"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// What the map calls free is free by brute force, and what it calls blocked is not, on every example rig.
func TestFreeMeansFree(t *testing.T) {
	for _, file := range examples(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			rnd := seeded(t)
			g := exampleGauge(t, file, rig.RSS)
			m := mapOf(t, g, 0.25)
			var free, blocked atomic.Int64
			parallel(rnd, func(_ int, rnd *rand.Rand) {
				ff, fb, f, b := contradictions(m, newJudge(g.Model, g.MarginMM, g.Mode), newSampler(rnd, m), *poses/2,
					func(ax axes.Angles, st State, slack float64, who judged) {
						t.Errorf("%v at RA %v° dec %v° but %s to %s has gap − need = %v mm", st, axes.Deg(ax.RA), axes.Deg(ax.Dec),
							g.Model.Parts[who.a].Name, g.Model.Parts[who.b].Name, slack)
					})
				_, _ = ff, fb
				free.Add(int64(f))
				blocked.Add(int64(b))
			})
			if free.Load() == 0 || blocked.Load() == 0 {
				t.Fatalf("nothing was tried: %d free, %d blocked", free.Load(), blocked.Load())
			}
			t.Logf("%d free and %d blocked poses agree with brute force; edge %.2f%% of the torus", free.Load(), blocked.Load(), 100*m.EdgeShare())
			if m.EdgeShare() >= 0.02 {
				t.Errorf("edge cells are %.2f%% of the torus; want under 2%%", 100*m.EdgeShare())
			}
		})
	}
}

// Each guard of the proof, taken away on purpose, is missed: the test above would fail without it.
func TestPlantedFaultsAreCaught(t *testing.T) {
	const file = "../examples/terrace-long-refractor.yaml"
	for _, c := range []struct {
		name  string
		plant func(g *Gauge)
	}{
		{"bound taken from above", func(g *Gauge) { g.fault = boundFromAbove }},
		{"motion bound halved", func(g *Gauge) { g.fault = motionHalved }},
		{"tolerance dropped", func(g *Gauge) {
			for i := range g.pairs {
				g.pairs[i].need = g.MarginMM
			}
		}},
		{"a leg left out", func(g *Gauge) {
			kept := g.pairs[:0]
			for _, p := range g.pairs {
				if g.Model.Parts[p.fixed].Name != "leg 1" {
					kept = append(kept, p)
				}
			}
			g.pairs = kept
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			rnd := seeded(t)
			g := exampleGauge(t, file, rig.RSS)
			j := newJudge(g.Model, g.MarginMM, g.Mode)
			c.plant(g)
			m := mapOf(t, g, 0.25)
			n := 0
			for range 20 {
				ff, _, _, _ := contradictions(m, j, newSampler(rnd, m), 20000, func(axes.Angles, State, float64, judged) {})
				if n += ff; n > 0 {
					break
				}
			}
			if n == 0 {
				t.Errorf("the fault was not noticed")
			}
		})
	}
}

// A refined map says no less than the coarse one, and nothing else.
func TestRefineKeepsWhatIsProven(t *testing.T) {
	rnd := seeded(t)
	g := exampleGauge(t, "../examples/terrace-long-refractor.yaml", rig.RSS)
	coarse := mapOf(t, g, 2)
	fine, err := coarse.Refine(context.Background(), MapOptions{CellDeg: 0.25})
	if err != nil {
		t.Fatal(err)
	}
	direct := mapOf(t, g, 0.25)
	if fine.CellDeg() > 0.25 {
		t.Errorf("cells of %v°", fine.CellDeg())
	}
	for range 20000 {
		x := axes.Angles{RA: (rnd.Float64()*2 - 1) * math.Pi, Dec: (rnd.Float64()*2 - 1) * math.Pi}
		a, b := coarse.State(x), fine.State(x)
		if a != Edge && a != b {
			t.Fatalf("%v became %v", a, b)
		}
		if c := direct.State(x); b != Edge && c != Edge && b != c {
			t.Fatalf("refined says %v, direct %v", b, c)
		}
	}
	if fine.EdgeShare() > 1.1*direct.EdgeShare() {
		t.Errorf("edge %.3f%% after refining, %.3f%% direct", 100*fine.EdgeShare(), 100*direct.EdgeShare())
	}
}

// The map is the same however many goroutines make it.
func TestMapIsDeterministic(t *testing.T) {
	g := exampleGauge(t, "../examples/balcony-strain-wave.yaml", rig.RSS)
	one, err := NewMap(context.Background(), g, MapOptions{CellDeg: 1, Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	many, err := NewMap(context.Background(), g, MapOptions{CellDeg: 1, Workers: 7})
	if err != nil {
		t.Fatal(err)
	}
	type leaf struct {
		r Rect
		s State
	}
	var a, b []leaf
	one.Leaves(func(r Rect, s State) { a = append(a, leaf{r, s}) })
	many.Leaves(func(r Rect, s State) { b = append(b, leaf{r, s}) })
	if len(a) != len(b) {
		t.Fatalf("%d and %d leaves", len(a), len(b))
	}
	for i := range a {
		if a[i] != b[i] {
			t.Fatalf("leaf %d: %v and %v", i, a[i], b[i])
		}
	}
}

func TestMapCanBeCancelled(t *testing.T) {
	g := exampleGauge(t, "../examples/terrace-long-refractor.yaml", rig.RSS)
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	m, err := NewMap(ctx, g, MapOptions{CellDeg: 0.25, Progress: func(float64) {
		if calls++; calls == 2 {
			cancel()
		}
	}})
	if !errors.Is(err, context.Canceled) || m != nil {
		t.Fatalf("map %v, error %v", m, err)
	}
}

func TestRectAgreesWithStates(t *testing.T) {
	rnd := seeded(t)
	g := exampleGauge(t, "../examples/terrace-long-refractor.yaml", rig.RSS)
	m := mapOf(t, g, 0.5)
	frees := 0
	for range 20000 {
		r := Rect{RAFrom: (rnd.Float64()*4 - 2) * math.Pi, DecFrom: (rnd.Float64()*4 - 2) * math.Pi}
		r.RATo, r.DecTo = r.RAFrom+rnd.ExpFloat64()*0.2, r.DecFrom+rnd.ExpFloat64()*0.2
		free := m.FreeRect(r)
		if free {
			frees++
		}
		for range 20 {
			x := axes.Angles{RA: r.RAFrom + rnd.Float64()*(r.RATo-r.RAFrom), Dec: r.DecFrom + rnd.Float64()*(r.DecTo-r.DecFrom)}
			if free && m.State(x) != Free {
				t.Fatalf("%v is free but %v in it is %v", r, x, m.State(x))
			}
		}
	}
	if frees < 1000 {
		t.Fatalf("only %d rectangles were free", frees)
	}
}

// The rectangles that hold what is free hold what State calls free, and nothing else; also where one axis alone is in the way.
func TestFreeRects(t *testing.T) {
	for _, file := range examples(t) {
		m := mapOf(t, exampleGauge(t, file, rig.RSS), 1)
		var all []Rect
		area := 0.0
		m.FreeRects(func(r Rect) {
			all = append(all, r)
			area += (r.RATo - r.RAFrom) * (r.DecTo - r.DecFrom)
		})
		rnd := seeded(t)
		const poses = 4000
		free := 0
		for range poses {
			g := axes.Angles{RA: (rnd.Float64()*2 - 1) * math.Pi, Dec: (rnd.Float64()*2 - 1) * math.Pi}
			in := slices.ContainsFunc(all, func(r Rect) bool {
				return r.RAFrom <= g.RA && g.RA <= r.RATo && r.DecFrom <= g.Dec && g.Dec <= r.DecTo
			})
			if in != (m.State(g) == Free) {
				t.Errorf("%s: %v is %v, in a free rectangle: %v", file, g, m.State(g), in)
			}
			if in {
				free++
			}
		}
		// They do not overlap.
		if share := area / (turn * turn); math.Abs(share-float64(free)/poses) > 0.04 {
			t.Errorf("%s: %.3f of the torus by area, %.3f by poses", file, share, float64(free)/poses)
		}
	}
}
