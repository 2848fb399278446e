package watch

import (
	"errors"
	"math"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/sky"
)

func key(err error) string {
	var r *Refusal
	if errors.As(err, &r) {
		return r.Key
	}
	if err != nil {
		return err.Error()
	}
	return ""
}

// A flip that was proven runs at full speed, close by the pier, without a stop; the side is followed through it.
func TestProvenFlip(t *testing.T) {
	b := ready(t, deg(100, 45), nil)
	east := axes.East
	to := b.placeOf(b.at)
	if _, err := b.w.AdmitSlew(to, &east); err != nil {
		t.Fatal(err)
	}
	if err := b.Slew(t.Context(), to, &east); err != nil {
		t.Fatal(err)
	}
	on := b.until(10*time.Second, func() bool { return b.w.Status().PathOK })
	seen := 0
	b.until(3*time.Minute, func() bool {
		// Underway as well, the gap that is called proven is no more than there is at the axes that it is said of.
		if c := b.w.Status().Sample; c != nil && c.LowerMM != nil && c.Motion == Moves {
			seen++
			at := deg(*c.RAAxisDeg, *c.DecAxisDeg)
			if there := b.truth.Gap(at, b.s).Nearest.Gap; *c.LowerMM > there+1e-3 || *c.LowerMM > *c.GapMM {
				t.Errorf("at %v: %v mm proven of %v, and there are %v mm", at, *c.LowerMM, *c.GapMM, there)
			}
		}
		return !b.slewing
	})
	b.steps(5)
	s := b.w.Status()
	if seen < 10 || !on || s.Counts.Stops != 0 || s.Counts.Unprotected != 0 || s.Sample.Side != "east" || s.Sample.SideHow != ByPath || len(s.Blind) > 0 {
		t.Errorf("on the path %v, %+v, %v %+v", on, s.Counts, s.BlindWhy, s.Sample)
	}
}

// The same flip with the mount's word for the side against it: it says west until the end of time.
func TestFlipNotTold(t *testing.T) {
	b := ready(t, deg(100, 45), nil)
	east := axes.East
	to := b.placeOf(b.at)
	if _, err := b.w.AdmitSlew(to, &east); err != nil {
		t.Fatal(err)
	}
	b.change = func(r *mount.Reading) { r.Side = axes.West }
	_ = b.Slew(t.Context(), to, &east)
	b.until(3*time.Minute, func() bool { return !b.slewing })
	b.steps(8)
	if s := b.w.Status(); !seen(b, BlindSide) || s.Sample.Side != "east" {
		t.Errorf("%v %+v", s.Blind, s.Sample)
	}
}

// Full speed unannounced towards the pier: it is stopped, counted as not protected, and this mount obeys in time from afar.
func TestUnannouncedSlew(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	b.begin(deg(150, 45))
	b.until(2*time.Minute, func() bool { return b.w.Status().Rung == Stopped })
	s := b.w.Status()
	if s.Rung != Stopped || s.Cause != ByGap || s.Counts.Unprotected != 1 || b.least < b.w.p.g.MarginMM {
		t.Errorf("%s %s %+v %.1f mm", s.Rung, s.Cause, s.Counts, b.least)
	}
}

func TestAdmit(t *testing.T) {
	b := ready(t, deg(80, 45), nil)
	east, west := axes.East, axes.West
	if _, err := b.w.AdmitSlew(b.placeOf(deg(120, 45)), &west); key(err) != "room" {
		t.Errorf("into the pier: %v", err)
	}
	if _, err := b.w.AdmitSlew(sky.Equatorial{RA: math.NaN()}, nil); key(err) != "room" {
		t.Errorf("nowhere: %v", err)
	}
	if p, err := b.w.AdmitSlew(b.placeOf(deg(70, 60)), &west); err != nil {
		t.Errorf("near by: %v", err)
	} else {
		p.Cancel()
	}
	// Two hours past the meridian the mount chooses side east by itself.
	if p, err := b.w.AdmitSlew(b.placeOf(deg(-60, -60)), nil); err != nil {
		t.Errorf("the mount's own side: %v", err)
	} else if !p.holds(&fix{at: deg(20, -15)}) || p.holds(&fix{at: deg(140, 45)}) || p.holds(&fix{at: deg(60, -50)}) {
		t.Error("a flip of both axes at once is on its way between its ends, and neither far off nor where one axis alone leads")
	} else {
		p.Cancel()
	}
	if err := b.w.AdmitTracking(); err != nil {
		t.Error(err)
	}
	if err := b.w.AdmitSync(b.placeOf(deg(80, 45.9))); err != nil {
		t.Error(err)
	}
	if err := b.w.AdmitSync(b.placeOf(deg(80, 46.1))); key(err) != "room" {
		t.Errorf("a sync of 1.1°: %v", err)
	}
	if err := b.w.AdmitMotion(0, axes.Rad(0.05)); err != nil {
		t.Errorf("slowly by hand: %v", err)
	}
	if err := b.w.AdmitMotion(0, math.Inf(1)); key(err) != "room" {
		t.Errorf("endless: %v", err)
	}
	b.w.Stop()
	b.steps(1)
	for name, err := range map[string]error{"tracking": b.w.AdmitTracking(), "motion": b.w.AdmitMotion(1, 0.001)} {
		if key(err) != "stop" {
			t.Errorf("%s under the owner's stop: %v", name, err)
		}
	}
	if _, err := b.w.AdmitSlew(b.placeOf(deg(70, 60)), &east); key(err) != "stop" {
		t.Errorf("slew under the owner's stop: %v", err)
	}
	if b.w.AdmitMotion(0, 0) != nil {
		t.Error("no motion is always let through")
	}
	b = newBench(t, deg(80, 45), nil)
	b.steps(2)
	if _, err := b.w.AdmitSlew(b.placeOf(deg(70, 60)), &west); key(err) != "blind" && key(err) != "stop" {
		t.Errorf("blind: %v", err)
	}
	near := ready(t, deg(102.8, 45), nil)
	if err := near.w.AdmitMotion(0, axes.Rad(2)); key(err) != "room" {
		t.Errorf("fast by hand next to the pier: %v", err)
	}
}

// Park is gone straight when that is proven.
func TestPark(t *testing.T) {
	b := ready(t, deg(80, 60), nil)
	if err := b.w.Park(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.until(2*time.Minute, func() bool { return !b.slewing })
	b.steps(4)
	s := b.w.Status()
	if d := math.Hypot(b.at.RA, b.at.Dec); d > axes.Rad(0.3) || s.Counts.Stops > 0 {
		t.Errorf("at %v, %+v %s", b.at, s.Counts, s.Why)
	}
}

// A stop in the middle of a proven slew is a stop of what was protected, and an axis that brakes is no mount that does not obey.
func TestStopInAProvenSlew(t *testing.T) {
	b := ready(t, deg(100, 45), nil)
	b.brake = axes.Rad(1.6) // at rest in 1.9 s
	east := axes.East
	to := b.placeOf(b.at)
	if _, err := b.w.AdmitSlew(to, &east); err != nil {
		t.Fatal(err)
	}
	if err := b.Slew(t.Context(), to, &east); err != nil {
		t.Fatal(err)
	}
	b.until(10*time.Second, func() bool { return b.at.RA < axes.Rad(80) })
	b.change = func(r *mount.Reading) { // a driver that calls the slew ended as soon as it is aborted
		if b.braking {
			r.Slewing = mount.No
		}
	}
	b.w.Stop()
	if !b.until(20*time.Second, func() bool { return b.w.Status().Rung == Stopped }) {
		t.Error(b.w.Status().Rung)
	}
	if c := b.w.Status().Counts; c.Unprotected != 0 || c.Stops != 1 || c.Slews != 1 {
		t.Errorf("%+v", c)
	}
	for _, r := range b.records {
		switch {
		case r.Kind == KindDecision && r.Decision.To == Stopping && !r.Decision.Shield:
			t.Errorf("not protected: %+v", *r.Decision)
		case r.Kind == KindEvent && r.Event.Key == "obey":
			t.Errorf("%s", r.Event.Text)
		}
	}
}

// What is told another place in the middle of a proven slew leaves its path, and is no longer protected by it.
func TestLeavesItsPath(t *testing.T) {
	b := ready(t, deg(80, 45), nil)
	to := b.placeOf(deg(20, 0))
	west := axes.West
	if _, err := b.w.AdmitSlew(to, &west); err != nil {
		t.Fatal(err)
	}
	_ = b.Slew(t.Context(), to, &west)
	b.until(10*time.Second, func() bool { return b.at.RA < axes.Rad(60) })
	if s := b.w.Status(); !s.PathOK || s.Counts.Unprotected != 0 {
		t.Fatalf("%v %+v", s.PathOK, s.Counts)
	}
	b.begin(deg(25, 80)) // within the box of the slew by its RA axis alone
	b.until(10*time.Second, func() bool { return !b.w.Status().PathOK })
	if s := b.w.Status(); s.PathOK || s.Counts.Unprotected != 1 {
		t.Errorf("%v %+v", s.PathOK, s.Counts)
	}
}

// Where the straight way is not proven, it goes round, or it is refused with an alarm; never through.
func TestParkAround(t *testing.T) {
	from := deg(145.4, 96.07)
	rules(t, rig.OwnRules{SideChoice: "as_told"})
	b := ready(t, from, nil)
	if _, err := b.w.AdmitPark(); key(err) != "room" {
		t.Fatalf("straight: %v", err)
	}
	if err := b.w.Park(t.Context()); err != nil || len(b.w.legs) < 2 {
		t.Fatalf("%v, %d legs", err, len(b.w.legs))
	}
	b.until(10*time.Minute, func() bool { return math.Hypot(b.at.RA, b.at.Dec) < axes.Rad(0.1) })
	s := b.w.Status()
	if d := math.Hypot(b.at.RA, b.at.Dec); d > axes.Rad(0.3) || s.Counts.Stops > 0 || s.Counts.Unprotected > 0 || b.least < b.w.p.g.MarginMM {
		t.Errorf("%.2f° from park, %+v, %.1f mm, %s %v", axes.Deg(d), s.Counts, b.least, s.Why, s.Alarms)
	}
	b = ready(t, from, nil)
	goal := deg(-60, -60)
	if err := b.w.SlewAround(t.Context(), b.placeOf(goal), axes.East); err != nil {
		t.Fatal(err)
	}
	b.until(10*time.Minute, func() bool { return len(b.w.legs) == 0 && b.w.pass == nil && !b.slewing })
	if d := math.Abs(b.at.Dec - goal.Dec); d > axes.Rad(0.1) || b.at.RA > 0 || b.w.Status().Counts.Stops > 0 || b.least < b.w.p.g.MarginMM {
		t.Errorf("%v, %.1f mm, %s %+v", b.at, b.least, b.w.Status().Why, b.w.Status().Alarms)
	}
	b = ready(t, from, nil)
	park := b.w.rig.Mount.Park
	b.w.rig.Mount.Park = nil
	defer func() { b.w.rig.Mount.Park = park }()
	if err := b.w.Park(t.Context()); key(err) != "document" {
		t.Errorf("%v", err)
	}
	if a := b.w.Status().Alarms; len(a) == 0 {
		b.steps(1)
		if len(b.w.Status().Alarms) == 0 {
			t.Error("no alarm")
		}
	}
}

// rules gives the rig of the tests other rules of its own until the end of the test.
func rules(t *testing.T, o rig.OwnRules) {
	t.Helper()
	own := &theMap(t).Gauge().Model.Rig.Mount.Rules
	was := *own
	t.Cleanup(func() { *own = was })
	*own = o
}

// A mount that takes the side by the hour angle is sent over no waypoint at which it would take the other one.
func TestWaypointsOnTheMountsOwnSide(t *testing.T) {
	from := deg(145.4, 96.07)
	late := 300.0 // minutes: until then it stays on side west
	rules(t, rig.OwnRules{SideChoice: "by_hour_angle", EarliestFlipMin: &late})
	b := ready(t, from, nil)
	if err := b.w.Park(t.Context()); err != nil || len(b.w.legs) < 2 {
		t.Fatalf("%v, %d legs", err, len(b.w.legs))
	}
	for _, l := range b.w.legs[:len(b.w.legs)-1] {
		p := b.w.p.g.Model.Head.Pose(l.at)
		if east := axes.Minutes(axes.Wrap(p.HourAngle)) > late; (p.Side == axes.East) != east {
			t.Errorf("a waypoint on side %v at hour angle %.1f min", p.Side, axes.Minutes(p.HourAngle))
		}
	}
	b.until(10*time.Minute, func() bool { return math.Hypot(b.at.RA, b.at.Dec) < axes.Rad(0.1) })
	if d := math.Hypot(b.at.RA, b.at.Dec); d > axes.Rad(0.3) || b.least < b.w.p.g.MarginMM {
		t.Errorf("%.2f° from park, %.1f mm, %v", axes.Deg(d), b.least, b.w.Status().Alarms)
	}
	// One that takes side east from the meridian on cannot be led out of there.
	now := 0.0
	rules(t, rig.OwnRules{SideChoice: "by_hour_angle", EarliestFlipMin: &now})
	b = ready(t, from, nil)
	if err := b.w.Park(t.Context()); key(err) != "room" {
		t.Errorf("%v, legs %v", err, b.w.legs)
	}
	if err := b.w.SlewAround(t.Context(), b.placeOf(deg(120, 60)), axes.West); key(err) != "room" {
		t.Errorf("to a side that it does not take: %v", err)
	}
}

func TestCommandErrors(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	b.silent = true
	b.w.Stop()
	b.steps(1)
	n := 0
	for _, r := range b.records {
		if r.Kind == KindCommand && !r.Command.OK {
			n++
		}
	}
	if n != 3 {
		t.Errorf("%d failed commands in the journal: abort, rates and tracking are each sent", n)
	}
}

// A slew of the watch's own ends where it was proven, also at a mount that does not say that its coordinates are J2000: the owner did.
func TestOwnSlewInTheMountsCoordinates(t *testing.T) {
	for _, raw := range []mount.Equinox{mount.UnknownEquinox, mount.OfJ2000} {
		b := ready(t, deg(60, 45), func(o *Options, y *toy) { y.raw, o.Equinox = raw, raw })
		at := deg(75, 40)
		p := theMap(t).Gauge().Model.Head.Pose(at)
		to := b.placeOf(at)
		b.w.goLeg(t.Context(), leg{to: &to, side: p.Side}, "the place", b.w.abandoned, b.clk.Now())
		if n := len(b.began); n != 1 {
			t.Fatalf("%d slews: %+v", n, b.w.Status().Alarms)
		}
		if got := b.began[0]; math.Abs(got.RA-at.RA) > axes.Rad(0.05) || math.Abs(got.Dec-at.Dec) > axes.Rad(0.05) {
			t.Errorf("%v: ends at %v, proven to %v", raw, got, at)
		}
	}
}

// Of two who ask at the same time one is let through: the other's way was proven from where the mount no longer is. He may ask again
// when the mount has been seen to go, or to be, where the first one sends it.
func TestTwoAtOnce(t *testing.T) {
	west := axes.West
	b := ready(t, deg(60, 45), func(_ *Options, y *toy) { y.delay = time.Millisecond })
	pass, err := b.w.AdmitSlew(b.placeOf(deg(70, 60)), &west)
	if err != nil {
		t.Fatal(err)
	}
	refused := func(when string) {
		t.Helper()
		for what, err := range b.w.askAll(t, b.placeOf(deg(50, 60))) {
			if key(err) != "busy" {
				t.Errorf("%s: %s: %v", when, what, err)
			}
		}
	}
	refused("on its way")
	b.steps(1) // a look meanwhile
	refused("still on its way")
	pass.Sent()
	b.clk.Advance(time.Millisecond)
	refused("not seen yet")
	b.steps(3)
	refused("seen, not begun")
	if len(b.began) > 0 {
		t.Errorf("it was sent to %v", b.began)
	}
	b.begin(deg(70, 60))
	b.steps(1)
	refused("begun")
	if !b.until(time.Minute, func() bool { return b.w.AdmitTracking() == nil }) {
		t.Errorf("ended: %v", b.w.AdmitTracking())
	}
	if err := b.w.Park(t.Context()); err != nil { // now it is the owner who is first
		t.Errorf("ended: %v", err)
	}
	if _, err := b.w.AdmitSlew(b.placeOf(deg(50, 60)), &west); key(err) != "busy" {
		t.Errorf("parks: slew: %v", err)
	}
}
