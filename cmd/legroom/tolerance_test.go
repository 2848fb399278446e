package main

import (
	"strings"
	"testing"
	"unicode/utf8"
)

func TestToleranceCommand(t *testing.T) {
	for _, args := range [][]string{
		{"--dec-deg", "20,50", "--lengths", "2"},
		{"--dec-deg", "50", "--lengths", "0", "--pose", "west,-0.6,40", "--pairs", "3"},
	} {
		text := must(t, done, append([]string{"tolerance", terrace}, args...)...)
		for _, line := range strings.Split(text, "\n") {
			if utf8.RuneCountInString(line) > 100 {
				t.Errorf("too wide: %s", line)
			}
		}
		for _, want := range []string{"WHERE RUNS END", "leg 3 – camera"} {
			if !strings.Contains(text, want) {
				t.Errorf("no %q in\n%s", want, text)
			}
		}
		d := valid(t, "tolerance", must(t, done, append([]string{"tolerance", terrace, "--format", "json"}, args...)...))
		ends := d["ends"].([]any)
		if len(ends) == 0 {
			t.Fatal("no ends")
		}
		for _, e := range ends {
			end := e.(map[string]any)
			measured, likely := end["as_measured_h"].(float64), end["likely_h"].([]any)
			if likely[0].(float64) >= measured || likely[1].(float64) <= measured {
				t.Errorf("%v is not likely in %v", measured, likely)
			}
			rss, worst := end["proven_rss_h"].(float64), end["proven_worst_h"].(float64)
			if end["end"] == "stop" && !(worst < rss && rss < measured) || end["end"] == "resume" && !(worst > rss && rss > measured) {
				t.Errorf("%v: measured %v, proven %v, worst %v", end["end"], measured, rss, worst)
			}
			gap := end["gap"].(map[string]any)
			if !(gap["error_mm"].(float64) <= gap["proven_rss_mm"].(float64)) {
				t.Errorf("likely error %v, proven %v", gap["error_mm"], gap["proven_rss_mm"])
			}
		}
	}
	csv := must(t, done, "tolerance", karoo, "--dec-deg", "-30", "--lengths", "0", "--format", "csv")
	if lines := strings.Split(strings.TrimSpace(csv), "\n"); len(lines) != 3 || strings.Count(lines[1], ",") != strings.Count(lines[0], ",") {
		t.Errorf("csv:\n%s", csv)
	}
}

func TestToleranceWrongUse(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"tolerance"}, "no rig document given"},
		{[]string{"tolerance", terrace, "--dec-deg", "91"}, "give a number from -90 to 90"},
		{[]string{"tolerance", terrace, "--pairs", "0"}, "give 1 or more pairs"},
		{[]string{"tolerance", terrace, "--pose", "up,1,2"}, "--pose"},
		{[]string{"tolerance", terrace, "--format", "xml"}, "give text or json or csv"},
	} {
		if r := legroom(t, "", c.args...); r.code != wrongUse || !strings.Contains(r.errors, c.want) {
			t.Errorf("%v: code %d, %q, want %q", c.args, r.code, r.errors, c.want)
		}
	}
}
