package watch

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
)

func seen(b *bench, r Reason) bool { return slices.Contains(b.w.Status().Blind, r) }

// Each way of being blind: what causes it, and its neighbour that just does not.
func TestBlind(t *testing.T) {
	change := func(f func(*mount.Reading)) func(*bench) { return func(b *bench) { b.change = f } }
	sidereal := func(d float64) func(*bench) {
		return change(func(r *mount.Reading) {
			r.Sidereal = math.Mod(r.Sidereal+axes.Rad(d)+2*math.Pi, 2*math.Pi)
			r.Place.RA = math.Mod(r.Place.RA+axes.Rad(d)+2*math.Pi, 2*math.Pi)
		})
	}
	silent := func(d time.Duration) func(*bench) {
		return func(b *bench) {
			b.silent = true
			b.clk.Advance(d)
		}
	}
	blip := func(b *bench) { b.silent = true; b.steps(1); b.silent = false }
	for _, c := range []struct {
		name      string
		why       Reason
		bad, good func(*bench)
	}{
		{"no answer", BlindLink, silent(3 * time.Second), blip},
		{"old", BlindOld, silent(3 * time.Second), blip},
		{"garbage", BlindAnswer, func(b *bench) { b.broken = mount.ErrAnswer; b.clk.Advance(3 * time.Second) },
			func(b *bench) { b.broken = mount.ErrAnswer }},
		{"no number", BlindPlace, func(b *bench) {
			b.change = func(r *mount.Reading) { r.Place.Dec = math.NaN() }
			b.clk.Advance(3 * time.Second)
		}, func(b *bench) { b.change = func(r *mount.Reading) { r.Place.Dec = math.NaN() } }},
		{"frozen", BlindFrozen, func(b *bench) { r := b.say(); b.frozen = &r; b.steps(4) }, func(b *bench) { r := b.say(); b.frozen = &r; b.steps(1) }},
		{"mount's clock", BlindClock, change(func(r *mount.Reading) { r.UTC = r.UTC.Add(61 * time.Second) }),
			change(func(r *mount.Reading) { r.UTC = r.UTC.Add(59 * time.Second) })},
		{"sidereal time", BlindClock, sidereal(0.27), sidereal(0.23)},
		{"longitude", BlindSite, change(func(r *mount.Reading) { r.Lon += axes.Rad(0.26) }), change(func(r *mount.Reading) { r.Lon += axes.Rad(0.24) })},
		{"latitude", BlindSite, change(func(r *mount.Reading) { r.Lat = math.NaN() }), change(func(r *mount.Reading) { r.Lat -= axes.Rad(0.24) })},
		{"equinox", BlindEquinox, func(b *bench) {
			b.change = func(r *mount.Reading) { r.Equinox = mount.UnknownEquinox }
			b.clk.Advance(3 * time.Second)
		}, func(b *bench) {
			b.w.c.equinox = mount.OfDate
			b.change = func(r *mount.Reading) { r.Equinox = mount.UnknownEquinox }
			b.clk.Advance(3 * time.Second)
		}},
		{"side", BlindSide, func(b *bench) { b.change = func(r *mount.Reading) { r.Side = axes.East }; b.steps(2) }, change(func(r *mount.Reading) { r.SideSaid = false })},
		{"side not to be believed", BlindSide, func(b *bench) { b.change = func(r *mount.Reading) { r.Side = axes.East }; b.steps(2) }, func(b *bench) {
			b.w.o.IgnoreSide = true
			b.change = func(r *mount.Reading) { r.Side = axes.East }
			b.steps(2)
		}},
		{"sync", BlindJump, func(b *bench) { b.sync.Dec = axes.Rad(1.05) }, func(b *bench) { b.sync.Dec = axes.Rad(0.95) }},
		{"syncs", BlindJump, func(b *bench) { b.sync.Dec = axes.Rad(0.6); b.steps(2); b.sync.Dec = axes.Rad(1.2) },
			func(b *bench) { b.sync.Dec = axes.Rad(0.6); b.steps(2); b.sync.Dec = axes.Rad(0.1) }},
		{"reference after power loss", BlindReference, func(b *bench) {
			b.broken = mount.ErrNotConnected
			b.steps(1)
			b.broken = nil
			b.steps(1)
		}, func(b *bench) { b.silent = true; b.steps(1); b.silent = false; b.steps(1) }},
		{"reference after a long silence", BlindReference, func(b *bench) { b.silent = true; b.steps(14); b.silent = false; b.steps(1) },
			func(b *bench) { b.silent = true; b.steps(2); b.silent = false; b.steps(1) }},
		{"elsewhere after a moment's loss", BlindJump, func(b *bench) {
			b.silent = true
			b.steps(1)
			b.silent, b.sync.Dec = false, axes.Rad(-1.05)
			b.steps(1)
		}, func(b *bench) {
			b.silent = true
			b.steps(1)
			b.silent, b.sync.Dec = false, axes.Rad(-0.95)
			b.steps(1)
		}},
		{"set-up", BlindSetup, func(b *bench) {
			b.w.o.Setup = func(time.Time) rig.Setup { return rig.Setup{Reason: "another night"} }
			b.clk.Advance(0)
			b.w.lookedAt = time.Time{}
		}, func(b *bench) { b.w.lookedAt = time.Time{} }},
		{"fingerprint", BlindFingerprint, func(b *bench) {
			b.w.o.Fingerprint = func() (string, error) { return "", errors.New("gone") }
			b.w.lookedAt = time.Time{}
		}, func(b *bench) { b.w.lookedAt = time.Time{} }},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := ready(t, deg(80, 45), nil)
			c.bad(b)
			b.steps(2)
			if !seen(b, c.why) {
				t.Errorf("not blind: %v", b.w.Status().Blind)
			}
			// What is blind while it tracks is stopped.
			if b.w.Status().Rung == Watching {
				t.Errorf("rung %s", b.w.Status().Rung)
			}
			b = ready(t, deg(80, 45), nil)
			c.good(b)
			b.steps(2)
			if s := b.w.Status(); len(s.Blind) > 0 || s.Rung != Watching && c.why != BlindReference {
				t.Errorf("blind though right: %s, %v", s.Rung, s.BlindWhy)
			}
		})
	}
}

// The owner may choose to hear of it only.
func TestBlindAlarmOnly(t *testing.T) {
	b := ready(t, deg(80, 45), nil)
	b.w.o.Blind = AlarmBlind
	b.change = func(r *mount.Reading) { r.UTC = r.UTC.Add(time.Hour) }
	b.steps(10)
	s := b.w.Status()
	if !seen(b, BlindClock) || s.Rung != Watching || b.aborts+b.offs > 0 || s.Safe(b.clk.Now(), time.Second) {
		t.Errorf("%+v", s)
	}
	if len(s.Alarms) == 0 || s.Alarms[0].Level != Alarm {
		t.Errorf("alarms %+v", s.Alarms)
	}
	// The record of the night knows it too: what was worked out meanwhile is no proven gap.
	var c *Sample
	for _, r := range b.records {
		if r.Kind == KindSample {
			c = r.Sample
		}
	}
	if !slices.Equal(c.Blind, s.Blind) || c.LowerMM == nil || c.Proven() != nil {
		t.Errorf("sample %+v, blind %v", c, s.Blind)
	}
	b.change = nil
	b.steps(2)
	if c := b.w.Status().Sample; len(c.Blind) > 0 || c.Proven() == nil {
		t.Errorf("sample %+v of a watch that sees again", c)
	}
}

// A mount that stands still is not stopped, blind or not.
func TestBlindStandsStill(t *testing.T) {
	b := ready(t, deg(80, 45), nil)
	b.tracking = false
	b.steps(6)
	b.change = func(r *mount.Reading) { r.UTC = r.UTC.Add(time.Hour) }
	b.steps(10)
	if s := b.w.Status(); !seen(b, BlindClock) || s.Rung != Watching || b.aborts > 0 {
		t.Errorf("%+v", s)
	}
}

// Until the owner confirms a reference pose the watch is blind, and a mount that tracks is stopped.
func TestReference(t *testing.T) {
	b := newBench(t, deg(80, 45), nil)
	b.steps(8)
	if !seen(b, BlindReference) || b.tracking {
		t.Errorf("%+v", b.w.Status())
	}
	b.until(10*time.Second, func() bool { return b.w.Status().Rung == Stopped })
	if err := b.w.ConfirmReference(axes.West); err != nil {
		t.Fatal(err)
	}
	b.steps(1)
	if s := b.w.Status(); len(s.Blind) > 0 || s.Sample.SideHow != ByPath {
		t.Errorf("%v %+v", s.Blind, s.Sample)
	}
	b.tracking = true
	b.steps(3)
	if s := b.w.Status(); s.Rung != Watching || !b.tracking {
		t.Errorf("%+v", s)
	}
	// A watch that begins again within ten minutes carries on.
	last := b.w.Status().Sample
	for _, c := range []struct {
		after time.Duration
		off   float64
		blind bool
	}{{5 * time.Minute, 0, false}, {11 * time.Minute, 0, true}, {5 * time.Minute, 1, true}} {
		again := newBench(t, deg(80+c.off, 45), func(o *Options, y *toy) {
			s := *last
			s.Asked, s.Got = y.clk.Now(), y.clk.Now()
			o.Resume = &s
			*s.RAAxisDeg = 80
			y.walk(c.after.Seconds())
			y.clk.Advance(c.after)
			y.when = y.clk.Now()
		})
		again.steps(2)
		if seen(again, BlindReference) != c.blind {
			t.Errorf("after %v, off by %v°: %v", c.after, c.off, again.w.Status().Blind)
		}
	}
}

// A side that the mount contradicts is not confirmed, unless its word is known to be worth nothing, or it says nothing.
func TestReferenceAgainstTheMount(t *testing.T) {
	for _, c := range []struct {
		said, ignore, ok bool
	}{{true, false, false}, {true, true, true}, {false, false, true}} {
		b := newBench(t, deg(80, 45), func(o *Options, y *toy) {
			o.IgnoreSide = c.ignore
			y.change = func(r *mount.Reading) { r.Side, r.SideSaid = axes.East, c.said }
		})
		b.steps(3)
		if err := b.w.ConfirmReference(axes.West); (err == nil) != c.ok {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// A sync is seen where a mount is still said to slew, but its axes have come to rest, and right after.
func TestSyncAtTheEndOfASlew(t *testing.T) {
	for _, still := range []bool{true, false} {
		b := ready(t, deg(60, 45), nil)
		settling := true
		b.change = func(r *mount.Reading) {
			if settling {
				r.Slewing = mount.Yes
			}
		}
		b.steps(6)
		if !still {
			settling = false
			b.steps(1)
		}
		if seen(b, BlindJump) {
			t.Fatalf("%v", b.w.Status().BlindWhy)
		}
		b.sync = deg(1.4, 0.1)
		b.steps(3)
		if !seen(b, BlindJump) {
			t.Errorf("still said to slew %v: %v", still, b.w.Status().Blind)
		}
	}
}

// Small syncs add up with their signs: many that go one way are as a large one, though each is less than a quarter of a degree. Those that
// cancel are none, nor is guiding, dither, a clock that shows whole seconds, or an answer that takes its time.
func TestSmallSyncs(t *testing.T) {
	whole := func(_ *toy, r *mount.Reading) {
		lost := math.Mod(r.Sidereal, axes.Rad(360)/86164.0905)
		r.Sidereal, r.Place.RA = r.Sidereal-lost, math.Mod(r.Place.RA-lost+2*math.Pi, 2*math.Pi)
	}
	for _, c := range []struct {
		name   string
		by     func(i int) axes.Angles
		say    func(*toy, *mount.Reading)
		off    bool // tracking
		blind  bool
		within int
	}{
		{"one way", func(int) axes.Angles { return deg(0.24, 0) }, nil, false, true, 5},
		{"one way, at rest", func(int) axes.Angles { return deg(0, -0.1) }, nil, true, true, 11},
		{"of a minute", func(int) axes.Angles { return deg(0.03, 0.03) }, nil, false, true, 25},
		{"to and fro", func(i int) axes.Angles { return deg(0.24*float64(1-2*(i%2)), 0.2*float64(1-2*(i/2%2))) }, nil, false, false, 100},
		{"a few", func(i int) axes.Angles { return deg(0.24*float64(max(0, 4-i)/max(1, 4-i)), 0) }, nil, false, false, 100},
		{"dither", func(i int) axes.Angles { return deg(0.003*float64(i%3), 0.002*float64(i%2)) }, nil, false, false, 200},
		{"whole seconds", func(int) axes.Angles { return deg(0, 0) }, whole, false, false, 200},
		{"whole seconds, at rest", func(int) axes.Angles { return deg(0, 0) }, whole, true, false, 200},
		{"no clock, uneven answers", func(int) axes.Angles { return deg(0, 0) },
			func(y *toy, r *mount.Reading) {
				r.SiderealSaid, r.UTCSaid = false, false
				y.delay = 30*time.Millisecond + (y.delay*7+90*time.Millisecond)%(900*time.Millisecond)
			}, false, false, 400},
		{"guiding at the sidereal rate", func(int) axes.Angles { return deg(0.004, -0.004) }, nil, false, false, 300},
	} {
		b := ready(t, deg(20, 45), func(_ *Options, y *toy) {
			if c.say != nil {
				y.change = func(r *mount.Reading) { c.say(y, r) }
			}
		})
		b.tracking = !c.off
		b.steps(10)
		i := 0
		for ; i < c.within && !seen(b, BlindJump); i++ {
			d := c.by(i)
			b.sync.RA, b.sync.Dec = b.sync.RA+d.RA, b.sync.Dec+d.Dec
			b.steps(4)
		}
		if s := b.w.Status(); seen(b, BlindJump) != c.blind || !c.blind && (len(s.Blind) > 0 || s.Counts.Stops > 0) {
			t.Errorf("%s: after %d, %.2f° %.2f° in all: blind %v, %s", c.name, i, axes.Deg(b.sync.RA), axes.Deg(b.sync.Dec), s.BlindWhy, s.Rung)
		}
	}
}

// A mount that goes on saying that it slews while it stands, as a driver can be told to, hides no sync, be the looks as far apart as a slow
// line makes them. A slew that is let through meanwhile is none.
func TestSyncWhileSlewingIsSaid(t *testing.T) {
	for _, slow := range []bool{true, false} {
		b := ready(t, deg(20, 45), func(_ *Options, y *toy) { y.delay = map[bool]time.Duration{true: 700 * time.Millisecond}[slow] })
		b.w.o.Blind = AlarmBlind
		b.change = func(r *mount.Reading) { r.Slewing = mount.Yes }
		b.until(5*time.Second, func() bool { return false })
		b.sync.RA += axes.Rad(2)
		b.steps(3)
		b.change = nil
		b.steps(10)
		if !seen(b, BlindJump) {
			t.Errorf("slow line %v: believed at %.1f°, truly at %.1f°; blind %v", slow, *b.w.Status().Sample.RAAxisDeg, axes.Deg(b.at.RA), b.w.Status().Blind)
		}
	}
	b := ready(t, deg(20, 45), func(_ *Options, y *toy) {
		y.delay = 700 * time.Millisecond
		y.rate, y.accel = rates{axes.Rad(6), axes.Rad(6)}, axes.Rad(12)
	})
	for range 3 { // small slews of a quick mount that says for long that it slews
		to := deg(axes.Deg(b.at.RA)+2, 45)
		p := theMap(t).Gauge().Model.Head.Pose(to)
		pass, err := b.w.AdmitSlew(b.placeOf(to), &p.Side)
		if err != nil {
			t.Fatal(err)
		}
		from := b.clk.Now()
		b.change = func(r *mount.Reading) { r.Slewing = mount.Say(b.clk.Now().Sub(from) < 10*time.Second) }
		b.until(4*time.Second, func() bool { return false })
		b.begin(to)
		pass.Sent()
		b.until(20*time.Second, func() bool { return false })
		if s := b.w.Status(); len(s.Blind) > 0 || s.Counts.Stops > 0 {
			t.Fatalf("%s, blind %v", s.Rung, s.BlindWhy)
		}
	}
}

// A place that no side can reach, and a side that cannot be where it is told.
func TestOutOfTravel(t *testing.T) {
	m := *theMap(t).Gauge().Model
	m.Travel = axes.Travel{RAFrom: axes.Rad(-80), RATo: axes.Rad(80), DecFrom: -math.Pi, DecTo: math.Pi}
	at := func(hour float64, side axes.Side) mount.Reading {
		r := mount.Reading{Sidereal: 1, SiderealSaid: true, Side: side, SideSaid: true}
		r.Place.RA, r.Place.Dec = 1-axes.Rad(hour)+2*math.Pi, axes.Rad(30)
		return r
	}
	for _, c := range []struct {
		hour float64
		side axes.Side
		why  Reason
	}{{0, axes.West, BlindPlace}, {-5, axes.West, BlindPlace}, {-15, axes.West, ""}, {15, axes.East, ""}, {15, axes.West, BlindSide}, {-15, axes.East, BlindSide}} {
		f := follower{model: &m}
		v := f.resolve(at(c.hour, c.side), false)
		if _, bad := v.bad[c.why]; bad != (c.why != "") || c.why == "" && (len(v.bad) > 0 || len(v.fixes) != 1) {
			t.Errorf("hour angle %v°, side %v: %+v", c.hour, c.side, v)
		}
	}
	f := follower{model: &m, over: axes.Rad(5)} // where a slew overshoots the end of the travel, the axes still are
	if v := f.resolve(at(-5, axes.West), false); len(v.bad) > 0 || len(v.fixes) != 1 {
		t.Errorf("overshot: %+v", v)
	}
}
