package night

import (
	"strings"
	"testing"
	"time"

	"legroom/sky"
)

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
