package room

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// sky is what the site shows: which directions stand above the horizon.
type sky struct {
	lat     float64
	horizon rig.Horizon
	lo, hi  float64 // least and greatest altitude of the horizon, radians
}

func newSky(m *axes.Model) *sky {
	s := &sky{lat: m.Head.Latitude, horizon: m.Rig.Site.Horizon}
	for i, p := range s.horizon {
		a := axes.Rad(p[1])
		if i == 0 {
			s.lo, s.hi = a, a
		}
		s.lo, s.hi = math.Min(s.lo, a), math.Max(s.hi, a)
	}
	return s
}

// above returns how far the direction of (H, δ) stands above the horizon, radians.
func (s *sky) above(hourAngle, dec float64) float64 {
	alt, az := axes.AltAz(axes.Direction(s.lat, hourAngle, dec))
	return alt - axes.Rad(s.horizon.Altitude(axes.Deg(az)))
}

// up returns the hour angles in [−π, π] at which declination δ stands above the horizon, to 1e-9.
func (s *sky) up(dec float64) []Interval {
	const steps = 720
	var out []Interval
	x0, f0 := -math.Pi, s.above(-math.Pi, dec)
	from := x0
	for i := 1; i <= steps; i++ {
		x1 := -math.Pi + float64(i)*turn/steps
		f1 := s.above(x1, dec)
		if (f0 >= 0) != (f1 >= 0) {
			a, b := x0, x1
			for b-a > 1e-9 {
				m := (a + b) / 2
				if (s.above(m, dec) >= 0) == (f0 >= 0) {
					a = m
				} else {
					b = m
				}
			}
			if f0 >= 0 {
				out = append(out, Interval{from, a})
			} else {
				from = b
			}
		}
		x0, f0 = x1, f1
	}
	if f0 >= 0 {
		out = append(out, Interval{from, math.Pi})
	}
	return out
}

// mayBeUp tells whether some direction within r of the unit vector u may stand above the horizon; it errs to yes.
func (s *sky) mayBeUp(u r3.Vec, r float64) bool {
	alt, az := axes.AltAz(u)
	top := alt + r + 1e-9
	switch {
	case top >= s.hi:
		return true
	case top < s.lo:
		return false
	case math.Abs(alt)+r >= math.Pi/2:
		return true
	}
	// The circle of radius r about u spans this much azimuth to each side.
	w := axes.Deg(math.Asin(math.Min(1, math.Sin(r)/math.Cos(alt)))) + 1e-9
	return top >= axes.Rad(s.horizon.Least(axes.Deg(az)-w, axes.Deg(az)+w))
}
