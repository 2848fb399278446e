package watch

import (
	"math"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// A driver that no longer says whether it tracks, as after a command that it could not carry out, is found out by its axes: a stop
// without effect is sent again and calls the hook, and one that works is seen to.
func TestTrackingUnsaidAfterStop(t *testing.T) {
	for _, deaf := range []bool{true, false} {
		b := atLimit(t, func(_ *Options, y *toy) { y.ignoreStops = deaf })
		b.until(time.Hour, func() bool { return stops(b) })
		b.change = func(r *mount.Reading) { r.Tracking = mount.Unsaid }
		b.until(time.Minute, func() bool { return b.hooks > 0 || b.w.Status().Rung == Stopped })
		if s := b.w.Status(); (b.hooks > 0) != deaf || deaf != (s.Rung == Hooked) || s.Rung == Stopping {
			t.Errorf("deaf %v: %s, %d hooks, %d offs", deaf, s.Rung, b.hooks, b.offs)
		}
		if b.least < b.w.p.g.MarginMM-4 {
			t.Errorf("deaf %v: %.2f mm", deaf, b.least)
		}
	}
}

// One that never says it is not taken for still while it tracks, wherever it points.
func TestTrackingUnsaidIsNoRest(t *testing.T) {
	for _, at := range []axes.Angles{deg(60, 45), deg(60, 5), deg(-60, -100)} {
		b := ready(t, at, func(_ *Options, y *toy) { y.change = func(r *mount.Reading) { r.Tracking = mount.Unsaid } })
		if b.until(time.Minute, func() bool { return b.w.now.motion == Still }) {
			t.Errorf("%v: still though it tracks", at)
		}
		b.tracking = false
		if !b.until(20*time.Second, func() bool { return b.w.now.motion == Still }) {
			t.Errorf("%v: stands, and is not seen to", at)
		}
	}
}

// Readings without a place that can be used still say whether there is something to stop, also in a mount that stood still before.
func TestOddReadingsOfAMotion(t *testing.T) {
	for name, says := range map[string]func(*mount.Reading){
		"slews":  func(r *mount.Reading) { r.Slewing = mount.Yes },
		"tracks": func(r *mount.Reading) { r.Tracking = mount.Yes },
		"stands": func(*mount.Reading) {},
	} {
		b := ready(t, deg(60, 45), func(_ *Options, y *toy) { y.tracking = false })
		if !b.until(10*time.Second, func() bool { return b.w.now.motion == Still }) {
			t.Fatal("does not stand")
		}
		b.ignoreStops = true
		b.change = func(r *mount.Reading) { r.Place.Dec = math.NaN(); says(r) }
		b.until(15*time.Second, func() bool { return stops(b) })
		if got := stops(b); got != (name != "stands") {
			t.Errorf("%s: %s", name, b.w.Status().Rung)
		}
	}
}
