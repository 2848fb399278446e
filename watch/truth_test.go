package watch

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/room"
)

// freePose draws a pose above the horizon with room to spare.
func freePose(m *room.Map, rnd *rand.Rand) axes.Angles {
	g := m.Gauge()
	s := g.NewScratch()
	for {
		at := axes.Angles{RA: axes.Rad(-160 + 320*rnd.Float64()), Dec: axes.Rad(-130 + 260*rnd.Float64())}
		if g.Model.Head.Pointing(at).Z > 0.1 && math.Abs(at.Dec) > axes.Rad(3) && g.Gap(at, s).Lower > g.MarginMM+5 {
			return at
		}
	}
}

// Against a truth of its own, walked in small steps with no tolerance and no margin: whatever the watch says it protects never
// touches, and it stops nothing that has room. Answers take up to their deadlines.
func TestNeverLaterThanTruth(t *testing.T) {
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	m := theMap(t)
	g := m.Gauge()
	var tracks, slews, admitted, refused, stopped, fast, touched int
	for end := time.Now().Add(6 * time.Second); time.Now().Before(end); {
		kind, from := rnd.IntN(4), freePose(m, rnd)
		for kind == 0 && g.Gap(axes.Angles{RA: from.RA + axes.Rad(7), Dec: from.Dec}, g.NewScratch()).Lower > g.MarginMM {
			from = freePose(m, rnd) // tracks near their end are worth more
		}
		delay := time.Duration(rnd.Float64() * float64(900*time.Millisecond))
		b := ready(t, from, func(_ *Options, y *toy) { y.delay = min(delay, 100*time.Millisecond) })
		b.delay = delay
		before := b.w.Status().Counts
		b.least = math.Inf(1)
		switch kind {
		case 0: // a track
			tracks++
			b.until(30*time.Minute, func() bool { return stops(b) })
			if b.w.Status().Counts.Stops == before.Stops {
				break
			}
			stopped++
			b.until(30*time.Second, func() bool { return b.w.Status().Rung == Stopped })
			s := b.w.Status()
			if b.least < g.MarginMM {
				t.Fatalf("track from %v: gap down to %.2f mm", from, b.least)
			}
			near := b.least > g.MarginMM+g.MaxAllowance()+b.w.p.trackZone(trackRates)+0.2
			if near && s.Cause != ByTravel || s.Rung != Stopped {
				t.Fatalf("track from %v: stopped at %.2f mm: %s, %s", from, b.least, s.Rung, s.Why)
			}
		case 1: // a slew that nobody announced, as fast as is protected, or slower
			slews++
			p := b.w.Status().Protect
			b.rate = rates{axes.Rad(p.RADegPerS), axes.Rad(p.DecDegPerS)}.times(0.3 + 0.7*rnd.Float64())
			b.begin(freePose(m, rnd))
			b.until(20*time.Minute, func() bool { return !b.slewing })
			if b.least <= 0 {
				t.Fatalf("slew from %v: touched, %.2f mm", from, b.least)
			}
		case 2: // a slew through the guard, at full speed with any ratio within the spread
			to := freePose(m, rnd)
			p := g.Model.Head.Pose(to)
			_, err := b.w.AdmitSlew(b.placeOf(to), &p.Side)
			if err != nil {
				refused++
				break
			}
			admitted++
			b.rate = rates{axes.Rad(3), axes.Rad(3) * (0.85 + 0.3*rnd.Float64())}
			goal, err := g.Model.Reach(to)
			if err != nil {
				break
			}
			b.begin(goal)
			b.until(5*time.Minute, func() bool { return !b.slewing })
			b.steps(3)
			s := b.w.Status()
			if b.least < g.MarginMM || s.Counts.Stops > before.Stops || s.Counts.Unprotected > 0 {
				t.Fatalf("admitted slew %v to %v: %.2f mm, %d stops, %d unprotected: %s %s %v", from, to, b.least, s.Counts.Stops-before.Stops,
					s.Counts.Unprotected, s.Cause, s.Why, s.BlindWhy)
			}
		case 3: // full speed, unannounced: not protected, and counted apart
			fast++
			b.begin(freePose(m, rnd))
			b.until(5*time.Minute, func() bool { return !b.slewing })
			if b.least <= 0 {
				touched++
			}
			if c := b.w.Status().Counts; c.Unprotected == 0 && c.Slews > 0 {
				t.Fatalf("full speed from %v does not count as unprotected: %+v", from, c)
			}
		}
		b.w.Close()
	}
	t.Logf("%d tracks (%d stopped), %d slow slews, %d admitted, %d refused; %d unannounced at full speed, %d of them touched", tracks, stopped, slews,
		admitted, refused, fast, touched)
	if tracks == 0 || admitted == 0 || slews == 0 {
		t.Skip("too few trials on this machine")
	}
}

// Each guard taken away is missed: the same night with it ends with room left, and without it with less than the margin.
func TestPlantedFaults(t *testing.T) {
	for _, c := range []struct {
		name  string
		fault Fault
		at    axes.Angles
		night func(b *bench)
	}{
		{"margin ignored", IgnoreMargin, deg(102, 45), func(b *bench) {}},
		{"old data accepted", AcceptOld, deg(102, 45), func(b *bench) { r := b.say(); b.frozen = &r }},
		{"wrong side believed", BelieveSide, deg(102, 45), func(b *bench) { b.change = func(r *mount.Reading) { r.Side = axes.East } }},
		{"restored tracking not noticed", IgnoreRestored, deg(102, 45), func(b *bench) { b.restoreAfter = 500 * time.Millisecond }},
	} {
		for _, f := range []Fault{NoFault, c.fault} {
			b := ready(t, c.at, nil)
			b.w.Plant(f)
			c.night(b)
			b.until(50*time.Minute, func() bool { return b.least < b.w.p.g.MarginMM-2 })
			if caught := b.least < b.w.p.g.MarginMM-1; caught != (f != NoFault) {
				t.Errorf("%s, taken away: %v: %.2f mm", c.name, f != NoFault, b.least)
			}
			b.w.Close()
		}
	}
}

// The worst that is called protected: a slew at the highest protected rate that begins just after a look, at the margin, straight
// into the pier, with answers just within their deadlines and even braking over the whole braking time. It does not touch; eight
// times as fast it does, so that the test is one. Nor does one that turns back just after a look that saw it leave.
func TestWorstProtected(t *testing.T) {
	for _, c := range []struct {
		times   float64
		back    bool
		touches bool
	}{{1, false, false}, {8, false, true}, {1, true, false}} {
		b := ready(t, deg(102.9, 45), nil)
		g := b.w.p.g
		for s := g.NewScratch(); g.Gap(b.at, s).Lower > g.MarginMM; {
			b.at.RA += axes.Rad(0.005)
		}
		b.tracking = false
		b.at.RA -= axes.Rad(0.01)
		b.until(10*time.Second, func() bool { return b.w.now.motion == Still })
		b.delay = 990 * time.Millisecond
		b.steps(3)
		p := b.w.Status().Protect
		b.rate = rates{axes.Rad(p.RADegPerS), axes.Rad(p.DecDegPerS)}.times(c.times)
		b.accel, b.brake = 100, b.rate.ra/b.w.o.BrakeTime.Seconds()
		begin := func() { b.begin(deg(150, 45)); b.tracking = false }
		if c.back {
			b.begin(deg(60, 45))
			b.tracking = false
		}
		b.change = func(*mount.Reading) { // the state of this reading is from before it
			if begin != nil && (!c.back || b.w.now.to.ra < 0) {
				begin()
				begin = nil
			}
		}
		b.until(30*time.Second, func() bool { return begin == nil && !b.slewing })
		if touched := b.least <= 0; touched != c.touches {
			t.Errorf("%.2f°/s, back %v: least gap %.2f mm, rung %s", axes.Deg(b.rate.ra), c.back, b.least, b.w.Status().Rung)
		}
		t.Logf("%.2f°/s: least gap %.2f mm of the margin's %.0f", axes.Deg(b.rate.ra), b.least, g.MarginMM)
	}
}
