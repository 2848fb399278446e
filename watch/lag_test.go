package watch

import (
	"math"
	"slices"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// late makes what the mount says that of a while ago, clocks and all.
type late struct {
	past []mount.Reading
	by   time.Duration
}

func (l *late) change(y *toy) func(*mount.Reading) {
	return func(r *mount.Reading) {
		asked, got := r.Asked, r.Got
		l.past = append(l.past, *r)
		i := len(l.past) - 1
		for i > 0 && l.past[i].UTC.After(y.clk.Now().Add(-l.by)) {
			i--
		}
		*r = l.past[i]
		r.Asked, r.Got = asked, got
	}
}

// Answers that fall behind are as old as the mount's clocks say, be it that they come in order and at once, and that both clocks run.
func TestLag(t *testing.T) {
	for name, lies := range map[string]func(was, is *mount.Reading){
		"both clocks":          func(_, _ *mount.Reading) {},
		"sidereal time":        func(was, is *mount.Reading) { was.UTC = is.UTC },
		"universal time":       func(was, is *mount.Reading) { was.Sidereal = is.Sidereal },
		"universal time alone": func(was, _ *mount.Reading) { was.SiderealSaid = false },
		"the driver's stamp, by a clock that was never set": func(was, is *mount.Reading) {
			was.Stamp, was.StampSaid = was.UTC.Add(-12345*time.Hour), true
			was.UTC, was.Sidereal = is.UTC, is.Sidereal
		},
		"a stamp of whole seconds, and no clock": func(was, is *mount.Reading) {
			was.Stamp, was.StampSaid = was.UTC.Add(time.Hour).Truncate(time.Second), true
			was.UTCSaid, was.SiderealSaid, is.UTCSaid = false, false, false
		},
	} {
		l := &late{}
		b := ready(t, deg(-30, 45), func(_ *Options, y *toy) {
			change := l.change(y)
			y.change = func(r *mount.Reading) { is := *r; change(r); lies(r, &is) }
		})
		b.steps(20)
		for range 110 {
			before := b.clk.Now()
			b.steps(1)
			l.by += b.clk.Now().Sub(before) / 2
			s := b.w.Status()
			if old := l.by.Seconds(); len(s.Blind) == 0 && old > 3.5 || old > 2.5 && *s.AgeS < old-1.5 || old < 0.5 && len(s.Blind) > 0 {
				t.Fatalf("%s: %.1f s behind, age %.1f s, blind %v", name, old, *s.AgeS, s.Blind)
			}
		}
		l.by = 0
		b.steps(3)
		if s := b.w.Status(); *s.AgeS > 1.5 || slices.Contains(s.Blind, BlindOld) || !slices.Contains(s.Blind, BlindReference) {
			t.Errorf("%s: up to date again after a minute, age %.1f s, blind %v", name, *s.AgeS, s.Blind)
		}
	}
}

// An answer of before the last is passed over: by its clock, which goes back.
func TestReordered(t *testing.T) {
	b := ready(t, deg(-20, 45), nil)
	var past []mount.Reading
	b.change = func(r *mount.Reading) {
		past = append(past, *r)
		if n := len(past); n > 20 && n%2 == 0 {
			asked, got := r.Asked, r.Got
			*r = past[n-20]
			r.Asked, r.Got = asked, got
		}
	}
	for range 60 {
		b.steps(1)
		s := b.w.Status()
		if at := *s.Sample.RAAxisDeg; at < axes.Deg(b.at.RA)-0.02 || len(s.Blind) > 0 || *s.AgeS > 2.5 {
			t.Fatalf("taken for at %.3f°, stands at %.3f°; age %.1f s, blind %v", at, axes.Deg(b.at.RA), *s.AgeS, s.Blind)
		}
	}
	// Nothing but old ones.
	b.change = func(r *mount.Reading) {
		asked, got := r.Asked, r.Got
		past = append(past, *r)
		*r = past[len(past)-20]
		r.Asked, r.Got = asked, got
	}
	b.steps(5)
	if s := b.w.Status(); !slices.Contains(s.Blind, BlindOld) || s.Rung == Watching {
		t.Errorf("%s, blind %v", s.Rung, s.BlindWhy)
	}
}

// A mount whose sidereal time stands while its universal time runs is frozen: a stop that it did not obey is not taken for one that worked.
func TestHalfFrozen(t *testing.T) {
	b := ready(t, deg(85, 45), nil)
	b.steps(5)
	old := b.say()
	b.ignoreStops = true
	b.change = func(r *mount.Reading) {
		asked, got, utc := r.Asked, r.Got, r.UTC
		*r = old
		r.Asked, r.Got, r.UTC, r.Tracking = asked, got, utc, mount.No
	}
	b.w.Stop()
	if b.until(50*time.Second, func() bool { return b.w.Status().Rung == Stopped }) {
		t.Errorf("said to stand still by a place whose sidereal time stands: blind %v", b.w.Status().Blind)
	}
	if !seen(b, BlindFrozen) {
		t.Errorf("blind %v", b.w.Status().Blind)
	}
}

// Clocks of good mounts: coarse, late, drifting, set in the middle of the night, or never running. Nothing is stopped for them.
func TestGoodClocks(t *testing.T) {
	whole := func(r *mount.Reading, d time.Duration) {
		s := d.Seconds() * axes.Rad(360) / 86164.0905
		r.UTC = r.UTC.Truncate(d)
		lost := math.Mod(r.Sidereal, s)
		r.Sidereal, r.Place.RA = r.Sidereal-lost, math.Mod(r.Place.RA-lost+2*math.Pi, 2*math.Pi)
	}
	set := func(d time.Duration) func(*toy, *mount.Reading) {
		return func(y *toy, r *mount.Reading) {
			if y.clk.Now().Sub(evening) > time.Minute { // the axes stay, and with them the hour angle
				a := axes.Rad(360) * d.Seconds() / 86164.0905
				turn := func(x float64) float64 { return math.Mod(x+a+2*math.Pi, 2*math.Pi) }
				r.UTC, r.Sidereal, r.Place.RA = r.UTC.Add(d), turn(r.Sidereal), turn(r.Place.RA)
			}
		}
	}
	for name, f := range map[string]func(*toy, *mount.Reading){
		"whole seconds":  func(_ *toy, r *mount.Reading) { whole(r, time.Second) },
		"every 0.7 s":    func(_ *toy, r *mount.Reading) { whole(r, 700*time.Millisecond) },
		"drifts":         func(y *toy, r *mount.Reading) { r.UTC = r.UTC.Add(-y.clk.Now().Sub(evening) / 2000) },
		"set back":       set(-20 * time.Second),
		"set back a bit": set(-2 * time.Second),
		"set forward":    set(40 * time.Second),
		"universal time set once": func(_ *toy, r *mount.Reading) {
			r.UTC = evening.Add(50 * time.Second)
		},
		"a stamp that is always the same": func(_ *toy, r *mount.Reading) { r.Stamp, r.StampSaid = evening, true },
		"a stamp in whole seconds of another zone, which changes": func(y *toy, r *mount.Reading) {
			r.Stamp, r.StampSaid = r.UTC.Truncate(time.Second).Add(2*time.Hour), true
			if y.clk.Now().Sub(evening) > time.Minute {
				r.Stamp = r.Stamp.Add(-time.Hour)
			}
		},
		"universal time each five seconds": func(_ *toy, r *mount.Reading) { r.UTC = r.UTC.Truncate(5 * time.Second) },
		"no sidereal time, set back": func(y *toy, r *mount.Reading) {
			r.SiderealSaid = false
			if y.clk.Now().Sub(evening) > time.Minute {
				r.UTC = r.UTC.Add(-30 * time.Second)
			}
		},
	} {
		for _, tracking := range []bool{true, false} {
			i := 0
			b := ready(t, deg(20, 45), func(_ *Options, y *toy) {
				y.change = func(r *mount.Reading) {
					f(y, r)
					i++
					y.delay = time.Duration(30+(i*i*7)%500) * time.Millisecond // the line is not even
				}
			})
			b.tracking = tracking
			b.until(100*time.Second, func() bool { return len(b.w.Status().Blind) > 0 })
			if s := b.w.Status(); len(s.Blind) > 0 || s.Counts.Stops > 0 || *s.AgeS > 2.5 {
				t.Errorf("%s, tracking %v: after %v age %.1f s, %s, %v", name, tracking, b.clk.Now().Sub(evening), *s.AgeS, s.Rung, s.BlindWhy)
			}
		}
	}
}
