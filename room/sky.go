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
	// Their sines, moved apart by more than a sine's rounding.
	sinLo, sinHi float64
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
	s.sinLo, s.sinHi = math.Sin(s.lo)-1e-12, math.Sin(s.hi)+1e-12
	return s
}

// isUp tells whether the direction of (H, δ) stands above the horizon.
func (s *sky) isUp(hourAngle, dec float64) bool {
	u := axes.Direction(s.lat, hourAngle, dec)
	switch {
	case u.Z >= s.sinHi:
		return true
	case u.Z < s.sinLo:
		return false
	}
	alt, az := axes.AltAz(u)
	return alt >= axes.Rad(s.horizon.Altitude(axes.Deg(az)))
}

// up returns the hour angles in [−π, π] at which declination δ stands above the horizon, to skySlop.
func (s *sky) up(dec float64) []Interval {
	if s.lo == s.hi {
		return s.upFlat(dec)
	}
	const steps = 360
	var out []Interval
	x0, up0 := -math.Pi, s.isUp(-math.Pi, dec)
	from := x0
	for i := 1; i <= steps; i++ {
		x1 := -math.Pi + float64(i)*turn/steps
		up1 := s.isUp(x1, dec)
		if up0 != up1 {
			a, b := x0, x1
			for b-a > skySlop {
				if m := (a + b) / 2; s.isUp(m, dec) == up0 {
					a = m
				} else {
					b = m
				}
			}
			if up0 {
				out = append(out, Interval{from, a})
			} else {
				from = b
			}
		}
		x0, up0 = x1, up1
	}
	if up0 {
		out = append(out, Interval{from, math.Pi})
	}
	return out
}

// upIn returns the hour angles at which some declination of a band stands above the horizon: its edges or its middle.
func (s *sky) upIn(from, to float64) []Interval {
	var up []Interval
	for _, d := range []float64{from, (from + to) / 2, to} {
		up = append(up, s.up(d)...)
	}
	return union(up)
}

// upFlat is up for a horizon of one altitude: cos H = (sin h − sin φ·sin δ)/(cos φ·cos δ).
func (s *sky) upFlat(dec float64) []Interval {
	top := math.Sin(s.lo) - math.Sin(s.lat)*math.Sin(dec)
	under := math.Cos(s.lat) * math.Cos(dec)
	switch {
	case top > under:
		return nil
	case top <= -under:
		return []Interval{{-math.Pi, math.Pi}}
	}
	H := math.Acos(top / under)
	return []Interval{{-H, H}}
}

// skySlop, radians, is how finely the sky's edge is found.
const skySlop = 2e-9

// over says how a patch of sky stands to the horizon.
type over uint8

const (
	below  over = iota // all of it is below the horizon
	astray             // it may be either
	above              // all of it is above
)

// How far hidden cuts: a piece of sky this small, radians, that the horizon may cross counts as up, and so does what is left after so
// many pieces.
const (
	hiddenPiece = 0.02 * math.Pi / 180
	hiddenMost  = 20_000
)

// hidden tells whether every declination in dec is proven to be below the horizon at every hour angle in h.
func (s *sky) hidden(h, dec Interval) bool {
	left := hiddenMost
	var look func(h, dec Interval) bool
	look = func(h, dec Interval) bool {
		if left--; left < 0 {
			return false
		}
		dh, dd := h.To-h.From, dec.To-dec.From
		mid := axes.Direction(s.lat, (h.From+h.To)/2, (dec.From+dec.To)/2)
		switch s.patch(mid, (dh+dd)/2) {
		case below:
			return true
		case above:
			return false
		}
		if math.Max(dh, dd) <= hiddenPiece {
			return false
		}
		a, b := h, h
		if dh >= dd {
			a.To, b.From = (h.From+h.To)/2, (h.From+h.To)/2
			return look(a, dec) && look(b, dec)
		}
		c, d := dec, dec
		c.To, d.From = (dec.From+dec.To)/2, (dec.From+dec.To)/2
		return look(h, c) && look(h, d)
	}
	return h.To <= h.From || look(h, dec)
}

// patch tells how the directions within r of the unit vector u stand to the horizon; it errs to astray.
func (s *sky) patch(u r3.Vec, r float64) over {
	alt := math.Asin(math.Max(-1, math.Min(1, u.Z)))
	top, bottom := alt+r+1e-7, alt-r-1e-7 // an arcsine loses half of its figures at the zenith
	switch {
	case bottom >= s.hi:
		return above
	case top < s.lo:
		return below
	case math.Abs(alt)+r >= math.Pi/2 || top >= s.hi && bottom < s.lo:
		return astray
	}
	// The circle of radius r about u spans this much azimuth to each side.
	_, az := axes.AltAz(u)
	w := axes.Deg(math.Asin(math.Min(1, math.Sin(r)/math.Cos(alt)))) + 1e-7
	if top < axes.Rad(s.horizon.Least(axes.Deg(az)-w, axes.Deg(az)+w)) {
		return below
	}
	return astray
}
