package main

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/sim"
	"legroom/rig"
	"legroom/room"
	"legroom/watch"
)

// An owner's program that takes longer than alarms come hears of each while the watch still knows them, and of the others that they were
// missed. It holds nobody up.
func TestToldThatSomeWereMissed(t *testing.T) {
	r, err := rig.Load("../../watch/testdata/pier.yaml")
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
	m, err := room.NewMap(t.Context(), g, room.MapOptions{CellDeg: 5, Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	clock := watch.NewVirtual(time.Date(2026, 11, 25, 19, 0, 0, 0, time.UTC))
	mount, err := sim.New(r, sim.Options{Seed: 1, Now: clock.Now, Parked: true})
	if err != nil {
		t.Fatal(err)
	}
	print := r.Fingerprint()
	w, err := watch.New(t.Context(), m, sim.NewLink(mount, clock, 0), watch.Options{Clock: clock, LockDir: t.TempDir(), Covered: true,
		Setup: func(time.Time) rig.Setup { return rig.Setup{Confirmed: true} }, Fingerprint: func() (string, error) { return print, nil }})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()

	var mu sync.Mutex
	var told []string
	var called atomic.Int32
	begin := make(chan struct{})
	hook := watch.Hook{Name: "bell", Do: func(_ context.Context, c watch.Call) error {
		called.Add(1)
		<-begin
		mu.Lock()
		defer mu.Unlock()
		told = append(told, c.Why)
		return nil
	}}
	heard := func(text string) (n int) {
		mu.Lock()
		defer mu.Unlock()
		for _, why := range told {
			if strings.Contains(why, text) {
				n++
			}
		}
		return n
	}
	ctx, end := context.WithCancel(t.Context())
	var all sync.WaitGroup
	p := &patrol{w: w}
	all.Go(func() { p.tell(ctx, []watch.Hook{hook}) })
	defer all.Wait()
	defer end()
	until := func(what string, ok func() bool) {
		t.Helper()
		for late := time.Now().Add(10 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
			if time.Now().After(late) {
				mu.Lock()
				defer mu.Unlock()
				t.Fatalf("%s: told %d: %q", what, len(told), told[max(0, len(told)-3):])
			}
		}
	}
	w.Tell("test", watch.Alarm, "the first")
	until("the program running", func() bool { return called.Load() == 1 })
	for i := range 200 { // more than a listener's buffer has room for
		w.Tell("test", watch.Alarm, fmt.Sprintf("alarm %d.", i))
	}
	close(begin)
	until("all of 200", func() bool { return heard("alarm 199.") == 1 })
	if heard("the first") != 1 || heard("alarm") != 200 || heard("missed") != 0 {
		t.Errorf("told: %d alarms", heard("alarm"))
	}

	mu.Lock() // the program hangs
	w.Tell("test", watch.Alarm, "the second")
	for called.Load() < 202 {
		time.Sleep(time.Millisecond)
	}
	for i := range 1500 { // more than the watch remembers
		w.Tell("test", watch.Alarm, fmt.Sprintf("later %d.", i))
	}
	mu.Unlock()
	until("the last", func() bool { return heard("later 1499.") == 1 })
	if heard("later 5.") != 0 || heard("missed") != 1 {
		t.Errorf("told of the missing %d times, and of what is not known any more %d times", heard("missed"), heard("later 5."))
	}
	for _, e := range w.Events(0) {
		if e.Key == "tell" && strings.Contains(e.Text, "missed") {
			return
		}
	}
	t.Error("the journal has no word of it")
}
