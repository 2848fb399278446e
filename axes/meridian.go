package axes

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// HourAngleAt returns the hour angle at which tracking a declination on a side brings the RA axis to ra, radians, unwrapped as in
// Angles: before it the axis has not come so far, after it the axis is beyond. ok is false for a declination nearer to a pole of the
// sky than the head's own axis points, whose circle does not go round that axis: the RA axis swings to and fro there.
//
// The directions that the head sees at its own hour angle L lie on the great circle with the normal n = cos L·W − sin L·x̂. With
// n = (−k·sin H₀, k·cos H₀, n₃) along the sky's own axes, the last to the north celestial pole, a direction of declination δ is on it at
//
//	H = H₀ − asin(tan δ · n₃/k)
//
// so that H never turns back as δ grows, and its extremes over a band of declinations are at the band's ends.
func (h *Head) HourAngleAt(side Side, ra, dec float64) (hourAngle float64, ok bool) {
	L := ra - quarter
	if side == East {
		L = ra + quarter
	}
	if h.Aligned {
		return L, true
	}
	off := h.Misalignment()
	if !(math.Abs(dec)+off < quarter-1e-9) {
		return 0, false
	}
	sL, cL := math.Sincos(L)
	n := r3.Sub(r3.Scale(cL, h.W), r3.Scale(sL, h.X))
	sφ, cφ := math.Sincos(h.Latitude)
	n1, n2, n3 := n.Z*cφ-n.Y*sφ, -n.X, n.Y*cφ+n.Z*sφ
	turned := Wrap(math.Atan2(-n1, n2) - L) // by the azimuth error, mostly
	shift := math.Asin(math.Max(-1, math.Min(1, math.Tan(dec)*n3/math.Hypot(n1, n2))))
	if most := math.Asin(math.Min(1, math.Tan(math.Abs(dec))*math.Tan(off))); math.Abs(turned)+most+off >= math.Pi {
		return 0, false // Angles would not know which turn is meant
	}
	return L + turned - shift, true
}
