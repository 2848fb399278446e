package watch

import (
	"slices"
	"testing"
	"time"
	"unsafe"

	"legroom/axes"
	"legroom/mount"
)

// stepped is a computer's clock that somebody, or a time server, sets: the time of day is another then, and what has passed since some
// earlier time is not.
type stepped struct {
	*Virtual
	base time.Time // has a monotonic part
	by   time.Duration
}

func newStepped(v *Virtual) *stepped { return &stepped{Virtual: v, base: time.Now()} }

// Now has the virtual time as its monotonic part, and the time of day that was set beside it.
func (s *stepped) Now() time.Time { return s.says(s.Virtual.Now()) }

func (s *stepped) says(now time.Time) time.Time {
	t := s.base.Add(now.Sub(evening))
	set := now.Add(s.by)
	// A time with a monotonic part keeps its time of day as seconds since 1885 above 30 bits of nanoseconds. Source: $GOROOT/src/time/time.go.
	*(*uint64)(unsafe.Pointer(&t)) += uint64(set.Unix()-t.Unix()) << 30
	return t
}

// The computer's clock is set while the watch runs. What it then says does not fit the mount's sidereal time, so the watch is blind, and
// stops; with the clock right again it sees. Nor does a clock that was set back make old readings young.
func TestClockIsSet(t *testing.T) {
	for _, by := range []time.Duration{-time.Hour, time.Hour, 24 * time.Hour, -24 * time.Hour, 90 * time.Second, -90 * time.Second} {
		var clock *stepped
		begin := func(o *Options, y *toy) {
			clock = newStepped(y.clk)
			o.Clock = clock
			// The driver reads this computer's clock too; the mount's own says what it said.
			y.change = func(r *mount.Reading) { r.Asked, r.Got = clock.says(r.Asked), clock.says(r.Got) }
		}
		b := newStart(t, begin)
		from := clock.Now()
		clock.by = by
		if now := clock.Now(); now.Sub(from) != 0 || now.Unix()-from.Unix() != int64(by/time.Second) {
			t.Fatalf("this clock does not do what it should: %v, %v", from, now)
		}
		b.steps(4)
		s := b.w.Status()
		if !slices.Contains(s.Blind, BlindClock) || s.Rung == Watching || s.Safe(clock.Now(), time.Minute) || b.tracking {
			t.Errorf("set by %v: %s, blind %v, tracking %v", by, s.Rung, s.Blind, b.tracking)
		}
		clock.by = 0
		b.steps(6)
		if s := b.w.Status(); slices.Contains(s.Blind, BlindClock) {
			t.Errorf("set by %v and put right: %v", by, s.BlindWhy)
		}

		b = newStart(t, begin)
		b.silent, clock.by = true, by
		b.steps(8)
		if s := b.w.Status(); !slices.Contains(s.Blind, BlindLink) && !slices.Contains(s.Blind, BlindOld) || s.Safe(clock.Now(), time.Second) {
			t.Errorf("set by %v as the link breaks: blind %v", by, s.BlindWhy)
		}
	}
}

// Where the mount tells no clock, its hour angle goes by this computer's. Set a little at a time, that is off as much in the end; there and
// back again it is not. The owner who has looked since begins anew.
func TestClockIsSetOften(t *testing.T) {
	for name, c := range map[string]struct {
		by    func(i int) time.Duration
		blind bool
	}{
		"on":            {func(int) time.Duration { return 25 * time.Second }, true},
		"back":          {func(int) time.Duration { return -25 * time.Second }, true},
		"to and fro":    {func(i int) time.Duration { return time.Duration(1-2*(i%2)) * 50 * time.Second }, false},
		"by half a one": {func(int) time.Duration { return 500 * time.Millisecond }, false},
	} {
		var clock *stepped
		b := newStart(t, func(o *Options, y *toy) {
			clock = newStepped(y.clk)
			o.Clock = clock
			y.change = func(r *mount.Reading) {
				r.Asked, r.Got = clock.says(r.Asked), clock.says(r.Got)
				r.SiderealSaid, r.UTCSaid = false, false
			}
		})
		b.w.o.Blind = AlarmBlind
		for i := range 8 {
			clock.by += c.by(i)
			b.steps(4)
		}
		if blind := seen(b, BlindJump); blind != c.blind {
			t.Errorf("%s, %v in all: blind %v", name, clock.by, b.w.Status().BlindWhy)
		}
		if err := b.w.ConfirmReference(axes.West); err != nil {
			t.Fatal(err)
		}
		clock.by += c.by(1)
		b.steps(4)
		if s := b.w.Status(); len(s.Blind) > 0 {
			t.Errorf("%s: confirmed, and set once more: %v", name, s.BlindWhy)
		}
	}
}

func newStart(t *testing.T, f func(*Options, *toy)) *bench {
	t.Helper()
	b := ready(t, axes.Angles{RA: axes.Rad(60), Dec: axes.Rad(45)}, f)
	b.steps(3)
	if s := b.w.Status(); len(s.Blind) > 0 {
		t.Fatalf("blind before: %v", s.BlindWhy)
	}
	return b
}
