package night

import (
	"math"

	"legroom/axes"
	"legroom/room"
)

// sides is which side the mount takes when it slews to a target.
type sides struct {
	certain    bool          // told by the owner's software, or by the hour angle; else it may take either
	west, east room.Interval // hour angles at which a slew to a target surely ends on the side, where its run has them
}

// sidesOf reads a mount's own rules. A slew takes the RA axis to where it is nearest to counterweight-down; what of the rest the
// mount decides by the hour angle changes at its earliest flip, or at the meridian, and at lower transit.
func sidesOf(m *room.Map) sides {
	s := sides{west: room.Interval{From: -1.5 * math.Pi, To: 0.5 * math.Pi}, east: room.Interval{From: -0.5 * math.Pi, To: 1.5 * math.Pi}}
	var flip float64
	flip, s.certain = m.EarliestFlip()
	rules := m.Gauge().Model.Rig.Mount.Rules
	if !s.certain || rules.EarliestFlipMin == nil && rules.SideChoice == "as_told" {
		return s
	}
	s.east = room.Interval{From: max(s.east.From, flip), To: math.Pi}
	if rules.SideChoice != "as_told" {
		s.west = room.Interval{From: -math.Pi, To: min(s.west.To, flip)}
	}
	return s
}

func (s sides) starts(side axes.Side) room.Interval {
	if side == axes.West {
		return s.west
	}
	return s.east
}
