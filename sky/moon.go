package sky

import (
	"math"
	"time"

	"github.com/soniakeys/meeus/v3/coord"
	"github.com/soniakeys/meeus/v3/moonposition"
	"github.com/soniakeys/unit"
	"gonum.org/v1/gonum/spatial/r3"
)

// moonRate bounds the Moon's own topocentric motion, radians a second: 15.4° a day seen from the centre, at most 1/55 faster
// from the ground.
const moonRate = 0.7 * arcsec

// Moon returns the Moon's geocentric apparent place and its distance in kilometres, by Meeus chapter 47. ERFA's notes on the
// same series (moon98) give 2.9″ RMS and 18.3″ at worst against ELP/MPP02 in 1950–2100.
func Moon(t time.Time) (Equatorial, float64) { return moon(nutated(julianTT(t))) }

func moon(in instant) (Equatorial, float64) {
	λ, β, Δ := moonposition.Position(in.jd)
	sε, cε := math.Sincos(in.ε0 + in.Δε)
	α, δ := coord.EclToEq(λ+unit.Angle(in.Δψ), β, sε, cε)
	return Equatorial{turn(α.Rad()), δ.Rad()}, Δ
}

// Moon returns the Moon's apparent place from the site: parallax moves it by up to a degree.
func (s Site) Moon(t time.Time) Equatorial { return s.moon(at(t)) }

func (s Site) moon(in instant) Equatorial {
	e, Δ := moon(in)
	return s.topocentric(in, e, Δ)
}

// MoonAltitude returns the altitude of the Moon's centre, without refraction.
func (s Site) MoonAltitude(t time.Time) float64 {
	in := at(t)
	alt, _ := s.altAz(in, s.moon(in))
	return alt
}

// MoonPhase returns the phase angle (0 at full Moon, near π at new) and the lit fraction of the disk, 0 to 1, seen from the
// Earth's centre: Meeus chapter 48.
func MoonPhase(t time.Time) (phase, lit float64) {
	moon, Δ := Moon(t)
	ψ, R := Separation(moon, Sun(t)), sunDistance(julianTT(t))
	s, c := math.Sincos(ψ)
	phase = math.Atan2(R*s, Δ-R*c)
	return phase, (1 + math.Cos(phase)) / 2
}

// MoonSeparation returns the angle between a place and the Moon as the site sees it.
func (s Site) MoonSeparation(t time.Time, e Equatorial) float64 { return Separation(e, s.Moon(t)) }

// MoonPath is the Moon as a site sees it through a night, computed once and interpolated: within 0.01″ of Site.Moon inside its
// times, at a hundredth of the cost. Outside them the nearest end's curve is carried on, which soon means nothing.
type MoonPath struct {
	from time.Time
	at   []r3.Vec // every pathStep, from one step before to two after
}

const pathStep = 10 * time.Minute

// MoonPath follows the Moon between two moments.
func (s Site) MoonPath(from, to time.Time) MoonPath {
	p := MoonPath{from: from.Add(-pathStep)}
	for t := p.from; len(p.at) < 4 || t.Before(to.Add(2*pathStep)); t = t.Add(pathStep) {
		p.at = append(p.at, vector(s.Moon(t)))
	}
	return p
}

// At returns the Moon's apparent place from the site: the cubic through the four samples about t.
func (p MoonPath) At(t time.Time) Equatorial {
	x := float64(t.Sub(p.from)) / float64(pathStep)
	i := min(max(int(math.Floor(x))-1, 0), len(p.at)-4)
	x -= float64(i)
	a, b, c, d := x, x-1, x-2, x-3
	u := r3.Scale(-b*c*d/6, p.at[i])
	u = r3.Add(u, r3.Scale(a*c*d/2, p.at[i+1]))
	u = r3.Add(u, r3.Scale(-a*b*d/2, p.at[i+2]))
	return direction(r3.Add(u, r3.Scale(a*b*c/6, p.at[i+3])))
}

// Apart holds while the Moon is at least an angle away from e.
func (p MoonPath) Apart(e Equatorial, least float64) Condition {
	// Parallax follows the observer round the Earth: 1/55 of the Earth's turning on top of the Moon's own motion.
	return AtLeast(func(t time.Time) float64 { return Separation(e, p.At(t)) }, least, moonRate+SiderealRate/50)
}
