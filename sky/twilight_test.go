package sky

import (
	"math"
	"testing"
	"time"

	"legroom/axes"
)

func zoned(t *testing.T, lat, lon float64, name string) Site {
	t.Helper()
	zone, err := LoadZone(name)
	if err != nil {
		t.Fatal(err)
	}
	s := place(lat, lon)
	s.Zone = zone
	return s
}

func night(t *testing.T, s Site, year int, month time.Month, day int) Night {
	t.Helper()
	n, err := NightOf(s, year, month, day)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// Meeus example 15.a: Venus at Boston, 1988-03-20. Its places at 0h TD on three days are [mem]; h0 = −34′, ΔT = 56 s.
func TestVenusAtBoston(t *testing.T) {
	s := place(42.3333, -71.0833)
	day := time.Date(1988, 3, 20, 0, 0, 0, 0, time.UTC)
	venus := func(at time.Time) Equatorial {
		n := (at.Sub(day).Seconds() + 56) / daySeconds
		through := func(a, b, c float64) float64 { return axes.Rad(b + n/2*((b-a)+(c-b)+n*((c-b)-(b-a)))) }
		return Equatorial{through(40.68021, 41.73129, 42.78204), through(18.04761, 18.44092, 18.82742)}
	}
	alt := func(at time.Time) float64 { h, _ := s.AltAz(at, venus(at)); return h }
	ws := Windows(AtLeast(alt, StarRiseSet, SiderealRate), day, day.Add(24*time.Hour))
	if len(ws) != 2 {
		t.Fatal(ws)
	}
	fraction := func(at time.Time) float64 { return at.Sub(day).Hours() / 24 }
	near(t, "set", fraction(ws[0].To), 0.12130, 2e-5)
	near(t, "rise", fraction(ws[1].From), 0.51766, 2e-5)
	tr := transits(func(at time.Time) float64 { return s.HourAngle(at, venus(at)) }, 2*math.Pi/daySeconds, day, day.Add(24*time.Hour))
	if len(tr) != 1 {
		t.Fatal(tr)
	}
	near(t, "transit", fraction(tr[0]), 0.81980, 1e-5)
}

// Which parts of the night exist: spherical astronomy, the Sun's lowest altitude is −(90° − φ − δ) and its highest 90° − φ + δ.
func TestPolarDayAndNight(t *testing.T) {
	for _, c := range []struct {
		what        string
		lat         float64
		month       time.Month
		day         int
		set, ci, na Course
		dark        Course
	}{
		{"midsummer at 78° N: polar day", 78, 6, 21, NeverBelow, NeverBelow, NeverBelow, NeverBelow},
		{"midwinter at 78° N: polar night, and dark at midnight", 78, 12, 21, AlwaysBelow, AlwaysBelow, Crosses, Crosses},
		{"midwinter at 85.5° N: dark from noon to noon", 85.5, 12, 21, AlwaysBelow, AlwaysBelow, AlwaysBelow, AlwaysBelow},
		{"midsummer at 51° N: never dark", 51, 6, 21, Crosses, Crosses, Crosses, NeverBelow},
		{"midsummer at 60° N: civil twilight all night", 60.7, 6, 21, Crosses, NeverBelow, NeverBelow, NeverBelow},
		{"equinox at 51° N", 51, 3, 20, Crosses, Crosses, Crosses, Crosses},
		{"December at 78° S: polar day", -78, 12, 21, NeverBelow, NeverBelow, NeverBelow, NeverBelow},
		{"June at 78° S: polar night", -78, 6, 21, AlwaysBelow, AlwaysBelow, Crosses, Crosses},
		{"June at 32.4° S", -32.4, 6, 21, Crosses, Crosses, Crosses, Crosses},
		{"the north pole in June", 90, 6, 21, NeverBelow, NeverBelow, NeverBelow, NeverBelow},
		{"the south pole in June", -90, 6, 21, AlwaysBelow, AlwaysBelow, AlwaysBelow, AlwaysBelow},
		{"the equator", 0, 6, 21, Crosses, Crosses, Crosses, Crosses},
	} {
		for _, lon := range []float64{0, 179.9, -120} {
			n := night(t, place(c.lat, lon), 2026, c.month, c.day)
			lows := []Low{n.Set, n.Civil, n.Nautical, n.Dark}
			for i, want := range []Course{c.set, c.ci, c.na, c.dark} {
				l := lows[i]
				if l.Course != want {
					t.Errorf("%s, longitude %g: below %.1f° %v, want %v", c.what, lon, axes.Deg(l.Altitude), l.Course, want)
				}
				if crosses := l.Course == Crosses; crosses == (l.Begin.IsZero() && l.End.IsZero()) {
					t.Errorf("%s: %v with %v, %v", c.what, l.Course, l.Begin, l.End)
				}
			}
			for i := 1; i < 4; i++ { // each part of the night lies inside the one before
				if a, b := lows[i-1], lows[i]; !a.Begin.IsZero() && !b.Begin.IsZero() && (!a.Begin.Before(b.Begin) || !b.End.Before(a.End)) {
					t.Errorf("%s: %v–%v is not inside %v–%v", c.what, b.Begin, b.End, a.Begin, a.End)
				}
			}
		}
	}
}

// Near the poles, where the Sun's declination changes faster than its altitude turns, every night's windows against every ten
// seconds; a sunset there need have no sunrise before the next noon.
func TestAroundPolarNight(t *testing.T) {
	open := 0
	for _, lat := range []float64{90, 89.95, 89, 84, 72, 67.4, 66, -67, -89.9} {
		s := place(lat, 20)
		for _, month := range []time.Month{1, 3, 5, 9, 11, 12} {
			for day := 17; day < 26; day += 2 {
				n := night(t, s, 2027, month, day)
				for _, l := range []Low{n.Set, n.Dark} {
					want := brute(func(at time.Time) bool { return s.SunAltitude(at) < l.Altitude }, n.Noon, n.NextNoon, 5*time.Minute)
					// Coarse: what is shorter than that may be missed by it, not by Windows.
					for _, w := range want {
						if w.Length() > 10*time.Minute && !covered(l.Windows, Window{w.From.Add(5 * time.Minute), w.To.Add(-5 * time.Minute)}) {
							t.Errorf("latitude %g, %v: %v lacks %v", lat, n.Noon, l.Windows, w)
						}
					}
					if len(want) == 0 && len(l.Windows) > 0 && l.Windows[0].Length() > 5*time.Minute {
						t.Errorf("latitude %g, %v: %v", lat, n.Noon, l.Windows)
					}
					if l.Course == Crosses && (l.Begin.IsZero() || l.End.IsZero()) {
						open++
					}
				}
			}
		}
	}
	if t.Logf("%d nights with a set and no rise, or the other way", open); open == 0 {
		t.Error("no such night: the test tests nothing")
	}
}

func covered(ws []Window, w Window) bool {
	for _, v := range ws {
		if !v.From.After(w.From) && !v.To.Before(w.To) {
			return true
		}
	}
	return false
}

// The evening belongs to its date in the zone's own time, on both sides of midnight, the date line and a change of clocks: the
// sunset of every date is on that date and the sunrise on the next, and no night is missed or doubled.
func TestEveningsDate(t *testing.T) {
	for _, s := range []Site{
		zoned(t, 36.9, -3, "Europe/Madrid"),
		zoned(t, -32.4, 22, "Africa/Johannesburg"),
		zoned(t, 51, 0, "Europe/London"),
		zoned(t, 1.9, -157.4, "Pacific/Kiritimati"),
		zoned(t, -37, 175, "Pacific/Auckland"),
		zoned(t, 51.9, -176.6, "America/Adak"),
		zoned(t, 39.5, 76, "Asia/Shanghai"), // three hours from its Sun
		zoned(t, 28.2, 84, "Asia/Kathmandu"),
	} {
		for day := range 365 {
			if day%3 > 0 && (day < 80 || day > 95) {
				continue
			}
			date := time.Date(2026, 1, 1+day, 0, 0, 0, 0, time.UTC)
			n := night(t, s, date.Year(), date.Month(), date.Day())
			next := date.AddDate(0, 0, 1)
			if got := n.Set.Begin.Format(time.DateOnly); got != date.Format(time.DateOnly) {
				t.Errorf("%v: the Sun sets on %s", s.Zone, n.Set.Begin)
			}
			if got := n.Set.End.Format(time.DateOnly); got != next.Format(time.DateOnly) {
				t.Errorf("%v: the Sun after %s rises on %s", s.Zone, date.Format(time.DateOnly), n.Set.End)
			}
			if day%30 == 0 {
				m := night(t, s, next.Year(), next.Month(), next.Day())
				near(t, "the next night begins where this ends, s", m.Noon.Sub(n.NextNoon).Seconds(), 0, 0.01)
			}
		}
	}
}

// The clocks change at 01:00 UTC on 2026-03-29 and 2026-10-25 in Europe: written times jump, moments don't.
func TestChangeOfClocks(t *testing.T) {
	s := zoned(t, 36.9, -3, "Europe/Madrid")
	for _, c := range []struct {
		month         time.Month
		day           int
		evening, dawn string
		written       time.Duration // what the wall clock shows between sunset and sunrise, less what passes
	}{
		{3, 28, "+01:00", "+02:00", time.Hour},
		{10, 24, "+02:00", "+01:00", -time.Hour},
		{7, 1, "+02:00", "+02:00", 0},
	} {
		n := night(t, s, 2026, c.month, c.day)
		if a, b := n.Set.Begin.Format("-07:00"), n.Set.End.Format("-07:00"); a != c.evening || b != c.dawn {
			t.Errorf("%d-%d: offsets %s, %s", c.month, c.day, a, b)
		}
		wall := func(t time.Time) time.Time {
			return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC)
		}
		if d := wall(n.Set.End).Sub(wall(n.Set.Begin)) - n.Set.End.Sub(n.Set.Begin); d != c.written {
			t.Errorf("%d-%d: the wall clock runs %v ahead", c.month, c.day, d)
		}
		utc := s
		utc.Zone = time.UTC
		m := night(t, utc, 2026, c.month, c.day)
		near(t, "the same moment in UTC, s", n.Set.Begin.Sub(m.Set.Begin).Seconds(), 0, 0.02)
	}
}

func TestDatesThatAreNone(t *testing.T) {
	s := zoned(t, 36.9, -3, "Europe/Madrid")
	for _, d := range [][3]int{{2026, 2, 30}, {2026, 13, 1}, {2027, 2, 29}, {2026, 6, 0}} {
		if n, err := NightOf(s, d[0], time.Month(d[1]), d[2]); err == nil {
			t.Errorf("%v gives the night of %v", d, n.Noon)
		}
	}
	if _, err := NightOf(Site{}, 2026, 1, 1); err == nil {
		t.Error("a site without a zone is taken")
	}
	// Samoa skipped 2011-12-30.
	if n := night(t, zoned(t, -13.8, -171.8, "Pacific/Apia"), 2011, 12, 30); n.Set.Course != Crosses {
		t.Error(n.Set)
	}
}

// The Moon rises and sets about once a night, later every day; above 61.5° some nights have neither.
func TestMoonRiseAndSet(t *testing.T) {
	s, none := zoned(t, 36.9, -3, "Europe/Madrid"), 0
	north := zoned(t, 70, 20, "Europe/Oslo")
	for day := range 60 {
		date := time.Date(2026, 1, 1+day, 0, 0, 0, 0, time.UTC)
		n := night(t, s, date.Year(), date.Month(), date.Day())
		rise, set := n.MoonRiseSet()
		for _, at := range []time.Time{rise, set} {
			if !at.IsZero() {
				near(t, "altitude at rise or set, ″", (s.MoonAltitude(at)-RiseSet)/arcsec, 0, 1)
			}
		}
		if rise.IsZero() && set.IsZero() {
			t.Errorf("%v: no moonrise and no moonset", date)
		}
		if rise, set := night(t, north, date.Year(), date.Month(), date.Day()).MoonRiseSet(); rise.IsZero() && set.IsZero() {
			none++
		}
	}
	if none < 10 {
		t.Errorf("at 70° N the Moon crosses the horizon on all but %d of 60 nights", none)
	}
}
