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

// Derivative is how a gap changes with one quantity of the document: mm for one of the quantity's units, a millimetre or a degree,
// the axis angles that the mount believes kept.
type Derivative struct {
	Quantity  int // index in Rig.Quantities
	MMPerUnit float64
}

// Rates says how every part of a gauge's model moves with each quantity that has a tolerance, in the frame that the part is fixed
// in. That is the same at every pose, so that a gradient costs two nearest points and dot products. It is immutable and safe for
// use from several goroutines.
type Rates struct {
	g     *Gauge
	parts []movable
	index []int32 // of the pair of parts a·n + b in g.pairs, −1 for none
	spin  r3.Vec  // see there
}

// movable is one part with its rates.
type movable struct {
	place solid.Pose // part → frame; ground parts too are seen from the head, whose frame is the polar one
	kind  rig.ShapeKind
	size  [3]float64
	rates []rate // sorted by quantity
}

// rate is the velocity of a part for one unit of a quantity: of its frame's origin as if that were fixed to the part, the turn about
// it, and its sizes.
type rate struct {
	quantity    int
	shift, turn r3.Vec
	size        [3]float64
}

// Steps of the central differences of the assembly: far below a tolerance, far above the rounding of a place (1e-12 mm). What is
// left is of third order in an angle: below 1e-9 of a rate.
const (
	stepMM  = 0.01
	stepDeg = 0.001
)

// NewRates assembles the rig twice for each quantity that has a tolerance.
func (g *Gauge) NewRates() (*Rates, error) {
	m := g.Model
	n := len(m.Parts)
	r := &Rates{g: g, parts: make([]movable, n), index: make([]int32, n*n), spin: spin(&m.Head)}
	for i := range r.index {
		r.index[i] = -1
	}
	for i := range g.pairs {
		p := &g.pairs[i]
		r.index[p.fixed*n+p.moving], r.index[p.moving*n+p.fixed] = int32(i), int32(i)
	}
	polar, arm, tube := m.Frames(axes.Angles{})
	frame := map[rig.Frame]solid.Pose{rig.Ground: polar, rig.Polar: polar, rig.Arm: arm, rig.TubeFrame: tube}
	r.place(frame)
	without := rig.Conditions{}
	for _, c := range m.Assembly.Without {
		without[c] = rig.HoldsNot
	}
	// A model reads its rig whenever it places parts, so that each side has one of its own, changed until its rates are taken.
	sides := [2]*rig.Rig{m.Rig.Clone(), m.Rig.Clone()}
	for id, q := range m.Rig.Quantities {
		if !(q.Tol > 0) || q.Unit == "kg" || id == m.Assembly.RAZero {
			continue
		}
		h := stepMM
		if q.Unit == "deg" {
			h = stepDeg
		}
		var at [2]*axes.Model
		for k, side := range sides {
			side.Quantities[id].Value = q.Value + float64(2*k-1)*h
			var err error
			if at[k], err = axes.NewModel(side, without); err != nil {
				return nil, fmt.Errorf("how the parts move with %s: %w", q.Path, err)
			}
			if len(at[k].Parts) != n {
				return nil, fmt.Errorf("how the parts move with %s: a step of it makes %d parts of %d", q.Path, len(at[k].Parts), n)
			}
		}
		for i := range r.parts {
			f := polar.Inverse().Mul(frame[m.Parts[i].Frame]) // seen from the head
			if v, moves := velocity(at, i, f, h); moves {
				v.quantity = id
				r.parts[i].rates = append(r.parts[i].rates, v)
			}
		}
		for _, side := range sides {
			side.Quantities[id].Value = q.Value
		}
	}
	return r, nil
}

// spin is how the RA zero error turns arm and tube, world, radians a degree: about the pole, the way the sky moves.
func spin(h *axes.Head) r3.Vec { return r3.Scale(-axes.Hemisphere(h.Latitude)*math.Pi/180, h.P) }

// place notes where the parts stand in their frames, which stand at frame counterweight-down at the pole.
func (r *Rates) place(frame map[rig.Frame]solid.Pose) {
	m := r.g.Model
	for i := range m.Parts {
		r.parts[i].place = frame[m.Parts[i].Frame].Inverse().Mul(m.PartPose(i, axes.Angles{}))
		r.parts[i].kind, r.parts[i].size = sized(m.Parts[i].Rig)
	}
}

// At gives the rates for another gauge of the same rig, with lengths changed by no more than tolerances do: gaps and nearest points are
// that gauge's, and the rates those of r, which change little with the lengths. It saves a search its assemblies; what it ends at wants
// NewRates.
func (r *Rates) At(g *Gauge) (*Rates, error) {
	if len(g.Model.Parts) != len(r.parts) || len(g.pairs) != len(r.g.pairs) {
		return nil, fmt.Errorf("%d parts in %d pairs: these are the rates of %d parts in %d pairs", len(g.Model.Parts), len(g.pairs), len(r.parts), len(r.g.pairs))
	}
	out := &Rates{g: g, parts: slices.Clone(r.parts), index: r.index, spin: spin(&g.Model.Head)}
	polar, arm, tube := g.Model.Frames(axes.Angles{})
	out.place(map[rig.Frame]solid.Pose{rig.Ground: polar, rig.Polar: polar, rig.Arm: arm, rig.TubeFrame: tube})
	return out, nil
}

// velocity is the rate of part i from the model on either side of its nominal one, in the frame that stands at f seen from the
// head.
func velocity(at [2]*axes.Model, i int, f solid.Pose, h float64) (rate, bool) {
	var pose [2]solid.Pose
	var size [2][3]float64
	for k, m := range at {
		head := m.Head.PolarFrame()
		pose[k] = f.Inverse().Mul(head.Inverse()).Mul(m.PartPose(i, axes.Angles{}))
		_, size[k] = sized(m.Parts[i].Rig)
	}
	var v rate
	moves := false
	for k := range v.size {
		if v.size[k] = (size[1][k] - size[0][k]) / (2 * h); math.Abs(v.size[k]) > stillRate {
			moves = true
		}
	}
	a, b := pose[0].R, pose[1].R
	// The turn from one to the other: the skew part of b·aᵀ, sine of a small angle.
	var t [9]float64
	for r := range 3 {
		for c := range 3 {
			t[3*r+c] = b[3*r]*a[3*c] + b[3*r+1]*a[3*c+1] + b[3*r+2]*a[3*c+2]
		}
	}
	v.turn = r3.Scale(1/(4*h), r3.Vec{X: t[7] - t[5], Y: t[2] - t[6], Z: t[3] - t[1]})
	mid := r3.Scale(0.5, r3.Add(pose[0].T, pose[1].T))
	v.shift = r3.Sub(r3.Scale(1/(2*h), r3.Sub(pose[1].T, pose[0].T)), r3.Cross(v.turn, mid))
	if !moves {
		far := r3.Norm(mid) + 1
		moves = r3.Norm(v.shift) > stillRate || r3.Norm(v.turn)*far > stillRate
	}
	return v, moves
}

// stillRate, mm per unit, is the rounding of a rate: places of some metres, 1e-12 mm, over a step.
const stillRate = 1e-8

// sized gives the sizes of a part; a cylinder's as those of a cone, which it becomes when one end's diameter changes alone.
func sized(p *rig.Part) (kind rig.ShapeKind, s [3]float64) {
	if p.Shape == rig.Cylinder {
		return rig.Cone, [3]float64{p.SizeMM[0], p.SizeMM[0], p.SizeMM[1]}
	}
	copy(s[:], p.SizeMM)
	return p.Shape, s
}

// Between measures the gap of one pair of parts, a and b in either order, closer than Gauge.Gap does: to the rounding of a nearest
// point. ok is false for a pair that need not stay apart.
func (r *Rates) Between(ax axes.Angles, a, b int, s *Scratch) (d PairGap, ok bool) {
	i := r.index[a*len(r.parts)+b]
	if i < 0 {
		return d, false
	}
	s.at.set(r.g, ax.RA, ax.Dec)
	d, _ = r.measure(&r.g.pairs[i], s)
	return d, true
}

// sharp, mm, closes a gap's bounds so far that the direction between the nearest points is good to √(2·sharp/gap): 1e-5 at 10 mm,
// and mostly much better.
const sharp = 1e-9

func (r *Rates) measure(p *pair, s *Scratch) (PairGap, r3.Vec) {
	m, f := s.at.part(r.g, p.moving), s.at.part(r.g, p.fixed)
	d := solid.Bracket(m, f, math.Inf(-1), math.Inf(1), sharp, r3.Vec{})
	gap := d.Upper
	if d.Status == solid.Overlapping || d.Upper <= 0 {
		d = solid.Depth(m, f)
		gap = (d.Lower + d.Upper) / 2
	}
	return PairGap{A: p.fixed, B: p.moving, Gap: gap, Lower: d.Lower, Upper: d.Upper, Allowance: p.allowance, PointA: d.B, PointB: d.A}, d.Normal
}

// Gradient returns the gap of one pair of parts at ax and appends to dst how it changes with each quantity, sorted by quantity. ok
// is false for a pair that need not stay apart.
//
// A gap is the least distance |x − y| over the points of two parts. A point that keeps its place in the part when a quantity q changes
// moves by ẋ, and by the envelope theorem (J. M. Danskin, SIAM J. Appl. Math. 14, 1966) d(gap)/dq = n·(ẋ − ẏ) at the nearest points,
// n the unit vector between them, as long as there is one nearest pair of points; where there are several it is the derivative of one of
// them, and the gap's own is the least of theirs one way and the greatest the other.
func (r *Rates) Gradient(ax axes.Angles, a, b int, s *Scratch, dst []Derivative) (d PairGap, grad []Derivative, ok bool) {
	i := r.index[a*len(r.parts)+b]
	if i < 0 {
		return d, dst, false
	}
	p := &r.g.pairs[i]
	s.at.set(r.g, ax.RA, ax.Dec)
	d, n := r.measure(p, s)
	move := r.wrench(p.moving, d.PointB, n, s)
	fix := r.wrench(p.fixed, d.PointA, r3.Scale(-1, n), s)
	u, v := r.parts[p.moving].rates, r.parts[p.fixed].rates
	spin := p.byRA && r.g.Model.Rig.Quantities[r.g.Model.Assembly.RAZero].Tol > 0
	for len(u) > 0 || len(v) > 0 {
		var e Derivative
		switch {
		case len(v) == 0 || len(u) > 0 && u[0].quantity < v[0].quantity:
			e = Derivative{u[0].quantity, move.work(&u[0])}
			u = u[1:]
		case len(u) == 0 || v[0].quantity < u[0].quantity:
			e = Derivative{v[0].quantity, fix.work(&v[0])}
			v = v[1:]
		default:
			e = Derivative{u[0].quantity, move.work(&u[0]) + fix.work(&v[0])}
			u, v = u[1:], v[1:]
		}
		if id := r.g.Model.Assembly.RAZero; spin && e.Quantity > id {
			dst = append(dst, Derivative{id, r.spun(d.PointB, n)})
			spin = false
		}
		dst = append(dst, e)
	}
	if spin {
		dst = append(dst, Derivative{r.g.Model.Assembly.RAZero, r.spun(d.PointB, n)})
	}
	return d, dst, true
}

// spun is how fast a point of the arm or the tube moves along n with the RA zero error.
func (r *Rates) spun(x, n r3.Vec) float64 {
	return r3.Dot(n, r3.Cross(r.spin, r3.Sub(x, r.g.Model.Head.Crossing)))
}

// wrench is a unit force along n at a point of a part: its work over a rate of the part is how fast the point moves along n.
type wrench struct {
	force, moment r3.Vec // in the part's frame
	size          [3]float64
}

func (w *wrench) work(v *rate) float64 {
	return w.force.X*v.shift.X + w.force.Y*v.shift.Y + w.force.Z*v.shift.Z +
		w.moment.X*v.turn.X + w.moment.Y*v.turn.Y + w.moment.Z*v.turn.Z +
		w.size[0]*v.size[0] + w.size[1]*v.size[1] + w.size[2]*v.size[2]
}

// wrench is that of n at x, both world, on part i at the scratch's pose.
func (r *Rates) wrench(i int, x, n r3.Vec, s *Scratch) wrench {
	f := &s.at.polar
	switch r.g.Model.Parts[i].Frame {
	case rig.Arm:
		f = &s.at.arm
	case rig.TubeFrame:
		f = &s.at.tube
	}
	p := &r.parts[i]
	w := wrench{force: unturned(&f.R, n)}
	at := unturned(&f.R, r3.Sub(x, f.T))
	w.moment = r3.Cross(at, w.force)
	w.size = p.grown(unturned(&p.place.R, r3.Sub(at, p.place.T)), unturned(&p.place.R, w.force))
	return w
}

// unturned is Rᵀ·v.
func unturned(m *[9]float64, v r3.Vec) r3.Vec {
	return r3.Vec{X: m[0]*v.X + m[3]*v.Y + m[6]*v.Z, Y: m[1]*v.X + m[4]*v.Y + m[7]*v.Z, Z: m[2]*v.X + m[5]*v.Y + m[8]*v.Z}
}

// grown is how fast the point x of a part moves along n with each of its sizes, both in the part's own axes; the point keeps its
// place in the shape: its share of each half edge, of the radius there, of the length.
func (p *movable) grown(x, n r3.Vec) (out [3]float64) {
	s := &p.size
	across := n.X*x.X + n.Y*x.Y
	switch p.kind {
	case rig.Box:
		out = [3]float64{n.X * x.X / s[0], n.Y * x.Y / s[1], n.Z * x.Z / s[2]}
	case rig.Cone:
		t := x.Z/s[2] + 0.5
		if d := s[0]*(1-t) + s[1]*t; d > 0 {
			out[0], out[1] = across*(1-t)/d, across*t/d
		}
		out[2] = n.Z * x.Z / s[2]
	case rig.Capsule:
		c := math.Max(-s[1]/2, math.Min(s[1]/2, x.Z))
		out[0], out[1] = (across+n.Z*(x.Z-c))/s[0], n.Z*c/s[1]
	case rig.Sphere:
		out[0] = (across + n.Z*x.Z) / s[0]
	}
	return out
}
