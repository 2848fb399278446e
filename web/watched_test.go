package web

import (
	"context"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/sim"
	"legroom/rig"
	"legroom/room"
	"legroom/watch"
	"legroom/watch/journal"
)

// fastClock lets mount and watch live so many times as fast as this computer.
type fastClock struct {
	*sim.Clock
	factor float64
}

func (c fastClock) real(d time.Duration) time.Duration { return time.Duration(float64(d) / c.factor) }

func (c fastClock) Sleep(ctx context.Context, d time.Duration, wake <-chan struct{}) {
	watch.Real{}.Sleep(ctx, c.real(d), wake)
}

func (c fastClock) Timeout(ctx context.Context, d time.Duration) (context.Context, context.CancelFunc) {
	return context.WithTimeout(ctx, c.real(d))
}

func (c fastClock) Go(f func()) { go f() }

func (c fastClock) Spend(ctx context.Context, d time.Duration) bool {
	watch.Real{}.Sleep(ctx, c.real(d), nil)
	return ctx.Err() == nil
}

// watchedSim is a watch over a simulated mount that both live by one clock, and its loop on a goroutine that ends with the test.
type watchedSim struct {
	*Watched
	mount *sim.Mount
	clock fastClock
	end   func() // of the loop
}

// pierMap is proven once for all tests.
var pierMap = sync.OnceValues(func() (*room.Map, error) { return mapOf(pier) })

var pier = filepath.Join("..", "watch", "testdata", "pier.yaml")

func mapOf(file string) (*room.Map, error) {
	r, err := rig.Load(file)
	if err != nil {
		return nil, err
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		return nil, err
	}
	g, err := room.NewGauge(m, room.Options{})
	if err != nil {
		return nil, err
	}
	return room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 1})
}

// evening is in the dark at the pier's site.
var evening = time.Date(2026, 11, 25, 20, 0, 0, 0, time.UTC)

// newWatchedSim begins to watch a mount whose axes stand at such degrees, and tracks.
func newWatchedSim(t testing.TB, raDeg, decDeg, factor float64) *watchedSim {
	t.Helper()
	m, err := pierMap()
	if err != nil {
		t.Fatal(err)
	}
	return watchSim(t, m, raDeg, decDeg, factor)
}

// watchSim does so for the rig of a map.
func watchSim(t testing.TB, m *room.Map, raDeg, decDeg, factor float64) *watchedSim {
	t.Helper()
	c := fastClock{sim.NewClock(evening, factor), factor}
	at := axes.Angles{RA: axes.Rad(raDeg), Dec: axes.Rad(decDeg)}
	tel, err := sim.New(m.Gauge().Model.Rig, sim.Options{Seed: 7, Now: c.Now, At: &at})
	if err != nil {
		t.Fatal(err)
	}
	print := m.Gauge().Model.Rig.Fingerprint()
	w, err := watch.New(t.Context(), m, sim.NewLink(tel, c, time.Millisecond), watch.Options{Clock: c, LockDir: t.TempDir(),
		ReadDeadline: time.Duration(float64(time.Second) * max(1, factor)), CommandDeadline: time.Duration(float64(time.Second) * max(1, factor)),
		Setup:       func(time.Time) rig.Setup { return rig.Setup{Confirmed: true} },
		Fingerprint: func() (string, error) { return print, nil }})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); w.Run(ctx) }()
	s := &watchedSim{&Watched{Watch: w, Gauge: m.Gauge(), Journal: func() journal.Stats { return journal.Stats{Taken: 7} }}, tel, c, sync.OnceFunc(func() { cancel(); <-done })}
	t.Cleanup(func() {
		s.end()
		if err := w.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}
