package watch

import (
	"context"
	"testing"
	"time"

	"legroom/mount"
)

// ending is a bench whose watch is told to end in the middle of the look that finds the owner's stop.
func ending(t *testing.T, f func(*Options, *toy)) *bench {
	b := ready(t, deg(60, 45), f)
	ctx, end := context.WithCancel(t.Context())
	b.w.Stop()
	change := b.change
	b.change = func(r *mount.Reading) {
		end()
		if change != nil {
			change(r)
		}
	}
	b.w.Run(ctx)
	return b
}

// The end of the watch takes no stop back: what a look decides is sent, though the watch was told to end meanwhile.
func TestEndedDuringStop(t *testing.T) {
	b := ending(t, nil)
	if s := b.w.Status(); b.tracking || s.Counts.ReadErrors > 0 || s.Rung != Stopped {
		t.Errorf("tracking %v, %s, %d errors", b.tracking, s.Rung, s.Counts.ReadErrors)
	}
}

// Nor does it leave a stop that has not worked yet; but a mount that does not obey keeps no watch from its end.
func TestEndedBeforeStopHolds(t *testing.T) {
	b := ending(t, func(_ *Options, y *toy) { y.restoreAfter = time.Second })
	b.run()
	if b.clk.Advance(10 * time.Second); b.tracking {
		t.Error("tracks again after the end of the watch")
	}
	from := time.Time{}
	b = ending(t, func(_ *Options, y *toy) { y.ignoreStops = true; from = y.clk.Now() })
	if took := b.clk.Now().Sub(from); b.offs < 3 || b.hooks == 0 || took > 30*time.Second {
		t.Errorf("%d offs, %d hooks in %v", b.offs, b.hooks, took)
	}
}

// A watch that ends with nothing to stop ends at once.
func TestEndedAtOnce(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	ctx, end := context.WithCancel(t.Context())
	end()
	from, steps := b.clk.Now(), b.w.Status().Counts.Steps
	b.w.Run(ctx)
	if s := b.w.Status(); s.Counts.Steps != steps || !b.clk.Now().Equal(from) || !b.tracking {
		t.Errorf("%d steps more in %v", s.Counts.Steps-steps, b.clk.Now().Sub(from))
	}
}

// slow is a clock that starts what stands beside the loop late.
type slow struct{ *Virtual }

func (s slow) Go(f func()) {
	go func() {
		time.Sleep(50 * time.Millisecond)
		f()
	}()
}

// A hook that was called is done, and in the journal, before the watch has ended: after that the program ends, and takes it along.
func TestEndedWithHook(t *testing.T) {
	b := ending(t, func(o *Options, y *toy) { o.Clock = slow{y.clk}; y.ignoreStops = true })
	told := 0
	for _, r := range b.records {
		if r.Command != nil && r.Command.Name == "hook relay" {
			told++
		}
	}
	if b.hooks == 0 || told != b.hooks || int64(told) != b.w.Status().Counts.Hooks {
		t.Errorf("%d hooks begun, %d done, %d in the journal", b.w.Status().Counts.Hooks, b.hooks, told)
	}
}
