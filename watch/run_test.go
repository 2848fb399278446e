package watch

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/room"
)

// live is a toy whose clock is the computer's.
type live struct {
	mu sync.Mutex
	*toy
}

func (l *live) now() func() {
	l.mu.Lock()
	l.clk.Advance(time.Since(l.clk.Now()))
	return l.mu.Unlock
}

func (l *live) Read(ctx context.Context) (mount.Reading, error) {
	defer l.now()()
	return l.toy.Read(context.WithoutCancel(ctx))
}

func (l *live) Abort(ctx context.Context) error { defer l.now()(); return l.toy.Abort(ctx) }

func (l *live) ZeroRates(ctx context.Context) error { defer l.now()(); return l.toy.ZeroRates(ctx) }

func (l *live) SetTracking(ctx context.Context, on bool) error {
	defer l.now()()
	return l.toy.SetTracking(ctx, on)
}

// On the computer's own clock, with others asking at the same time; the owner's stop does not wait for the next period.
func TestRunLive(t *testing.T) {
	t.Parallel()
	m := theMap(t)
	y := &live{toy: newToy(t, m, deg(80, 45), NewVirtual(time.Now().Round(0)))}
	y.delay = 0
	print := m.Gauge().Model.Rig.Fingerprint()
	w, err := New(t.Context(), m, y, Options{LockDir: t.TempDir(), Blind: AlarmBlind, Setup: confirmed,
		Fingerprint: func() (string, error) { return print, nil }, Period: 3 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	ctx, cancel := context.WithCancel(t.Context())
	var all sync.WaitGroup
	all.Go(func() { w.Run(ctx) })
	for range 3 {
		all.Go(func() {
			for ctx.Err() == nil {
				_ = w.Status()
				_, _ = w.AdmitSlew(y.site.Sun(time.Now()), nil)
				_ = w.Events(0)
				time.Sleep(5 * time.Millisecond)
			}
		})
	}
	time.Sleep(300 * time.Millisecond)
	if err := w.ConfirmReference(axes.West); err != nil {
		t.Error(err)
	}
	w.Stop()
	time.Sleep(300 * time.Millisecond)
	if s := w.Status(); s.Rung != Stopping {
		t.Errorf("%s", s.Rung)
	}
	cancel()
	all.Wait()
	if y.tracking {
		t.Error("tracks on")
	}
	if e := w.Events(0); e[len(e)-1].Key != "end" {
		t.Errorf("%+v", e[len(e)-1])
	}
}

// With the rig's own files: refused until the set-up is confirmed for this night, and blind once the document changes.
func TestFiles(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("testdata", "pier.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "mine.yaml")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := rig.Load(path)
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
	m, err := room.NewMap(t.Context(), g, room.MapOptions{CellDeg: 4, Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	clk := NewVirtual(evening)
	b := &bench{toy: newToy(t, m, deg(80, 45), clk)}
	b.tracking = false
	o := Options{Clock: clk, LockDir: t.TempDir()}
	if _, err := New(t.Context(), m, b.toy, o); err == nil {
		t.Fatal("watches with a set-up that nobody has confirmed")
	}
	night, err := r.Site.Evening(evening)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Confirm(night, nil, r.SetupList(nil), evening); err != nil {
		t.Fatal(err)
	}
	if b.w, err = New(t.Context(), m, b.toy, o); err != nil {
		t.Fatal(err)
	}
	defer b.w.Close()
	b.steps(2)
	if seen(b, BlindSetup) || seen(b, BlindFingerprint) {
		t.Errorf("%v", b.w.Status().BlindWhy)
	}
	if err := os.WriteFile(path, append(data, "margin_mm: 5\n"...), 0o644); err != nil {
		t.Fatal(err)
	}
	b.clk.Advance(lookEvery)
	b.steps(1)
	if !seen(b, BlindFingerprint) {
		t.Errorf("a document that cannot be read is as good as ever: %v", b.w.Status().Blind)
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	b.clk.Advance(20 * time.Hour)
	b.steps(1)
	if seen(b, BlindFingerprint) || !seen(b, BlindSetup) {
		t.Errorf("the next afternoon, with last night's set-up: %v", b.w.Status().Blind)
	}
}

func BenchmarkStepTracking(b *testing.B) {
	w := ready(b, deg(-90, 30), nil)
	for b.Loop() {
		w.w.Step(context.Background())
		w.clk.Advance(time.Second)
	}
}
