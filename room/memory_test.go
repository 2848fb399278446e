package room

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
)

// What was asked before makes an answer quicker, and changes nothing of it, not its last digit.
func TestGapRemembersNothing(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	for _, file := range examples(t) {
		g := exampleGauge(t, file, rig.RSS)
		s := g.NewScratch()
		for range 40 {
			ax := axes.Angles{RA: axes.Rad(rnd.Float64()*360 - 180), Dec: axes.Rad(rnd.Float64()*360 - 180)}
			want := g.Gap(ax, g.NewScratch())
			for range 20 {
				s.last = rnd.Int32N(int32(g.Pairs()) + 20) // as after a gauge with more pairs too
				if got := g.Gap(ax, s); got != want {
					t.Fatalf("%s at %.17g, %.17g after pair %d: %+v, and alone %+v", filepath.Base(file), ax.RA, ax.Dec, s.last, got, want)
				}
			}
		}
	}
}

// At a pose that is no number nothing is clear, whatever is asked.
func TestNoNumberIsNotClear(t *testing.T) {
	g := exampleGauge(t, terrace, rig.RSS)
	s := g.NewScratch()
	for _, ax := range []axes.Angles{{RA: math.NaN()}, {Dec: math.NaN()}, {RA: math.Inf(1)}} {
		if gap := g.Gap(ax, s); gap.Lower > 0 {
			t.Errorf("%v: gap %+v", ax, gap)
		}
		if p, left := g.Tightest(ax, s, 0, func(int, int) float64 { return 0 }); left > 0 {
			t.Errorf("%v: %+v leaves %g mm", ax, p, left)
		}
		if g.Free(ax, s) {
			t.Errorf("%v is free", ax)
		}
	}
}
