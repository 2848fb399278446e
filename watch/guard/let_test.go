package guard

import (
	"strings"
	"testing"

	"legroom/mount/alpaca"
)

// What the guard let through is told, and so in the journal and in a replay of it, with where to; a motion by hand once a second, and
// what was refused not as let through.
func TestTellsWhatItLetThrough(t *testing.T) {
	b := newBench(t, deg(80, 45), Options{}, nil)
	place := b.place(deg(70, 60))
	if err := b.put("slewtocoordinatesasync", place); err != nil {
		t.Fatal(err)
	}
	b.stands()
	if err := b.put("slewtocoordinatesasync", b.place(into)); err == nil {
		t.Fatal("a slew into the pier was let through")
	}
	for range 4 {
		if err := b.put("moveaxis", alpaca.Args{"Axis": 0, "Rate": 0.01}); err != nil {
			t.Fatal(err)
		}
	}
	var slews, hand []string
	for _, e := range b.w.Events(0) {
		switch {
		case e.Key != "guard" || !strings.HasPrefix(e.Text, "let through: "):
		case strings.HasPrefix(e.Text, "let through: moveaxis Axis=0 Rate=0.01"):
			hand = append(hand, e.Text)
		default:
			slews = append(slews, e.Text)
		}
	}
	if len(slews) != 1 || !strings.HasPrefix(slews[0], "let through: slewtocoordinatesasync Declination=") || !strings.Contains(slews[0], " RightAscension=") {
		t.Errorf("one slew was let through, told: %q", slews)
	}
	if len(hand) < 1 || len(hand) > 3 {
		t.Errorf("four motions by hand at once, told: %q", hand)
	}
}
