package sky

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/soniakeys/meeus/v3/moonposition"
	"github.com/soniakeys/meeus/v3/solar"

	"legroom/axes"
)

// Meeus example 25.a: the Sun at 1992-10-13 0h TD.
func TestSunOfMeeus(t *testing.T) {
	when := terrestrial(1992, 10, 13)
	λ := solar.ApparentLongitude((julianTT(when) - 2451545) / 36525)
	near(t, "λ, ″", turn(λ.Rad())/arcsec, dms(199, 54, 32)/arcsec, 1)
	e := Sun(when)
	near(t, "α, ″", e.RA/arcsec, hms(13, 13, 31.4)/arcsec, 1)
	near(t, "δ, ″", e.Dec/arcsec, -dms(7, 47, 6)/arcsec, 1)
	near(t, "distance, au", sunDistance(julianTT(when))/astronomicalUnit, 0.99766, 1e-5) // Meeus p. 165
}

// Meeus examples 47.a and 48.a: the Moon at 1992-04-12 0h TD. Its apparent α and δ there, and the phase angle, are [mem].
func TestMoonOfMeeus(t *testing.T) {
	when := terrestrial(1992, 4, 12)
	λ, β, Δ := moonposition.Position(julianTT(when))
	near(t, "λ", λ.Deg(), 133.162655, 1e-5)
	near(t, "β", β.Deg(), -3.229126, 1e-5)
	near(t, "Δ, km", Δ, 368409.7, 0.1)
	e, Δ := Moon(when)
	near(t, "α", axes.Deg(e.RA), 134.688470, 2e-5)
	near(t, "δ", axes.Deg(e.Dec), 13.768368, 2e-5)
	near(t, "Δ, km", Δ, 368409.7, 0.1)
	phase, lit := MoonPhase(when)
	near(t, "lit", lit, 0.6786, 1e-4)
	near(t, "phase angle", axes.Deg(phase), 69.0756, 0.02)
}

// Parallax lowers the Moon by about a degree at the horizon and by nothing at the zenith: π = 6378.14/Δ (Meeus chapter 40).
func TestParallaxOfTheMoon(t *testing.T) {
	s := place(0, 0) // here the ellipsoid's normal goes through the centre
	when := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for i := range 200 {
		when = when.Add(5 * time.Hour)
		s.Height = float64(i%4) * 1.5
		e, Δ := Moon(when)
		high, az := s.AltAz(when, e)
		low, az2 := s.AltAz(when, s.Moon(when))
		// sin of the parallax = (ρ/Δ)·cos of the apparent altitude.
		near(t, "parallax, ″", (high-low)/arcsec, math.Asin((earthRadius+s.Height)/Δ*math.Cos(low))/arcsec, 0.01)
		near(t, "azimuth, ″", axes.Wrap(az-az2)*math.Cos(high)/arcsec, 0, 0.01)
	}
}

func TestMoonPathIsTheMoon(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	most := 0.0
	for range 40 {
		s := place(rnd.Float64()*180-90, rnd.Float64()*360-180)
		from := time.Date(2020, 1, 1, rnd.IntN(24*365*20), 0, 0, 0, time.UTC)
		to := from.Add(time.Duration(rnd.Float64() * float64(26*time.Hour)))
		p := s.MoonPath(from, to)
		for range 40 {
			at := from.Add(time.Duration(rnd.Float64() * float64(to.Sub(from))))
			most = math.Max(most, Separation(p.At(at), s.Moon(at))/arcsec)
		}
		most = math.Max(most, Separation(p.At(from), s.Moon(from))/arcsec)
		most = math.Max(most, Separation(p.At(to), s.Moon(to))/arcsec)
	}
	if t.Logf("worst %.5f″", most); most > 0.01 {
		t.Errorf("off by %.4f″", most)
	}
}
