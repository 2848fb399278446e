package guard

import (
	"math"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/alpaca"
	"legroom/watch"
)

// Tracking, unparking and motion by hand need room; what ends a motion never does.
func TestMotion(t *testing.T) {
	t.Parallel()
	m := theMap(t)
	hit := m.Gauge().FirstContact(axes.Rad(60), axes.Rad(150), axes.Rad(45), axes.Rad(45))
	if !hit.Found {
		t.Fatal("nothing to meet")
	}
	b := newBench(t, axes.Angles{RA: hit.RA - axes.Rad(0.01), Dec: axes.Rad(45)}, Options{}, nil)
	if !b.until(15*time.Second, func() bool { return b.w.Status().Rung == watch.Stopped }) {
		t.Fatalf("%+v", b.w.Status())
	}
	for member, args := range map[string]alpaca.Args{"tracking": {"Tracking": true}, "unpark": nil, "moveaxis": {"Axis": 0, "Rate": 2.0}} {
		text, is := no(b.put(member, args))
		if !is || !strings.Contains(text, "camera") || !strings.Contains(text, "pier") {
			t.Errorf("%s: %s", member, text)
		}
	}
	if b.sim.State().Tracking {
		t.Error("tracks")
	}
	if text, is := no(b.put("pulseguide", alpaca.Args{"Direction": 0, "Duration": 100})); !is || !strings.Contains(text, "stopped") {
		t.Error(text)
	}
	for member, args := range map[string]alpaca.Args{"tracking": {"Tracking": false}, "abortslew": nil, "moveaxis": {"Axis": 1, "Rate": 0.0}} {
		if err := b.put(member, args); err != nil {
			t.Errorf("%s: %v", member, err)
		}
	}

	b = newBench(t, deg(60, 45), Options{}, nil)
	if err := b.put("moveaxis", alpaca.Args{"Axis": 0, "Rate": 1.0}); err != nil {
		t.Fatal(err)
	}
	if !b.until(3*time.Second, func() bool { return b.w.Status().Sample.Motion == watch.Moves }) {
		t.Error("the watch does not see it move")
	}
	if err := b.put("moveaxis", alpaca.Args{"Axis": 0, "Rate": 0.0}); err != nil {
		t.Fatal(err)
	}
	if text, is := no(b.put("moveaxis", alpaca.Args{"Axis": 2, "Rate": 1.0})); !is {
		t.Error(text)
	}
	if s := b.w.Status(); s.Counts.Stops > 0 || len(s.Blind) > 0 {
		t.Errorf("%s %v", s.Why, s.BlindWhy)
	}
}

// What would make the watch wrong about where the mount is, or blind, is not let through; small corrections are.
func TestSettings(t *testing.T) {
	b := newBench(t, deg(70, 45), Options{}, nil)
	near, far := b.place(deg(70.3, 45.3)), b.place(deg(70, 48))
	if text, is := no(b.put("synctocoordinates", far)); !is || !strings.Contains(text, "more than 1°") {
		t.Errorf("sync by 3°: %s", text)
	}
	if err := b.put("synctocoordinates", near); err != nil {
		t.Error(err)
	}
	utc := func(d time.Duration) alpaca.Args {
		return alpaca.Args{"UTCDate": time.Now().Add(d).UTC().Format(time.RFC3339)}
	}
	for _, c := range []struct {
		member string
		args   alpaca.Args
		want   string
	}{
		{"utcdate", utc(10 * time.Minute), "clock"}, {"sitelatitude", alpaca.Args{"SiteLatitude": 44.0}, "rig document"},
		{"sitelongitude", alpaca.Args{"SiteLongitude": -10.0}, "rig document"}, {"setpark", nil, "mount.park"},
		{"rightascensionrate", alpaca.Args{"RightAscensionRate": 3.0}, "by hand"}, {"declinationrate", alpaca.Args{"DeclinationRate": -60.0}, "by hand"},
		{"guideraterightascension", alpaca.Args{"GuideRateRightAscension": 0.1}, "by hand"},
		{"guideraterightascension", alpaca.Args{"GuideRateRightAscension": 0.00418}, "half the sidereal rate"},
		{"guideratedeclination", alpaca.Args{"GuideRateDeclination": 0.00418}, "less time is left"},
		{"rightascensionrate", alpaca.Args{"RightAscensionRate": -0.51}, "half the sidereal rate"}, {"guideratedeclination", alpaca.Args{"GuideRateDeclination": 1.0}, "by hand"},
		{"commandblind", alpaca.Args{"Command": "X", "Raw": true}, "cannot be checked"}, {"action", alpaca.Args{"Action": "X", "Parameters": ""}, "cannot be checked"},
	} {
		if text, is := no(b.put(c.member, c.args)); !is || !strings.Contains(text, c.want) || len(text) > longestMessage {
			t.Errorf("%s: %s", c.member, text)
		}
	}
	// Within bounds they go on; the simulated mount lacks them, and its own answer comes back.
	for member, args := range map[string]alpaca.Args{"utcdate": utc(time.Second), "sitelatitude": {"SiteLatitude": 45.0},
		"rightascensionrate": {"RightAscensionRate": 0.1}, "guideratedeclination": {"GuideRateDeclination": 0.00209}} {
		if text, is := no(b.put(member, args)); is || !strings.Contains(text, "0x400") {
			t.Errorf("%s: %s", member, text)
		}
	}
	if s := b.w.Status(); len(s.Blind) > 0 {
		t.Errorf("%v", s.BlindWhy)
	}
}

// Half the sidereal rate in the standard's own units: the sky turns by 15.041 seconds of arc a second.
func TestRateLimits(t *testing.T) {
	for member, want := range map[string]float64{"rightascensionrate": 0.5, "declinationrate": 7.5205, "guideraterightascension": 0.0020890,
		"guideratedeclination": 0.0020890} {
		if got := rateLimits[member].most; math.Abs(got-want) > 1e-4*want {
			t.Errorf("%s: %v, want %v", member, got, want)
		}
	}
}
