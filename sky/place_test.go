package sky

import (
	"math"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
)

func dms(d, m, s float64) float64 { return axes.Rad(d + m/60 + s/3600) }

func hms(h, m, s float64) float64 { return axes.FromHours(h + m/60 + s/3600) }

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.9f, want %.9f ± %g", what, got, want, tolerance)
	}
}

// terrestrial is the moment at which Terrestrial Time reads the given.
func terrestrial(year int, month time.Month, day float64) time.Time {
	return time.Date(year, month, 1, 0, 0, 0, 0, time.UTC).Add(seconds((day-1)*daySeconds - ttMinusUTC))
}

// Meeus, Astronomical Algorithms, 2nd ed., examples 12.a and 12.b.
func TestSiderealTimeOfMeeus(t *testing.T) {
	mean := func(t time.Time) float64 { in := at(t); return turn(in.sidereal - in.Δψ*math.Cos(in.ε0+in.Δε)) }
	zero := time.Date(1987, 4, 10, 0, 0, 0, 0, time.UTC)
	near(t, "Julian date", julian(zero), 2446895.5, 0)
	near(t, "12.a mean, s", axes.Hours(mean(zero))*3600, 13*3600+10*60+46.3668, 1e-4)
	near(t, "12.a apparent, s", axes.Hours(SiderealTime(zero))*3600, 13*3600+10*60+46.1351, 2e-4)
	evening := time.Date(1987, 4, 10, 19, 21, 0, 0, time.UTC)
	near(t, "12.b mean, s", axes.Hours(mean(evening))*3600, 8*3600+34*60+57.0896, 1e-4)
}

// ERFA t_erfa_c.c: gmst06 and gst06a at 2400000.5 + 53736.0, which it takes as both UT1 and TT.
func TestSiderealTimeOfERFA(t *testing.T) {
	in := at(moment((2400000.5 + 53736 - unixEpochJD) * daySeconds))
	near(t, "gmst06", turn(in.sidereal-in.Δψ*math.Cos(in.ε0+in.Δε)), 1.754174971870091203, 0.1*arcsec)
	near(t, "gst06a", in.sidereal, 1.754166137675019159, 0.1*arcsec)
}

// Meeus example 13.b: Venus from Washington. Azimuth 68.034° from south is 248.034° from north.
func TestAltAzOfMeeus(t *testing.T) {
	s := Site{Lat: dms(38, 55, 17), Lon: -dms(77, 3, 56)}
	alt, az := s.AltAz(time.Date(1987, 4, 10, 19, 21, 0, 0, time.UTC), Equatorial{hms(23, 9, 16.641), -dms(6, 43, 11.61)})
	near(t, "altitude, °", axes.Deg(alt), 15.125, 6e-4)
	near(t, "azimuth, °", axes.Deg(az), 248.034, 6e-4)
}

// Meeus example 21.b: θ Persei with its proper motion, mean place of 2028 Nov 13.19 TD; and 23.a, its apparent place [mem].
func TestThetaPersei(t *testing.T) {
	δ := dms(49, 13, 42.48)
	c := J2000{RA: hms(2, 44, 11.986), Dec: δ, PMRA: 15 * 0.03425 * math.Cos(δ) * arcsec, PMDec: -0.0895 * arcsec}
	when := terrestrial(2028, 11, 13.19)
	jd := julianTT(when)
	near(t, "JDE", jd, 2462088.69, 1e-8)
	mean := direction(precessed(c.moved((jd-2451545)/365.25), jd))
	near(t, "21.b α, ″", mean.RA/arcsec, hms(2, 46, 11.331)/arcsec, 0.02)
	near(t, "21.b δ, ″", mean.Dec/arcsec, dms(49, 20, 54.54)/arcsec, 0.01)
	got := c.Apparent(when)
	near(t, "23.a α, ″", got.RA/arcsec, hms(2, 46, 14.390)/arcsec, 0.05)
	near(t, "23.a δ, ″", got.Dec/arcsec, dms(49, 21, 7.45)/arcsec, 0.05)
}

// ERFA t_erfa_c.c: seps(1, 0.1, 0.2, −3), whose second latitude is past the pole; and Meeus example 17.a, Arcturus and Spica
// (positions [mem]).
func TestSeparation(t *testing.T) {
	near(t, "seps", Separation(Equatorial{1, 0.1}, Equatorial{0.2, -3}), 2.346722016996998842, 1e-14)
	d := Separation(degrees(213.9154, 19.1825), degrees(201.2983, -11.1614))
	near(t, "17.a, ″", d/arcsec, dms(32, 47, 35)/arcsec, 1)
	for _, e := range []Equatorial{{0, 0}, {1, 0.5}, {3, math.Pi / 2}, {6, -1.5}} {
		opposite := Equatorial{turn(e.RA + math.Pi), -e.Dec}
		near(t, "with itself", Separation(e, e), 0, 0)
		near(t, "with its opposite", Separation(e, opposite), math.Pi, 1e-15)
		near(t, "a hair away", Separation(e, Equatorial{e.RA, e.Dec - 1e-9}), 1e-9, 1e-15)
		near(t, "a hair from the opposite", Separation(opposite, Equatorial{e.RA, e.Dec - 1e-9}), math.Pi-1e-9, 1e-15)
	}
}

// At the pole of date, where first-order nutation and aberration divide by cosδ, places stay continuous.
func TestPolesAreNoException(t *testing.T) {
	when := time.Date(2030, 6, 1, 0, 0, 0, 0, time.UTC)
	for _, δ := range []float64{math.Pi / 2, -math.Pi / 2} {
		a := J2000{RA: 0, Dec: δ}.Apparent(when)
		b := J2000{RA: 3, Dec: δ}.Apparent(when)
		near(t, "one pole, two right ascensions", Separation(a, b), 0, 1e-12)
		// Precession takes the pole 20.04″ a year (Meeus p. 132), nutation and aberration at most 30″ more.
		moved := (math.Pi/2 - math.Abs(a.Dec)) / arcsec
		near(t, "the pole's way, ″", moved, 30.4*20.043, 30)
	}
	// Two stars keep their distance through the pole's neighbourhood, but for aberration: at most 1e-4 of it twice.
	a, b := J2000{RA: 1, Dec: axes.Rad(89.9)}, J2000{RA: 4, Dec: axes.Rad(89.8)}
	before := Separation(Equatorial{a.RA, a.Dec}, Equatorial{b.RA, b.Dec})
	near(t, "distance", Separation(a.Apparent(when), b.Apparent(when)), before, 2e-4*before)
}

func TestNewSite(t *testing.T) {
	s, err := NewSite(rig.Site{LatitudeDeg: 36.9, LongitudeDeg: -3, ElevationM: 640, TimeZone: "Europe/Madrid"})
	if err != nil || s.Zone.String() != "Europe/Madrid" || s.Height != 0.64 || s.Lat != axes.Rad(36.9) || s.Lon != axes.Rad(-3) {
		t.Errorf("%+v, %v", s, err)
	}
	for _, zone := range []string{"", "Local", "Europe/Atlantis", "../etc/passwd", "CEST"} {
		if _, err := NewSite(rig.Site{TimeZone: zone}); err == nil {
			t.Errorf("zone %q is taken", zone)
		}
	}
	if _, err := NewSite(rig.Site{LatitudeDeg: math.NaN(), TimeZone: "UTC"}); err == nil {
		t.Error("a latitude that is no number is taken")
	}
}

// Meeus, example 17.a, the other way round: Spica lies 32°47′35″ from Arcturus. Past the pole the right ascension turns by half a turn.
func TestOff(t *testing.T) {
	arcturus := Equatorial{RA: axes.Rad(213.9154), Dec: axes.Rad(19.1825)}
	spica := Equatorial{RA: axes.Rad(201.2983), Dec: axes.Rad(-11.1614)}
	d := Separation(arcturus, spica)
	near(t, "separation", d, dms(32, 47, 35), axes.Rad(1.0/3600))
	least := math.Inf(1)
	for k := range 36000 {
		e := arcturus.Off(d, axes.Rad(float64(k)/100))
		near(t, "distance", Separation(arcturus, e), d, 1e-12)
		least = math.Min(least, Separation(e, spica))
	}
	near(t, "from Spica", least, 0, axes.Rad(0.005))
	over := Equatorial{RA: 1, Dec: axes.Rad(89)}.Off(axes.Rad(2), 0)
	near(t, "past the pole, RA", over.RA, 1+math.Pi, 1e-9)
	near(t, "past the pole, Dec", over.Dec, axes.Rad(89), 1e-12)
	east := Equatorial{}.Off(0.1, math.Pi/2)
	near(t, "east of the origin, RA", east.RA, 0.1, 1e-15)
}
