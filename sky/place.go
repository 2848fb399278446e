package sky

import (
	"fmt"
	"math"
	"time"

	"github.com/soniakeys/meeus/v3/apparent"
	"github.com/soniakeys/meeus/v3/base"
	"github.com/soniakeys/meeus/v3/coord"
	"github.com/soniakeys/meeus/v3/precess"
	"github.com/soniakeys/unit"
	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// Equatorial is a direction by right ascension in [0, 2π) and declination, of the true equator and equinox of date.
type Equatorial struct{ RA, Dec float64 }

// J2000 is a catalogue place: equator, equinox and epoch J2000.0. PMRA and PMDec are proper motion in radians of arc a Julian
// year; PMRA is along the parallel, cosδ·dα/dt. Zero where it is not known.
type J2000 struct{ RA, Dec, PMRA, PMDec float64 }

// Site is a place on the ground.
type Site struct {
	Lat, Lon float64 // geodetic, north and east positive
	Height   float64 // above the ellipsoid, kilometres
	Zone     *time.Location
	Horizon  rig.Horizon
}

// NewSite reads the site of a rig's document. It fails on an unknown time zone.
func NewSite(s rig.Site) (Site, error) {
	if !(math.Abs(s.LatitudeDeg) <= 90 && math.Abs(s.LongitudeDeg) <= 180) {
		return Site{}, fmt.Errorf("site %g, %g: give latitude_deg in -90 to 90 and longitude_deg in -180 to 180", s.LatitudeDeg, s.LongitudeDeg)
	}
	zone, err := LoadZone(s.TimeZone)
	if err != nil {
		return Site{}, err
	}
	return Site{Lat: axes.Rad(s.LatitudeDeg), Lon: axes.Rad(s.LongitudeDeg), Height: s.ElevationM / 1000, Zone: zone, Horizon: s.Horizon}, nil
}

// Apparent returns the geocentric apparent place at t: proper motion in a straight line across the sky, annual aberration (Ron & Vondrák,
// Meeus p. 153), precession (IAU 1976, chapter 21) and nutation (IAU 1980, chapter 22), all as vectors and rotations, so that
// the poles are no exception. Left out: parallax, light bending (1.8″ at the Sun's limb), frame bias (0.02″). Within 0.2″ of
// ERFA in 2020–2040 beyond 5° from the Sun.
func (c J2000) Apparent(t time.Time) Equatorial {
	in := nutated(julianTT(t))
	jd := in.jd
	u := c.moved((jd - base.J2000) / base.JulianYear)
	u = r3.Add(u, earthVelocity(jd))
	return direction(in.nutate(precessed(u, jd)))
}

// J2000 returns the catalogue place without proper motion whose apparent place at t is e: the inverse of Apparent,
// within 1e-6″ for 3,000 years to either side.
func (e Equatorial) J2000(t time.Time) J2000 {
	// Apparent turns a vector by a small angle, so taking its error off brings each round nearer by that angle: a third of a
	// degree in 26 years, and less than 1 within ±3,000 years.
	want := vector(e)
	u := want
	for range 64 {
		c := direction(u)
		off := r3.Sub(want, vector(J2000{RA: c.RA, Dec: c.Dec}.Apparent(t)))
		u = r3.Unit(r3.Add(u, off))
		if r3.Norm(off) < 1e-14 {
			break
		}
	}
	c := direction(u)
	return J2000{RA: c.RA, Dec: c.Dec}
}

// moved returns the direction after some Julian years of proper motion, equator of J2000.
func (c J2000) moved(years float64) r3.Vec {
	sα, cα := math.Sincos(c.RA)
	sδ, cδ := math.Sincos(c.Dec)
	east := r3.Vec{X: -sα, Y: cα}
	north := r3.Vec{X: -sδ * cα, Y: -sδ * sα, Z: cδ}
	motion := r3.Add(r3.Scale(c.PMRA, east), r3.Scale(c.PMDec, north))
	return r3.Unit(r3.Add(vector(Equatorial{c.RA, c.Dec}), r3.Scale(years, motion)))
}

// earthVelocity returns the Earth's barycentric velocity over that of light, equator of J2000. The library gives only
// displacements of a star, and two stars on the equator show all three components.
func earthVelocity(jd float64) r3.Vec {
	y, z := apparent.AberrationRonVondrak(0, 0, jd)
	x, _ := apparent.AberrationRonVondrak(unit.RAFromRad(math.Pi/2), 0, jd)
	return r3.Vec{X: -x.Rad(), Y: y.Rad(), Z: z.Rad()}
}

// precessed turns a vector from the mean equator of J2000 to that of date.
func precessed(u r3.Vec, jd float64) r3.Vec {
	e := direction(u)
	q := &coord.Equatorial{RA: unit.RAFromRad(e.RA), Dec: unit.Angle(e.Dec)}
	precess.NewPrecessor(2000, base.JDEToJulianYear(jd)).Precess(q, q)
	return vector(Equatorial{q.RA.Rad(), q.Dec.Rad()})
}

// nutate turns a vector from the mean to the true equator of date.
func (in instant) nutate(u r3.Vec) r3.Vec {
	u = about(u, r3.Vec{X: 1}, -in.ε0)
	u = about(u, r3.Vec{Z: 1}, in.Δψ)
	return about(u, r3.Vec{X: 1}, in.ε0+in.Δε)
}

func about(u, axis r3.Vec, angle float64) r3.Vec { return r3.NewRotation(angle, axis).Rotate(u) }

func vector(e Equatorial) r3.Vec {
	sα, cα := math.Sincos(e.RA)
	sδ, cδ := math.Sincos(e.Dec)
	return r3.Vec{X: cδ * cα, Y: cδ * sα, Z: sδ}
}

func direction(u r3.Vec) Equatorial {
	return Equatorial{RA: turn(math.Atan2(u.Y, u.X)), Dec: math.Atan2(u.Z, math.Hypot(u.X, u.Y))}
}

// Off returns the direction at a distance and bearing, from north through east, radians.
func (e Equatorial) Off(by, bearing float64) Equatorial {
	sinD, cosD := math.Sincos(e.Dec)
	sinR, cosR := math.Sincos(by)
	sinB, cosB := math.Sincos(bearing)
	dec := math.Atan2(sinD*cosR+cosD*sinR*cosB, math.Hypot(sinB*sinR, cosD*cosR-sinD*sinR*cosB))
	return Equatorial{RA: turn(e.RA + math.Atan2(sinB*sinR, cosD*cosR-sinD*sinR*cosB)), Dec: dec}
}

// Separation returns the angle between two directions in [0, π], right for coincident and for opposite ones.
func Separation(a, b Equatorial) float64 {
	u, v := vector(a), vector(b)
	return math.Atan2(r3.Norm(r3.Cross(u, v)), r3.Dot(u, v))
}

// SiderealTime returns the local apparent sidereal time in [0, 2π).
func (s Site) SiderealTime(t time.Time) float64 { return turn(SiderealTime(t) + s.Lon) }

// HourAngle returns the hour angle of e at t in [−π, π).
func (s Site) HourAngle(t time.Time, e Equatorial) float64 { return s.hourAngle(at(t), e) }

func (s Site) hourAngle(in instant, e Equatorial) float64 {
	return axes.Wrap(in.sidereal + s.Lon - e.RA)
}

// AltAz returns altitude and azimuth of e at t, without refraction.
func (s Site) AltAz(t time.Time, e Equatorial) (alt, az float64) { return s.altAz(at(t), e) }

func (s Site) altAz(in instant, e Equatorial) (alt, az float64) {
	return axes.AltAz(axes.Direction(s.Lat, s.hourAngle(in, e), e.Dec))
}

// Track is a fixed apparent place followed through one night. It carries the sidereal time linearly from a moment, which
// differs by less than 0.3″ from the full one within a day, and costs a hundredth of it. A star's apparent place itself
// moves by less than 1″ a day.
type Track struct {
	Site  Site
	Place Equatorial
	epoch time.Time
	hour  float64 // hour angle at the epoch
}

// Track follows e near t.
func (s Site) Track(t time.Time, e Equatorial) Track {
	return Track{Site: s, Place: e, epoch: t, hour: s.HourAngle(t, e)}
}

// HourAngle returns the hour angle at t in [−π, π).
func (k Track) HourAngle(t time.Time) float64 {
	return axes.Wrap(k.hour + SiderealRate*t.Sub(k.epoch).Seconds())
}

// AltAz returns altitude and azimuth at t.
func (k Track) AltAz(t time.Time) (alt, az float64) {
	return axes.AltAz(axes.Direction(k.Site.Lat, k.HourAngle(t), k.Place.Dec))
}

// Earth's figure, WGS 84: equatorial radius in kilometres and flattening.
const (
	earthRadius = 6378.137
	flattening  = 1 / 298.257223563
)

// topocentric returns the direction from the site to a body that is seen from the Earth's centre at e and at a distance in
// kilometres.
func (s Site) topocentric(in instant, e Equatorial, distance float64) Equatorial {
	const e2 = flattening * (2 - flattening)
	sφ, cφ := math.Sincos(s.Lat)
	n := earthRadius / math.Sqrt(1-e2*sφ*sφ)
	sθ, cθ := math.Sincos(in.sidereal + s.Lon)
	here := r3.Vec{X: (n + s.Height) * cφ * cθ, Y: (n + s.Height) * cφ * sθ, Z: (n*(1-e2) + s.Height) * sφ}
	return direction(r3.Sub(r3.Scale(distance, vector(e)), here))
}
