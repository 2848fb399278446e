package sim

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// said is what the mount says of itself. Asked and Got are left open.
type said struct {
	mount.Reading
	errand errand
	hand   [2]float64 // rates by hand, 0 without
}

// Say is what the mount says of itself now: what it believes, changed by the faults. Asked and Got are left open.
func (m *Mount) Say() (mount.Reading, error) {
	s, err := m.saying()
	return s.Reading, err
}

func (m *Mount) saying() (s said, err error) {
	err = m.command(func() error {
		s = m.say()
		if m.frozen != nil {
			s = *m.frozen
		}
		return nil
	})
	return s, err
}

func (m *Mount) say() said {
	p := m.model.Head.Pose(m.believed())
	lst := m.sidereal()
	ra := math.Mod(lst-p.HourAngle, 2*math.Pi)
	if ra < 0 {
		ra += 2 * math.Pi
	}
	e := sky.Equatorial{RA: ra, Dec: p.Dec}
	out := said{errand: m.d.errand}
	for i, on := range m.d.byHand {
		if on {
			out.hand[i] = m.d.hand[i]
		}
	}
	out.Reading = mount.Reading{RA: e.RA, Dec: e.Dec, Equinox: mount.OfDate, Place: e, Side: p.Side, SideSaid: true,
		Sidereal: lst, SiderealSaid: true, UTC: m.clockNow().UTC(), UTCSaid: true,
		Tracking: mount.Say(m.d.tracking), Slewing: mount.Say(m.d.slewing() || m.d.byHand[0] || m.d.byHand[1]),
		Parked: mount.Say(m.parked), AtHome: mount.Say(m.home), RatesSaid: true,
		Lat: m.site.Lat, Lon: axes.Wrap(m.site.Lon + axes.Rad(m.faults.LongitudeDeg)), SiteSaid: true}
	if m.faults.UnknownTracking {
		out.Tracking = mount.Unsaid
	}
	switch f := &m.faults; {
	case f.WrongSide:
		out.Side = opposite(p.Side)
	case f.UnknownSide:
		out.Side, out.SideSaid = 0, false
	case f.SideByHourAngle:
		out.Side = axes.West
		if axes.Wrap(p.HourAngle) >= 0 {
			out.Side = axes.East
		}
	}
	return out
}

// horizontal is the place of date that stands at an altitude and azimuth now, by the mount's own clock.
func (m *Mount) horizontal(alt, az float64) sky.Equatorial {
	H, dec := axes.HourAngleDec(m.site.Lat, toWorld(alt, az))
	return sky.Equatorial{RA: math.Mod(m.sidereal()-H+4*math.Pi, 2*math.Pi), Dec: dec}
}

// toWorld is the world direction of an altitude and azimuth.
func toWorld(alt, az float64) r3.Vec {
	sa, ca := math.Sincos(alt)
	sz, cz := math.Sincos(az)
	return r3.Vec{X: ca * sz, Y: ca * cz, Z: sa}
}
