package metrics

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"legroom/watch"
	"legroom/watch/journal"
)

func status(now time.Time) *watch.Status {
	p := func(x float64) *float64 { return &x }
	return &watch.Status{At: now.Add(-time.Second / 2), Mount: "alpaca://[::1]:7434/0", Rig: "a \"rig\" \\ of\nmine", Print: "c0ffee", Rung: watch.Warned,
		Sample: &watch.Sample{Side: "east", GapMM: p(120), LowerMM: p(101.5), ZoneMM: p(31), RAAxisDeg: p(-12.25), DecAxisDeg: p(-50)},
		AgeS:   p(0.75), LeftS: p(431.5), Alarms: []watch.AlarmState{{Key: "time", Level: watch.Warning}}, Counts: watch.Counts{Steps: 12345678, Stops: 2, WorstStepS: 1.04}}
}

var now = time.Date(2026, 3, 14, 22, 0, 0, 0, time.UTC)

func write(t *testing.T, s *watch.Status, j *journal.Stats) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, s, j, now, time.Second); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestText(t *testing.T) {
	got := write(t, status(now), &journal.Stats{Taken: 7, Lost: 1, Trouble: "full"})
	for _, want := range []string{
		"# TYPE legroom_watch info\n# HELP legroom_watch What is watched.\n" +
			`legroom_watch_info{mount="alpaca://[::1]:7434/0",rig="a \"rig\" \\ of\nmine",fingerprint="c0ffee"} 1` + "\n",
		"\nlegroom_safe 1\n", "\n# UNIT legroom_time_left_seconds seconds\n", "\nlegroom_time_left_seconds 431.5\n", "\nlegroom_gap_lower_meters 0.1015\n",
		"\nlegroom_rung{legroom_rung=\"warned\"} 1\n", "\nlegroom_rung{legroom_rung=\"watching\"} 0\n", "\nlegroom_blind{legroom_blind=\"old\"} 0\n",
		"\n# TYPE legroom_stops counter\n", "\nlegroom_stops_total 2\n", "\nlegroom_alarms{level=\"warning\"} 1\n", "\nlegroom_journal_lost_rows_total 1\n", "\nlegroom_journal_trouble 1\n",
	} {
		if !strings.Contains("\n"+got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if !strings.HasSuffix(got, "\n# EOF\n") || strings.Contains(got, "\n\n") || strings.Count(got, "# EOF") != 1 {
		t.Error(got)
	}
}

// Not known is not 0, and not without end.
func TestUnknownIsLeftOut(t *testing.T) {
	got := write(t, &watch.Status{Rung: watch.Watching, NoEnd: true, LeftS: new(60.0), Blind: []watch.Reason{watch.BlindLink}}, nil)
	for _, not := range []string{"time_left", "gap", "axis", "age", "side", "journal_rows"} {
		if strings.Contains(got, "legroom_"+not) {
			t.Errorf("%s:\n%s", not, got)
		}
	}
	if !strings.Contains(got, "\nlegroom_safe 0\n") || !strings.Contains(got, "legroom_blind{legroom_blind=\"link\"} 1\n") {
		t.Error(got)
	}
	s := status(now) // with the sample of a look before it went blind
	s.Blind = []watch.Reason{watch.BlindSide}
	if got := write(t, s, nil); strings.Contains(got, "legroom_gap") || strings.Contains(got, "legroom_zone") {
		t.Errorf("blind, and a gap is told:\n%s", got)
	}
	s = status(now)
	s.LeftS, s.NoEnd = nil, true
	if got := write(t, s, nil); !strings.Contains(got, "\nlegroom_time_left_seconds +Inf\n") {
		t.Error(got)
	}
}

// An outside reader of the format takes it: prometheus_client's strict parser of OpenMetrics (Debian: python3-prometheus-client).
func TestOutsideParser(t *testing.T) {
	if err := exec.Command("/usr/bin/python3", "-c", "import prometheus_client.openmetrics.parser").Run(); err != nil {
		if os.Getenv("LEGROOM_REQUIRE_TOOLS") == "1" {
			t.Fatal("python3-prometheus-client is needed: ", err)
		}
		t.Skip("no python3-prometheus-client")
	}
	for _, text := range []string{write(t, status(now), &journal.Stats{Taken: 7}), write(t, &watch.Status{}, nil)} {
		c := exec.Command("/usr/bin/python3", "-c", `import sys
from prometheus_client.openmetrics.parser import text_string_to_metric_families
for f in text_string_to_metric_families(sys.stdin.read()):
    for s in f.samples:
        print(f.type, s.name, sorted(s.labels.items()), s.value)`)
		c.Stdin = strings.NewReader(text)
		out, err := c.CombinedOutput()
		if err != nil {
			t.Fatalf("%v\n%s\n%s", err, out, text)
		}
		lines := 0
		for l := range strings.Lines(text) {
			if !strings.HasPrefix(l, "#") {
				lines++
			}
		}
		if n := strings.Count(string(out), "\n"); n != lines {
			t.Errorf("%d samples read of %d\n%s", n, lines, out)
		}
		if strings.Contains(text, "c0ffee") && !strings.Contains(string(out), fmt.Sprintf("('rig', %s)", `'a "rig" \\ of\nmine'`)) {
			t.Errorf("%s", out)
		}
	}
}
