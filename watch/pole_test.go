package watch

import (
	"math"
	"path/filepath"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/sky"
)

// Near the pole a small sync on the sky takes the RA axis far: half a degree of the sky, five degrees from the pole, is six of the axis.
func TestSyncNearThePole(t *testing.T) {
	for _, c := range []struct {
		ra   float64
		seen bool
	}{{0.9, false}, {6, true}} {
		b := ready(t, deg(60, 5), nil)
		if err := b.w.AdmitSync(b.placeOf(deg(60+c.ra, 5))); (key(err) == "room") != c.seen {
			t.Errorf("a sync by %v° of the RA axis: %v", c.ra, err)
		}
		b.sync.RA = axes.Rad(c.ra)
		b.steps(2)
		if seen(b, BlindJump) != c.seen {
			t.Errorf("a sync by %v° of the RA axis, unannounced: blind %v", c.ra, b.w.Status().BlindWhy)
		}
	}
	// Two small ones add up as the axes have them.
	b := ready(t, deg(60, 5), nil)
	b.sync.RA = axes.Rad(0.7)
	b.steps(2)
	b.sync.RA = axes.Rad(1.4)
	b.steps(2)
	if !seen(b, BlindJump) {
		t.Error("two syncs that come to 1.4° of the RA axis")
	}
}

// A motion past the far pole goes on from +180° to −180° of the declination axis, and is no jump.
func TestPastTheFarPole(t *testing.T) {
	b := ready(t, deg(0, 178), func(_ *Options, y *toy) { y.rate = rates{axes.Rad(0.2), axes.Rad(0.2)} })
	b.begin(deg(0, 182))
	b.until(time.Minute, func() bool { return !b.slewing })
	b.steps(4)
	if s := b.w.Status(); seen(b, BlindJump) || s.Sample.Side != "east" {
		t.Errorf("%v %+v", s.BlindWhy, s.Sample)
	}
}

// A frozen reading is as old as its clock.
func TestAgeOfFrozen(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	r := b.say()
	b.frozen = &r
	from := b.clk.Now()
	b.until(3*time.Second, func() bool { return false })
	if age, gone := b.w.now.age, b.clk.Now().Sub(from); age < gone-1100*time.Millisecond || age < 1900*time.Millisecond {
		t.Errorf("age %v after %v", age, gone)
	}
}

// Along a polar axis that is off the pole the place does not tell the RA axis: the owner cannot confirm it there, unless the mount says
// that it is parked; a slew there makes it unknown, until the tube leaves the axis.
func TestAlongAnAxisOffThePole(t *testing.T) {
	r, err := rig.Load(filepath.Join("testdata", "pier.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if r, err = r.With("mount.polar_axis.azimuth_error_deg", "3 ± 0.1"); err != nil {
		t.Fatal(err)
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	site, err := sky.NewSite(r.Site)
	if err != nil {
		t.Fatal(err)
	}
	f := follower{model: m, site: site, slew: slewRates(m)}
	now := evening
	say := func(at axes.Angles, slewing, parked bool) mount.Reading {
		now = now.Add(time.Second)
		p := m.Head.Pose(at)
		lst := site.SiderealTime(now)
		e := sky.Equatorial{RA: math.Mod(lst-p.HourAngle+6*math.Pi, 2*math.Pi), Dec: p.Dec}
		return mount.Reading{Asked: now, Got: now, Place: e, Side: p.Side, SideSaid: true, Sidereal: lst, SiderealSaid: true,
			Tracking: mount.No, Slewing: mount.Say(slewing), Parked: mount.Say(parked), AtHome: mount.No}
	}
	if v := f.resolve(say(deg(0, 0), false, false), false); v.bad[BlindPlace] == "" {
		t.Errorf("at the start, where nothing tells the RA axis: %+v", v)
	}
	rest := say(deg(0, 0), false, true)
	for range 2 { // parked from the start: where the document says, and it does not jump from anywhere
		if v := f.resolve(rest, false); len(v.bad) > 0 || v.fixes[0].at.RA != 0 {
			t.Errorf("parked at the start: %+v", v)
		}
	}
	if _, err := f.confirm(say(deg(20, 0), false, false), axes.West); err == nil {
		t.Error("confirmed where the place does not tell the RA axis")
	}
	if c, err := f.confirm(rest, axes.West); err != nil || c.at.RA != 0 {
		t.Errorf("parked: %v, %v", c.at, err)
	}
	sure := func(what string, v resolved, ra float64) {
		t.Helper()
		if len(v.bad) > 0 || len(v.fixes) != 1 || math.Abs(v.fixes[0].at.RA-axes.Rad(ra)) > axes.Rad(0.01) {
			t.Errorf("%s: %+v", what, v)
		}
	}
	sure("unparked", f.resolve(say(deg(0, 0), false, false), false), 0)
	f.moved = Moves
	for ra := 3.0; ra <= 30; ra += 3 {
		f.resolve(say(deg(ra, 0), true, false), false)
	}
	f.moved = Tracks
	if v := f.resolve(say(deg(30, 0), false, false), false); v.bad[BlindPlace] == "" {
		t.Errorf("after a slew along the axis: %+v", v)
	}
	f.moved = Moves
	sure("away from the axis", f.resolve(say(deg(30, 3), true, false), false), 30)
	f.moved = Tracks
	sure("and after it", f.resolve(say(deg(30, 3), false, false), false), 30)
}

// An axis that is turned by hand past the far pole and brakes there is followed, though the slew is said to have ended before.
func TestBrakesAtTheFarPole(t *testing.T) {
	b := ready(t, deg(2, -170), nil)
	b.rate, b.accel, b.brake = rates{axes.Rad(3), axes.Rad(3)}, axes.Rad(30), axes.Rad(2.4)
	b.begin(deg(2, -200))
	b.until(20*time.Second, func() bool { return b.at.Dec < axes.Rad(-179.6) })
	if err := b.Abort(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.change = func(r *mount.Reading) { r.Slewing = mount.No }
	b.steps(12)
	if s := b.w.Status(); len(s.Blind) > 0 || s.Counts.Stops > 0 || b.at.Dec > axes.Rad(-180.5) {
		t.Errorf("at %.2f°: %v %+v", axes.Deg(b.at.Dec), s.BlindWhy, s.Counts)
	}
}
