package watch

import (
	"context"
	"testing"

	"legroom/mount"
)

// Whoever asks in the middle of a step sees the alarms there are: none without a name, none that is over.
func TestAlarmsMeanwhile(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	b.w.Tell("x", Note, "x")
	b.change = func(r *mount.Reading) { r.Lon += 1; r.UTC = r.UTC.Add(-1e12) }
	b.steps(8)
	if n := len(b.w.Status().Alarms); n < 3 {
		t.Fatalf("%d alarms", n)
	}
	var seen []AlarmState
	b.change = nil
	b.w.o.Feed = &Hook{Name: "asks", Do: func(context.Context, Call) error { seen = b.w.Status().Alarms; return nil }}
	b.clk.Advance(b.w.o.FeedPeriod)
	b.steps(1)
	if seen == nil {
		t.Fatal("never asked")
	}
	for _, a := range seen {
		if a.Key == "" || a.Key == "blind site" || a.Key == "blind clock" {
			t.Errorf("%+v", a)
		}
	}
}
