package report

import (
	"strings"
	"testing"
	"time"

	"legroom/watch"
)

// The block of the terminal and the line of a log, from a quiet night and from a bad one.
func TestWatchText(t *testing.T) {
	at := time.Date(2026, 11, 25, 20, 14, 3, 0, time.UTC)
	f := func(x float64) *float64 { return &x }
	sun := at.Add(12 * time.Hour)
	sample := &watch.Sample{Motion: watch.Tracks, Side: "west", SideHow: watch.ByPath, LowerMM: f(121.96), A: "leg 2", B: "camera", Tracking: "yes"}
	quiet := &watch.Status{Rung: watch.Watching, Sample: sample, LeftS: f(5548.9), AgeS: f(0.44)}
	bad := &watch.Status{Rung: watch.Hooked, Why: "blind: no link", Blind: []watch.Reason{watch.BlindLink}, BlindWhy: []string{"no link to the mount"},
		Sample: &watch.Sample{Motion: watch.NotKnown, Side: "unknown", SideHow: watch.ByNobody}, SunMeets: &sun,
		Alarms: []watch.AlarmState{{Key: "obey", Level: watch.Alarm, Text: "the mount has not obeyed 3 stops", Known: true}}, Counts: watch.Counts{Stops: 3, Slews: 2, Unprotected: 1}}
	var b strings.Builder
	quiet.Blind, quiet.BlindWhy, quiet.Alarms = []watch.Reason{}, []string{}, []watch.AlarmState{}
	for _, s := range []*watch.Status{quiet, bad} {
		v := WatchView{Status: s, MarginMM: 30, Zone: time.UTC, Now: at}
		b.WriteString(strings.Join(v.Lines(), "\n") + "\n\n" + v.Line() + "\n\n")
		validate(t, "watch", WatchLine{Status: s})
	}
	e := watch.Event{ID: 4, At: at, Key: "warn", Level: watch.Warning, Text: "a stop is due in 9 min"}
	b.WriteString(WatchEvent(e, time.UTC) + "\n")
	e.Over = true
	b.WriteString(WatchEvent(e, time.UTC) + "\n")
	long := e
	long.Over, long.Text = false, "a slew that is not proven beforehand is protected up to 0.21°/s (RA) and 0.21°/s (declination); this mount slews faster"
	b.WriteString(WatchEvent(long, time.UTC) + "\n")
	fits(t, "watch", b.String())
	validate(t, "watch", WatchLine{Event: &e})
	validate(t, "watch", WatchLine{Begun: &WatchBegun{Mount: "alpaca://127.0.0.1:1/0"}})
	golden(t, "watch.txt", []byte(b.String()))
}

// Time left is never more than it is.
func TestWatchLeft(t *testing.T) {
	for s, want := range map[float64]string{59.99: "59 s", 60: "1 min 00 s", 3599.9: "59 min 59 s", 3600: "1 h 00 min", 7199: "1 h 59 min", 0: "0 s"} {
		if got := (WatchView{Status: &watch.Status{LeftS: &s}}).Left(); got != want {
			t.Errorf("%v s: %q", s, got)
		}
	}
	for motion, want := range map[watch.Motion]string{watch.Still: "stands still", watch.Moves: "moving", watch.NotKnown: "not known"} {
		v := WatchView{Status: &watch.Status{Sample: &watch.Sample{Motion: motion}}}
		if got := v.Left(); !strings.Contains(got, want) {
			t.Errorf("%s: %q", motion, got)
		}
	}
	for _, c := range []struct{ tracking, parked, want string }{
		{"no", "yes", "parked, not seen to stand still yet, side west"}, {"yes", "yes", "parked, said to track, side west"},
		{"no", "no", "not seen to stand still yet, side west"}, {"yes", "no", "tracking, side west"},
	} {
		v := WatchView{Status: &watch.Status{Sample: &watch.Sample{Motion: watch.Tracks, Side: "west", Tracking: c.tracking, Parked: c.parked}}}
		if got := v.Mount(); !strings.HasPrefix(got, c.want) {
			t.Errorf("%+v: %q", c, got)
		}
	}
	left, gap := 400.0, 92.0
	for _, old := range []watch.Status{{}, {LeftS: &left}} { // what was worked out before it went blind
		old.Sample, old.Blind = &watch.Sample{Motion: watch.Still, LowerMM: &gap}, []watch.Reason{watch.BlindSide}
		v := WatchView{Status: &old}
		if v.Left() != "not known" || v.Gap() != "not known" {
			t.Errorf("blind: %q, %q", v.Left(), v.Gap())
		}
	}
}
