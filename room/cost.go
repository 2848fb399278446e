package room

import (
	"cmp"
	"slices"

	"legroom/axes"
)

// Costs ranks the quantities by what their tolerances take off the pairs that stand in the way anywhere, largest first.
func (m *Map) Costs() []Cost {
	g := m.gauge
	met := map[int]bool{}
	s := g.NewScratch()
	byPair := map[[2]int]int{}
	for i, p := range g.pairs {
		byPair[[2]int{p.fixed, p.moving}] = i
	}
	meet := func(g *Gauge, at axes.Angles) { met[byPair[g.Gap(at, s).LowerPair]] = true }
	m.Leaves(func(c Rect, st State) {
		if st == Edge {
			meet(g, c.Centre())
		}
	})
	// An axis' own edges count for the pairs that it alone moves.
	byOne := *g
	byOne.pairs = slices.DeleteFunc(slices.Clone(g.pairs), func(p pair) bool { return p.byDec })
	for _, i := range m.ra.edges() {
		meet(&byOne, axes.Angles{RA: (i.From + i.To) / 2})
	}
	byOne.pairs = slices.DeleteFunc(slices.Clone(g.pairs), func(p pair) bool { return p.byRA })
	for _, i := range m.dec.edges() {
		meet(&byOne, axes.Angles{Dec: (i.From + i.To) / 2})
	}
	largest := map[int]Cost{}
	for i := range g.pairs { // in their order, so that of pairs that cost the same it is always the same one
		if !met[i] {
			continue
		}
		p := &g.pairs[i]
		a, b := &g.Model.Parts[p.fixed], &g.Model.Parts[p.moving]
		for _, sh := range g.Model.Rig.Shares(g.Model.Assembly, a.Rig, b.Rig) {
			if sh.MM > largest[sh.Quantity].MM {
				largest[sh.Quantity] = Cost{Quantity: g.Model.Rig.Quantities[sh.Quantity], MM: sh.MM, A: a.Name, B: b.Name, OfMM: p.allowance}
			}
		}
	}
	out := make([]Cost, 0, len(largest))
	for _, c := range largest {
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b Cost) int {
		if c := cmp.Compare(b.MM, a.MM); c != 0 {
			return c
		}
		return cmp.Compare(a.Quantity.ID, b.Quantity.ID)
	})
	return out
}
