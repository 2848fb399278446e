package guard

import (
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/alpaca"
	"legroom/watch"
)

// changes are what changes the mount and is no slew, as they are let through at a good time.
func changes() []alpaca.Call {
	return []alpaca.Call{
		alpaca.Put("pulseguide", alpaca.Args{"Direction": 3, "Duration": 200}), alpaca.Put("setpark", nil),
		alpaca.Put("utcdate", alpaca.Args{"UTCDate": time.Now().UTC().Format(time.RFC3339)}),
		alpaca.Put("sitelatitude", alpaca.Args{"SiteLatitude": 45.0}), alpaca.Put("sitelongitude", alpaca.Args{"SiteLongitude": 0.0}),
		alpaca.Put("siteelevation", alpaca.Args{"SiteElevation": 100.0}), alpaca.Put("trackingrate", alpaca.Args{"TrackingRate": 1}),
		alpaca.Put("doesrefraction", alpaca.Args{"DoesRefraction": true}), alpaca.Put("slewsettletime", alpaca.Args{"SlewSettleTime": 2}),
		alpaca.Put("rightascensionrate", alpaca.Args{"RightAscensionRate": 0.1}), alpaca.Put("declinationrate", alpaca.Args{"DeclinationRate": 1.0}),
	}
}

// While the watch is blind nothing changes the mount, and none of it sets it in motion; what ends a motion goes on.
func TestNoChangesWhileBlind(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(0, 0.02), Options{}, nil)
	site := axes.Deg(b.site.Lon)
	k := &came{Device: &table{}}
	b.over(k)
	try := func(want int, when string) {
		t.Helper()
		for _, c := range changes() {
			if c.Member == "sitelongitude" {
				c.Args["SiteLongitude"] = site
			}
			before := k.of(c)
			err := b.put(c.Member, c.Args)
			if text, is := no(err); want == 0 && (!is || !strings.Contains(text, "blind")) {
				t.Errorf("%s: %s: %s", when, c.Member, text)
			} else if want == 1 && err != nil {
				t.Errorf("%s: %s: %v", when, c.Member, err)
			}
			if n := k.of(c) - before; n != want {
				t.Errorf("%s: %s came to the mount %d times", when, c.Member, n)
			}
		}
	}
	try(1, "seeing")
	_ = b.sim.Park()
	if !b.until(10*time.Second, func() bool { p := b.w.Status().Sample; return p.Parked == "yes" && p.Motion == watch.Still }) {
		t.Fatal("not parked")
	}
	f := b.sim.Faults()
	f.ClockS = 600
	if err := b.sim.SetFaults(f); err != nil {
		t.Fatal(err)
	}
	if !b.until(10*time.Second, func() bool { return len(b.w.Status().Blind) > 0 }) {
		t.Fatal("not blind")
	}
	try(0, "blind")
	if text, is := no(b.put("park", nil)); !is || !strings.Contains(text, "blind") || k.of(alpaca.Put("park", nil)) != 0 {
		t.Errorf("park, by the mount's word that it is parked: %s", text)
	}
	for _, c := range []alpaca.Call{alpaca.Put("abortslew", nil), alpaca.Put("tracking", alpaca.Args{"Tracking": false}),
		alpaca.Put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 0.0}), alpaca.Put("rightascensionrate", alpaca.Args{"RightAscensionRate": 0.0}),
		alpaca.Put("declinationrate", alpaca.Args{"DeclinationRate": 0.0})} {
		if err := b.put(c.Member, c.Args); err != nil {
			t.Errorf("%s while blind: %v", c.Member, err)
		}
	}
}

// Nothing is changed while the mount slews or is about to: what was looked at would be old.
func TestNoChangesInASlew(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(0, 0.02), Options{}, nil)
	k := &came{Device: b.real}
	b.over(k)
	if err := b.put("slewtocoordinatesasync", b.place(deg(60, 45))); err != nil {
		t.Fatal(err)
	}
	for _, c := range changes() {
		if c.Member == "sitelongitude" {
			c.Args["SiteLongitude"] = axes.Deg(b.site.Lon)
		}
		if text, is := no(b.put(c.Member, c.Args)); !is && b.sim.State().Slewing {
			t.Errorf("%s: %s", c.Member, text)
		}
	}
}

// Pulses go on one after the other, on both axes at once, without a look for each.
func TestPulsesGoOn(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(60, 45), Options{}, nil)
	k := &came{Device: &table{}}
	b.over(k)
	ended := make(chan error, 2)
	for way := range 2 {
		go func() {
			for range 50 {
				if err := b.put("pulseguide", alpaca.Args{"Direction": 2 * way, "Duration": 1}); err != nil {
					ended <- err
					return
				}
			}
			ended <- nil
		}()
	}
	from := b.w.Status()
	for range 2 {
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
	s := b.w.Status()
	due := int64(s.At.Sub(from.At)/(300*time.Millisecond)) + 2
	if n := k.of(alpaca.Put("pulseguide", nil)); n != 100 || s.Counts.Steps-from.Counts.Steps > due {
		t.Errorf("%d pulses, %d looks where %d are due", n, s.Counts.Steps-from.Counts.Steps, due)
	}
	for _, e := range b.w.Events(0) {
		if strings.Contains(e.Text, "pulseguide") {
			t.Error("told: " + e.Text)
		}
	}
}
