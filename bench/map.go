package main

import (
	"context"
	"fmt"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// timedMap is a certified map with the time that it took.
type timedMap struct {
	took, median time.Duration // fastest, and median, of the runs
	leaves       int
	cellDeg      float64
	edge, free   float64 // shares of all poses
}

// timeMap proves a map runs times.
func timeMap(g *room.Gauge, cellDeg float64, runs int) (timedMap, error) {
	var all []time.Duration
	var m *room.Map
	for range runs {
		start := time.Now()
		var err error
		if m, err = room.NewMap(context.Background(), g, room.MapOptions{CellDeg: cellDeg, Workers: 1}); err != nil {
			return timedMap{}, err
		}
		all = append(all, time.Since(start))
	}
	out := timedMap{took: all[0], median: median(all), cellDeg: m.CellDeg(), edge: m.EdgeShare()}
	for _, d := range all {
		out.took = min(out.took, d)
	}
	m.Leaves(func(room.Rect, room.State) { out.leaves++ })
	const grid = 200
	for i := range grid * grid {
		ax := axes.Angles{RA: axes.Rad(float64(i%grid)*360/grid - 179.9), Dec: axes.Rad(float64(i/grid)*360/grid - 179.9)}
		if m.State(ax) == room.Free {
			out.free += 1.0 / (grid * grid)
		}
	}
	return out, nil
}

// fullMap times the certified map of example (a) at 0.25°.
func fullMap() error {
	fmt.Println("full certified map at 0.25°, one worker, tolerance rss")
	g, err := gaugeOf(terrace, rig.RSS)
	if err != nil {
		return err
	}
	m, err := timeMap(g, 0.25, 60)
	if err != nil {
		return err
	}
	fmt.Printf("  %s: median of 60 runs %.1f ms, fastest %.1f ms (target ≤ 50: %s, aim 16: %s), %d leaves, %.2f%% undecided\n",
		terrace, ms(m.median), ms(m.took), verdict(ms(m.median) <= 50), verdict(ms(m.median) <= 16), m.leaves, 100*m.edge)
	return nil
}
