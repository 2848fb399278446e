package soak

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"sync/atomic"
	"time"

	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/mount/indi"
	"legroom/mount/sim"
	"legroom/watch"
)

// fast is a clock that runs some times as fast as the computer's, for the watch: what it waits for takes less by that.
type fast struct {
	*sim.Clock
	from, began time.Time
	factor      float64
	stalled     atomic.Int64 // when this computer last let a program wait for so long that a call may miss its deadline, ns since 1970
}

func newFast(from time.Time, factor float64) *fast {
	return &fast{Clock: sim.NewClock(from, factor), from: from, began: time.Now(), factor: factor}
}

// deadline is that of a reading, by the owner's default.
var deadline = watch.Options{}.Defaults().ReadDeadline

// feel finds out, until ctx ends, when this computer is too busy for the clock: a short sleep that lasts for a quarter of a deadline.
// Only that, and nothing of the link itself, excuses an answer that was late.
func (f *fast) feel(ctx context.Context) {
	for last := time.Now(); ctx.Err() == nil; last = time.Now() {
		time.Sleep(2 * time.Millisecond)
		if now := time.Now(); now.Sub(last) > f.short(deadline)/4 {
			f.stalled.Store(now.UnixNano())
		}
	}
}

// busy tells whether that was so within a time of the fast clock.
func (f *fast) busy(within time.Duration) bool {
	return time.Since(time.Unix(0, f.stalled.Load())) < f.short(within)
}

func (f *fast) short(d time.Duration) time.Duration { return time.Duration(float64(d) / f.factor) }

// Sleep implements watch.Clock.
func (f *fast) Sleep(ctx context.Context, d time.Duration, wake <-chan struct{}) {
	t := time.NewTimer(f.short(d))
	defer t.Stop()
	select {
	case <-t.C:
	case <-wake:
	case <-ctx.Done():
	}
}

// Timeout implements watch.Clock.
func (f *fast) Timeout(ctx context.Context, d time.Duration) (context.Context, context.CancelFunc) {
	return context.WithTimeout(ctx, f.short(d))
}

// Go implements watch.Clock. The hooks of the soak draw from the night's seed and change its agenda: they run in the loop.
func (f *fast) Go(do func()) { do() }

// at is what the clock showed at a moment of the computer's.
func (f *fast) at(t time.Time) time.Time {
	return f.Now().Add(-time.Duration(float64(time.Since(t)) * f.factor))
}

// dated is a mount whose readings are dated by the fast clock.
type dated struct {
	mount.Telescope
	f *fast
}

// Read implements mount.Telescope.
func (d dated) Read(ctx context.Context) (mount.Reading, error) {
	r, err := d.Telescope.Read(ctx)
	if err == nil {
		r.Asked, r.Got = d.f.at(r.Asked), d.f.at(r.Got)
	}
	return r, err
}

// socketWorld is real sockets on this computer, by one open protocol and by the other: both come to rigs as they are written and
// to those that were changed.
func socketWorld(from time.Time, factor float64, i int) world {
	f := newFast(from, factor)
	return world{f, f.busy, func(m *sim.Mount, _ *rand.Rand) (mount.Telescope, func(), error) {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			return nil, nil, err
		}
		ctx, cancel := context.WithCancel(context.Background())
		go f.feel(ctx)
		ended := make(chan error, 1)
		shut := func() { cancel(); <-ended }
		var tel mount.Telescope
		if (i+i/2)%2 == 0 {
			h, err := sim.Alpaca(m, f.Clock)
			if err != nil {
				cancel()
				return nil, nil, err
			}
			go func() { ended <- alpaca.Serve(ctx, l, h) }()
			tel, err = alpaca.Open(ctx, fmt.Sprintf("alpaca://%s/0", l.Addr()))
			if err != nil {
				shut()
				return nil, nil, err
			}
		} else {
			go func() { ended <- sim.ServeINDI(ctx, m, f.Clock, l) }()
			tel, err = indi.Open(ctx, fmt.Sprintf("indi://%s/%s", l.Addr(), url.PathEscape(sim.Name)))
			if err != nil {
				shut()
				return nil, nil, err
			}
		}
		c, done := context.WithTimeout(ctx, 5*time.Second)
		defer done()
		if err := tel.Connect(c); err != nil {
			tel.Close()
			shut()
			return nil, nil, err
		}
		return dated{tel, f}, func() { tel.Close(); shut() }, nil
	}}
}
