package room

import (
	"math"
	"math/rand/v2"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// A ball about the crossing is as far from what the axes carry round it at every pose: the gap is the difference of the radii.
func TestCrowdsEverywhere(t *testing.T) {
	for _, diameter := range []float64{380, 440} { // 250 mm from the crossing, less 20 mm and its half: 40 or 10 mm
		g := gaugeFor(t, made(t, 50, ball("boulder", rig.Ground, diameter, 0, 0, 1500), ball("knob", rig.TubeFrame, 40, 0, 0, 250), tail()))
		got := g.Crowds()
		if diameter == 380 {
			if len(got) != 0 {
				t.Errorf("%v: 40 mm everywhere, and %+v", diameter, got)
			}
			continue
		}
		if len(got) != 1 || got[0].A != "boulder" || got[0].B != "knob" || got[0].Share < 1-1e-12 || math.Abs(got[0].Most-10) > 1e-3 {
			t.Errorf("%v: %+v", diameter, got)
		}
	}
}

// Over part of the sky, a pair's share is that of random directions above the horizon at which it has too little room; what one pair
// takes alone is told of the other one only where it takes more.
func TestCrowdsShare(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	m := made(t, 50, slab("wall", rig.Ground, 1000, 4000, 4000, 1010, 0, 2000), slab("fence", rig.Ground, 100, 4000, 4000, 660, 0, 2000), tail())
	g := gaugeFor(t, m)
	got := g.Crowds()
	if len(got) != 1 || got[0].A != "wall" {
		t.Fatalf("the fence stands within the wall: %+v", got)
	}
	s, sky := g.NewScratch(), newSky(m)
	n, near := 0, 0
	for n < 20000 {
		h, d := (2*rnd.Float64()-1)*math.Pi, math.Asin(2*rnd.Float64()-1)
		if !sky.isUp(h, d) {
			continue
		}
		n++
		side := axes.West
		if n%2 == 0 {
			side = axes.East
		}
		if g.Gap(m.Head.Angles(axes.Pose{Side: side, HourAngle: h, Dec: d}), s).Lower < g.MarginMM {
			near++
		}
	}
	want := float64(near) / float64(n)
	if want < 0.05 || want > 0.95 || math.Abs(got[0].Share-want) > 0.02 { // 4 σ of the draw, and the grid's own
		t.Errorf("share %.3f, of random directions %.3f", got[0].Share, want)
	}
}
