package main

import (
	"strings"
	"testing"
)

// How the mount chooses its side is asked in plain words, or else the output says what was assumed and where to write it.
func TestNewSide(t *testing.T) {
	for _, c := range []struct{ answers, want, not, said string }{
		{"1\n-20\n", "side_choice: by_hour_angle", "side_choice: unknown", ""},
		{"1\nsoon\n5\n", "earliest_flip_min: 5", "side_choice: unknown", `"soon" is not a number`},
		{"west\n2\n", "side_choice: as_told", "earliest_flip_min", "answer 1 or 2"},
		{"\n", "side_choice: unknown", "earliest_flip_min", ""},
		{"", "side_choice: unknown", "earliest_flip_min", ""},
	} {
		t.Chdir(t.TempDir())
		const file = "mine.yaml"
		r := legroom(t, strings.Repeat("\n", 12)+c.answers, "new", "--output", file, "--latitude-deg", "50", "--longitude-deg", "8", "--ask")
		if r.code != done {
			t.Fatalf("%q: %s", c.answers, r.errors)
		}
		narrow(t, "new", r.out)
		if text := content(t, file); !strings.Contains(text, c.want) || strings.Contains(text, c.not) {
			t.Errorf("%q: no %q, or %q, in\n%s", c.answers, c.want, c.not, text)
		}
		if unknown := c.want == "side_choice: unknown"; strings.Contains(r.out, "Assumed: ") != unknown || strings.Contains(r.out, "side_choice: as_told") != unknown {
			t.Errorf("%q: %s", c.answers, r.out)
		}
		if !strings.Contains(r.errors, c.said) {
			t.Errorf("%q: %q is not in\n%s", c.answers, c.said, r.errors)
		}
		must(t, done, "check", file)
	}
}
