package rig

import (
	"math"
	"slices"
)

// turning lists the pairs whose gap never changes and that are not joined: parts that one axis alone turns against each other, one of
// the two a body of revolution about it.
func turning(asm *Assembly) [][2]int {
	var out [][2]int
	for j := range asm.Parts {
		for i := range j {
			a, b := &asm.Parts[i], &asm.Parts[j]
			if slices.Contains(asm.Joined, [2]int{i, j}) {
				continue
			}
			switch {
			case a.Frame == Polar && b.Frame == Arm || a.Frame == Arm && b.Frame == Polar:
				if a.revolves(2) || b.revolves(2) {
					out = append(out, [2]int{i, j})
				}
			case a.Frame == Arm && b.Frame == TubeFrame || a.Frame == TubeFrame && b.Frame == Arm:
				// The arm's part only: a cone error takes a tube part off the axis, and its tolerance may.
				if a.Frame == Arm && a.revolves(0) || b.Frame == Arm && b.revolves(0) {
					out = append(out, [2]int{i, j})
				}
			}
		}
	}
	return out
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
