package watch

import (
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// atLimit is a bench that tracks, a few minutes before its stop is due.
func atLimit(t *testing.T, f func(*Options, *toy)) *bench { return ready(t, deg(102, 45), f) }

func stops(b *bench) bool { r := b.w.Status().Rung; return r == Stopping || r == Hooked }

// A mount that tracks again by itself after an abort is stopped all the same.
func TestTrackingRestored(t *testing.T) {
	for _, after := range []time.Duration{time.Millisecond, time.Second, 5 * time.Second} {
		b := atLimit(t, func(_ *Options, y *toy) { y.restoreAfter = after })
		b.until(time.Hour, func() bool { return stops(b) })
		b.until(40*time.Second, func() bool { return false })
		if s := b.w.Status(); s.Rung != Stopped || b.tracking || b.hooks > 0 {
			t.Errorf("restored after %v: %s, tracking %v, hooks %d, %d aborts, %d offs", after, s.Rung, b.tracking, b.hooks, b.aborts, b.offs)
		}
		if b.least < b.w.p.g.MarginMM {
			t.Errorf("restored after %v: gap down to %.2f mm", after, b.least)
		}
	}
}

// A mount that ignores stops: the hook is called while there is room, and what it cuts stands still.
func TestIgnoredStops(t *testing.T) {
	b := atLimit(t, func(_ *Options, y *toy) { y.ignoreStops = true })
	b.until(time.Hour, func() bool { return stops(b) })
	from := b.clk.Now()
	if !b.until(time.Minute, func() bool { return b.hooks > 0 }) {
		t.Fatal("no hook")
	}
	if took := b.clk.Now().Sub(from); took > 5*time.Second {
		t.Errorf("the hook came after %v", took)
	}
	if s := b.w.Status(); s.Rung != Hooked || b.least < b.w.p.g.MarginMM-1 {
		t.Errorf("%s at %.2f mm", s.Rung, b.least)
	}
	b.tracking = false // the hook has worked
	if !b.until(10*time.Second, func() bool { return b.w.Status().Rung == Stopped }) {
		t.Errorf("%+v", b.w.Status())
	}
}

// Slow answers, up to the deadlines, delay nothing beyond what the formula takes.
func TestSlowAnswers(t *testing.T) {
	b := atLimit(t, func(_ *Options, y *toy) { y.delay = 950 * time.Millisecond })
	b.until(time.Hour, func() bool { return stops(b) })
	b.until(30*time.Second, func() bool { return b.w.Status().Rung == Stopped })
	if s := b.w.Status(); s.Rung != Stopped || b.least < b.w.p.g.MarginMM || b.hooks > 0 {
		t.Errorf("%+v, %.2f mm", s, b.least)
	}
}

// A side that is a lie: told wrong from the start on, it is found out when the owner confirms the true one; told by the hour angle,
// it is found out at the meridian, and the true side is known all the time.
func TestSideLie(t *testing.T) {
	b := ready(t, deg(89, 45), nil)
	b.change = func(r *mount.Reading) {
		r.Side = axes.West
		if axes.Wrap(r.Sidereal-r.Place.RA) > 0 {
			r.Side = axes.East
		}
	}
	b.steps(60)
	if s := b.w.Status(); len(s.Blind) > 0 {
		t.Fatalf("before the meridian: %v", s.BlindWhy)
	}
	b.until(10*time.Minute, func() bool { return seen(b, BlindSide) })
	s := b.w.Status()
	if !seen(b, BlindSide) || s.Sample.Side != "west" || s.Sample.SideSaid != "east" {
		t.Errorf("%v %+v", s.Blind, s.Sample)
	}
	b.until(10*time.Second, func() bool { return b.w.Status().Rung == Stopped })
	if b.tracking {
		t.Error("tracks on with a side that is a lie")
	}
}

// Without a side, told or known, both have to be free.
func TestSideUnknown(t *testing.T) {
	b := newBench(t, deg(80, 45), func(o *Options, y *toy) {
		o.Blind = AlarmBlind
		y.change = func(r *mount.Reading) { r.SideSaid = false }
	})
	b.steps(4)
	s := b.w.Status()
	if s.Sample.Side != "unknown" || s.Sample.SideHow != ByNobody || len(b.w.now.looks) != 2 {
		t.Errorf("%+v", s.Sample)
	}
	// On side east the same place is the mirror of one past the limit: at 6 h 40 before the meridian of side east nothing is free.
	if b.w.now.looks[0].gap.Lower > b.w.now.looks[1].gap.Lower {
		t.Error("the tighter side comes first")
	}
}

// The owner's stop holds until it is let go.
func TestOwnerStops(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	b.w.Stop()
	if s := b.w.Status(); s.Safe(b.clk.Now(), time.Second) {
		t.Error("safe with the stop pressed")
	}
	b.steps(1)
	if b.tracking {
		t.Fatal("tracks on")
	}
	b.until(10*time.Second, func() bool { return b.w.Status().Rung == Stopped })
	b.tracking = true // some program goes on
	b.steps(3)
	if b.tracking {
		t.Error("tracking again though the owner holds it")
	}
	b.until(10*time.Second, func() bool { return b.w.Status().Rung == Stopped })
	if c := b.w.Status().Counts; c.Restored != 1 || c.Stops != 2 {
		t.Errorf("%+v", c)
	}
	if err := b.w.Release(); err != nil {
		t.Fatal(err)
	}
	b.tracking = true
	b.steps(3)
	if s := b.w.Status(); s.Rung != Watching || !b.tracking {
		t.Errorf("%+v", s)
	}
	if err := b.w.Release(); err == nil || err.Error() != "nobody has pressed stop" {
		t.Errorf("let go twice: %v", err)
	}
}

func TestSnooze(t *testing.T) {
	b := atLimit(t, nil)
	b.until(time.Hour, func() bool { return b.w.Status().Rung == Warned })
	if err := b.w.Snooze(5 * time.Minute); err != nil {
		t.Fatal(err)
	}
	b.steps(2)
	if s := b.w.Status(); s.Rung != Watching || s.Snoozed == nil {
		t.Errorf("%+v", s.Rung)
	}
	if !b.until(15*time.Minute, func() bool { return stops(b) }) {
		t.Fatal("a snoozed warning kept the stop away")
	}
	if b.w.Snooze(time.Minute) == nil {
		t.Error("a stop was snoozed")
	}
	b.until(15*time.Second, func() bool { return b.w.Status().Rung == Stopped })
	// Nobody has pressed that stop: what would be right instead is said.
	if err := b.w.Release(); err == nil || !strings.Contains(err.Error(), "by itself: ") || !strings.Contains(err.Error(), "switch tracking on again at the mount to go on; or park") {
		t.Errorf("let go of: %v", err)
	}
	if b.least < b.w.p.g.MarginMM {
		t.Errorf("%.2f mm", b.least)
	}
}

// A driver that says that it tracks no longer, and goes on, is found out by its axes.
func TestTrackingLie(t *testing.T) {
	b := atLimit(t, func(_ *Options, y *toy) { y.ignoreStops = true })
	b.until(time.Hour, func() bool { return stops(b) })
	b.change = func(r *mount.Reading) { r.Tracking = mount.No }
	if !b.until(time.Minute, func() bool { return b.hooks > 0 }) {
		t.Errorf("no hook: %+v", b.w.Status())
	}
	if b.least < b.w.p.g.MarginMM-4 {
		t.Errorf("%.2f mm", b.least)
	}
}

// A link that is gone for a few seconds cuts no power; one that stays away does, once time may be short.
func TestLostLink(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	b.silent = true
	b.until(30*time.Second, func() bool { return false })
	if b.hooks > 0 || !stops(b) {
		t.Errorf("hooks %d, %s", b.hooks, b.w.Status().Rung)
	}
	b.until(2*time.Minute, func() bool { return b.hooks > 0 })
	if b.hooks == 0 {
		t.Error("no hook")
	}
}
