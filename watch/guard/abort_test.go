package guard

import (
	"context"
	"math"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/alpaca"
	"legroom/mount/sim"
	"legroom/watch"
)

// atRest tells whether the axes turn no more than tracking does, or have almost come to rest: this mount, which brakes from
// 20°/s in a second, goes on from 0.5°/s by less than 0.01°.
func atRest(s sim.State) bool {
	return !s.Slewing && math.Abs(s.Rates[0]) <= axes.Rad(0.5) && math.Abs(s.Rates[1]) <= axes.Rad(0.5)
}

// A client that ends its own proven slew half-way, far from everything, gets that and no more: the axes that brake then are
// no reason for a stop of the watch's own, which would switch tracking off; and they are no slew that nobody has proven.
func TestAbortInAProvenSlew(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(60, 45), Options{}, nil)
	if err := b.put("slewtocoordinatesasync", b.place(deg(-45, -60))); err != nil {
		t.Fatal(err)
	}
	if !b.until(10*time.Second, func() bool { return b.sim.State().Believed.RA < axes.Rad(40) }) {
		t.Fatal("does not slew")
	}
	if err := b.put("abortslew", nil); err != nil {
		t.Fatal(err)
	}
	if r := b.sim.State().Rates; math.Hypot(r[0], r[1]) < axes.Rad(10) {
		t.Fatalf("brakes from %.1f°/s, %.1f°/s: that tries nothing", axes.Deg(r[0]), axes.Deg(r[1]))
	}
	if !b.until(10*time.Second, func() bool { return atRest(b.sim.State()) }) {
		t.Fatal("does not come to rest")
	}
	at := b.w.Status().At
	b.until(5*time.Second, func() bool {
		s := b.w.Status()
		return s.At.Sub(at) > time.Second && s.Sample.Motion != watch.Moves
	})
	s := b.w.Status()
	c := s.Counts
	if c.Stops != 0 || c.Unprotected != 0 || c.Slews != 1 || !b.sim.State().Tracking || s.Rung != watch.Watching {
		t.Errorf("%s: %+v, tracking %v: %s", s.Rung, s.Counts, b.sim.State().Tracking, s.Why)
	}
}

// What is to set the mount in motion just after an abort is proven from where the axes come to rest, and not from where they
// were seen to brake.
func TestSlewAfterAbortWaitsForRest(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(60, 45), Options{}, nil)
	k := &restKeeper{Device: b.real, b: b}
	b.over(k)
	for _, to := range []axes.Angles{deg(-45, -60), deg(70, 60), deg(20, 20)} {
		if err := b.put("slewtocoordinatesasync", b.place(to)); err != nil {
			t.Fatal(err)
		}
		time.Sleep(700 * time.Millisecond)
		if err := b.put("abortslew", nil); err != nil {
			t.Fatal(err)
		}
	}
	if k.came != 3 || k.moved != 0 {
		t.Errorf("%d slews came, %d of them while the axes were braking", k.came, k.moved)
	}
}

// restKeeper looks whether the axes are at rest when a slew comes.
type restKeeper struct {
	alpaca.Device
	b           *bench
	came, moved int
}

func (k *restKeeper) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if c.Put && c.Member == "slewtocoordinatesasync" {
		k.came++
		if !atRest(k.b.sim.State()) {
			k.moved++
		}
	}
	return k.Device.Call(ctx, c)
}
