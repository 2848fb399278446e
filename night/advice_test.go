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
	p := nightOf(t, r)
	h := axes.FromHours
	row := room.Row{East: []room.Interval{{From: h(-5), To: h(-3)}, {From: h(0.5), To: h(5)}}, Stop: room.RunEnd{Reason: room.NeverUsable}}
	for _, c := range []struct {
		resume room.RunEnd
		kind   AdviceKind
		want   string
	}{
		{room.RunEnd{HourAngle: h(1), Reason: room.ByHorizon}, EastOnly, "side east only, from +30 min"},
		{room.RunEnd{HourAngle: h(0.5), Reason: room.ByRoom}, EastOnly, "side east only, from +30 min"},
		{room.RunEnd{HourAngle: h(-3.5), Reason: room.ByHorizon}, NoAdvice, "no room on side east from when the mount takes it"},
	} {
		row.Resume = c.resume
		if a := p.eastOnly(&Target{Row: row}); a.Text != c.want || a.Kind != c.kind {
			t.Errorf("%+v: %s, %q, not %q", c.resume, a.Kind, a.Text, c.want)
		}
	}
}

// No advice is to flip by hand alone, and none to flip what one run on one side holds from when it is high enough to when it is too low.
func TestNoFlipByHandAlone(t *testing.T) {
	r := loaded(t, "terrace-long-refractor") // by the hour angle, from 20 min before the meridian on
	told, done := with(r, "mount.own_rules.side_choice", "as_told", "mount.own_rules.earliest_flip_min", "-400")
	if len(done) != 2 {
		t.Fatal(done)
	}
	byHour, byTold := nightOf(t, r), nightOf(t, told)
	field := sky.Target{Name: "field", Place: sky.J2000{RA: axes.Rad(50), Dec: axes.Rad(-5)}} // culminates near midnight
	h := axes.FromHours
	free := func(from, to float64) []room.Interval { return []room.Interval{{From: h(from), To: h(to)}} }
	at := func(hour float64, r room.Reason) room.RunEnd { return room.RunEnd{HourAngle: h(hour), Reason: r} }
	short := free(3, 3.005) // shorter than a flip takes
	westHolds := room.Row{West: free(-8, 8), East: short, Stop: at(5, room.ByHorizon), Resume: at(3, room.ByRoom)}
	eastHolds := room.Row{West: free(-4, -3.99), East: free(-8, 8), Stop: at(-3.99, room.ByRoom), Resume: at(-5, room.ByHorizon)}
	const byWaypoints = "; no proven way across: go by waypoints (legroom slew --route), or by hand and eye"
	for _, c := range []struct {
		what string
		p    *planner
		row  room.Row
		kind AdviceKind
		want string
	}{
		{"west holds it", byTold, westHolds, NoFlipNeeded, "no flip needed: side west holds it until it is too low"},
		{"west holds what is slewed to early", byHour, westHolds, NoFlipNeeded, "no flip needed: side west holds it until it is too low, begun by −22 min"},
		{"east holds it", byTold, eastHolds, NoFlipNeeded, "no flip needed: side east holds it until it is too low"},
		{"the mount does not take east so early", byHour, eastHolds, NoFlipProven, "stop at −241 min" + byWaypoints},
		{"neither holds it", byTold, room.Row{West: free(-8, 2), East: short, Stop: at(2, room.ByRoom), Resume: at(3, room.ByRoom)}, NoFlipProven, "stop at +118 min" + byWaypoints},
		{"west begins late", byTold, room.Row{West: free(-3, 8), East: short, Stop: at(5, room.ByHorizon), Resume: at(3, room.ByRoom)}, NoFlipProven, "stop at +298 min" + byWaypoints},
	} {
		g := Target{Target: field, Row: c.row, Rises: true, seen: c.p.see(field)}
		hand := handOf(g.seen.track, c.p.night)
		g.Runs = append(hand.runs(axes.West, c.row.West, c.p.night), hand.runs(axes.East, c.row.East, c.p.night)...)
		if a := c.p.advice(&g); a.Text != c.want || a.Kind != c.kind || a.Flip != nil {
			t.Errorf("%s: %s, %q, not %q", c.what, a.Kind, a.Text, c.want)
		}
	}
}

// nightOf is the planner of one night for a rig.
func nightOf(t *testing.T, r *rig.Rig) *planner {
	m := mapOf(t, gaugeOf(t, r, rig.RSS), 1)
	site, err := sky.NewSite(r.Site)
	if err != nil {
		t.Fatal(err)
	}
	n, err := sky.NightOf(site, 2026, time.November, 10)
	if err != nil {
		t.Fatal(err)
	}
	return newPlanner(m, newHeavens(&n, n.MoonUp(), Options{}))
}
