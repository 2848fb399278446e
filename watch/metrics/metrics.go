// Package metrics tells how a watch does as OpenMetrics text 1.0, for whoever collects such figures.
package metrics

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"legroom/watch"
	"legroom/watch/journal"
)

// ContentType is what an HTTP answer with this text says that it is.
const ContentType = "application/openmetrics-text; version=1.0.0; charset=utf-8"

// Write writes the state of a watch, and of its journal when there is one. Units are the standard's: seconds, metres, degrees as
// named. What is not known is left out, never 0; a time left of +Inf says that nothing ends this run.
func Write(w io.Writer, s *watch.Status, j *journal.Stats, now time.Time, period time.Duration) error {
	var t text
	t.family("legroom_watch", "info", "", "What is watched.")
	t.sample("legroom_watch_info", 1, "mount", s.Mount, "rig", s.Rig, "fingerprint", s.Print)

	t.gauge("legroom_safe", "", "1 when the last look is fresh, nothing is blind and no stop is due or under way; else 0.", flag(s.Safe(now, period)))
	if !s.At.IsZero() {
		t.gauge("legroom_loop_age_seconds", "seconds", "Since the loop last came round.", now.Sub(s.At).Seconds())
	}
	t.state("legroom_rung", "How far the watch has gone to stop the mount.", []string{string(s.Rung)}, watch.Watching, watch.Warned, watch.Stopping, watch.Stopped, watch.Hooked)
	var blind []string
	for _, b := range s.Blind {
		blind = append(blind, string(b))
	}
	t.state("legroom_blind", "Why it is not known where the parts are.", blind, watch.BlindLink, watch.BlindAnswer, watch.BlindOld, watch.BlindFrozen, watch.BlindClock, watch.BlindSite,
		watch.BlindPlace, watch.BlindEquinox, watch.BlindSide, watch.BlindJump, watch.BlindReference, watch.BlindSetup, watch.BlindFingerprint)

	const left = "Until a stop is due; +Inf when nothing ends this run; not told while blind."
	switch {
	case len(s.Blind) > 0:
	case s.LeftS != nil:
		t.gauge("legroom_time_left_seconds", "seconds", left, *s.LeftS)
	case s.NoEnd:
		t.gauge("legroom_time_left_seconds", "seconds", left, math.Inf(1))
	}
	if s.AgeS != nil {
		t.gauge("legroom_reading_age_seconds", "seconds", "Of the last usable reading of the mount.", *s.AgeS)
	}
	if c := s.Sample; c != nil {
		if len(s.Blind) == 0 { // what was proven before it went blind may be gone
			t.mm("legroom_gap_meters", "Gap of the nearest pair at the last usable reading; not told while blind.", c.GapMM)
			t.mm("legroom_gap_lower_meters", "Proven gap, tolerances taken off; not told while blind.", c.LowerMM)
			t.mm("legroom_zone_meters", "A stop is due when the proven gap is down to this.", c.ZoneMM)
		}
		if c.RAAxisDeg != nil && c.DecAxisDeg != nil {
			t.gauge("legroom_ra_axis_degrees", "degrees", "From counterweight-down, the way the sky moves.", *c.RAAxisDeg)
			t.gauge("legroom_dec_axis_degrees", "degrees", "From the elevated pole.", *c.DecAxisDeg)
		}
		t.state("legroom_side", "On which side the mount is, as resolved.", []string{c.Side}, "west", "east", "unknown")
	}
	alarms := map[watch.Level]int{}
	for _, a := range s.Alarms {
		alarms[a.Level]++
	}
	t.family("legroom_alarms", "gauge", "", "Alarms that have not ended.")
	for _, l := range []watch.Level{watch.Warning, watch.Alarm} {
		t.sample("legroom_alarms", float64(alarms[l]), "level", string(l))
	}

	n := &s.Counts
	for _, c := range []struct {
		name, help string
		n          int64
	}{
		{"steps", "Times that the loop came round.", n.Steps}, {"readings", "Usable and unusable readings of the mount.", n.Readings},
		{"read_errors", "Readings that failed.", n.ReadErrors}, {"warnings", "Warnings.", n.Warnings}, {"stops", "Stops that were due.", n.Stops},
		{"restored", "Motion that came back after a stop.", n.Restored}, {"hooks", "Calls of the owner's hooks.", n.Hooks},
		{"blind_steps", "Times that the loop was blind.", n.BlindSteps}, {"journal_failures", "Steps that the journal did not take whole.", n.JournalFails},
		{"slews", "Slews.", n.Slews}, {"unprotected_slews", "Slews neither proven nor slow enough to be protected.", n.Unprotected},
	} {
		t.counter("legroom_"+c.name, c.help, c.n)
	}
	t.gauge("legroom_longest_step_seconds", "seconds", "Longest time between two rounds of the loop.", n.WorstStepS)

	if j != nil {
		t.counter("legroom_journal_rows", "Rows handed over to the journal.", j.Taken)
		t.counter("legroom_journal_acknowledged_rows", "Rows that are on the disk.", j.Acknowledged)
		t.counter("legroom_journal_lost_rows", "Rows that are in no file.", j.Lost)
		t.gauge("legroom_journal_waiting_rows", "", "Rows on their way to the disk.", float64(j.Waiting))
		t.gauge("legroom_journal_trouble", "", "1 when the journal cannot be written; else 0.", flag(j.Trouble != ""))
		t.gauge("legroom_journal_size_bytes", "bytes", "The journal's files.", float64(j.Bytes))
	}
	t.b.WriteString("# EOF\n")
	_, err := io.WriteString(w, t.b.String())
	return err
}

// text grows by one metric family after the other.
type text struct{ b strings.Builder }

func (t *text) family(name, kind, unit, help string) {
	fmt.Fprintf(&t.b, "# TYPE %s %s\n", name, kind)
	if unit != "" {
		fmt.Fprintf(&t.b, "# UNIT %s %s\n", name, unit)
	}
	fmt.Fprintf(&t.b, "# HELP %s %s\n", name, escape.Replace(help))
}

var escape = strings.NewReplacer(`\`, `\\`, "\n", `\n`, `"`, `\"`)

// sample writes one line; labels are names and values in turn.
func (t *text) sample(name string, v float64, labels ...string) {
	t.b.WriteString(name)
	for i := 0; i < len(labels); i += 2 {
		t.b.WriteString(map[bool]string{true: "{", false: ","}[i == 0])
		fmt.Fprintf(&t.b, `%s="%s"`, labels[i], escape.Replace(strings.ToValidUTF8(labels[i+1], "\uFFFD")))
	}
	if len(labels) > 0 {
		t.b.WriteByte('}')
	}
	t.b.WriteByte(' ')
	t.b.WriteString(strconv.FormatFloat(v, 'g', -1, 64))
	t.b.WriteByte('\n')
}

func (t *text) gauge(name, unit, help string, v float64) {
	t.family(name, "gauge", unit, help)
	t.sample(name, v)
}

func (t *text) mm(name, help string, mm *float64) {
	if mm != nil {
		t.gauge(name, "meters", help, *mm/1000)
	}
}

func (t *text) counter(name, help string, n int64) {
	t.family(name, "counter", "", help)
	t.sample(name+"_total", float64(n))
}

// state writes for each state that there is whether it holds.
func (t *text) state(name, help string, on []string, all ...any) {
	t.family(name, "stateset", "", help)
	for _, a := range all {
		v := 0.0
		for _, o := range on {
			if o == fmt.Sprint(a) {
				v = 1
			}
		}
		t.sample(name, v, name, fmt.Sprint(a))
	}
}

func flag(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
