package watch

import (
	"math"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// underway brings the mount on a proven slew, to where its RA axis is nearer than an angle to its end. It may answer so late
// that no slew is protected unless it is proven.
func underway(t *testing.T, from, to axes.Angles, side axes.Side, left, brakeS float64) *bench {
	b := ready(t, from, func(o *Options, y *toy) {
		o.FastPeriod, o.ReadDeadline, o.CommandDeadline = 100*time.Millisecond, 6*time.Second, 6*time.Second
		y.brake = axes.Rad(3) / brakeS
	})
	place := b.placeOf(to)
	if _, err := b.w.AdmitSlew(place, &side); err != nil {
		t.Fatal(err)
	}
	if err := b.Slew(t.Context(), place, &side); err != nil {
		t.Fatal(err)
	}
	near := func() bool { return b.slewing && math.Abs(b.goal.RA-b.at.RA) < axes.Rad(left) }
	if !b.until(60*time.Second, near) || !b.w.Status().PathOK {
		t.Fatal("is not on its way")
	}
	return b
}

// aborted ends it by an abort, passed on by way of the guard or not, and steps until the axes are at rest. The driver calls
// the slew ended as soon as it is aborted.
func (b *bench) aborted(guard bool) *bench {
	b.change = func(r *mount.Reading) {
		if b.braking {
			r.Slewing = mount.No
		}
	}
	answered := func() {}
	if guard {
		answered = b.w.Aborting()
	}
	if err := b.Abort(b.t.Context()); err != nil {
		b.t.Fatal(err)
	}
	answered()
	b.until(5*time.Second, func() bool { return !b.slewing })
	b.steps(20)
	return b
}

// Axes that brake because of an abort that the guard passed on are no reason to stop them, where all that they can reach is
// proven free; past the guard nobody knows that they brake.
func TestAbortThroughTheGuard(t *testing.T) {
	flip := func(brakeS float64) *bench { return underway(t, deg(100, 45), deg(100, 45), axes.East, 155, brakeS) }
	b := flip(1.9).aborted(true)
	s := b.w.Status()
	if c := s.Counts; c.Stops != 0 || c.Slews != 1 || c.Unprotected != 0 || !b.tracking || b.offs != 0 || b.w.pass != nil {
		t.Errorf("%+v, tracking %v, pass %v: %s", s.Counts, b.tracking, b.w.pass, s.Why)
	}
	if c := flip(1.9).aborted(false).w.Status().Counts; c.Stops != 1 {
		t.Errorf("past the guard: %+v", c)
	}
	// Slower than the owner said that the mount brakes.
	if c := flip(8).aborted(true).w.Status().Counts; c.Stops != 1 {
		t.Errorf("brakes for too long: %+v", c)
	}
}

// Next to the pier not all that the axes can reach is free, though the way of the slew is: undecided is not free.
func TestAbortNearThePier(t *testing.T) {
	b := underway(t, deg(60, 45), deg(101.5, 45), axes.West, 2.2, 1.9).aborted(true)
	if s := b.w.Status(); s.Counts.Stops != 1 || s.Cause != ByGap || b.least < b.w.p.g.MarginMM {
		t.Errorf("%+v %s, %.1f mm", s.Counts, s.Cause, b.least)
	}
}

// What leaves all that braking axes can reach is stopped, whatever was aborted before.
func TestAbortIsNoPass(t *testing.T) {
	b := underway(t, deg(100, 45), deg(100, 45), axes.East, 155, 1.9)
	b.change = func(r *mount.Reading) { r.Slewing = mount.No }
	b.w.Aborting()()
	b.begin(deg(150, 45)) // by hand, back into the pier
	if !b.until(3*time.Second, func() bool { return b.w.Status().Counts.Stops > 0 }) {
		t.Errorf("goes on: %+v", b.w.Status().Counts)
	}
	b.until(20*time.Second, func() bool { return b.w.Status().Rung == Stopped })
	if b.least < b.w.p.g.MarginMM {
		t.Errorf("%.1f mm", b.least)
	}
}

// A reading just after an abort, hardly later than the one before, says nothing of rest.
func TestSettles(t *testing.T) {
	at := time.Date(2026, 11, 26, 20, 0, 0, 0, time.UTC)
	var ob observer
	x := 50.0
	look := func(after time.Duration, degrees float64, slewing mount.Said) bool {
		at, x = at.Add(after), x+degrees
		r := mount.Reading{Asked: at, Got: at, Slewing: slewing, Tracking: mount.No}
		ob.observe(fix{at: deg(x, 45), side: axes.West, r: r}, rates{1, 1})
		return ob.unsettled
	}
	for i, c := range []struct {
		after   time.Duration
		degrees float64
		slewing mount.Said
		want    bool
	}{
		{0, 0, mount.No, false},
		{time.Second, 0, mount.No, false},
		{time.Second, 4, mount.Yes, true},
		{time.Millisecond, 0.004, mount.No, true},         // 4°/s, unseen
		{time.Millisecond, 0.004, mount.No, true},         // and again
		{200 * time.Millisecond, 0.5, mount.No, true},     // seen
		{200 * time.Millisecond, 0.1, mount.No, true},     // slower
		{200 * time.Millisecond, 0.001, mount.No, false},  // at rest
		{time.Second, 0.3, mount.No, true},                // a sync, or a motion by hand
		{250 * time.Millisecond, 0.0005, mount.No, false}, // a sync it was
	} {
		if got := look(c.after, c.degrees, c.slewing); got != c.want {
			t.Errorf("look %d: unsettled %v", i, got)
		}
	}
}

// A slew that goes on after an abort, because the mount took that before the slew or not at all, is still the proven one,
// and may end as it would have.
func TestAbortThatCameTooEarly(t *testing.T) {
	b := underway(t, deg(100, 45), deg(100, 45), axes.East, 175, 1.9)
	b.w.Aborting()()
	b.until(2*time.Minute, func() bool { return !b.slewing })
	b.steps(20)
	if c := b.w.Status().Counts; c.Stops != 0 || c.Slews != 1 || c.Unprotected != 0 || b.w.pass != nil {
		t.Errorf("%+v, %v", c, b.w.Status().Why)
	}
}
