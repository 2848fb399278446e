package sim

import (
	"errors"
	"fmt"
	"math/rand/v2"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Each thing that is drawn has a stream of its own, so that one does not change the others.
const (
	streamRig = iota + 1
	streamHabits
	streamSlews
	streamFaults
)

func stream(seed, n uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, n)) }

// drawTries bounds how often a rig is drawn anew that cannot stand as drawn.
const drawTries = 100

// drawTruth draws the rig as it really is: each measured length and angle from a normal distribution, of which the tolerance
// holds 95 of 100 and beyond which nothing is taken. It returns the gauge of that rig with no tolerances and no margin of its own.
func drawTruth(r *rig.Rig, c rig.Conditions, rnd *rand.Rand) (*room.Gauge, error) {
	var last error
	for range drawTries {
		drawn := r.Clone()
		for i, q := range drawn.Quantities {
			if q.Unit == "mm" || q.Unit == "deg" {
				q.Value = draw(r.Quantities[i], rnd)
			}
		}
		g, err := exact(drawn, c)
		if err == nil && !(g.Gap(axes.Angles{}, g.NewScratch()).Nearest.Gap > 0) {
			err = errors.New("parts touch counterweight-down at the pole")
		}
		if err == nil {
			return g, nil
		}
		last = err
	}
	return nil, fmt.Errorf("%s: no rig within the tolerances could be drawn in %d tries: %w", r.Name, drawTries, last)
}

// draw gives a value within the tolerance. What is more than nothing stays so.
func draw(q *rig.Quantity, rnd *rand.Rand) float64 {
	const in95 = 1.959964 // standard deviations
	for {
		d := rnd.NormFloat64() / in95
		if d < -1 || d > 1 {
			continue
		}
		if x := q.Value + d*q.Tol; q.Value <= 0 || x > 0 {
			return x
		}
	}
}

// exact is the gauge of a rig that is what it is.
func exact(r *rig.Rig, c rig.Conditions) (*room.Gauge, error) {
	m, err := axes.NewModel(r, c)
	if err != nil {
		return nil, err
	}
	return room.NewGauge(m, room.Options{Mode: rig.None})
}
