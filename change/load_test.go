package change

import (
	"context"
	"strings"
	"testing"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// What tips a rig is known without the mass of what stands still over the feet, and is not while one beyond them is missing.
func TestTippingAsksForWhatStandsBeyond(t *testing.T) {
	for _, c := range []struct {
		at    string
		known bool
	}{{"[80, 0, -150]", true}, {"[0, 0, 1100]", false}} { // the pole's way is north and up
		text := string(document(t, terrace).Bytes()) + "\nparts:\n  - {name: shelf, frame: polar, shape: box, size_mm: [80, 80, 80], at_mm: " + c.at + "}\n"
		r, err := rig.Parse([]byte(text), terrace)
		if err != nil {
			t.Fatal(err)
		}
		model, err := axes.NewModel(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := room.NewGauge(model, room.Options{})
		if err != nil {
			t.Fatal(err)
		}
		m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 5})
		if err != nil {
			t.Fatal(err)
		}
		limits := Limits{PushN: 1}
		x, err := limits.load(context.Background(), m, Ask{})
		if err != nil {
			t.Fatal(err)
		}
		breaks := limits.broken(&x, 0)
		if named := strings.Contains(x.NoTipping, "shelf") && strings.Contains(breaks, "shelf"); (x.Tipping != nil) != c.known || named == c.known {
			t.Errorf("at %s: known %v, %q, breaks %q", c.at, x.Tipping != nil, x.NoTipping, breaks)
		}
	}
}
