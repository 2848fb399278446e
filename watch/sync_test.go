package watch

import (
	"math/rand/v2"
	"testing"
	"time"

	"legroom/axes"
)

// The syncs that are let through are summed up, signed for each axis, until the owner has looked: what comes to more than a single one
// may be is refused, however small the last one was.
func TestSyncsAddUp(t *testing.T) {
	var at axes.Angles
	by := func(b *bench, ra, dec float64) error {
		return b.w.AdmitSync(b.placeOf(axes.Angles{RA: at.RA + axes.Rad(ra), Dec: at.Dec + axes.Rad(dec)}))
	}
	b := ready(t, deg(60, 45), nil)
	at = b.at
	for i, c := range []struct {
		ra, dec float64
		took    bool
		let     bool
	}{
		{0.3, 0, true, true}, {0.3, 0, true, true}, {0.3, 0, true, true}, {0.2, 0, true, false}, // 1.1°
		{-0.4, 0, true, true}, {0.3, 0, false, true}, {0.3, 0, false, true}, {0.4, 0, true, true}, // two were not taken: 0.9°
		{0, 0.6, true, false}, {0, 0.3, true, true}, {0, -0.6, true, true}, {0.2, 0, true, false},
	} {
		if err := by(b, c.ra, c.dec); (err == nil) != c.let || !c.let && key(err) != "room" {
			t.Errorf("sync %d by %v°, %v°: %v", i, c.ra, c.dec, err)
		}
		if c.let {
			b.w.SyncTaken(c.took)
		}
	}
	if err := b.w.ConfirmReference(axes.West); err != nil {
		t.Fatal(err)
	}
	if err := by(b, 0.9, 0); err != nil {
		t.Errorf("confirmed: %v", err)
	}
	// Nobody knows whether the mount took that: the sum is 0° or 0.9°.
	if err := by(b, 0.2, 0); key(err) != "room" {
		t.Errorf("1.1° if it took the one before: %v", err)
	}
	if err := by(b, -0.9, 0); err != nil {
		t.Errorf("0° or -0.9°: %v", err)
	}
	b.w.SyncTaken(true)
	if err := by(b, -0.2, 0); key(err) != "room" {
		t.Errorf("-1.1° if it did not take the one before: %v", err)
	}
}

// A night of many small corrections about where the mount points passes, as long as what they come to stays small.
func TestManySmallSyncs(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	b.clk.Advance(500 * time.Millisecond) // since the look
	b.run()
	at := b.at
	seed := uint64(time.Now().UnixNano())
	luck := rand.New(rand.NewPCG(seed, 0))
	var off axes.Angles // of the place, from where it was confirmed
	for i := range 300 {
		to := axes.Angles{RA: axes.Rad(0.6 * (2*luck.Float64() - 1)), Dec: axes.Rad(0.6 * (2*luck.Float64() - 1))}
		if err := b.w.AdmitSync(b.placeOf(axes.Angles{RA: at.RA + to.RA - off.RA, Dec: at.Dec + to.Dec - off.Dec})); key(err) != "" && err != nil {
			// By more than a degree at once, from one end to the other, is no correction.
			if d := to.RA - off.RA; max(d, -d, to.Dec-off.Dec, off.Dec-to.Dec) < axes.Rad(0.99) {
				t.Fatalf("seed %d: sync %d from %v to %v: %v", seed, i, off, to, err)
			}
			continue
		}
		b.w.SyncTaken(true)
		off = to
	}
}
