package watch

import (
	"testing"
	"time"

	"legroom/axes"
	"legroom/sky"
)

// askAll asks for whatever sets the mount in motion, and takes it back.
func (w *Watch) askAll(t *testing.T, to sky.Equatorial) map[string]error {
	t.Helper()
	side := axes.West
	pass, slew := w.AdmitSlew(to, &side)
	if slew == nil {
		pass.Cancel()
	}
	pass, park := w.AdmitPark()
	if park == nil {
		pass.Cancel()
	}
	hand := w.AdmitMotion(0, axes.Rad(0.05))
	if hand == nil {
		w.CancelMotion(0)
	}
	return map[string]error{"slew": slew, "park": park, "by hand": hand, "tracking": w.AdmitTracking(), "sync": w.AdmitSync(to)}
}

// A slew that does not begin is waited for as long as a driver may take to begin; one that was over before anybody looked, or that the
// mount did not take, is not waited for.
func TestSlewThatIsNotSeenToBegin(t *testing.T) {
	west := axes.West
	for _, c := range []struct {
		name string
		to   axes.Angles
		end  func(*bench, *Pass)
		free bool
	}{
		{"does not begin", deg(61, 45), func(_ *bench, p *Pass) { p.Sent() }, false},
		{"is over at once", deg(60.04, 45), func(b *bench, p *Pass) { p.Sent(); b.at = deg(60.04, 45) }, true},
		{"is answered at its end", deg(61, 45), func(_ *bench, p *Pass) { p.Done() }, true},
		{"is not taken", deg(61, 45), func(_ *bench, p *Pass) { p.Cancel() }, true},
		{"is aborted", deg(61, 45), func(b *bench, p *Pass) { p.Sent(); b.w.Aborting()() }, true},
	} {
		b := ready(t, deg(60, 45), func(_ *Options, y *toy) { y.delay = time.Millisecond })
		pass, err := b.w.AdmitSlew(b.placeOf(c.to), &west)
		if err != nil {
			t.Fatal(err)
		}
		c.end(b, pass)
		b.steps(2)
		if err := b.w.AdmitTracking(); (err == nil) != c.free || !c.free && key(err) != "busy" {
			t.Errorf("%s: %v", c.name, err)
		}
		b.until(beginWithin+time.Second, func() bool { return false })
		if err := b.w.AdmitTracking(); err != nil {
			t.Errorf("%s: long after: %v", c.name, err)
		}
	}
}

// A motion by hand that was let through keeps all others but such ones from beginning until it is seen, ended, taken back, or has not
// come in the time that a driver may take.
func TestMotionByHandThatHasNotBegun(t *testing.T) {
	to := deg(50, 60)
	begin := func() *bench {
		b := ready(t, deg(60, 45), func(_ *Options, y *toy) { y.delay = time.Millisecond })
		if err := b.w.AdmitMotion(1, axes.Rad(1)); err != nil {
			t.Fatal(err)
		}
		b.steps(2)
		return b
	}
	b := begin()
	for what, err := range b.w.askAll(t, b.placeOf(to)) {
		if what != "by hand" && key(err) != "busy" || what == "by hand" && err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	for name, end := range map[string]func(*bench){
		"ended":       func(b *bench) { _ = b.w.AdmitMotion(1, 0) },
		"taken back":  func(b *bench) { b.w.CancelMotion(1) },
		"does not go": func(b *bench) { b.until(beginWithin+time.Second, func() bool { return false }) },
		"seen": func(b *bench) {
			b.begin(deg(60, 55))
			if !b.until(time.Minute, func() bool { return !b.slewing && b.w.Status().Sample.Motion == Tracks }) {
				t.Fatal("goes on")
			}
		},
	} {
		b := begin()
		if err := b.w.AdmitTracking(); key(err) != "busy" {
			t.Errorf("before it is %s: %v", name, err)
		}
		end(b)
		b.steps(2)
		if err := b.w.AdmitTracking(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	b = begin()
	_ = b.w.AdmitMotion(0, 0) // the other axis
	if err := b.w.AdmitTracking(); key(err) != "busy" {
		t.Errorf("the other axis was ended: %v", err)
	}
}
