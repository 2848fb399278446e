package indi

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// The protocol's names of what a telescope has. [mem]
const (
	connection  = "CONNECTION"             // CONNECT, DISCONNECT
	driverInfo  = "DRIVER_INFO"            // DRIVER_NAME, DRIVER_VERSION
	placeOfDate = "EQUATORIAL_EOD_COORD"   // RA in hours, DEC in degrees, of date; Busy while slewing
	placeJ2000  = "EQUATORIAL_COORD"       // the same, J2000
	onPlace     = "ON_COORD_SET"           // what a new place does: TRACK, SLEW, SYNC
	pierSide    = "TELESCOPE_PIER_SIDE"    // PIER_WEST, PIER_EAST
	abort       = "TELESCOPE_ABORT_MOTION" // ABORT
	trackState  = "TELESCOPE_TRACK_STATE"  // TRACK_ON, TRACK_OFF
	trackMode   = "TELESCOPE_TRACK_MODE"   // TRACK_SIDEREAL, TRACK_SOLAR, TRACK_LUNAR, TRACK_CUSTOM
	trackRate   = "TELESCOPE_TRACK_RATE"   // TRACK_RATE_RA, TRACK_RATE_DE in ″/s, for TRACK_CUSTOM
	park        = "TELESCOPE_PARK"         // PARK, UNPARK
	motionWE    = "TELESCOPE_MOTION_WE"    // by hand, RA axis
	motionNS    = "TELESCOPE_MOTION_NS"    // by hand, declination axis
	timeUTC     = "TIME_UTC"               // UTC, OFFSET
	timeLST     = "TIME_LST"               // LST in hours
	geographic  = "GEOGRAPHIC_COORD"       // LAT, LONG from 0 to 360 east, ELEV
)

// properties are all that a session keeps.
var properties = map[string]Kind{
	connection: Switch, driverInfo: Text, placeOfDate: Number, placeJ2000: Number, onPlace: Switch, pierSide: Switch, abort: Switch,
	trackState: Switch, trackMode: Switch, trackRate: Number, park: Switch, motionWE: Switch, motionNS: Switch, timeUTC: Text,
	timeLST: Number, geographic: Number,
}

// clocks are the properties that may show a running clock, and the member that does.
var clocks = map[string]string{timeUTC: "UTC", timeLST: "LST"}

// usable tells whether the values of a property may be believed.
func (p told) usable() error {
	switch {
	case p.defs == 0:
		return mount.ErrLacks
	case p.bad != nil:
		return fmt.Errorf("%w: %w", mount.ErrAnswer, p.bad)
	case p.State == Alert:
		return &mount.Refused{Message: alertText(p.Message)}
	}
	return nil
}

func alertText(message string) string {
	if message == "" {
		return "the driver raises an alert"
	}
	return message
}

// number gives a member within a range.
func (p told) number(member string, from, to float64) (float64, error) {
	m, ok := p.Member(member)
	if !ok {
		return 0, fmt.Errorf("%w: %s", mount.ErrLacks, member)
	}
	if !(m.Number >= from && m.Number <= to) {
		return 0, fmt.Errorf("%w: %s %g is not from %g to %g", mount.ErrAnswer, member, m.Number, from, to)
	}
	return m.Number, nil
}

// choice gives the one switch that is on.
func (p told) choice() (string, error) {
	if err := p.usable(); err != nil {
		return "", err
	}
	switch on := p.On(); len(on) {
	case 0:
		return "", errUnset
	case 1:
		return on[0], nil
	default:
		return "", fmt.Errorf("%w: %s are on at once", mount.ErrAnswer, clipped(strings.Join(on, ", ")))
	}
}

var errUnset = fmt.Errorf("%w: no switch is on", mount.ErrNotSet)

func (p told) connected() bool {
	on, err := p.choice()
	return err == nil && on == "CONNECT" && p.State != Busy
}

// sideOf reads TELESCOPE_PIER_SIDE. PIER_WEST is a tube west of the pier, which points east with the counterweights down: this
// project's side west, θ = H + 90°.
func sideOf(member string) (axes.Side, error) {
	switch member {
	case "PIER_WEST":
		return axes.West, nil
	case "PIER_EAST":
		return axes.East, nil
	}
	return 0, fmt.Errorf("%w: %q is no side of the pier", mount.ErrAnswer, clipped(member))
}

// utc reads UTC, which carries no zone: it is UTC by its name.
func (p told) utc() (time.Time, error) {
	if err := p.ticks(); err != nil {
		return time.Time{}, err
	}
	m, _ := p.Member("UTC")
	at, err := parseUTC(m.Text)
	if err != nil {
		return time.Time{}, fmt.Errorf("%w: %q is no time such as 2026-03-01T21:04:05", mount.ErrAnswer, clipped(m.Text))
	}
	return at, nil
}

// ticks tells whether a clock was seen to run. Many drivers only keep what their clock was once set to.
func (p told) ticks() error {
	if err := p.usable(); err != nil {
		return err
	}
	if !p.clock.runs {
		return fmt.Errorf("%w: it was not seen to run, so it may be what a clock was once set to", mount.ErrNotSet)
	}
	return nil
}

// moves tells whether a switch of motion by hand is on.
func (p told) moves() (bool, error) {
	if err := p.usable(); err != nil {
		return false, err
	}
	return p.State == Busy || len(p.On()) > 0, nil
}

// has tells whether a property has all of these members.
func (p told) has(members ...string) bool {
	return p.defs > 0 && !slices.ContainsFunc(members, func(name string) bool {
		_, ok := p.Member(name)
		return !ok
	})
}

// near tells whether a place is that of p within about 3′, by its own numbers.
func (p told) near(raHours, decDeg float64) bool {
	const most = 0.05 // degrees
	ra, err := p.number("RA", 0, 24)
	dec, err2 := p.number("DEC", -90, 90)
	away := axes.Wrap(axes.FromHours(ra-raHours)) * math.Cos(axes.Rad(decDeg))
	return err == nil && err2 == nil && math.Abs(axes.Deg(away)) < most && math.Abs(dec-decDeg) < most
}
