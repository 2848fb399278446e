package room

import (
	"cmp"
	"slices"
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
	m.Leaves(func(c Rect, st State) {
		if st == Edge {
			if pair := g.Gap(c.Centre(), s).LowerPair; !met[byPair[pair]] {
				met[byPair[pair]] = true
			}
		}
	})
	largest := map[int]Cost{}
	for i := range met {
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
