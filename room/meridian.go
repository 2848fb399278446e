package room

import (
	"math"

	"legroom/axes"
)

// Meridian is where a pair of RA axis limits lies from the meridian: hour angles, radians, for whoever goes by the clock instead of the
// axis. Side west, tracked up to West from anywhere before it, and side east, tracked from East on, keep within the pair at every
// declination from DecFrom to DecTo that rises. For a head on the pole these are where the axis stands at the limits; one that is
// off it comes there at another hour angle at each declination, and the first of all is West, the last East.
type Meridian struct {
	West, East     float64
	DecFrom, DecTo float64 // radians: of the pair's declinations, those for which there is one hour angle worth the name
	Off            float64 // radians: how far the polar axis points from the pole
	Found          bool    // false: there is none, and only the axis angle says where the limit is
}

// Near a pole of the sky no hour angle says where a head stands that is off it: a figure is for declinations this far from both, radians,
// and twice as far as the head is off.
const polarCap = 10 * math.Pi / 180

// meridianOf works out where a pair of limits lies from the meridian, for the declinations from decFrom to decTo.
func meridianOf(h *axes.Head, s *sky, west, east, decFrom, decTo float64) Meridian {
	r := Meridian{DecFrom: decFrom, DecTo: decTo, Off: h.Misalignment()}
	if !h.Aligned {
		far := quarter - math.Max(polarCap, 2*r.Off)
		r.DecFrom = math.Max(decFrom, math.Max(-far, s.lat+s.lo-quarter)) // what is farther than that from the zenith never rises
		r.DecTo = math.Min(decTo, math.Min(far, s.lat-s.lo+quarter))
	}
	if !(r.DecFrom <= r.DecTo) {
		return Meridian{Off: r.Off}
	}
	r.West, r.East = math.Inf(1), math.Inf(-1)
	for _, d := range []float64{r.DecFrom, r.DecTo} { // in between lies nothing earlier or later: HourAngleAt
		w, okW := h.HourAngleAt(axes.West, west, d)
		e, okE := h.HourAngleAt(axes.East, -east, d)
		if !okW || !okE {
			return Meridian{Off: r.Off}
		}
		r.West, r.East = math.Min(r.West, w), math.Max(r.East, e)
	}
	if !h.Aligned {
		r.West, r.East = r.West-meridianSlop, r.East+meridianSlop
	}
	r.Found = true
	return r
}

// meridianSlop, radians, is more than what the formula of an hour angle loses by rounding.
const meridianSlop = 1e-9
