package report

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"legroom/axes"
	"legroom/room"
)

// TestSamplerSaysWhatTheGaugeSays: taken apart and put together again, the gauge still gives the least gap of every pair.
func TestSamplerSaysWhatTheGaugeSays(t *testing.T) {
	g := madeUpGauge(t)
	m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 2})
	if err != nil {
		t.Fatal(err)
	}
	const seed = 20260314
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	sample, s := MapSampler(m)(), g.NewScratch()
	for range 2000 {
		ax := axes.Angles{RA: math.Pi * (2*rng.Float64() - 1), Dec: math.Pi * (2*rng.Float64() - 1)}
		got, want := sample(ax), g.Gap(ax, s)
		// Bounds of one gap may differ by how they were found: 1e-3 mm at most.
		if math.Abs(got.GapMM-want.Lower) > 1e-3 || got.State != m.State(ax) || got.AcrossMM < got.GapMM {
			t.Fatalf("at %v: %+v, the gauge says %v, the map %v", ax, got, want.Lower, m.State(ax))
		}
	}
}

func TestGridLooksWhereItSays(t *testing.T) {
	m := madeUp(t)
	m.Travel.RATo = axes.Rad(120)
	g, err := NewGrid(context.Background(), &m.Head, m.Travel, axes.West, madeUpSampler, GridOptions{StepDeg: 2, Workers: 3})
	if err != nil {
		t.Fatal(err)
	}
	for j := range g.Rows {
		for i := range g.Columns {
			ax := m.Head.Angles(axes.Pose{Side: axes.West, HourAngle: g.HourAngle(i), Dec: g.Dec(j)})
			p := g.At(i, j)
			// West of the meridian beyond 30° the RA axis has ended, but a turn earlier it comes to −120° and below.
			if out := axes.Deg(ax.RA) > 120 && axes.Deg(ax.RA) < 180; p.Unreachable != out {
				t.Fatalf("RA axis %v°: unreachable is %v", axes.Deg(ax.RA), p.Unreachable)
			}
			if !p.Unreachable && p.AcrossMM != float32(madeUpGap(ax)) {
				t.Fatalf("gap at %v is %v, want %v", ax, p.AcrossMM, madeUpGap(ax))
			}
			if g.Near(g.HourAngle(i), g.Dec(j)) != p {
				t.Fatalf("the point nearest to its own centre is another: column %d, row %d", i, j)
			}
		}
	}
}

func TestGridStopsWhenAsked(t *testing.T) {
	m := madeUp(t)
	ctx, cancel := context.WithCancel(context.Background())
	_, err := NewGrid(ctx, &m.Head, m.Travel, axes.East, madeUpSampler, GridOptions{Progress: func(float64) { cancel() }})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("a cancelled grid gave %v", err)
	}
}
