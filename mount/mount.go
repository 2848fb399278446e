// Package mount is what the watch needs of a telescope mount, whatever open protocol it speaks: one interface, what is read
// of a mount, and the kinds of things that go wrong. The packages below it speak the protocols.
//
// Angles are radians. The computer's clock is time.Now with its monotonic part; the mount's own clock is only ever reported.
package mount

import (
	"context"
	"time"

	"legroom/axes"
	"legroom/sky"
)

// Telescope is a mount. Every method ends by its context's deadline at the latest, may be called from several goroutines, and
// fails with one of the kinds in errors.go. A command that returns nil was accepted, not carried out: read back what it did.
type Telescope interface {
	// Read takes one look at the mount. What the driver does not tell is left unsaid and listed in Reading.Missing; only a
	// mount without a place, a lost link or a driver that is not connected is an error.
	Read(ctx context.Context) (Reading, error)
	// Connect asks the driver to open its line to the mount, and returns once it says that it has.
	Connect(ctx context.Context) error
	// SetTracking switches tracking.
	SetTracking(ctx context.Context, on bool) error
	// Abort ends every motion that is not tracking. The driver may restore tracking afterwards: a stop needs SetTracking(false) too.
	Abort(ctx context.Context) error
	// ZeroRates ends motion by hand on both axes. Both are tried even when one fails.
	ZeroRates(ctx context.Context) error
	// Park starts the way to the driver's park place; Reading.Parked says when it is there.
	Park(ctx context.Context) error
	Unpark(ctx context.Context) error
	// Slew starts a slew to a place of date. With a side it first makes sure, as far as the driver tells, that the slew would
	// end there; where the driver would go to the other side it is ErrSide, where it does not say ErrLacks, and nothing moves.
	Slew(ctx context.Context, to sky.Equatorial, side *axes.Side) error
	// Describe says what the mount and its driver are and can, as far as they told since they were opened.
	Describe() Description
	// Close ends the link. The driver stays connected: others may be using it.
	Close() error
}

// Reading is one look at a mount: what was said, and nothing that was made of it but Place.
type Reading struct {
	// Asked is just before the first member was asked for, Got just after the last one came. The state is that of a moment
	// between them; its age counts from Asked.
	Asked, Got time.Time

	RA, Dec float64 // as reported
	Equinox Equinox
	Place   sky.Equatorial // of date. With an unknown equinox the reported numbers themselves: off by what precession came to

	Side     axes.Side // as the mount says it. Some drivers derive it from the hour angle alone: that it was said proves little
	SideSaid bool

	Sidereal     float64 // local apparent sidereal time by the mount, [0, 2π)
	SiderealSaid bool

	UTC     time.Time // the mount's clock
	UTCSaid bool

	// Stamp is when the driver says that it made the place that it told, by a clock and in a zone of its own, which may be off: how
	// old the place is shows only in how far it falls behind.
	Stamp     time.Time
	StampSaid bool

	Tracking, Slewing, Parked, AtHome Said

	// RARate and DecRate are how the driver says the place moves among the stars while tracking, rad/s: its rate for Moon or
	// Sun with the offsets that were set. Motion by hand is not in them; no open protocol tells that.
	RARate, DecRate float64
	RatesSaid       bool

	Lat, Lon float64 // the mount's site, north and east positive
	SiteSaid bool

	Missing []Missing
}

// Missing is something that the driver did not tell in one look, in the protocol's own name, and why.
type Missing struct{ Member, Why string }

// Said is a yes or no that may be missing.
type Said int8

const (
	Unsaid Said = iota
	Yes
	No
)

// Say turns a value that was told into a Said.
func Say(v bool) Said {
	if v {
		return Yes
	}
	return No
}

func (s Said) String() string {
	switch s {
	case Yes:
		return "yes"
	case No:
		return "no"
	}
	return "unknown"
}

// Description is a mount as its driver describes it.
type Description struct {
	Protocol  string // "alpaca" or "indi"
	Address   string // as it was opened
	Name      string // the device's name, as reported
	Driver    string // what the driver says of itself
	Version   string // the driver's version
	Interface int    // version of the protocol's telescope interface; 0: not told
	Equinox   Equinox
	Can       Can
	// Notes are what the driver lacks or does against the standard, one line each, in the order in which it showed.
	Notes []string
}

// Can is what the driver says it can do.
type Can struct {
	SetTracking bool // tracking can be switched: without it no stop is possible
	Slew        bool // without waiting for its end
	Park        bool
	Unpark      bool
	MoveAxis    [2]bool // RA axis, declination axis
	SetSide     bool    // a flip on demand
	TellSide    bool    // reports the side
	TellSlewEnd bool    // reports on which side a slew would end
}
