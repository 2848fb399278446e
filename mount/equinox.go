package mount

import (
	"time"

	"legroom/sky"
)

// Equinox is what a mount's right ascension and declination refer to.
type Equinox int8

const (
	UnknownEquinox Equinox = iota
	OfDate                 // true equator and equinox of date
	OfJ2000                // mean equator and equinox of J2000.0, catalogue places
)

func (q Equinox) String() string {
	switch q {
	case OfDate:
		return "of date"
	case OfJ2000:
		return "J2000"
	}
	return "unknown"
}

// ToDate turns reported coordinates into a place of date. Those of an unknown equinox are passed through.
func (q Equinox) ToDate(ra, dec float64, t time.Time) sky.Equatorial {
	if q == OfJ2000 {
		return sky.J2000{RA: ra, Dec: dec}.Apparent(t)
	}
	return sky.Equatorial{RA: ra, Dec: dec}
}

// FromDate turns a place of date into the coordinates that the mount wants. For an unknown equinox it passes them through.
func (q Equinox) FromDate(e sky.Equatorial, t time.Time) (ra, dec float64) {
	if q == OfJ2000 {
		c := e.J2000(t)
		return c.RA, c.Dec
	}
	return e.RA, e.Dec
}
