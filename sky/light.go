package sky

import (
	"math"
	"time"

	"legroom/axes"
)

// AirMass returns how much air stands before an object, 1 at the zenith, by Kasten & Young 1989 (Applied Optics 28, 4735) for
// a true altitude in radians: 1/(sin h + 0.50572(h + 6.07995)^−1.6364), h in degrees. Below the horizon it is +Inf.
func AirMass(alt float64) float64 {
	if !(alt >= 0) {
		return math.Inf(1)
	}
	return 1 / (math.Sin(alt) + 0.50572*math.Pow(axes.Deg(alt)+6.07995, -1.6364))
}

// Air is what the sky is like without the Moon.
type Air struct {
	ZenithMag  float64 // V magnitudes a square arcsecond at the zenith
	Extinction float64 // V magnitudes an air mass
}

// GoodAir is the sky that Krisciunas & Schaefer 1991 measured against: a high, dark site.
var GoodAir = Air{ZenithMag: 21.587, Extinction: 0.172}

// Moonlight returns by how many magnitudes the Moon brightens the sky: 0 when it is down. All angles in radians: the Moon's
// phase angle (0 full), its altitude, the target's altitude, and the angle between them. V band, by Krisciunas & Schaefer
// 1991, PASP 103, 1033, equations 2, 3, 15, 20, 21 with theirs for small angles; their accuracy is 8–23% of the light.
// Below the horizon there is no sky: NaN for a target there.
func (a Air) Moonlight(phase, moonAlt, alt, separation float64) float64 {
	if !(alt >= 0) {
		return math.NaN()
	}
	if !(moonAlt > 0) {
		return 0
	}
	α, ρ := math.Abs(axes.Deg(phase)), axes.Deg(separation)
	illuminance := math.Pow(10, -0.4*(3.84+0.026*α+4e-9*math.Pow(α, 4)))
	c := math.Cos(separation)
	rayleigh := math.Pow(10, 5.36) * (1.06 + c*c)
	mie := math.Pow(10, 6.15-ρ/40)
	if ρ < 10 {
		// The paper's two forms don't meet at 10°: take the brighter, so that nearer is never darker. On the Moon's disk, 0.25°,
		// the formula has no meaning.
		mie = math.Max(mie, 6.2e7/math.Pow(math.Max(ρ, 0.25), 2))
	}
	x, k := scatter(alt), a.Extinction
	moon := (rayleigh + mie) * illuminance * math.Pow(10, -0.4*k*scatter(moonAlt)) * (1 - math.Pow(10, -0.4*k*x))
	dark := a.nanolamberts() * math.Pow(10, -0.4*k*(x-1)) * x
	return 2.5 * math.Log10(1+moon/dark)
}

// nanolamberts turns the zenith's magnitude into surface brightness: equation 1.
func (a Air) nanolamberts() float64 { return 34.08 * math.Exp(20.7233-0.92104*a.ZenithMag) }

// scatter is the paper's air mass for scattered light, equation 3: 1/√(1 − 0.96 sin²Z).
func scatter(alt float64) float64 {
	c := math.Cos(alt)
	return 1 / math.Sqrt(1-0.96*c*c)
}

// Moonlight returns by how many magnitudes the Moon brightens the sky around e at t.
func (s Site) Moonlight(a Air, t time.Time, e Equatorial) float64 {
	phase, _ := MoonPhase(t)
	alt, _ := s.AltAz(t, e)
	moon := s.Moon(t)
	moonAlt, _ := s.AltAz(t, moon)
	return a.Moonlight(phase, moonAlt, alt, Separation(moon, e))
}
