package watch

import (
	"context"
	"sync"
	"time"
)

// Clock is the time that the loop lives in: the computer's, or a simulated one in which nights pass in seconds. Everything that
// the loop waits for goes through it.
type Clock interface {
	Now() time.Time
	// Sleep waits for d, or less when wake is fed or ctx ends.
	Sleep(ctx context.Context, d time.Duration, wake <-chan struct{})
	// Timeout gives a context whose Deadline is d from now on this clock.
	Timeout(ctx context.Context, d time.Duration) (context.Context, context.CancelFunc)
	// Go starts f beside the loop.
	Go(f func())
}

// since is how long ago something was, by whichever says more: the count of seconds, which stands still while a computer sleeps, or the
// time of day, which may have been set back.
func since(now, then time.Time) time.Duration {
	return max(now.Sub(then), now.Round(0).Sub(then.Round(0)))
}

// Real is the computer's clock.
type Real struct{}

// Now is time.Now, with its monotonic part.
func (Real) Now() time.Time { return time.Now() }

// Sleep waits on a timer.
func (Real) Sleep(ctx context.Context, d time.Duration, wake <-chan struct{}) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-wake:
	case <-ctx.Done():
	}
}

// Timeout is context.WithTimeout.
func (Real) Timeout(ctx context.Context, d time.Duration) (context.Context, context.CancelFunc) {
	return context.WithTimeout(ctx, d)
}

// Go starts a goroutine.
func (Real) Go(f func()) { go f() }

// Virtual is a clock that moves only when somebody sleeps on it or advances it. It may be used from several goroutines, but
// the order of what happens is only certain with one.
type Virtual struct {
	mu  sync.Mutex
	now time.Time
}

// NewVirtual starts a virtual clock.
func NewVirtual(at time.Time) *Virtual { return &Virtual{now: at} }

// Now is where the clock stands.
func (v *Virtual) Now() time.Time {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.now
}

// Advance moves the clock on.
func (v *Virtual) Advance(d time.Duration) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if d > 0 {
		v.now = v.now.Add(d)
	}
}

// Sleep advances the clock at once; a wake that waits already makes it none.
func (v *Virtual) Sleep(ctx context.Context, d time.Duration, wake <-chan struct{}) {
	select {
	case <-wake:
	default:
		if ctx.Err() == nil {
			v.Advance(d)
		}
	}
}

// Timeout gives a context that tells its deadline and never ends by it: whoever answers in virtual time keeps to it, by
// Spend.
func (v *Virtual) Timeout(ctx context.Context, d time.Duration) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(ctx)
	return deadline{ctx, v.Now().Add(d)}, cancel
}

// Spend lets a call take d, or what is left of its deadline, and tells whether it was done in time.
func (v *Virtual) Spend(ctx context.Context, d time.Duration) bool {
	if end, ok := ctx.Deadline(); ok {
		if left := end.Sub(v.Now()); d > left {
			v.Advance(left)
			return false
		}
	}
	v.Advance(d)
	return true
}

// Go runs f to its end: what stands beside the loop takes no virtual time of its own.
func (v *Virtual) Go(f func()) { f() }

type deadline struct {
	context.Context
	at time.Time
}

func (d deadline) Deadline() (time.Time, bool) { return d.at, true }
