package room

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

const terrace = "../examples/terrace-long-refractor.yaml"

func BenchmarkMap(b *testing.B) {
	for _, cell := range []float64{1, 0.5, 0.25, 0.1, 0.05} {
		b.Run(fmt.Sprintf("cell=%v", cell), func(b *testing.B) {
			g := exampleGauge(b, terrace, rig.RSS)
			for b.Loop() {
				if _, err := NewMap(context.Background(), g, MapOptions{CellDeg: cell, Workers: 1}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkGap(b *testing.B) {
	for _, file := range examples(b) {
		b.Run(filepath.Base(file), func(b *testing.B) { benchmarkGap(b, file) })
	}
}

func benchmarkGap(b *testing.B, file string) {
	g := exampleGauge(b, file, rig.None)
	s := g.NewScratch()
	rnd := rand.New(rand.NewPCG(1, 2))
	poses := make([]axes.Angles, 1024)
	for i := range poses {
		poses[i] = axes.Angles{RA: (rnd.Float64()*2 - 1) * math.Pi, Dec: (rnd.Float64()*2 - 1) * math.Pi}
	}
	i := 0
	for b.Loop() {
		g.Gap(poses[i&1023], s)
		i++
	}
}

func BenchmarkLimits(b *testing.B) {
	m := mapOf(b, exampleGauge(b, terrace, rig.RSS), 0.25)
	for b.Loop() {
		if _, err := m.Limits(context.Background(), LimitOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFirstContact(b *testing.B) {
	g := exampleGauge(b, terrace, rig.None)
	β := axes.Rad(53.1)
	for b.Loop() {
		g.FirstContact(0, math.Pi, β, β)
	}
}

func BenchmarkJoints(b *testing.B) {
	g := exampleGauge(b, terrace, rig.RSS)
	for b.Loop() {
		g.Joints()
	}
}

// One pose after the other a quarter of a degree on, as a map, a track and a slew ask.
func BenchmarkGapOnTheWay(b *testing.B) {
	g := exampleGauge(b, terrace, rig.None)
	s := g.NewScratch()
	i := 0
	for b.Loop() {
		g.Gap(axes.Angles{RA: axes.Rad(float64(i) / 4), Dec: axes.Rad(float64(i) / 10)}, s)
		i++
	}
}
