package alpaca

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// connectTime is how long Connect waits when its context has no deadline: a driver may search a serial line for its mount.
const connectTime = 30 * time.Second

// Telescope is a telescope of a host as mount.Telescope.
type Telescope struct {
	device *Remote

	mu    sync.Mutex
	about mount.Description
	noted map[string]bool
	rest  map[string]answered // what each look reads one of, in turn
	turn  int

	identity   identity // of the device that was opened
	identified bool
	dials      uint32 // connections that there had been to its host when it was last seen to be that one
}

var _ mount.Telescope = (*Telescope)(nil)

// Open opens a telescope by its address, such as alpaca://192.0.2.7:7434/0, connects the driver if it is not, and asks what
// it can.
func Open(ctx context.Context, address string) (*Telescope, error) {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "alpaca" || u.Port() == "" || u.Hostname() == "" || u.User != nil ||
		u.RawQuery != "" || u.Fragment != "" {
		return nil, fmt.Errorf("%q: give the mount as alpaca://HOST:PORT/N, such as alpaca://127.0.0.1:7434/0", address)
	}
	number, err := strconv.ParseUint(strings.TrimPrefix(u.Path, "/"), 10, 31)
	if err != nil {
		return nil, fmt.Errorf("%q: %q is no device number: give the mount as alpaca://HOST:PORT/N, with N from 0", address, u.Path)
	}
	host := NewHost(net.JoinHostPort(u.Hostname(), u.Port()))
	t, err := OpenTelescope(ctx, host, int(number))
	if err != nil {
		host.Close()
		return nil, err
	}
	return t, nil
}

// OpenTelescope opens telescope number n of a host.
func OpenTelescope(ctx context.Context, host *Host, n int) (*Telescope, error) {
	t := &Telescope{device: host.Device("telescope", n), noted: map[string]bool{}}
	t.about = mount.Description{Protocol: "alpaca", Address: fmt.Sprintf("alpaca://%s/%d", host.address, n)}
	if err := t.Connect(ctx); err != nil {
		return nil, err
	}
	return t, nil
}

// Device is the telescope as a Device, for what passes calls on.
func (t *Telescope) Device() Device { return t.device }

// Close gives up the host's idle connections. The driver stays connected: others may be using it.
func (t *Telescope) Close() error {
	t.device.host.Close()
	return nil
}

// call sends one call under its own deadline.
func (t *Telescope) call(ctx context.Context, c Call) (any, error) {
	ctx, cancel := context.WithTimeout(ctx, t.device.host.Deadline)
	defer cancel()
	return t.device.Call(ctx, c)
}

func (t *Telescope) run(ctx context.Context, member string, args Args) error {
	_, err := t.call(ctx, Put(member, args))
	return err
}

// Connect implements mount.Telescope, and asks anew what the driver can. A device that is another than the one that was opened is left
// alone.
func (t *Telescope) Connect(ctx context.Context) error {
	if _, ok := ctx.Deadline(); !ok {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, connectTime)
		defer cancel()
	}
	if err := t.same(ctx); err != nil {
		return err
	}
	connected, err := t.call(ctx, Get("connected"))
	if err != nil {
		return err
	}
	if connected == false {
		if err := t.connect(ctx); err != nil {
			return err
		}
	}
	return t.ask(ctx)
}

// connect uses the member that all versions of the interface have. A driver may answer it only when its mount has answered,
// so this one call may take all the time that there is.
func (t *Telescope) connect(ctx context.Context) error {
	if _, err := t.device.Call(ctx, Put("connected", Args{"Connected": true})); err != nil {
		return err
	}
	for {
		connected, err := t.call(ctx, Get("connected"))
		if err != nil {
			return err
		}
		if connected == true {
			return nil
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("%w: it took the command, but did not connect in time", mount.ErrNotConnected)
		case <-time.After(200 * time.Millisecond):
		}
	}
}

// SetTracking implements mount.Telescope.
func (t *Telescope) SetTracking(ctx context.Context, on bool) error {
	return t.run(ctx, "tracking", Args{"Tracking": on})
}

// Abort implements mount.Telescope.
func (t *Telescope) Abort(ctx context.Context) error { return t.run(ctx, "abortslew", nil) }

// ZeroRates implements mount.Telescope.
func (t *Telescope) ZeroRates(ctx context.Context) error {
	var errs [2]error
	for axis := range errs {
		errs[axis] = t.run(ctx, "moveaxis", Args{"Axis": axis, "Rate": 0.0})
	}
	return errors.Join(errs[:]...)
}

// Park implements mount.Telescope. Older drivers answer only when the mount is parked; where the time runs out and the mount
// is then seen to move or to be parked, the command was taken.
func (t *Telescope) Park(ctx context.Context) error {
	err := t.run(ctx, "park", nil)
	if !errors.Is(err, context.DeadlineExceeded) || ctx.Err() != nil {
		return err
	}
	for _, member := range []string{"slewing", "atpark"} {
		if yes, e := t.call(ctx, Get(member)); e == nil && yes == true {
			return nil
		}
	}
	return err
}

// Unpark implements mount.Telescope.
func (t *Telescope) Unpark(ctx context.Context) error { return t.run(ctx, "unpark", nil) }

// Slew implements mount.Telescope. The standard has no slew to a side; destinationsideofpier holds for a slew that starts now.
func (t *Telescope) Slew(ctx context.Context, to sky.Equatorial, side *axes.Side) error {
	about := t.Describe()
	if !about.Can.Slew {
		return fmt.Errorf("%w: a slew that does not wait for its end", mount.ErrLacks)
	}
	ra, dec := about.Equinox.FromDate(to, time.Now())
	place := Args{"RightAscension": hoursOf(ra), "Declination": axes.Deg(dec)}
	if side != nil {
		v, err := t.call(ctx, Call{Member: "destinationsideofpier", Args: place})
		if err != nil {
			return err
		}
		end, said, err := sideOf(v.(int))
		switch {
		case err != nil:
			return fmt.Errorf("destinationsideofpier: %w: %w", mount.ErrAnswer, err)
		case !said:
			return fmt.Errorf("%w: on which side the slew would end", mount.ErrLacks)
		case end != *side:
			return fmt.Errorf("%w: %s, not %s", mount.ErrSide, end, *side)
		}
	}
	return t.run(ctx, "slewtocoordinatesasync", place)
}

// hoursOf turns a right ascension into hours in [0, 24).
func hoursOf(ra float64) float64 {
	h := math.Mod(axes.Hours(ra), 24)
	if h < 0 {
		h += 24
	}
	if h >= 24 { // a tiny negative angle
		h = 0
	}
	return h
}

// sideOf reads sideofpier: 0 is a mount on the east side of its pier, looking west, which is this project's side east; 1 the
// other one; −1 a mount that does not know.
func sideOf(pier int) (side axes.Side, said bool, err error) {
	switch pier {
	case 0:
		return axes.East, true, nil
	case 1:
		return axes.West, true, nil
	case -1:
		return 0, false, nil
	}
	return 0, false, fmt.Errorf("side of pier %d: the standard has 0, 1 and -1", pier)
}
