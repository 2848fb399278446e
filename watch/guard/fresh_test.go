package guard

import (
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/alpaca"
	"legroom/watch"
)

// A command is proven from where the mount is by now: one that somebody has set in motion past the guard, since the watch last looked, is
// seen to move.
func TestProvenFromNow(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(60, 45), Options{}, func(o *watch.Options) { o.Period, o.Blind = 2*time.Second, watch.AlarmBlind })
	for name, put := range map[string]func() error{
		"slew":     func() error { return b.put("slewtocoordinatesasync", b.place(deg(70, 60))) },
		"park":     func() error { return b.put("park", nil) },
		"moveaxis": func() error { return b.put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 0.2}) },
	} {
		at := b.w.Status().At
		if !b.until(10*time.Second, func() bool { return b.w.Status().At.After(at) }) { // a look has just ended, the next is long to come
			t.Fatal("no look")
		}
		if err := b.sim.MoveAxis(0, axes.Rad(0.5)); err != nil {
			t.Fatal(err)
		}
		if text, is := no(put()); !is {
			t.Errorf("%s: %s", name, text)
		}
		if err := b.sim.MoveAxis(0, 0); err != nil {
			t.Fatal(err)
		}
		b.stands()
	}
}
