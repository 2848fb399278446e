package sky

import (
	"fmt"
	"time"

	"legroom/axes"
)

// Altitudes of the Sun's centre, radians, at which the parts of a night begin and end. Sunset and moonset count the upper limb
// with 34′ of refraction: −50′, and a star's −34′ (Meeus chapter 15). The dip of the horizon from a height is left out.
const (
	RiseSet      = -50 * 60 * arcsec
	Civil        = -6 * 3600 * arcsec
	Nautical     = -12 * 3600 * arcsec
	Astronomical = -18 * 3600 * arcsec
	StarRiseSet  = -34 * 60 * arcsec
)

// Course is what the Sun does about one altitude between two noons.
type Course int8

const (
	// Crosses: it goes below the altitude, above it, or both.
	Crosses Course = iota
	// NeverBelow: it stays at or above. At RiseSet this is polar day; at Astronomical it never gets dark.
	NeverBelow
	// AlwaysBelow: it stays below. At RiseSet this is polar night; at Astronomical it is dark from noon to noon.
	AlwaysBelow
)

func (c Course) String() string {
	switch c {
	case NeverBelow:
		return "never below"
	case AlwaysBelow:
		return "always below"
	}
	return "crosses"
}

// Low is when the Sun is below an altitude between two noons.
type Low struct {
	Altitude float64
	Course   Course
	// Begin is when it first goes below, End when it last comes up. Each is the zero time where that does not happen: both do
	// not unless Course is Crosses, and in the days around polar night or day one of them may be missing.
	Begin, End time.Time
	// Windows are the stretches below the altitude, cut at the noons.
	Windows []Window
}

// Night is one night at a site, from the upper transit of the Sun next to the civil noon of the evening's date to the next upper
// transit. Its times are in the site's zone.
type Night struct {
	Site           Site
	Noon, NextNoon time.Time
	Midnight       time.Time // halfway, the lower transit to within half a minute
	Set            Low       // below −50′: Begin is sunset, End is sunrise
	Civil          Low       // below −6°
	Nautical       Low       // below −12°
	Dark           Low       // below −18°
}

// NightOf returns the night that follows the evening of a date in the site's zone. Times are within 10 s of ERFA's where the
// Sun's altitude changes by at least 5″ a second, and within 40″ of altitude elsewhere. A change of the clocks moves no moment,
// only how it is written. A zone that skips the date (as some islands did when they changed sides of the date line) gets the
// night at the moment that the zone's rules give for its noon.
func NightOf(s Site, year int, month time.Month, day int) (Night, error) {
	if s.Zone == nil {
		return Night{}, fmt.Errorf("the site has no time zone: give an IANA name")
	}
	civil := time.Date(year, month, day, 12, 0, 0, 0, s.Zone)
	if y, m, d := civil.Date(); y != year || m != month || d != day {
		if t := time.Date(year, month, day, 0, 0, 0, 0, time.UTC); t.Year() != year || t.Month() != month || t.Day() != day {
			return Night{}, fmt.Errorf("there is no date %04d-%02d-%02d", year, month, day)
		}
	}
	// The transit nearest to the civil noon, and the one after it. A transit comes every 24 h ± 30 s.
	near := s.SunTransits(civil.Add(-12*time.Hour-time.Minute), civil.Add(37*time.Hour))
	first := 0
	for i, t := range near {
		if t.Sub(civil).Abs() < near[first].Sub(civil).Abs() {
			first = i
		}
	}
	if first+1 >= len(near) {
		return Night{}, fmt.Errorf("no noon is found for %04d-%02d-%02d at longitude %g°", year, month, day, axes.Deg(s.Lon))
	}
	n := Night{Site: s, Noon: near[first].In(s.Zone), NextNoon: near[first+1].In(s.Zone)}
	n.Midnight = n.Noon.Add(n.NextNoon.Sub(n.Noon) / 2)
	n.Set = n.low(RiseSet)
	n.Civil = n.low(Civil)
	n.Nautical = n.low(Nautical)
	n.Dark = n.low(Astronomical)
	return n, nil
}

// low follows the Sun about an altitude.
func (n Night) low(alt float64) Low {
	l := Low{Altitude: alt, Windows: Windows(Not(n.Site.SunAbove(alt)), n.Noon, n.NextNoon)}
	switch ws := l.Windows; {
	case len(ws) == 0:
		l.Course = NeverBelow
	case len(ws) == 1 && ws[0].From.Equal(n.Noon) && ws[0].To.Equal(n.NextNoon):
		l.Course = AlwaysBelow
	default:
		for _, w := range ws {
			if !w.From.Equal(n.Noon) && l.Begin.IsZero() {
				l.Begin = w.From
			}
			if !w.To.Equal(n.NextNoon) {
				l.End = w.To
			}
		}
	}
	return l
}

// MoonUp returns when the Moon's upper limb stands above the horizon during the night, cut at the noons.
func (n Night) MoonUp() []Window {
	return Windows(n.Site.MoonAbove(RiseSet), n.Noon, n.NextNoon)
}

// MoonRiseSet returns the first moonrise and the first moonset between the noons; each is the zero time where there is none.
func (n Night) MoonRiseSet() (rise, set time.Time) {
	for _, w := range n.MoonUp() {
		if rise.IsZero() && !w.From.Equal(n.Noon) {
			rise = w.From
		}
		if set.IsZero() && !w.To.Equal(n.NextNoon) {
			set = w.To
		}
	}
	return rise, set
}
