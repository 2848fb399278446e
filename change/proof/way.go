package proof

import (
	"math"

	"legroom/axes"
	"legroom/room"
)

// passes tells whether the slew between two poses is proven, in every order of the axes and by every way that the mount may take.
func passes(m *room.Map, from, to axes.Angles) bool {
	flip := (from.Dec < 0) != (to.Dec < 0)
	return m.Passage(room.At(from), room.At(to), flip)
}

// sunNear is how near to the Sun, degrees, a way is not to pass when there is another. The cap is on, so that passing it does no harm.
const sunNear = 15.0

// connect fills in the ways: straight from step to step where that slew is proven, or else by way of the start, which a proven slew
// joins with every step; that too where the straight way passes near the Sun and the other does not.
func (w *Walk) connect(m *room.Map, s *sun) {
	h := &m.Gauge().Model.Head
	at := w.Start
	for i := range w.Steps {
		to := w.Steps[i].Axes
		straight, round := s.along(h, at, to), math.Min(s.along(h, at, w.Start), s.along(h, w.Start, to))
		if at != w.Start && (!passes(m, at, to) || straight < sunNear && round >= sunNear) {
			w.Steps[i].Way = append(w.Steps[i].Way, w.Start)
		}
		w.Steps[i].Way = append(w.Steps[i].Way, to)
		at = to
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
