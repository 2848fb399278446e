package sky

import (
	"math"
	"testing"
	"time"

	"legroom/axes"
)

// Kasten & Young 1989 [mem, calc].
func TestAirMass(t *testing.T) {
	near(t, "30°", AirMass(axes.Rad(30)), 1.99429, 5e-6)
	near(t, "10°", AirMass(axes.Rad(10)), 5.58604, 5e-6)
	near(t, "zenith", AirMass(math.Pi/2), 1, 3e-4)
	near(t, "horizon", AirMass(0), 37.92, 0.01)
	if !math.IsInf(AirMass(-1e-9), 1) || !math.IsInf(AirMass(math.NaN()), 1) {
		t.Error("there is air mass below the horizon")
	}
}

// Krisciunas & Schaefer 1991, written out once more with numbers [calc]: the zenith under a full Moon at 30° of altitude.
// B = (10^5.36(1.06 + 0.25) + 10^(6.15 − 1.5))·10^(−0.4·3.84)·10^(−0.4·0.172·1.889822)·(1 − 10^(−0.4·0.172)) = 1089.9 nL
// over the dark zenith's 79.0 nL: 2.5 log10(1 + 13.795) = 2.925 mag.
func TestMoonlight(t *testing.T) {
	near(t, "dark zenith, nL", GoodAir.nanolamberts(), 79.0, 0.1) // the paper's own figure for V = 21.587 [mem]
	x := 1 / math.Sqrt(1-0.96*0.75)
	b := (math.Pow(10, 5.36)*1.31 + math.Pow(10, 4.65)) * math.Pow(10, -1.536) * math.Pow(10, -0.0688*x) * (1 - math.Pow(10, -0.0688))
	near(t, "full Moon at 30°, zenith", GoodAir.Moonlight(0, axes.Rad(30), math.Pi/2, axes.Rad(60)), 2.5*math.Log10(1+b/78.97), 1e-3)

	full := GoodAir.Moonlight(0, 1, 1, 1)
	if full < 2.5 || full > 5 {
		t.Errorf("a full Moon brightens the sky by %.2f mag", full) // three to four [common practice]
	}
	for _, c := range []struct {
		what string
		mag  float64
	}{
		{"half Moon", GoodAir.Moonlight(math.Pi/2, 1, 1, 1)},
		{"lower Moon", GoodAir.Moonlight(0, 0.2, 1, 1)},
		{"farther from the Moon", GoodAir.Moonlight(0, 1, 1, 1.5)},
		{"a brighter sky to begin with", Air{19, 0.172}.Moonlight(0, 1, 1, 1)},
	} {
		if !(c.mag > 0 && c.mag < full) {
			t.Errorf("%s: %.2f mag, not below %.2f", c.what, c.mag, full)
		}
	}
	near(t, "Moon down", GoodAir.Moonlight(0, -0.01, 1, 1), 0, 0)
	if !math.IsNaN(GoodAir.Moonlight(0, 1, -0.1, 1)) {
		t.Error("there is a sky below the horizon")
	}
	near(t, "the two forms for small angles meet at 10° within", GoodAir.Moonlight(0, 1, 1, axes.Rad(9.999)), GoodAir.Moonlight(0, 1, 1, axes.Rad(10)), 1e-3)
	if m := GoodAir.Moonlight(0, 1, 1, 0); math.IsInf(m, 0) || math.IsNaN(m) {
		t.Error(m)
	}
}

// The same through a site: a month at one place, brighter with a fuller Moon, nothing while it is down.
func TestMoonlightAtSite(t *testing.T) {
	s := place(36.9, -3)
	for hour := range 29 * 24 {
		when := time.Date(2026, 1, 1, hour, 0, 0, 0, time.UTC)
		zenith := Equatorial{s.SiderealTime(when), s.Lat}
		m := s.Moonlight(GoodAir, when, zenith)
		if up := s.MoonAltitude(when) > 0; up != (m > 0) || m > 6 {
			t.Fatalf("%v: up %v, %.3f mag", when, up, m)
		}
	}
}
