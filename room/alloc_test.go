package room

import (
	"math"
	"math/rand/v2"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// What is asked of every pose, cell and sample asks the heap for nothing: a live watch and a map of millions of cells rest on it.
func TestHotPathsAllocateNothing(t *testing.T) {
	g := exampleGauge(t, terrace, rig.RSS)
	m := mapOf(t, g, 0.5)
	s := g.NewScratch()
	v := newProver(g)
	every := g.every()
	keep := make([]live, 0, 4*len(every))
	rnd := rand.New(rand.NewPCG(1, 2))
	poses := make([]axes.Angles, 512)
	for i := range poses {
		poses[i] = axes.Angles{RA: (rnd.Float64()*2 - 1) * math.Pi, Dec: (rnd.Float64()*2 - 1) * math.Pi}
	}
	cell := axes.Rad(0.25)
	for _, c := range []struct {
		name string
		ask  func(p axes.Angles)
	}{
		{"the gap of a pose", func(p axes.Angles) { g.Gap(p, s) }},
		{"whether a pose is free", func(p axes.Angles) { g.Free(p, s) }},
		{"the tightest pair of a pose", func(p axes.Angles) { g.Tightest(p, s, 50, func(int, int) float64 { return 30 }) }},
		{"the proof of a cell", func(p axes.Angles) { keep, _ = v.prove(p, cell, cell, every, keep[:0]) }},
		{"the map's state of a pose", func(p axes.Angles) { m.State(p) }},
		{"whether a rectangle is free", func(p axes.Angles) { m.FreeRect(Rect{p.RA, p.RA + 0.1, p.Dec, p.Dec + 0.1}) }},
	} {
		i := 0
		if n := testing.AllocsPerRun(len(poses), func() { c.ask(poses[i%len(poses)]); i++ }); n != 0 {
			t.Errorf("%s: %v allocations", c.name, n)
		}
	}
}
