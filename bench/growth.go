package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/solid"
)

// growth times maps of example (a) with ever smaller cells and with ever more parts.
func growth() error {
	r, err := rig.Load(terrace)
	if err != nil {
		return err
	}
	asm, err := r.Assemble(nil)
	if err != nil {
		return err
	}
	if err := growthWithCell(r, asm); err != nil {
		return err
	}
	fmt.Println()
	return growthWithParts(r, asm)
}

func growthWithCell(r *rig.Rig, asm *rig.Assembly) error {
	g, err := gaugeFrom(r, asm)
	if err != nil {
		return err
	}
	fmt.Printf("growth with the cell size: %s, %d parts\n", terrace, len(asm.Parts))
	fmt.Printf("  %10s %10s %10s %10s\n", "cell °", "leaves", "ms", "ns/leaf")
	var cells, leaves, times []float64
	for _, cell := range []float64{1, 0.5, 0.25, 0.1, 0.05} {
		m, err := timeMap(g, cell, 15)
		if err != nil {
			return err
		}
		fmt.Printf("  %10.4f %10d %10.1f %10.0f\n", m.cellDeg, m.leaves, ms(m.took), float64(m.took.Nanoseconds())/float64(m.leaves))
		cells, leaves, times = append(cells, 1/m.cellDeg), append(leaves, float64(m.leaves)), append(times, ms(m.took))
	}
	fine := len(cells) - 3
	fmt.Printf("  time ∝ leaves^%.2f (the three finest ^%.2f), time ∝ (1/cell)^%.2f (^%.2f), leaves ∝ (1/cell)^%.2f (^%.2f); 1 is linear in the border's length\n",
		exponent(leaves, times), exponent(leaves[fine:], times[fine:]), exponent(cells, times), exponent(cells[fine:], times[fine:]),
		exponent(cells, leaves), exponent(cells[fine:], leaves[fine:]))
	return nil
}

func growthWithParts(r *rig.Rig, asm *rig.Assembly) error {
	fmt.Printf("growth with the number of parts: %s, cell 0.25°\n", terrace)
	fmt.Printf("  %10s %10s %10s %10s %10s %10s\n", "parts", "pairs", "free %", "leaves", "ms", "ns/leaf")
	var parts, pairs, times, perLeaf []float64
	for _, n := range []int{10, 20, len(asm.Parts), 50, 100, 200, 300} {
		g, err := gaugeFrom(r, withParts(asm, n))
		if err != nil {
			return err
		}
		m, err := timeMap(g, 0.25, 15)
		if err != nil {
			return err
		}
		each := float64(m.took.Nanoseconds()) / float64(m.leaves)
		fmt.Printf("  %10d %10d %10.1f %10d %10.1f %10.0f\n", n, g.Pairs(), 100*m.free, m.leaves, ms(m.took), each)
		parts, pairs = append(parts, float64(n)), append(pairs, float64(g.Pairs()))
		times, perLeaf = append(times, ms(m.took)), append(perLeaf, each)
	}
	fmt.Printf("  time ∝ parts^%.2f, time ∝ pairs^%.2f, time per leaf ∝ parts^%.2f\n", exponent(parts, times), exponent(pairs, times), exponent(parts, perLeaf))
	return nil
}

func gaugeFrom(r *rig.Rig, asm *rig.Assembly) (*room.Gauge, error) {
	m, err := axes.FromAssembly(r, asm)
	if err != nil {
		return nil, err
	}
	return room.NewGauge(m, room.Options{Mode: rig.RSS})
}

// withParts returns example (a) with n parts. Fewer than it has: every k-th is kept. More: generated ones are added by turns to the
// ground and to the tube, without tolerances.
func withParts(asm *rig.Assembly, n int) *rig.Assembly {
	out := *asm
	out.Parts = nil
	number := make([]int, len(asm.Parts))
	for i := range asm.Parts {
		number[i] = -1
		if k := len(asm.Parts); n >= k || i*n/k != (i-1)*n/k || i == 0 {
			number[i] = len(out.Parts)
			out.Parts = append(out.Parts, asm.Parts[i])
		}
	}
	out.Joined, out.Turning = renumber(asm.Joined, number), renumber(asm.Turning, number)
	rnd := rand.New(rand.NewPCG(3, 4))
	for len(out.Parts) < n {
		frame := rig.Ground
		if len(out.Parts)%2 == 0 {
			frame = rig.TubeFrame
		}
		out.Parts = append(out.Parts, generated(rnd, frame))
	}
	return &out
}

func renumber(pairs [][2]int, number []int) [][2]int {
	var out [][2]int
	for _, p := range pairs {
		if a, b := number[p[0]], number[p[1]]; a >= 0 && b >= 0 {
			out = append(out, [2]int{a, b})
		}
	}
	return slices.Clip(out)
}

// generated draws a small part, 10 to 60 mm, box or cylinder by turns: on the ground a fitting within the spread of the legs, up to
// 700 mm high and at most 300 mm from the centre line; on the tube a knob or a box on its upper half, from −350 to 450 mm.
func generated(rnd *rand.Rand, frame rig.Frame) rig.Part {
	between := func(a, b float64) float64 { return a + (b-a)*rnd.Float64() }
	p := rig.Part{Name: "generated", Frame: frame, From: "generated", Shape: rig.Box}
	p.SizeMM = []float64{between(10, 60), between(10, 60), between(10, 60)}
	if rnd.IntN(2) == 0 {
		p.Shape, p.SizeMM = rig.Cylinder, p.SizeMM[:2]
	}
	s, c := math.Sincos(between(0, 2*math.Pi))
	at := [3]float64{}
	if frame == rig.Ground {
		ρ := between(0, 300)
		at = [3]float64{ρ * c, ρ * s, between(0, 700)}
	} else {
		// The tube's axis runs along z of its frame, 302 mm from the declination axis; its radius is 58 mm.
		at = [3]float64{302 + 80*math.Abs(s), 80 * c, between(-350, 450)}
	}
	p.Place = solid.Pose{R: [9]float64{c, -s, 0, s, c, 0, 0, 0, 1}}.Place()
	p.Place[3], p.Place[7], p.Place[11] = at[0], at[1], at[2]
	return p
}

// exponent fits y ∝ x^k by least squares in the logarithms.
func exponent(x, y []float64) float64 {
	var sx, sy, sxx, sxy float64
	for i := range x {
		a, b := math.Log(x[i]), math.Log(y[i])
		sx, sy, sxx, sxy = sx+a, sy+b, sxx+a*a, sxy+a*b
	}
	n := float64(len(x))
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}
