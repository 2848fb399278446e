package alpaca

import (
	"errors"
	"fmt"
	"math"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// resting are the members that hardly change. Another client may still change them, so each is read again every few looks.
var resting = []string{"equatorialsystem", "sitelatitude", "sitelongitude",
	"trackingrate", "rightascensionrate", "declinationrate"}

type answered struct {
	value any
	err   error
}

// readRest asks for all of resting the first time, and for the next one after that. An answer that did not come leaves the
// member unknown, not as it was.
func (l *look) readRest() {
	l.t.mu.Lock()
	ask := []string{resting[l.t.turn%len(resting)]}
	l.t.turn++
	if l.t.rest == nil {
		ask = resting
	}
	l.t.mu.Unlock()

	got := map[string]answered{}
	for _, member := range ask {
		v, err := l.ask(member)
		if l.err != nil {
			return
		}
		got[member] = answered{v, err}
	}

	l.t.mu.Lock()
	defer l.t.mu.Unlock()
	rest := map[string]answered{}
	for member, a := range l.t.rest {
		rest[member] = a
	}
	for member, a := range got {
		rest[member] = a
	}
	l.t.rest = rest
}

// resting gives a member as it was last read.
func (l *look) resting(member string) (any, error) {
	l.t.mu.Lock()
	defer l.t.mu.Unlock()
	a, ok := l.t.rest[member]
	if !ok {
		return nil, errors.New("not read yet")
	}
	return a.value, a.err
}

func (l *look) equinox() mount.Equinox {
	v, err := l.resting("equatorialsystem")
	if err != nil {
		l.miss("equatorialsystem", err)
		return mount.UnknownEquinox
	}
	q := equinoxOf(v.(int))
	if q == mount.UnknownEquinox {
		l.miss("equatorialsystem", fmt.Errorf("%d is neither of date (1) nor J2000 (2)", v.(int)))
	}
	return q
}

func (l *look) site() (lat, lon float64, said bool) {
	lat, latErr := l.restingFloat("sitelatitude", 90)
	lon, lonErr := l.restingFloat("sitelongitude", 180)
	if latErr != nil || lonErr != nil {
		return 0, 0, false
	}
	return axes.Rad(lat), axes.Rad(lon), true
}

// restingFloat gives a number between −most and most.
func (l *look) restingFloat(member string, most float64) (float64, error) {
	v, err := l.resting(member)
	if err == nil {
		v, err = within(v.(float64), -most, most)
	}
	if err != nil {
		l.miss(member, err)
		return 0, err
	}
	return v.(float64), nil
}

// driveRates are what trackingrate means, ″ of hour angle a second: sidereal, lunar, solar, King's [mem].
var driveRates = [...]float64{sky.SiderealRate * arcsecs, 14.685, 15, 15.0369}

const arcsecs = 180 * 3600 / math.Pi

// rates adds up what the driver says of the place's motion among the stars. rightascensionrate is in seconds of right
// ascension a sidereal second, declinationrate in ″ a second [mem]. A driver without one of these has nothing to add by it.
func (l *look) rates() (ra, dec float64, said bool) {
	drive, driveErr := l.resting("trackingrate")
	raOffset, raErr := l.resting("rightascensionrate")
	decOffset, decErr := l.resting("declinationrate")
	for _, m := range []struct {
		name string
		err  error
	}{{"trackingrate", driveErr}, {"rightascensionrate", raErr}, {"declinationrate", decErr}} {
		if m.err != nil {
			l.miss(m.name, m.err)
		}
		if m.err != nil && !errors.Is(m.err, mount.ErrLacks) {
			return 0, 0, false
		}
		said = said || m.err == nil
	}
	if driveErr == nil {
		n := drive.(int)
		if n < 0 || n >= len(driveRates) {
			l.miss("trackingrate", fmt.Errorf("%w: %d is no drive rate of the standard", mount.ErrAnswer, n))
			return 0, 0, false
		}
		ra = sky.SiderealRate - driveRates[n]/arcsecs
	}
	if raErr == nil {
		ra += raOffset.(float64) * sky.SiderealRate
	}
	if decErr == nil {
		dec = decOffset.(float64) / arcsecs
	}
	return ra, dec, said
}
