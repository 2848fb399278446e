package room

import "math"

// shadowSlop is the share of a step that rounding may have it off by.
const shadowSlop = 1e-6

// shadow marks the RA axis angles that some rectangle fills already, in steps. A nil shadow marks nothing.
type shadow struct {
	from, step float64
	marked     []bool
}

func newShadow(i Interval, step float64) *shadow {
	return &shadow{i.From, step, make([]bool, int(math.Ceil((i.To-i.From)/step))+1)}
}

// fall marks the steps that lie in the rectangle whole, but for rounding.
func (s *shadow) fall(c Rect) {
	if s == nil {
		return
	}
	for k := max(0, int(math.Ceil((c.RAFrom-s.from)/s.step-shadowSlop))); k < len(s.marked) && s.from+float64(k+1)*s.step <= c.RATo+shadowSlop*s.step; k++ {
		s.marked[k] = true
	}
}

// holds tells whether all steps that the rectangle reaches into, but for rounding, are marked.
func (s *shadow) holds(c Rect) bool {
	if s == nil {
		return false
	}
	first, last := int(math.Floor((c.RAFrom-s.from)/s.step+shadowSlop)), int(math.Ceil((c.RATo-s.from)/s.step-shadowSlop))
	for k := first; k < last; k++ {
		if k < 0 || k >= len(s.marked) || !s.marked[k] {
			return false
		}
	}
	return first < last
}
