package room

import (
	"errors"
	"fmt"
	"math"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// JointSlack is how much deeper than at rest the overlap of a joined pair may get, mm, before the joint no longer excuses it.
const JointSlack = 2

// ErrJoint says that a pair is called joined that the axes drive into each other.
var ErrJoint = errors.New("a joint does not hold")

// Joint is what becomes of a pair that is joined by construction when the axes turn.
type Joint struct {
	A, B    int     // indices in Model.Parts
	Rest    float64 // signed gap counterweight-down at the pole, mm; negative: the depth of the overlap
	Deepest float64 // a lower bound of the signed gap over all reachable poses, mm
	Holds   bool    // proven: never more than JointSlack deeper than at rest
	At      axes.Angles
}

// Joints looks at every joined pair over the travel of the axes.
func (g *Gauge) Joints() []Joint {
	v := newProver(g)
	var out []Joint
	for _, j := range g.Model.Assembly.Joined {
		a, b := j[0], j[1]
		if rank(g.Model.Parts[a].Frame) > rank(g.Model.Parts[b].Frame) {
			a, b = b, a
		}
		out = append(out, v.joint(a, b))
	}
	return out
}

// JointsHold returns an ErrJoint that names the first joined pair that does not hold, for nothing that leaves it out is proven then.
func (g *Gauge) JointsHold() error {
	for _, j := range g.Joints() {
		if !j.Holds {
			return fmt.Errorf("%w: %s and %s overlap by more than %d mm beyond what they do at rest, at RA axis %.1f°, declination axis %.1f°: split the part that turns in, or take the joint out",
				ErrJoint, g.Model.Parts[j.A].Name, g.Model.Parts[j.B].Name, JointSlack, axes.Deg(j.At.RA), axes.Deg(j.At.Dec))
		}
	}
	return nil
}

// TurningOverlaps lists the pairs of the assembly's Turning that overlap: they cannot, so that a length must be wrong.
func (g *Gauge) TurningOverlaps() []PairGap {
	s := g.NewScratch()
	s.at.set(g, 0, 0)
	var out []PairGap
	for _, t := range g.Model.Assembly.Turning {
		p := pair{fixed: t[0], moving: t[1]}
		if rank(g.Model.Parts[p.fixed].Frame) > rank(g.Model.Parts[p.moving].Frame) {
			p.fixed, p.moving = p.moving, p.fixed
		}
		if d := g.measure(&p, s.at); d.Upper < 0 {
			out = append(out, d)
		}
	}
	return out
}

// Unseen is a joint of the document by which a gap that the axes change counts nowhere, though no maker saw to it.
type Unseen struct {
	rig.OwnJoint
	DepthMM float64 // how deep the two overlap counterweight-down at the pole, at least; 0 when they do not
}

// UnseenJoints lists them, in the order of the document: two parts that an axis moves against each other, unless both are the mount's
// own, built to pass each other, and overlap at rest by no more than JointSlack: what exists is apart there, or touches.
func UnseenJoints(m *axes.Model) []Unseen {
	var out []Unseen
	for _, j := range m.Assembly.Passing {
		a, b := &m.Parts[j.Pair[0]], &m.Parts[j.Pair[1]]
		p, q := a.Solid.At(m.PartPose(j.Pair[0], axes.Angles{})), b.Solid.At(m.PartPose(j.Pair[1], axes.Angles{}))
		depth := math.Max(-solid.Depth(&p, &q).Upper, 0)
		if depth > JointSlack || !a.Rig.OfMount() || !b.Rig.OfMount() {
			out = append(out, Unseen{j, depth})
		}
	}
	return out
}

func (v *prover) joint(fixed, moving int) Joint {
	g := v.g
	v.at.set(g, 0, 0)
	rest := solid.Depth(v.at.part(g, moving), v.at.part(g, fixed))
	out := Joint{A: fixed, B: moving, Rest: rest.Upper, Deepest: math.Inf(1), Holds: true}
	floor := math.Min(rest.Lower, 0) - JointSlack
	part := &g.Model.Parts[moving]
	byRA, byDec := rank(g.Model.Parts[fixed].Frame) == 0, rank(part.Frame) == 2
	reach := part.FromCrossing
	if !byDec {
		reach = part.FromPolarAxis
	}
	t := g.Model.Travel
	// All of the travel, but no turn twice.
	whole := Rect{t.RAFrom, math.Min(t.RATo, t.RAFrom+turn), t.DecFrom, math.Min(t.DecTo, t.DecFrom+turn)}
	if !byRA {
		whole.RAFrom, whole.RATo = 0, 0
	}
	if !byDec {
		whole.DecFrom, whole.DecTo = 0, 0
	}
	var look func(r Rect)
	look = func(r Rect) {
		if !out.Holds {
			return
		}
		hRA, hDec := r.half()
		c := r.Centre()
		v.at.set(g, c.RA, c.Dec)
		d := solid.Depth(v.at.part(g, moving), v.at.part(g, fixed))
		// The signed gap of two convex solids changes by no more than their points move.
		low := d.Lower - hRA*reach - hDec*part.FromDecAxis - moveSlop
		switch {
		case low >= floor:
			out.Deepest = math.Min(out.Deepest, low)
		case d.Upper < floor || math.Max(hRA, hDec) < axes.Rad(0.01):
			out.Holds, out.At, out.Deepest = false, c, math.Min(out.Deepest, d.Lower)
		case hRA >= hDec:
			a, b := r, r
			a.RATo, b.RAFrom = c.RA, c.RA
			look(a)
			look(b)
		default:
			a, b := r, r
			a.DecTo, b.DecFrom = c.Dec, c.Dec
			look(a)
			look(b)
		}
	}
	look(whole)
	return out
}
