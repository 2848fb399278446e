package sky

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// Back and forth over the whole sphere with both poles, and over dates from 1950 to 2150.
func TestJ2000IsTheInverseOfApparent(t *testing.T) {
	const seed = 20260301
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	start := time.Date(1950, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 2000 {
		when := start.Add(time.Duration(r.Float64() * 200 * 365.25 * 24 * float64(time.Hour)))
		e := Equatorial{RA: 2 * math.Pi * r.Float64(), Dec: math.Asin(2*r.Float64() - 1)}
		switch i {
		case 0:
			e.Dec = math.Pi / 2
		case 1:
			e.Dec = -math.Pi / 2
		}
		if d := Separation(e.J2000(when).Apparent(when), e); !(d < 1e-6*arcsec) {
			t.Errorf("%s, %v: back at %g″", when.Format(time.DateOnly), e, d/arcsec)
		}
	}
}

// Meeus, example 23.a [mem]: θ Persei's apparent place of 2028 Nov 13.19 TD goes back to the catalogue place of example 21.b,
// moved by its proper motion. Light bending and the book's rounding leave less than 0.1″.
func TestJ2000OfThetaPersei(t *testing.T) {
	when := terrestrial(2028, 11, 13.19)
	got := Equatorial{RA: hms(2, 46, 14.390), Dec: dms(49, 21, 7.45)}.J2000(when)
	years := 28.86705
	want := Equatorial{RA: hms(2, 44, 11.986+0.03425*years), Dec: dms(49, 13, 42.48-0.0895*years)}
	near(t, "back to J2000, ″", Separation(Equatorial{got.RA, got.Dec}, want)/arcsec, 0, 0.1)
}
