package main

import (
	"strings"
	"testing"
)

// The report has the keys that other programs read, is what its schema says, and is the same again for a seed.
func TestSoak(t *testing.T) {
	t.Parallel()
	args := []string{"soak", karoo, terrace, "--nights", "2", "--hours", "0.5", "--seed", "3", "--format", "json"}
	r := legroom(t, "", args...)
	if r.code != done || !strings.Contains(r.errors, "seed 3, 2 nights") {
		t.Fatalf("code %d: %s%s", r.code, r.errors, r.out)
	}
	doc := valid(t, "soak", r.out)
	for k, want := range map[string]any{"nights": 2.0, "contacts": 0.0, "false_stops": 0.0, "journal_rows_lost": 0.0, "late_hooks": 0.0, "passed": true, "seed": 3.0} {
		if doc[k] != want {
			t.Errorf("%s is %v, want %v", k, doc[k], want)
		}
	}
	for _, k := range []string{"stops", "blind", "worst_reaction_s", "unprotected_slews", "rigs.0.rig", "faults"} {
		at(t, doc, k)
	}
	if rows := doc["journal_rows"].(float64); rows < 1800 {
		t.Errorf("%v rows of half an hour, a sample a second", rows)
	}
	if again := legroom(t, "", args...); again.out != r.out {
		t.Error("another report for the same seed")
	}
	text := legroom(t, "", args[:len(args)-2]...)
	if text.code != done || !strings.Contains(text.out, "every demand was met") {
		t.Errorf("code %d: %s", text.code, text.out)
	}
}

func TestSoakWrong(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"soak"}, "no rig document given"}, {[]string{"soak", "nowhere.yaml"}, "nowhere.yaml"},
		{[]string{"soak", karoo, "--nights", "0"}, "--nights 0: give a number from 1"}, {[]string{"soak", karoo, "--hours", "25"}, "a number from 0.02 to 24"},
		{[]string{"soak", karoo, "--night", "21"}, "--night 21"}, {[]string{"soak", karoo, "--seed", "x"}, "give a whole number"},
		{[]string{"soak", karoo, "--sockets", "--clock", "21"}, "a number from 1 to 20"}, {[]string{"soak", karoo, "--clock", "5"}, "--clock is for --sockets"},
		{[]string{"soak", karoo, "--format", "csv"}, "--format"},
	} {
		if r := legroom(t, "", c.args...); r.code != wrongUse || !strings.Contains(r.errors, c.want) || r.out != "" {
			t.Errorf("%v: code %d, %s%s, want %q", c.args, r.code, r.errors, r.out, c.want)
		}
	}
}
