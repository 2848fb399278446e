package change

import (
	"math"
	"math/rand/v2"
	"testing"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// No used pose has a smaller gap than the bound of the tightest, against a fine walk along the track, for heads on and off the pole and
// declinations near it: there the RA axis turns many times as fast as the sky.
func TestWorstIsABoundOffThePole(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 4))
	t.Log("seed 4")
	files := []string{"../examples/terrace-long-refractor.yaml", "../examples/karoo-newtonian.yaml", "../examples/balcony-strain-wave.yaml"}
	tight := 0
	for k := range 60 {
		r, err := rig.Load(files[k%3])
		if err != nil {
			t.Fatal(err)
		}
		if k%4 != 0 {
			r.Mount.PolarAxis.AzimuthErrorDeg.Value = (rnd.Float64()*2 - 1) * []float64{1, 4, 15}[rnd.IntN(3)]
			if rnd.IntN(2) == 0 {
				r.Mount.PolarAxis.AltitudeDeg.Value += rnd.Float64()*6 - 3
			}
		}
		m, err := axes.NewModel(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := room.NewGauge(m, room.Options{Mode: rig.None})
		if err != nil {
			t.Fatal(err)
		}
		// As far from the pole as the head's own axis, give or take a little: there it goes fastest.
		near := m.Head.Misalignment()*(1+0.1*rnd.NormFloat64()) + axes.Rad(0.01)
		if rnd.IntN(4) == 0 {
			near = axes.Rad(30 * rnd.Float64())
		}
		dec := axes.Hemisphere(m.Head.Latitude) * (math.Pi/2 - math.Abs(near))
		w := worstOf(g, dec, []room.Interval{{From: -math.Pi, To: math.Pi}})
		s := g.NewScratch()
		for i := range 1500 {
			H := math.Pi * ((float64(i)+0.5)/750 - 1)
			side := axes.West
			if H > 0 {
				side = axes.East
			}
			gap := g.Gap(m.Head.Angles(axes.Pose{Side: side, HourAngle: H, Dec: dec}), s).Nearest.Gap
			if gap < w.Lower-2e-3 {
				t.Fatalf("%s, %v° off the pole, declination %v°: at hour angle %v° the gap is %v mm, below the bound of %v", files[k%3],
					axes.Deg(m.Head.Misalignment()), axes.Deg(dec), axes.Deg(H), gap, w.Lower)
			}
		}
		if w.Gap-w.Lower < worstWithin+1e-2 {
			tight++
		}
	}
	if tight < 50 {
		t.Errorf("only %d of 60 bounds are within %v mm", tight, worstWithin)
	}
}

// A target that passes through the head's own pole has a bound too: there the RA axis may stand anywhere.
func TestWorstThroughTheHeadsPole(t *testing.T) {
	r, err := rig.Load("../examples/terrace-long-refractor.yaml")
	if err != nil {
		t.Fatal(err)
	}
	r.Mount.PolarAxis.AltitudeDeg.Value += 2
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := room.NewGauge(m, room.Options{Mode: rig.None})
	if err != nil {
		t.Fatal(err)
	}
	w := worstOf(g, math.Pi/2-m.Head.Misalignment(), []room.Interval{{From: -math.Pi, To: math.Pi}})
	s, least := g.NewScratch(), math.Inf(1)
	for i := range 720 {
		least = math.Min(least, g.Gap(axes.Angles{RA: axes.Rad(float64(i) / 2), Dec: 0}, s).Lower)
	}
	if !(w.Lower <= least+2e-3 || w.Lower >= w.Gap-worstWithin-1e-2) || w.Lower < least-30 {
		t.Errorf("bound %v mm, at the pole itself down to %v", w.Lower, least)
	}
}
