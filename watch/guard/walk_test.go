package guard

import (
	"strings"
	"testing"
	"time"

	"legroom/axes"
)

// Small syncs through the guard do not walk the place away: it wants the reference pose confirmed before they come to more than a
// degree, and then they go on. One that the mount refuses does not count.
func TestSyncsDoNotWalk(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(60, 45), Options{}, nil)
	at := b.sim.State()
	walk := func() (n int, text string) {
		for range 12 {
			s := b.sim.State().Believed
			if err := b.put("synctocoordinates", b.place(axes.Angles{RA: s.RA + axes.Rad(0.23), Dec: s.Dec})); err != nil {
				text, _ = no(err)
				return n, text
			}
			n++
		}
		return n, ""
	}
	n, text := walk()
	if n != 4 || !strings.Contains(text, "confirm the reference pose first") || len(text) > longestMessage {
		t.Errorf("%d syncs of 0.23°: %s", n, text)
	}
	s := b.sim.State()
	if off := axes.Deg((s.Believed.RA - s.True.RA) - (at.Believed.RA - at.True.RA)); off > 1 {
		t.Errorf("%.2f° off", off)
	}
	if w := b.w.Status(); len(w.Blind) > 0 {
		t.Errorf("%v", w.BlindWhy)
	}
	if !b.until(5*time.Second, func() bool { return b.w.ConfirmReference(axes.West) == nil }) {
		t.Fatal(b.w.ConfirmReference(axes.West))
	}
	b.over(refusing{b.real})
	if n, text := walk(); n != 0 || strings.Contains(text, "not let through") {
		t.Errorf("a mount that takes none: %d, %s", n, text)
	}
	b.over(b.real)
	if n, _ := walk(); n != 4 {
		t.Errorf("confirmed: %d syncs", n)
	}
}
