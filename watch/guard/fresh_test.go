package guard

import (
	"context"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
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

// mute is a mount that takes a command and never answers it.
type mute struct {
	*table
	member string
	until  chan time.Duration // how long it might have taken
}

func (m mute) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if !c.Put || c.Member != m.member {
		return m.table.Call(ctx, c)
	}
	end, _ := ctx.Deadline()
	m.until <- time.Until(end)
	<-ctx.Done()
	return nil, mount.ErrLink
}

// A command that is never answered does not keep others waiting for longer than its kind may take, and an abort ends the wait.
func TestNeverAnswered(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(60, 45), Options{}, nil)
	for member, args := range map[string]alpaca.Args{"slewtocoordinates": b.place(deg(62, 47)), "tracking": {"Tracking": true}, "park": nil} {
		m := mute{&table{}, member, make(chan time.Duration, 1)}
		b.over(m)
		ended := make(chan error, 1)
		go func() { ended <- b.put(member, args) }()
		if d := <-m.until; (d > time.Minute) != (member != "tracking") {
			t.Errorf("%s: may take %v", member, d)
		}
		if err := b.put("abortslew", nil); err != nil {
			t.Error(err)
		}
		select {
		case err := <-ended:
			if err == nil {
				t.Errorf("%s: answered", member)
			}
		case <-time.After(10 * time.Second):
			t.Fatalf("%s: still waited for", member)
		}
		b.w.Stop() // so that the watch takes back what was let through
		b.until(10*time.Second, func() bool { return b.w.Status().Rung == watch.Stopped && b.w.Release() == nil })
	}
}
