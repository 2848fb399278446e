package main

import (
	"os"
	"strings"
	"testing"
)

// An input that ends before the last question is a slip: nothing is written.
func TestNewAskBrokenOff(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, answers := range []string{"", "900\n\n700\n", strings.Repeat("\n", 13)} {
		r := legroom(t, answers, "new", "--output", "mine.yaml", "--latitude-deg", "50", "--longitude-deg", "8", "--ask")
		if _, err := os.Stat("mine.yaml"); r.code != wrongUse || !os.IsNotExist(err) || !strings.Contains(r.errors, "mine.yaml is not written") {
			t.Errorf("%q: code %d, %v, %s", answers, r.code, err, r.errors)
		}
	}
}

// How the mount chooses its side is asked in plain words, or else the output says what was assumed and where to write it.
func TestNewSide(t *testing.T) {
	const pastPole, parked = "declination_flip: through_pole", "park: {ra_axis_deg: 0, dec_axis_deg: -90}"
	for _, c := range []struct{ answers, want, not, said string }{
		{"1\n-20\n", "side_choice: by_hour_angle", "side_choice: unknown", ""},
		{"1\nsoon\n5\n", "earliest_flip_min: 5", "side_choice: unknown", `"soon" is not a number`},
		{"west\n2\n", "side_choice: as_told", "earliest_flip_min", "answer 1 or 2"},
		{"\n", "side_choice: unknown", "earliest_flip_min", ""},
		{"", "side_choice: unknown", "earliest_flip_min", ""},
		{"2\n1\n", pastPole, "park:", ""},
		{"2\n\n0,0\n", "park: {ra_axis_deg: 0, dec_axis_deg: 0}", "declination_flip", ""},
		{"2\npole\n2\n", "declination_flip: through_far_pole", "park:", "answer 1 or 2"},
		{"\n1\nhome\n0,-9e9\n 0, -90\n", parked, "ra_axis_deg: home", `"home" is not a pose of two axes`},
		{"\n1\nNaN,0\n0,-90\n", parked, "NaN", "mount.park"},
		{"2\n1\n0,-90\n", pastPole, "declination_flip: unknown", ""},
	} {
		t.Chdir(t.TempDir())
		const file = "mine.yaml"
		r := legroom(t, strings.Repeat("\n", 12)+c.answers+"\n\n\n", "new", "--output", file, "--latitude-deg", "50", "--longitude-deg", "8", "--ask")
		if r.code != done {
			t.Fatalf("%q: %s", c.answers, r.errors)
		}
		narrow(t, "new", r.out)
		if text := content(t, file); !strings.Contains(text, c.want) || strings.Contains(text, c.not) {
			t.Errorf("%q: no %q, or %q, in\n%s", c.answers, c.want, c.not, text)
		}
		// What was not said is named, with the words to write.
		text := content(t, file)
		if strings.Contains(text, "side_choice: unknown") != strings.Contains(r.out, "side_choice: as_told") {
			t.Errorf("%q: %s", c.answers, r.out)
		}
		for key, words := range map[string]string{"declination_flip: ": "declination_flip: through_pole, or\nthrough_far_pole", "park: {": "park: {ra_axis_deg: 0, dec_axis_deg: 0} is"} {
			if strings.Contains(text, key) == strings.Contains(r.out, words) {
				t.Errorf("%q: %s", c.answers, r.out)
			}
		}
		if !strings.Contains(r.errors, c.said) {
			t.Errorf("%q: %q is not in\n%s", c.answers, c.said, r.errors)
		}
		must(t, done, "check", file)
	}
}
