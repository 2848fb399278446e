package guard

import (
	"context"
	"strings"
	"testing"
	"time"

	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/watch"
)

// What the guard let through is told, and so in the journal and in a replay of it, with where to; a motion by hand once a second, and
// what was refused not as let through.
func TestTellsWhatItLetThrough(t *testing.T) {
	t.Parallel()
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

// A park that is refused again and again rings once a second at most, and is not drowned by another refusal just before it.
func TestRefusedParkRingsOnceASecond(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(80, 45), Options{}, nil)
	b.w.Stop()
	if !b.until(10*time.Second, func() bool { return b.w.Status().Rung == watch.Stopped }) {
		t.Fatal(b.w.Status().Rung)
	}
	if text, is := no(b.put("slewtocoordinatesasync", b.place(into))); !is {
		t.Fatal(text)
	}
	from := time.Now()
	for range 12 {
		if text, is := no(b.put("park", nil)); !is {
			t.Fatal(text)
		}
	}
	most := 1 + int(time.Since(from)/time.Second)
	rang := 0
	for _, e := range b.w.Events(0) {
		if e.Key == "guard" && e.Level == watch.Alarm && strings.HasPrefix(e.Text, "park: ") {
			rang++
		}
	}
	if rang < 1 || rang > most || most > 10 {
		t.Errorf("12 refused parks rang %d times in %v", rang, time.Since(from))
	}
}

// What clients end through the guard is told too, once a second at most, with the mount's answer; and how the guard was begun.
func TestTellsStops(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(80, 45), Options{}, nil)
	d := &table{}
	b.over(d)
	stops := []alpaca.Call{alpaca.Put("abortslew", nil), alpaca.Put("tracking", alpaca.Args{"Tracking": false}),
		alpaca.Put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 0.0})}
	from := time.Now()
	for range 20 {
		for _, c := range stops {
			if _, err := b.tel.Call(t.Context(), c); err != nil {
				t.Fatal(err)
			}
		}
	}
	most := 1 + int(time.Since(from)/time.Second)
	if most > 10 {
		t.Skipf("too slow to tell: %v", time.Since(from))
	}
	told := map[string]int{}
	for _, e := range b.w.Events(0) {
		if e.Key == "guard" && e.Level == watch.Note {
			told[e.Text]++
		}
	}
	for _, stop := range []string{"abortslew", "tracking Tracking=false", "moveaxis Axis=1 Rate=0"} {
		text := "passed on: " + stop
		if n := told[text]; n < 1 || n > most {
			t.Errorf("%s: told %d times of 20 in %v", text, n, time.Since(from))
		}
	}
	if n := told["the guard is open; ways over waypoints (--around): no"]; n < 1 {
		t.Errorf("how it was begun is not told: %v", told)
	}
	// One that the mount did not take is told each time.
	b.over(refusing{d})
	for range 3 {
		if err := b.put("abortslew", nil); err == nil {
			t.Fatal("taken")
		}
	}
	refused := 0
	for _, e := range b.w.Events(0) {
		if strings.HasPrefix(e.Text, "passed on: abortslew; the mount answered: ") {
			refused++
		}
	}
	if refused != 3 {
		t.Errorf("told of %d of 3 stops that the mount refused", refused)
	}
}

// refusing is a mount that takes no stop.
type refusing struct{ alpaca.Device }

func (r refusing) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if c.Put {
		return nil, mount.ErrLacks
	}
	return r.Device.Call(ctx, c)
}
