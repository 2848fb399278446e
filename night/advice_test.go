package night

import (
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// A mount that may flip before a target has risen is not told to while the pose below the horizon is not free: found by random nights.
func TestEastOnlyWaitsForRoomBelowTheHorizon(t *testing.T) {
	r, done := with(loaded(t, "terrace-long-refractor"), "mount.own_rules.earliest_flip_min", "-19", "mount.own_rules.side_choice", "by_hour_angle")
	if len(done) != 2 {
		t.Fatal(done)
	}
	m := mapOf(t, gaugeOf(t, r, rig.RSS), 1)
	site, err := sky.NewSite(r.Site)
	if err != nil {
		t.Fatal(err)
	}
	n, err := sky.NightOf(site, 2026, time.November, 10)
	if err != nil {
		t.Fatal(err)
	}
	p := newPlanner(m, newHeavens(&n, n.MoonUp(), Options{}))
	h := axes.FromHours
	row := room.Row{East: []room.Interval{{From: h(-5), To: h(-3)}, {From: h(0.5), To: h(5)}}, Stop: room.RunEnd{Reason: room.NeverUsable}}
	for _, c := range []struct {
		resume room.RunEnd
		want   string
	}{
		{room.RunEnd{HourAngle: h(1), Reason: room.ByHorizon}, "side east only, from +30 min"},
		{room.RunEnd{HourAngle: h(0.5), Reason: room.ByRoom}, "side east only, from +30 min"},
		{room.RunEnd{HourAngle: h(-3.5), Reason: room.ByHorizon}, "no room on side east from when the mount takes it"},
	} {
		row.Resume = c.resume
		if a := p.eastOnly(&Target{Row: row}); a.Text != c.want {
			t.Errorf("%+v: %q, not %q", c.resume, a.Text, c.want)
		}
	}
}
