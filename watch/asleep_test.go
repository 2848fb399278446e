package watch

import (
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// A computer that was asleep counts no seconds meanwhile, and what it read before is as fresh as ever by that count. Until it has looked
// again, nothing is safe, and nothing let through.
func TestComputerWasAsleep(t *testing.T) {
	for _, slept := range []time.Duration{0, 30 * time.Second, time.Hour} {
		var clock *stepped
		b := newStart(t, func(o *Options, y *toy) {
			clock = newStepped(y.clk)
			o.Clock = clock
			y.change = func(r *mount.Reading) { r.Asked, r.Got = clock.says(r.Asked), clock.says(r.Got) }
		})
		clock.by = slept
		s := b.w.Status()
		if safe := s.Safe(clock.Now(), time.Second); safe != (slept == 0) {
			t.Errorf("slept %v: safe %v", slept, safe)
		}
		if s.AgeS == nil || *s.AgeS < slept.Seconds() {
			t.Errorf("slept %v: age %v", slept, s.AgeS)
		}
		p := theMap(t).Gauge().Model.Head.Pose(deg(70, 45))
		pass, err := b.w.AdmitSlew(b.placeOf(deg(70, 45)), &p.Side)
		if (err == nil) != (slept == 0) {
			t.Errorf("slept %v: slew %v", slept, err)
		}
		if pass != nil {
			pass.Cancel()
		}
		if err := b.w.AdmitTracking(); (err == nil) != (slept == 0) {
			t.Errorf("slept %v: tracking %v", slept, err)
		}
	}
}

// A watch that did not come round for long is as one that had no answer for long: nobody can say what the mount did.
func TestWatchWasAsleep(t *testing.T) {
	for _, c := range []struct {
		slept time.Duration
		blind bool
	}{{8 * time.Second, false}, {15 * time.Second, true}} {
		b := ready(t, axes.Angles{RA: axes.Rad(60), Dec: axes.Rad(45)}, nil)
		b.clk.Advance(c.slept)
		b.steps(1)
		if seen(b, BlindReference) != c.blind {
			t.Errorf("%v: %v", c.slept, b.w.Status().BlindWhy)
		}
	}
}
