package guard

import (
	"context"
	"math"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/sky"
	"legroom/watch"
)

// heldReads is a mount whose readings come only while nobody holds them up.
type heldReads struct {
	mount.Telescope
	held *sync.RWMutex
}

func (h heldReads) Read(ctx context.Context) (mount.Reading, error) {
	h.held.RLock()
	defer h.held.RUnlock()
	return h.Telescope.Read(ctx)
}

// What was taken before a stop and still waits to be proven when that is answered is refused, and not sent.
func TestStopEndsWhatStillWaits(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ order, stop alpaca.Call }{
		"slew":         {alpaca.Put("slewtocoordinatesasync", nil), alpaca.Put("abortslew", nil)},
		"by hand":      {alpaca.Put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 1.0}), alpaca.Put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 0.0})},
		"tracking":     {alpaca.Put("tracking", alpaca.Args{"Tracking": true}), alpaca.Put("tracking", alpaca.Args{"Tracking": false})},
		"park by hand": {alpaca.Put("park", nil), alpaca.Put("moveaxis", alpaca.Args{"Axis": 0, "Rate": 0.0})},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var held sync.RWMutex
			b := newBenchBehind(t, deg(60, 45), Options{}, nil, func(_ *bench, tel mount.Telescope) mount.Telescope { return heldReads{tel, &held} })
			if c.order.Args == nil && c.order.Member != "park" {
				c.order.Args = b.place(deg(20, 20))
			}
			if name == "tracking" {
				if err := b.put("tracking", alpaca.Args{"Tracking": false}); err != nil {
					t.Fatal(err)
				}
				b.stands()
			}
			k := &came{Device: b.real}
			b.over(k)
			held.Lock()
			ended := make(chan error, 1)
			go func() { ended <- b.put(c.order.Member, c.order.Args) }()
			taken := b.until(5*time.Second, func() bool {
				b.guard.mu.Lock()
				defer b.guard.mu.Unlock()
				return b.guard.has == c.order.Member
			})
			err := b.put(c.stop.Member, c.stop.Args)
			held.Unlock()
			if err != nil || !taken {
				t.Fatalf("%v, taken %v", err, taken)
			}
			if text, is := no(<-ended); !is || !strings.Contains(text, "a stop ("+c.stop.Member+") has come") || len(text) > longestMessage {
				t.Error(text)
			}
			if n := k.of(c.order); n != 0 {
				t.Errorf("%s came to the mount %d times", c.order.Member, n)
			}
			if err := b.put(c.order.Member, c.order.Args); err != nil { // asked again
				t.Errorf("after the stop: %v", err)
			}
		})
	}
}

// came counts what comes to the mount.
type came struct {
	alpaca.Device
	mu   sync.Mutex
	puts []alpaca.Call
}

func (k *came) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if c.Put {
		k.mu.Lock()
		k.puts = append(k.puts, c)
		k.mu.Unlock()
	}
	return k.Device.Call(ctx, c)
}

// of counts commands of a member, and of its kind: to begin, or to end.
func (k *came) of(c alpaca.Call) (n int) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, p := range k.puts {
		begins := func(c alpaca.Call) bool {
			return c.Member != "moveaxis" && c.Member != "tracking" || c.Member == "moveaxis" && c.Float("Rate") != 0 ||
				c.Member == "tracking" && c.Bool("Tracking")
		}
		if p.Member == c.Member && begins(p) == begins(c) {
			n++
		}
	}
	return n
}

// lateLink is a link on which what begins a motion comes to the mount late, whoever has given it up.
type lateLink struct {
	alpaca.Device
	member string
	onWay  *atomic.Int32
}

func (l lateLink) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if c.Put && c.Member == l.member && !(c.Member == "moveaxis" && c.Float("Rate") == 0) {
		l.onWay.Add(1)
		time.Sleep(300 * time.Millisecond)
	}
	return l.Device.Call(context.WithoutCancel(ctx), c)
}

// A stop that overtakes a command on its way to the mount is sent once more behind it.
func TestStopIsSentBehindWhatItOvertakes(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ order, stop alpaca.Call }{
		"slew":    {alpaca.Put("slewtocoordinatesasync", nil), alpaca.Put("abortslew", nil)},
		"by hand": {alpaca.Put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 1.0}), alpaca.Put("moveaxis", alpaca.Args{"Axis": 1, "Rate": 0.0})},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := newBench(t, deg(60, 45), Options{}, nil)
			var onWay atomic.Int32
			b.over(lateLink{b.real, c.order.Member, &onWay})
			if c.order.Args == nil {
				c.order.Args = b.place(deg(-45, -60))
			}
			ended := make(chan error, 1)
			go func() { ended <- b.put(c.order.Member, c.order.Args) }()
			if !b.until(10*time.Second, func() bool { return onWay.Load() > 0 }) {
				t.Fatal("not on its way")
			}
			if err := b.put(c.stop.Member, c.stop.Args); err != nil {
				t.Fatal(err)
			}
			<-ended
			if s := b.sim.State(); s.Slewing || s.ByHand {
				t.Errorf("slews: %v, by hand: %v, after the stop was answered", s.Slewing, s.ByHand)
			}
		})
	}
}

// lateLegs is a link on which the watch's own slews come to the mount late.
type lateLegs struct {
	mount.Telescope
	onWay *atomic.Int32
}

func (l lateLegs) Slew(ctx context.Context, to sky.Equatorial, side *axes.Side) error {
	l.onWay.Add(1)
	time.Sleep(300 * time.Millisecond)
	return l.Telescope.Slew(context.WithoutCancel(ctx), to, side)
}

// So it is behind a leg of a way over waypoints; and one that has not been sent yet is not sent any more.
func TestStopEndsALegOnItsWay(t *testing.T) {
	t.Parallel()
	var onWay atomic.Int32
	b := newBenchBehind(t, roundFrom, Options{Around: true}, nil, func(_ *bench, tel mount.Telescope) mount.Telescope { return lateLegs{tel, &onWay} })
	if err := b.put("slewtocoordinatesasync", b.place(roundTo)); err != nil {
		t.Fatal(err)
	}
	if !b.until(10*time.Second, func() bool { return onWay.Load() > 0 }) {
		t.Fatal("no leg")
	}
	if err := b.put("abortslew", nil); err != nil {
		t.Fatal(err)
	}
	if b.sim.State().Slewing {
		t.Error("slews after the abort was answered")
	}
	if !b.until(10*time.Second, func() bool { return atRest(b.sim.State()) }) {
		t.Fatal("does not come to rest")
	}
	at := b.sim.State().Believed
	look := b.w.Status().At
	b.until(10*time.Second, func() bool { return b.w.Status().At.Sub(look) > time.Second })
	if s := b.sim.State(); math.Hypot(s.Believed.RA-at.RA, s.Believed.Dec-at.Dec) > axes.Rad(0.5) || b.w.Status().OnWay || onWay.Load() != 1 {
		t.Errorf("went on from %v to %v, %d legs", at, s.Believed, onWay.Load())
	}
}

// Stops that clients send in a row go on each by itself, and cost the mount no look each: the watch looks at the first at once, and at
// the others together.
func TestManyStopsCostFewLooks(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(60, 45), Options{}, func(o *watch.Options) { o.Period = time.Second })
	k := &came{Device: &table{}}
	b.over(k)
	stop := alpaca.Put("moveaxis", alpaca.Args{"Axis": 0, "Rate": 0.0})
	look := b.w.Status().At
	if !b.until(5*time.Second, func() bool { return b.w.Status().At.After(look) }) { // the next is a second away
		t.Fatal("no look")
	}
	from := b.w.Status()
	if err := b.put(stop.Member, stop.Args); err != nil {
		t.Fatal(err)
	}
	if !b.until(5*time.Second, func() bool { return b.w.Status().Counts.Steps > from.Counts.Steps }) {
		t.Error("no look at the first one")
	}
	for range 100 {
		if err := b.put(stop.Member, stop.Args); err != nil {
			t.Fatal(err)
		}
	}
	s := b.w.Status()
	took := s.At.Sub(from.At)
	most := 3 + int64(took/(250*time.Millisecond)) + int64(took/time.Second)
	if n := s.Counts.Steps - from.Counts.Steps; n > most || most > 50 || k.of(stop) != 101 {
		t.Errorf("%d stops, %d looks in %v", k.of(stop), n, took)
	}
}
