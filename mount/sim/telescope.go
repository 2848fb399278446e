package sim

import (
	"context"
	"fmt"
	"sync"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// Time is the clock of a link in the process: nothing waits on it but by Spend, which lets a call take d, or what is left of its
// deadline, and tells whether it was done in time.
type Time interface {
	Now() time.Time
	Spend(ctx context.Context, d time.Duration) bool
}

// Link is a mount as mount.Telescope in the same process, without a network: for a watch in virtual time. The faults of the link are
// faults of the calls.
type Link struct {
	m       *Mount
	clock   Time
	latency time.Duration

	mu      sync.Mutex
	restart int // of the mount, when the link was last connected
}

var _ mount.Telescope = (*Link)(nil)

// NewLink opens a link, whose calls take latency each.
func NewLink(m *Mount, clock Time, latency time.Duration) *Link {
	l := &Link{m: m, clock: clock, latency: latency}
	l.restart = m.restarts()
	return l
}

func (m *Mount) restarts() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.restart
}

// call carries a command to the mount and the answer back.
func (l *Link) call(ctx context.Context, f func() error) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("%w: %w", mount.ErrLink, err)
	}
	c := l.m.carry()
	late := fmt.Errorf("%w: no answer in time", mount.ErrLink)
	if c.halfOpen || c.lost && c.before {
		l.clock.Spend(ctx, silence)
		return late
	}
	err := f()
	if !l.clock.Spend(ctx, l.latency+time.Duration(c.delay*1e9)) {
		return late
	}
	if c.lost {
		l.clock.Spend(ctx, silence)
		return late
	}
	if c.garbage {
		return fmt.Errorf("%w: garbage", mount.ErrAnswer)
	}
	return err
}

// silence is longer than any deadline: how long a call without a deadline waits for an answer that does not come.
const silence = time.Hour

// connected carries a command of one that is connected.
func (l *Link) connected(ctx context.Context, f func() error) error {
	return l.call(ctx, func() error {
		l.mu.Lock()
		ok := l.restart == l.m.restarts()
		l.mu.Unlock()
		if !ok {
			return mount.ErrNotConnected
		}
		return f()
	})
}

// Read implements mount.Telescope. The state is that of the moment at which it was asked: as old as can be.
func (l *Link) Read(ctx context.Context) (mount.Reading, error) {
	var r mount.Reading
	asked := l.clock.Now()
	err := l.connected(ctx, func() (err error) {
		r, err = l.m.Say()
		return err
	})
	if err != nil {
		return mount.Reading{}, err
	}
	r.Asked, r.Got = asked, l.clock.Now()
	if !r.SideSaid {
		r.Missing = append(r.Missing, mount.Missing{Member: "side", Why: "the mount says that it does not know"})
	}
	return r, nil
}

// Connect implements mount.Telescope.
func (l *Link) Connect(ctx context.Context) error {
	return l.call(ctx, func() error {
		if !l.m.State().Power {
			return mount.ErrNotConnected
		}
		l.mu.Lock()
		defer l.mu.Unlock()
		l.restart = l.m.restarts()
		return nil
	})
}

// SetTracking implements mount.Telescope.
func (l *Link) SetTracking(ctx context.Context, on bool) error {
	return l.connected(ctx, func() error { return l.m.SetTracking(on) })
}

// Abort implements mount.Telescope.
func (l *Link) Abort(ctx context.Context) error { return l.connected(ctx, l.m.Abort) }

// ZeroRates implements mount.Telescope.
func (l *Link) ZeroRates(ctx context.Context) error {
	return l.connected(ctx, func() error {
		if err := l.m.MoveAxis(0, 0); err != nil {
			return err
		}
		return l.m.MoveAxis(1, 0)
	})
}

// Park implements mount.Telescope.
func (l *Link) Park(ctx context.Context) error { return l.connected(ctx, l.m.Park) }

// Unpark implements mount.Telescope.
func (l *Link) Unpark(ctx context.Context) error { return l.connected(ctx, l.m.Unpark) }

// Slew implements mount.Telescope.
func (l *Link) Slew(ctx context.Context, to sky.Equatorial, side *axes.Side) error {
	return l.connected(ctx, func() error { return l.m.Slew(to, side) })
}

// Describe implements mount.Telescope.
func (l *Link) Describe() mount.Description {
	return mount.Description{Protocol: "sim", Address: fmt.Sprintf("sim://%d", l.m.Seed()), Name: Name, Driver: driver, Version: "1",
		Equinox: mount.OfDate, Can: mount.Can{SetTracking: true, Slew: true, Park: true, Unpark: true, MoveAxis: [2]bool{true, true},
			SetSide: l.m.Habits().SideChoice == "as_told", TellSide: true, TellSlewEnd: true}}
}

// Close implements mount.Telescope.
func (l *Link) Close() error { return nil }

// What the mount is called.
const (
	Name   = "Simulated mount"
	driver = "a simulated equatorial mount of Legroom's: nothing moves"
)
