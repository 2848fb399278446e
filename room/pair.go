package room

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// pair is two parts of different frames that must stay apart. moving stands further out in the chain ground/polar, arm,
// tube than fixed, and what moves it against fixed is the RA axis, the declination axis, or both.
type pair struct {
	fixed, moving int
	byRA, byDec   bool
	allowance     float64 // what the tolerances take off the gap, mm
	need          float64 // margin + allowance, mm: the lower bound that makes the pair free
	radius        float64 // sum of the two bounding radii about the parts' centres, mm
}

// rank orders frames from the ground outwards; ground and polar count as one.
func rank(f rig.Frame) int {
	switch f {
	case rig.Arm:
		return 1
	case rig.TubeFrame:
		return 2
	}
	return 0
}

// pairs lists every pair of the model that must stay apart, with its allowance: parts of different frames, less what is joined by
// construction and what turns without its gap ever changing.
func pairs(m *axes.Model, margin float64, mode rig.ToleranceMode) []pair {
	joined := map[[2]int]bool{}
	for _, j := range slices.Concat(m.Assembly.Joined, m.Assembly.Turning) {
		joined[[2]int{min(j[0], j[1]), max(j[0], j[1])}] = true
	}
	var out []pair
	for i := range m.Parts {
		for j := range m.Parts {
			a, b := &m.Parts[i], &m.Parts[j]
			if rank(a.Frame) >= rank(b.Frame) || joined[[2]int{min(i, j), max(i, j)}] {
				continue
			}
			allowance := rig.Allowance(m.Rig.Shares(m.Assembly, a.Rig, b.Rig), mode)
			out = append(out, pair{
				fixed: i, moving: j,
				byRA:      rank(a.Frame) == 0,
				byDec:     rank(b.Frame) == 2,
				allowance: allowance,
				need:      (margin + allowance) * (1 + 1e-12),
				radius:    boundingRadius(a) + boundingRadius(b),
			})
		}
	}
	return out
}

// boundingRadius bounds the distance of a part's points from its centre.
func boundingRadius(p *axes.Part) float64 {
	at := p.Solid.At(solid.Identity())
	s, e, r := at.OuterCapsule()
	c := at.Centre()
	return (math.Max(r3.Norm(r3.Sub(s, c)), r3.Norm(r3.Sub(e, c))) + r) * (1 + 1e-12)
}

// Options says what counts as free.
type Options struct {
	Mode     rig.ToleranceMode // RSS when empty
	MarginMM float64           // the document's when 0 or less
}

// Gauge answers for the gaps of a model. It is immutable and safe for use from several goroutines.
type Gauge struct {
	Model    *axes.Model
	Mode     rig.ToleranceMode
	MarginMM float64

	pairs        []pair
	maxAllowance float64
	zero         axes.Angles
	fault        fault
}

// fault is a guard of the proof taken away on purpose, so that tests show that it is missed. It is none outside tests.
type fault uint8

const (
	none fault = iota
	boundFromAbove
	motionHalved
)

// NewGauge prepares a model for questions about gaps.
func NewGauge(m *axes.Model, o Options) (*Gauge, error) {
	switch o.Mode {
	case "":
		o.Mode = rig.RSS
	case rig.RSS, rig.Worst, rig.None:
	default:
		return nil, fmt.Errorf("tolerance %q: give rss, worst or none", string(o.Mode))
	}
	if o.MarginMM <= 0 {
		o.MarginMM = m.Rig.MarginMM.Value
	}
	if !(o.MarginMM >= 0) || math.IsInf(o.MarginMM, 0) {
		return nil, fmt.Errorf("margin %v mm: give a length of 0 mm or more", o.MarginMM)
	}
	g := &Gauge{Model: m, Mode: o.Mode, MarginMM: o.MarginMM, pairs: pairs(m, o.MarginMM, o.Mode), zero: m.Zero()}
	for i := range g.pairs {
		g.maxAllowance = math.Max(g.maxAllowance, g.pairs[i].allowance)
	}
	return g, nil
}

// Pairs is how many pairs of parts the gauge keeps apart.
func (g *Gauge) Pairs() int { return len(g.pairs) }

// MaxAllowance is the most that the tolerances take off any pair's gap, mm.
func (g *Gauge) MaxAllowance() float64 { return g.maxAllowance }

// at is one centre pose with the parts placed as they are asked for.
type at struct {
	polar, arm, tube solid.Pose
	o, p, a          r3.Vec // crossing, polar axis, declination axis, world
	placed           []solid.Placed
	done             []uint32 // placed[i] holds for this pose when done[i] == turn
	turn             uint32
}

func newAt(n int) *at {
	return &at{placed: make([]solid.Placed, n), done: make([]uint32, n)}
}

// set moves to the pose (ra, dec).
func (t *at) set(g *Gauge, ra, dec float64) {
	h := &g.Model.Head
	real := axes.Angles{RA: ra + g.zero.RA, Dec: dec + g.zero.Dec}
	t.arm = h.ArmFrame(real.RA)
	t.tube = h.TubeFrameOn(t.arm, real.Dec)
	t.a = r3.Vec{X: t.arm.R[0], Y: t.arm.R[3], Z: t.arm.R[6]}
	t.turn++
}

// fix places the parts that never move, once.
func (t *at) fix(g *Gauge) {
	h := &g.Model.Head
	t.polar, t.o, t.p = h.PolarFrame(), h.Crossing, h.P
	for i := range g.Model.Parts {
		p := &g.Model.Parts[i]
		switch p.Frame {
		case rig.Ground:
			t.placed[i] = p.Solid.At(p.Place)
		case rig.Polar:
			t.placed[i] = p.Solid.At(t.polar.Mul(p.Place))
		}
	}
}

// centre returns the centre of part i at this pose, which need not be placed for it.
func (t *at) centre(g *Gauge, i int) r3.Vec {
	p := &g.Model.Parts[i]
	switch p.Frame {
	case rig.Arm:
		return t.arm.Apply(p.Place.T)
	case rig.TubeFrame:
		return t.tube.Apply(p.Place.T)
	}
	return t.placed[i].Centre()
}

// part returns part i where it is at this pose.
func (t *at) part(g *Gauge, i int) *solid.Placed {
	p := &g.Model.Parts[i]
	switch p.Frame {
	case rig.Arm:
		if t.done[i] != t.turn {
			place := t.arm.Mul(p.Place)
			p.Solid.Put(&place, &t.placed[i])
			t.done[i] = t.turn
		}
	case rig.TubeFrame:
		if t.done[i] != t.turn {
			place := t.tube.Mul(p.Place)
			p.Solid.Put(&place, &t.placed[i])
			t.done[i] = t.turn
		}
	}
	return &t.placed[i]
}
