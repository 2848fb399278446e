package night

import (
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/sky"
)

// After idle time the schedule flips at the minute of the advice where that is proven from its own stop: the waits passed it over, so that
// the one pair for all, whose runs begin elsewhere, had more sub-exposures than the limits by declination.
func TestScheduleFlipsAsAdvised(t *testing.T) {
	r, _ := siteAt(t, "terrace-long-refractor", "36.9", "-3.4", "Europe/Madrid", "mount.travel.ra_from_deg", "-360", "mount.travel.ra_to_deg", "360",
		"mount.travel.declination_flip", "unknown", "mount.travel.dec_from_deg", "-360", "mount.travel.dec_to_deg", "360", "mount.slew.axis_order", "unknown",
		"mount.own_rules.side_choice", "as_told")
	targets := []sky.Target{{Name: "M 13", Place: sky.J2000{RA: axes.Rad(250.423), Dec: axes.Rad(36.461)}}}
	var subs [2]int
	for i, two := range []bool{false, true} {
		p := sound(t, planned(t, r, eveningOf(2026, 6, 10), Options{Sub: 5 * time.Minute, TwoNumber: two}, targets))
		g := &p.Targets[0]
		if len(p.Schedule.Blocks) != 2 || g.Advice.Flip == nil || g.Advice.Late != nil {
			t.Fatalf("two numbers %v: %d blocks, %+v: the test says nothing", two, len(p.Schedule.Blocks), g.Advice)
		}
		if text := offAdvice(g, p.Schedule.Blocks[1].Come.Begin); text != "" {
			t.Errorf("two numbers %v: %s", two, text)
		}
		subs[i] = g.Subs
	}
	if subs[0] < subs[1] {
		t.Errorf("%d sub-exposures by declination, %d within one pair for all", subs[0], subs[1])
	}
}

// Where the schedule's rest and flip is a minute or more off the advice, a note says so, and why; a flip window has no such note.
func TestOffAdvice(t *testing.T) {
	at := func(clock string) time.Time {
		x, err := time.Parse(time.TimeOnly, clock)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	stop, flip, late := -38, 37, 44
	rest := Advice{Kind: FlipOnce, Stop: &stop, Flip: &flip}
	window := rest
	window.Late = &late
	for _, c := range []struct {
		a           Advice
		begin, want string
	}{
		{rest, "02:10:00", ""}, {rest, "02:09:33", ""}, {rest, "02:11:00", "M 31 flips in the schedule 1 min later"}, {rest, "02:09:00", "M 31 flips in the schedule 1 min earlier"},
		{rest, "02:25:00", "15 min later"}, {window, "02:12:00", ""}, {Advice{Kind: NoFlipProven, Stop: &stop}, "02:12:00", ""},
	} {
		g := &Target{Target: sky.Target{Name: "M 31"}, Transit: at("01:32:40"), Advice: c.a}
		if got := offAdvice(g, at(c.begin)); (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", c.begin, got, c.want)
		}
	}
}
