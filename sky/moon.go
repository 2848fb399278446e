package sky

import (
	"math"
	"time"

	"github.com/soniakeys/meeus/v3/coord"
	"github.com/soniakeys/meeus/v3/moonposition"
	"github.com/soniakeys/meeus/v3/nutation"
)

// moonRate bounds the Moon's own topocentric motion, radians a second: 15.4° a day seen from the centre, at most 1/55 faster
// from the ground.
const moonRate = 0.7 * arcsec

// Moon returns the Moon's geocentric apparent place and its distance in kilometres, by Meeus chapter 47. ERFA's notes on the
// same series (moon98) give 2.9″ RMS and 18.3″ at worst against ELP/MPP02 in 1950–2100.
func Moon(t time.Time) (Equatorial, float64) {
	jd := julianTT(t)
	λ, β, Δ := moonposition.Position(jd)
	Δψ, Δε := nutation.Nutation(jd)
	sε, cε := (nutation.MeanObliquity(jd) + Δε).Sincos()
	α, δ := coord.EclToEq(λ+Δψ, β, sε, cε)
	return Equatorial{turn(α.Rad()), δ.Rad()}, Δ
}

// Moon returns the Moon's apparent place from the site: parallax moves it by up to a degree.
func (s Site) Moon(t time.Time) Equatorial {
	e, Δ := Moon(t)
	return s.topocentric(t, e, Δ)
}

// MoonAltitude returns the altitude of the Moon's centre, without refraction.
func (s Site) MoonAltitude(t time.Time) float64 {
	alt, _ := s.AltAz(t, s.Moon(t))
	return alt
}

// MoonPhase returns the phase angle (0 at full Moon, near π at new) and the lit fraction of the disk, 0 to 1, seen from the
// Earth's centre: Meeus chapter 48.
func MoonPhase(t time.Time) (phase, lit float64) {
	moon, Δ := Moon(t)
	ψ, R := Separation(moon, Sun(t)), sunDistance(t)
	s, c := math.Sincos(ψ)
	phase = math.Atan2(R*s, Δ-R*c)
	return phase, (1 + math.Cos(phase)) / 2
}

// MoonSeparation returns the angle between a place and the Moon as the site sees it.
func (s Site) MoonSeparation(t time.Time, e Equatorial) float64 { return Separation(e, s.Moon(t)) }
