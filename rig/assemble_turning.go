package rig

import (
	"math"
	"slices"
)

// turning lists the pairs whose gap never changes and that are not joined.
func turning(asm *Assembly) [][2]int {
	var out [][2]int
	for j := range asm.Parts {
		for i := range j {
			if pair := [2]int{i, j}; !slices.Contains(asm.Joined, pair) && keepsGap(&asm.Parts[i], &asm.Parts[j]) {
				out = append(out, pair)
			}
		}
	}
	return out
}

// keepsGap tells whether the gap of two parts never changes though an axis turns them against each other: one axis alone does, and one
// of the two is a body of revolution about it.
func keepsGap(a, b *Part) bool {
	switch {
	case a.Frame == Polar && b.Frame == Arm || a.Frame == Arm && b.Frame == Polar:
		return a.revolves(2) || b.revolves(2)
	case a.Frame == Arm && b.Frame == TubeFrame || a.Frame == TubeFrame && b.Frame == Arm:
		// The arm's part only: a cone error takes a tube part off the axis, and its tolerance may.
		return a.Frame == Arm && a.revolves(0) || b.Frame == Arm && b.revolves(0)
	}
	return false
}

// revolves tells whether the part is a body of revolution about an axis of its frame through the crossing: 0 for x, 2 for z.
func (p *Part) revolves(axis int) bool {
	// Rounding of places: coordinates of a few metres, directions of unit length.
	const off, askew = 1e-9, 1e-12
	if p.Shape == Box {
		return false
	}
	for i := range 3 {
		if i != axis && (math.Abs(p.Place[4*i+3]) > off || (p.Shape != Sphere && math.Abs(p.Place[4*i+2]) > askew)) {
			return false
		}
	}
	return true
}
