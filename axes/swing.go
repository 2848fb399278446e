package axes

import "math"

// Swing bounds how far the axes stray, radians, from where they stand at p while the hour angle stays within half of p's at the same
// declination.
//
// The sky turns about the pole, which lies off from the head's own axis: a turn of cos off about the axis itself, and one of sin off
// about a line across it. The second moves a direction by no more than sin off in polar distance P, and turns it by no more than
// sin off·|cot P| about the axis, so that
//
//	|Δβ| ≤ half·sin off     |Δθ| ≤ half·(cos off + sin off·max|cot P|)
//
// with P within that Δβ of p's. Where that may be a pole of the head, ra is half a turn, which is the whole axis.
func (h *Head) Swing(p Pose, half float64) (ra, dec float64) {
	if h.Aligned {
		return half, 0
	}
	so, co := math.Sincos(h.Misalignment())
	dec = half*so + swingSlop
	P := math.Abs(h.Angles(p).Dec)
	near := math.Min(P, math.Pi-P) - dec
	if near <= 0 {
		return math.Pi, dec
	}
	return math.Min(math.Pi, half*(co+so/math.Tan(near))+swingSlop), dec
}

// swingSlop, radians, is more than the rounding of two axis angles.
const swingSlop = 1e-12
