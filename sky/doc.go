// Package sky answers where things in the sky are and when: sidereal time, apparent places, Sun and Moon, twilight, and the
// windows of time in which a condition holds.
//
// Angles are radians, distances kilometres, moments time.Time. Right ascension and declination are of the true equator and
// equinox of date unless a name says J2000. Longitude is east-positive, azimuth runs clockwise from north, hour angle grows
// westward from the meridian. Refraction is left out of places; sunrise, sunset, moonrise and moonset carry the usual 34′.
//
// The series are those of Meeus, Astronomical Algorithms, 2nd ed., over a library that counts longitude west-positive and
// azimuth from south: neither leaves this package. Against ERFA over 2020–2040 (testdata/README.md): stars within 0.2″, the Sun
// within 40″, the Moon within 30″, times of twilight and transit within 10 s where the altitude changes by at least 5″ a second.
//
// UT1 is taken as UTC, which is off by at most 0.9 s (13″ of hour angle), and TAI − UTC as 37 s.
package sky
