package indi

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// readTime is how long a look may take when its context has no deadline.
const readTime = 2 * time.Second

// Read implements mount.Telescope. The device is asked to define its place and its clocks anew; what it had told before it
// answers has come by then, so the rest is as new. A connection that was lost since the last look, or a driver that was
// disconnected, is told once as an error even if all is well again: what happened to the mount meanwhile is unknown. It is
// mount.ErrNotConnected where the driver was seen to be without its mount, or its server not to run; or where the server closed the
// connection in a slew.
func (t *Telescope) Read(ctx context.Context) (mount.Reading, error) {
	ctx, cancel := timed(ctx, readTime)
	defer cancel()
	s, err := t.link.up(ctx)
	if err := t.link.loss(err); err != nil {
		return mount.Reading{}, err
	}
	r := mount.Reading{Asked: time.Now()}
	known := s.snapshot()
	if err := s.ask(ctx, asked(known)...); err != nil {
		if errors.Is(err, mount.ErrLink) {
			t.link.saw(s)
			err = t.link.loss(err)
		}
		return mount.Reading{}, err
	}
	r.Got = time.Now()
	known = s.snapshot()
	if err := t.online(s, known); err != nil {
		return mount.Reading{}, err
	}
	l := look{known: known}
	if err := l.place(&r); err != nil {
		return mount.Reading{}, err
	}
	l.rest(&r)
	r.Missing = l.missing
	for _, m := range l.missing {
		if _, clock := clocks[m.Member]; !clock || known[m.Member].defs == 0 { // whether a clock runs shows only in time
			t.note(m.Member, m.Why)
		}
	}
	return r, nil
}

// asked names what a look asks for: the clocks, and at the end what surely gets an answer.
func asked(known map[string]told) []string {
	var names []string
	for _, name := range []string{timeUTC, timeLST} {
		if known[name].defs > 0 {
			names = append(names, name)
		}
	}
	for _, name := range []string{placeOfDate, placeJ2000} {
		if known[name].defs > 0 {
			return append(names, name)
		}
	}
	return append(names, connection)
}

// online fails when the driver is not connected to its mount, or was not at some time since this was last asked.
func (t *Telescope) online(s *session, known map[string]told) error {
	if err := offline(known); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.dropped {
		s.dropped = false
		return fmt.Errorf("%w: it was disconnected, and connected again, since the last look", mount.ErrNotConnected)
	}
	return nil
}

// offline: a driver without CONNECTION is connected if it has a place.
func offline(known map[string]told) error {
	if p, ok := known[connection]; ok && !p.connected() {
		return fmt.Errorf("%w: %s is %s, %v", mount.ErrNotConnected, connection, p.State, p.On())
	}
	return nil
}

// look is what one Read makes of what the device told.
type look struct {
	known   map[string]told
	missing []mount.Missing
}

func (l *look) miss(name string, err error) {
	l.missing = append(l.missing, mount.Missing{Member: name, Why: err.Error()})
}

// place fails where there is none that can be believed.
func (l *look) place(r *mount.Reading) error {
	name, equinox := placeOf(l.known)
	p := l.known[name]
	if err := p.usable(); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	ra, err := p.number("RA", 0, 24)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	dec, err := p.number("DEC", -90, 90)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	r.RA, r.Dec, r.Equinox = axes.FromHours(ra), axes.Rad(dec), equinox
	r.Place = equinox.ToDate(r.RA, r.Dec, r.Asked)
	r.Stamp, r.StampSaid = p.stamp()
	return nil
}

// placeOf is the property that has the place, and its equinox.
func placeOf(known map[string]told) (string, mount.Equinox) {
	if known[placeOfDate].defs == 0 && known[placeJ2000].defs > 0 {
		return placeJ2000, mount.OfJ2000
	}
	return placeOfDate, mount.OfDate
}

// rest reads what a driver may lack.
func (l *look) rest(r *mount.Reading) {
	var err error
	if r.Side, err = l.side(); err != nil {
		l.miss(pierSide, err)
	}
	r.SideSaid = err == nil
	r.Tracking = l.tracking()
	r.Parked = l.parked()
	r.Slewing = l.slewing()
	l.miss("at home", fmt.Errorf("%w: the protocol has no property for it", mount.ErrLacks))

	if r.UTC, err = l.known[timeUTC].utc(); err != nil {
		l.miss(timeUTC, err)
	}
	r.UTCSaid = err == nil
	if r.Sidereal, err = l.sidereal(); err != nil {
		l.miss(timeLST, err)
	}
	r.SiderealSaid = err == nil
	if r.RARate, r.DecRate, err = l.rates(); err != nil {
		l.miss(trackMode, err)
	}
	r.RatesSaid = err == nil
	if r.Lat, r.Lon, err = l.site(); err != nil {
		l.miss(geographic, err)
	}
	r.SiteSaid = err == nil
}

func (l *look) side() (axes.Side, error) {
	p := l.known[pierSide]
	on, err := p.choice()
	if err != nil {
		return 0, err
	}
	if p.State == Busy {
		return 0, fmt.Errorf("%w: it is changing", mount.ErrState)
	}
	return sideOf(on)
}

// tracking: a driver may show Busy for as long as it tracks, but TRACK_OFF while Busy is not off yet.
func (l *look) tracking() mount.Said {
	p := l.known[trackState]
	on, err := p.choice()
	switch {
	case err != nil:
	case on == "TRACK_ON":
		return mount.Yes
	case on == "TRACK_OFF" && p.State != Busy:
		return mount.No
	default:
		err = fmt.Errorf("%w: %s while %s", mount.ErrState, clipped(on), p.State)
	}
	l.miss(trackState, err)
	return mount.Unsaid
}

func (l *look) parked() mount.Said {
	p := l.known[park]
	on, err := p.choice()
	switch {
	case err != nil:
	case on == "PARK" && p.State != Busy:
		return mount.Yes
	case on == "PARK" || on == "UNPARK": // on its way to the park place, or from it, it is not parked
		return mount.No
	default:
		err = fmt.Errorf("%w: %q is on", mount.ErrAnswer, clipped(on))
	}
	l.miss(park, err)
	return mount.Unsaid
}

// slewing is any motion that is not tracking: to a place, by hand, or to the park place. What the driver lacks does not move.
func (l *look) slewing() mount.Said {
	name, _ := placeOf(l.known)
	said := mount.Say(l.known[name].State == Busy || l.known[park].State == Busy)
	for _, name := range []string{motionWE, motionNS} {
		moves, err := l.known[name].moves()
		switch {
		case moves:
			return mount.Yes
		case errors.Is(err, mount.ErrLacks):
		case err != nil:
			l.miss(name, err)
			if said == mount.No {
				said = mount.Unsaid
			}
		}
	}
	return said
}

func (l *look) sidereal() (float64, error) {
	p := l.known[timeLST]
	if err := p.ticks(); err != nil {
		return 0, err
	}
	h, err := p.number("LST", 0, 24)
	return math.Mod(axes.FromHours(h), 2*math.Pi), err
}

func (l *look) site() (lat, lon float64, err error) {
	p := l.known[geographic]
	if err := p.usable(); err != nil {
		return 0, 0, err
	}
	lat, err = p.number("LAT", -90, 90)
	if err != nil {
		return 0, 0, err
	}
	lon, err = p.number("LONG", -180, 360)
	return axes.Rad(lat), axes.Wrap(axes.Rad(lon)), err
}

// driveRates are the modes' rates, ″ of hour angle a second, as in the sister protocol. [mem]
var driveRates = map[string]float64{"TRACK_SIDEREAL": sky.SiderealRate * arcsecs, "TRACK_LUNAR": 14.685, "TRACK_SOLAR": 15}

const arcsecs = 180 * 3600 / math.Pi

// rates is how the place moves among the stars. The rate of TRACK_CUSTOM is that of the axis: sidereal for a star. [mem]
func (l *look) rates() (ra, dec float64, err error) {
	mode, err := l.known[trackMode].choice()
	if err != nil {
		return 0, 0, err
	}
	if drive, ok := driveRates[mode]; ok {
		return sky.SiderealRate - drive/arcsecs, 0, nil
	}
	p := l.known[trackRate]
	if err := p.usable(); err != nil {
		return 0, 0, fmt.Errorf("%s: %s: %w", clipped(mode), trackRate, err)
	}
	const most = 3600 // ″/s; a drive that follows something in the sky is far slower
	if ra, err = p.number("TRACK_RATE_RA", -most, most); err != nil {
		return 0, 0, err
	}
	dec, err = p.number("TRACK_RATE_DE", -most, most)
	return sky.SiderealRate - ra/arcsecs, dec / arcsecs, err
}
