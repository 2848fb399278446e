package guard

import (
	"context"
	"strings"
	"testing"
	"time"

	"legroom/mount/alpaca"
)

// lateStart is a mount that answers at once and begins a while later.
type lateStart struct {
	alpaca.Device
	begins chan struct{}
}

func (l lateStart) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if c.Put && (c.Member == "slewtocoordinatesasync" || c.Member == "moveaxis" && c.Float("Rate") != 0) {
		go func() {
			<-l.begins
			_, _ = l.Device.Call(context.Background(), c)
		}()
		return nil, nil
	}
	return l.Device.Call(ctx, c)
}

// Nothing else is let through between a command that sets the mount in motion and its beginning: it would be proven from where the axes
// no longer are.
func TestOneMotionUntilItBegins(t *testing.T) {
	t.Parallel()
	slew := alpaca.Put("slewtocoordinatesasync", nil)
	hand := alpaca.Put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 3.0})
	for name, cs := range map[string][2]alpaca.Call{
		"slew, slew": {slew, slew}, "slew, by hand": {slew, hand}, "by hand, slew": {hand, slew},
		"by hand, sync": {hand, alpaca.Put("synctocoordinates", nil)}, "slew, park": {slew, alpaca.Put("park", nil)},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := newBench(t, deg(60, 45), Options{}, nil)
			begins := make(chan struct{})
			b.over(lateStart{b.real, begins})
			for i, c := range cs {
				switch c.Member {
				case "slewtocoordinatesasync":
					c.Args = b.place(deg(50, 30))
				case "synctocoordinates":
					c.Args = b.place(deg(60.1, 45.1))
				}
				err := b.put(c.Member, c.Args)
				if text, is := no(err); i == 1 && (!is || !strings.Contains(text, "has not been seen to begin") || len(text) > longestMessage) {
					t.Errorf("%s: %s", c.Member, text)
				} else if i == 0 && err != nil {
					t.Error(err)
				}
				at := b.w.Status().At
				b.until(5*time.Second, func() bool { return b.w.Status().At.Sub(at) > 400*time.Millisecond })
			}
			close(begins)
			if cs[0].Member == "moveaxis" {
				b.until(time.Second, func() bool { return b.sim.State().ByHand })
				if err := b.put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 0.0}); err != nil {
					t.Error(err)
				}
			}
			if !b.until(5*time.Second, func() bool {
				return b.w.Status().Counts.Slews > 0 || b.sim.State().ByHand == false && cs[0].Member == "moveaxis"
			}) {
				t.Fatal("does not begin")
			}
			b.stands()
			if s := b.w.Status(); s.Counts.Unprotected > 0 || s.Counts.Stops > 0 || len(s.Blind) > 0 {
				t.Errorf("%+v %s %v", s.Counts, s.Why, s.BlindWhy)
			}
		})
	}
}
