package watch

import (
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// What made the owner's reference pose doubtful is not forgotten by a watch that begins again: it wants it confirmed anew.
func TestResumeKeepsDoubt(t *testing.T) {
	for _, c := range []struct {
		name  string
		doubt func(*bench)
		off   axes.Angles // what the mount says then, against where it stands
		why   Reason
	}{
		{"nothing", func(*bench) {}, axes.Angles{}, ""},
		{"power lost", func(b *bench) { b.broken = mount.ErrNotConnected; b.steps(1); b.broken = nil }, axes.Angles{}, BlindReference},
		{"long silence", func(b *bench) { b.silent = true; b.steps(14); b.silent = false }, axes.Angles{}, BlindReference},
		{"small syncs", func(b *bench) { b.sync.Dec = axes.Rad(0.6); b.steps(2); b.sync.Dec = axes.Rad(1.2) }, deg(0, 1.2), BlindJump},
		{"sync", func(b *bench) { b.sync.Dec = axes.Rad(1.2) }, deg(0, 1.2), BlindJump},
	} {
		b := ready(t, deg(80, 45), func(_ *Options, y *toy) { y.tracking = false })
		c.doubt(b)
		b.steps(3)
		if c.why != "" && !seen(b, c.why) {
			t.Fatalf("%s: %v", c.name, b.w.Status().Blind)
		}
		last := b.w.Status().Sample
		again := newBench(t, b.at, func(o *Options, y *toy) {
			y.tracking, y.sync, o.Resume = false, c.off, last
			y.clk.Advance(b.clk.Now().Sub(evening) + 20*time.Second)
		})
		again.steps(2)
		if blind := seen(again, BlindReference); blind != (c.why != "") {
			t.Errorf("%s: after a restart %v (side known by %q)", c.name, again.w.Status().BlindWhy, last.SideHow)
		}
	}
}
