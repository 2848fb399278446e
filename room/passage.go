package room

import (
	"math"

	"legroom/axes"
	"legroom/rig"
)

// Hold returns a rectangle of axis angles that holds every pose of a side with its hour angle in hours, unwrapped, and its
// declination in decs, radians.
func (m *Map) Hold(side axes.Side, hours, decs Interval) Rect {
	return m.axisRect(side, hours.From, hours.To, decs.From, decs.To)
}

// At returns the rectangle that holds one pose alone.
func At(g axes.Angles) Rect { return Rect{g.RA, g.RA, g.Dec, g.Dec} }

// Passage tells whether the slews from anywhere in start to anywhere in end, rectangles of unwrapped axis angles, are proven
// free in every order of the axes that the document leaves open, overshoot included, straight from the gaps where a cell of the
// map is undecided. With flip the slew changes sides, and is proven by every way that the declination axis may take; else the
// axis turns the straight way.
func (m *Map) Passage(start, end Rect, flip bool) bool {
	return m.finer().passage(start, end, flip)
}

func (m *Map) passage(start, end Rect, flip bool) bool {
	t := m.gauge.Model.Travel
	if both := start.hull(end); both.RAFrom < t.RAFrom-joinSlop || both.RATo > t.RATo+joinSlop {
		return false
	}
	_, _, near := reach(start.hull(end), t)
	if !flip {
		return near && m.proven(start, end)
	}
	way := m.gauge.Model.Rig.Mount.Travel.Flip
	far := farSide(start, end)
	_, _, away := reach(start.hull(far), t)
	if way == rig.ThroughPole && !near || way == rig.AwayFromPole && !away || !near && !away {
		return false // the mount would have to go another way than the one that is proven
	}
	return (way == rig.AwayFromPole || m.proven(start, end)) && (way == rig.ThroughPole || m.proven(start, far))
}

// farSide returns the same end reached by turning the declination axis the other way round, past the far pole.
func farSide(start, end Rect) Rect {
	by := turn
	if end.Centre().Dec > start.Centre().Dec {
		by = -turn
	}
	end.DecFrom, end.DecTo = end.DecFrom+by, end.DecTo+by
	return end
}

// Way is all that the slews of a passage may sweep.
type Way struct {
	m          *Map
	start, end Rect
}

// Ways lists what the slews that Passage proves may sweep, one for each way that the declination axis may take.
func (m *Map) Ways(start, end Rect, flip bool) []Way {
	way := m.gauge.Model.Rig.Mount.Travel.Flip
	if !flip || way == rig.ThroughPole {
		return []Way{{m, start, end}}
	}
	far := Way{m, start, farSide(start, end)}
	if way == rig.AwayFromPole {
		return []Way{far}
	}
	return []Way{{m, start, end}, far}
}

// Box holds every one of the slews, overshoot and all.
func (w Way) Box() Rect {
	return w.start.hull(overshot(w.start, w.end, w.m.gauge.slew().overshoot))
}

// Meets tells whether one of the slews may come through r; it errs to true.
func (w Way) Meets(r Rect) bool {
	s := w.m.gauge.slew()
	over := overshot(w.start, w.end, s.overshoot)
	for _, o := range orders(w.m.order()) {
		if o == rig.BothAtOnce && newFan(w.start, w.end, s).misses(r) {
			continue
		}
		for _, b := range swept(w.start, over, o) {
			if r.RAFrom <= b.RATo && b.RAFrom <= r.RATo && r.DecFrom <= b.DecTo && b.DecFrom <= r.DecTo {
				return true
			}
		}
	}
	return false
}

// PassageSeconds is the longest that a slew from anywhere in start to anywhere in end takes: with the rates slower by the
// document's spread, by the longer way round where the document leaves it open, and settled.
func (m *Map) PassageSeconds(start, end Rect, flip bool) float64 {
	span := func(a, b Rect) (ra, dec float64) {
		return math.Max(math.Abs(b.RATo-a.RAFrom), math.Abs(a.RATo-b.RAFrom)), math.Max(math.Abs(b.DecTo-a.DecFrom), math.Abs(a.DecTo-b.DecFrom))
	}
	way := m.gauge.Model.Rig.Mount.Travel.Flip
	ra, dec := span(start, end)
	if flip && way != rig.ThroughPole {
		_, far := span(start, farSide(start, end))
		if way == rig.AwayFromPole {
			dec = far
		}
		dec = math.Max(dec, far)
	}
	return m.gauge.slew().longest(ra, dec, m.order())
}

// Overshoot is how far a slew may run past its end on each axis, radians.
func (m *Map) Overshoot() float64 { return m.gauge.slew().overshoot }
