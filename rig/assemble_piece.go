package rig

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// rad is one degree in radians.
const rad = math.Pi / 180

// piece is a part under construction. It is built from the inside out: first its size, then, in turn, every move that
// carries it outwards (along its axis, about a rotator, out to the saddle…), as far as its frame. Each step that hangs on
// a quantity says at what rate, in mm per unit, it moves the points of the piece.
//
// Why the rates are bounds over the whole tolerance box. Let the piece be M_n(x)∘…∘M_1(x) applied to a shape S(x), every
// M_k a translation or a turn. Change one quantity alone by Δ. Where it changes S, the Hausdorff distance between the
// two shapes is at most rate·|Δ|, and later moves are isometries that do not hang on it. Where it drives a translation,
// every point moves by rate·|Δ|. Where it drives a turn about an axis, every point moves along an arc, by no more than
// ρ·|Δ| with ρ the greatest distance of a point from the axis. With the other quantities anywhere in their tolerances
// the inner part lies within slack = Σ rate·tolerance (over the inner steps) of its nominal place, so that
// ρ ≤ ρ(nominal) + slack; the step's own turn does not change the distance from its own axis. A quantity that drives
// several steps moves the piece by no more than the sum. Several quantities changed at once: change them one after the
// other; the path stays in the box and the triangle inequality gives Σ Lᵢ·|Δᵢ|.
type piece struct {
	part  Part
	rates map[int]float64
	slack float64 // Σ rate·tolerance of the steps so far, mm
}

func newPiece(name, from string, frame Frame, shape ShapeKind, sizeMM ...float64) *piece {
	return &piece{
		part:  Part{Name: name, From: from, Frame: frame, Shape: shape, SizeMM: sizeMM, Place: identity},
		rates: map[int]float64{},
	}
}

// clone copies a piece so far, to be carried on from there.
func (p *piece) clone() *piece {
	c := &piece{part: p.part, rates: make(map[int]float64, len(p.rates)), slack: p.slack}
	for k, v := range p.rates {
		c.rates[k] = v
	}
	return c
}

// by notes that q moves the piece's points by at most mmPerUnit for one unit.
func (p *piece) by(q *Quantity, mmPerUnit float64) {
	if !(q.Tol > 0) || mmPerUnit == 0 {
		return
	}
	p.rates[q.ID] += mmPerUnit
	p.slack += mmPerUnit * q.Tol
}

// sized notes diameters and widths about a fixed centre: a face moves by half of what the whole does.
func (p *piece) sized(qs ...*Quantity) *piece {
	for _, q := range qs {
		p.by(q, 0.5)
	}
	return p
}

// along notes quantities that move the piece, or one face of it, by their own change.
func (p *piece) along(qs ...*Quantity) *piece {
	for _, q := range qs {
		p.by(q, 1)
	}
	return p
}

// moved carries the piece by a rigid move that hangs on nothing, or whose rates are noted apart.
func (p *piece) moved(m placing) *piece {
	p.part.Place = m.mul(p.part.Place)
	return p
}

// turned turns the piece by q degrees about the line through at along the unit vector dir.
func (p *piece) turned(at, dir r3.Vec, q *Quantity) *piece {
	p.by(q, (p.reach(at, dir)+p.slack)*rad)
	return p.moved(turnAbout(at, dir, q.Value*rad))
}

// revolution tells whether the shape is a body of revolution about its z axis.
func (p *piece) revolution() bool { return p.part.Shape != Box }

// rims returns the end centres of a body of revolution and the radii there; round ends tell spheres and capsules.
func (p *piece) rims() (ends [2]r3.Vec, radius [2]float64, round bool) {
	s, at := p.part.SizeMM, placing(p.part.Place)
	half := 0.0
	switch p.part.Shape {
	case Cylinder:
		half, radius = s[1]/2, [2]float64{s[0] / 2, s[0] / 2}
	case Cone:
		half, radius = s[2]/2, [2]float64{s[0] / 2, s[1] / 2}
	case Capsule:
		half, radius, round = s[1]/2, [2]float64{s[0] / 2, s[0] / 2}, true
	case Sphere:
		radius, round = [2]float64{s[0] / 2, s[0] / 2}, true
	}
	return [2]r3.Vec{at.apply(r3.Vec{Z: -half}), at.apply(r3.Vec{Z: half})}, radius, round
}

func (p *piece) corners() [8]r3.Vec {
	s, at := p.part.SizeMM, placing(p.part.Place)
	var c [8]r3.Vec
	for i := range c {
		v := r3.Vec{X: s[0] / 2, Y: s[1] / 2, Z: s[2] / 2}
		if i&1 != 0 {
			v.X = -v.X
		}
		if i&2 != 0 {
			v.Y = -v.Y
		}
		if i&4 != 0 {
			v.Z = -v.Z
		}
		c[i] = at.apply(v)
	}
	return c
}

// reach bounds the distance of the piece's points from the line through at along the unit vector dir. The distance from a
// line is convex, so that corners and rims decide; a rim's points lie within its radius of its centre.
func (p *piece) reach(at, dir r3.Vec) float64 {
	off := func(x r3.Vec) float64 { return r3.Norm(r3.Cross(r3.Sub(x, at), dir)) }
	far := 0.0
	if p.part.Shape == Box {
		for _, c := range p.corners() {
			far = math.Max(far, off(c))
		}
		return far
	}
	ends, radius, _ := p.rims()
	for i, e := range ends {
		far = math.Max(far, off(e)+radius[i])
	}
	return far
}

// far is the greatest distance of the piece's points from a point.
func (p *piece) far(from r3.Vec) float64 {
	far := 0.0
	if p.part.Shape == Box {
		for _, c := range p.corners() {
			far = math.Max(far, r3.Norm(r3.Sub(c, from)))
		}
		return far
	}
	ends, radius, round := p.rims()
	z := placing(p.part.Place).direction(r3.Vec{Z: 1})
	for i, e := range ends {
		d := r3.Sub(e, from)
		if round {
			far = math.Max(far, r3.Norm(d)+radius[i])
			continue
		}
		along := r3.Dot(d, z)
		far = math.Max(far, math.Hypot(along, r3.Norm(r3.Cross(d, z))+radius[i]))
	}
	return far
}

// done closes the piece: its shifts, sorted, each rounded up past the rounding of its own computation.
func (p *piece) done() Part {
	out := p.part
	out.SizeMM = slices.Clone(out.SizeMM)
	out.Shifts = make([]Shift, 0, len(p.rates))
	for id, rate := range p.rates {
		out.Shifts = append(out.Shifts, Shift{Quantity: id, MMPerUnit: rate * (1 + 1e-12)})
	}
	slices.SortFunc(out.Shifts, func(a, b Shift) int { return a.Quantity - b.Quantity })
	return out
}

// placing is a rigid move, row-major 3×4, as in Part.Place.
type placing [12]float64

var identity = placing{0: 1, 5: 1, 10: 1}

func shiftBy(v r3.Vec) placing {
	m := identity
	m[3], m[7], m[11] = v.X, v.Y, v.Z
	return m
}

// columns is the move that takes the axes to x, y, z and the origin to t.
func columns(x, y, z, t r3.Vec) placing {
	return placing{x.X, y.X, z.X, t.X, x.Y, y.Y, z.Y, t.Y, x.Z, y.Z, z.Z, t.Z}
}

// turnAbout is the right-handed turn about the line through at along the unit vector n.
func turnAbout(at, n r3.Vec, angle float64) placing {
	if angle == 0 {
		return identity
	}
	s, c := math.Sincos(angle)
	k := 1 - c
	m := placing{
		c + n.X*n.X*k, n.X*n.Y*k - n.Z*s, n.X*n.Z*k + n.Y*s, 0,
		n.Y*n.X*k + n.Z*s, c + n.Y*n.Y*k, n.Y*n.Z*k - n.X*s, 0,
		n.Z*n.X*k - n.Y*s, n.Z*n.Y*k + n.X*s, c + n.Z*n.Z*k, 0,
	}
	t := r3.Sub(at, m.direction(at))
	m[3], m[7], m[11] = t.X, t.Y, t.Z
	return m
}

func (a placing) direction(v r3.Vec) r3.Vec {
	return r3.Vec{
		X: a[0]*v.X + a[1]*v.Y + a[2]*v.Z,
		Y: a[4]*v.X + a[5]*v.Y + a[6]*v.Z,
		Z: a[8]*v.X + a[9]*v.Y + a[10]*v.Z,
	}
}

func (a placing) apply(v r3.Vec) r3.Vec {
	return r3.Add(a.direction(v), r3.Vec{X: a[3], Y: a[7], Z: a[11]})
}

func (a placing) mul(b placing) placing {
	col := func(i int) r3.Vec { return r3.Vec{X: b[i], Y: b[i+4], Z: b[i+8]} }
	return columns(a.direction(col(0)), a.direction(col(1)), a.direction(col(2)), a.apply(col(3)))
}
