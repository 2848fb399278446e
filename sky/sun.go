package sky

import (
	"time"

	"github.com/soniakeys/meeus/v3/base"
	"github.com/soniakeys/meeus/v3/solar"
)

const astronomicalUnit = 149597870.7 // km, IAU 2012

// sunRate bounds the Sun's own motion, radians a second: at most 1.02° a day along the ecliptic, 0.0425″ a second.
const sunRate = 0.05 * arcsec

// Sun returns the Sun's geocentric apparent place, by the low-precision series of Meeus chapter 25: within 40″ of ERFA.
func Sun(t time.Time) Equatorial { return sun(julianTT(t)) }

func sun(jd float64) Equatorial {
	α, δ := solar.ApparentEquatorial(jd)
	return Equatorial{α.Rad(), δ.Rad()}
}

// sunDistance returns the Sun's distance in kilometres, to 1 in 10,000.
func sunDistance(jd float64) float64 {
	return solar.Radius(base.J2000Century(jd)) * astronomicalUnit
}

// Sun returns the Sun's apparent place from the site.
func (s Site) Sun(t time.Time) Equatorial { return s.sun(at(t)) }

func (s Site) sun(in instant) Equatorial { return s.topocentric(in, sun(in.jd), sunDistance(in.jd)) }

// SunAltitude returns the altitude of the Sun's centre, without refraction.
func (s Site) SunAltitude(t time.Time) float64 {
	in := at(t)
	alt, _ := s.altAz(in, s.sun(in))
	return alt
}
