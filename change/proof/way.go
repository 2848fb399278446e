package proof

import (
	"legroom/axes"
	"legroom/room"
)

// passes tells whether the slew between two poses is proven, in every order of the axes and by every way that the mount may take.
func passes(m *room.Map, from, to axes.Angles) bool {
	flip := (from.Dec < 0) != (to.Dec < 0)
	return m.Passage(room.At(from), room.At(to), flip)
}

// connect fills in the ways: straight from step to step where that slew is proven, or else by way of the start, which a proven slew
// joins with every step.
func (w *Walk) connect(m *room.Map) {
	at := w.Start
	for i := range w.Steps {
		s := &w.Steps[i]
		if !passes(m, at, s.Axes) {
			s.Way = append(s.Way, w.Start)
		}
		s.Way = append(s.Way, s.Axes)
		at = s.Axes
	}
}

// fewFlips keeps the order from roomy to tight by thirds, and within each third takes one side after the other, first the one that the
// mount is on.
func fewFlips(steps []Step) []Step {
	out := make([]Step, 0, len(steps))
	side := axes.West
	for k := range 3 {
		third := steps[k*len(steps)/3 : (k+1)*len(steps)/3]
		if len(third) == 0 {
			continue
		}
		if len(out) == 0 {
			side = third[0].Pose.Side
		}
		for _, now := range [2]axes.Side{side, 1 - side} {
			for _, s := range third {
				if s.Pose.Side == now {
					out = append(out, s)
				}
			}
		}
		side = out[len(out)-1].Pose.Side
	}
	return out
}
