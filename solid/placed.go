package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Placed is a solid in the world, in the form that makes support points cheap: a centre, three half axes, and for a solid of
// revolution the unit axis and two radii. It is a value without pointers. Every Placed comes from At.
//
// It is a core (point, segment, box or frustum) grown by a ball of radius round: a capsule is a segment grown, a sphere a point
// grown. Growing moves every bound by exactly its radius, so that only cores are iterated over.
type Placed struct {
	kind         Kind
	centre       r3.Vec
	hx, hy, hz   r3.Vec // half axes: unit axes times the half sizes of the core
	axis         r3.Vec // unit z axis
	inverse      r3.Vec // a box: 1 over the squares of the half sizes
	r1, r2, half float64
	round        float64
	reach        float64 // greatest distance of a point from the centre
	scale        float64 // |centre|₁ + reach: what rounding is proportional to
	outer, inner capsule
}

// At puts the solid into the world with p. The lengths of the rotation's columns are brought back to 1 to second order, so that
// a place read from a document with 8 figures or more serves.
func (s Solid) At(p Pose) Placed {
	var a Placed
	s.Put(&p, &a)
	return a
}

// Put writes to a what At returns, without a copy of either.
func (s *Solid) Put(p *Pose, a *Placed) {
	x := r3.Vec{X: p.R[0], Y: p.R[3], Z: p.R[6]}
	y := r3.Vec{X: p.R[1], Y: p.R[4], Z: p.R[7]}
	z := r3.Vec{X: p.R[2], Y: p.R[5], Z: p.R[8]}
	// One Newton step for 1/|v|, from 1.
	kx, ky, kz := (3-dot(x, x))/2, (3-dot(y, y))/2, (3-dot(z, z))/2
	z = scaled(kz, z)
	a.kind, a.centre = s.kind, p.T
	a.hx, a.hy, a.hz, a.axis, a.inverse = scaled(s.half[0]*kx, x), scaled(s.half[1]*ky, y), scaled(s.half[2], z), z, s.inverse
	a.r1, a.r2, a.half, a.round, a.reach = s.r1, s.r2, s.half[2], s.round, s.reach
	a.scale = math.Abs(p.T.X) + math.Abs(p.T.Y) + math.Abs(p.T.Z) + s.reach +
		0*(kx+ky+kz) // not a number when the rotation is not of numbers
	a.outer, a.inner = s.outer, s.inner
}

func scaled(f float64, v r3.Vec) r3.Vec { return r3.Vec{X: f * v.X, Y: f * v.Y, Z: f * v.Z} }

func dot(a, b r3.Vec) float64 { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }

func cross(a, b r3.Vec) r3.Vec {
	return r3.Vec{X: a.Y*b.Z - a.Z*b.Y, Y: a.Z*b.X - a.X*b.Z, Z: a.X*b.Y - a.Y*b.X}
}

func sub(a, b r3.Vec) r3.Vec { return r3.Vec{X: a.X - b.X, Y: a.Y - b.Y, Z: a.Z - b.Z} }

func add(a, b r3.Vec) r3.Vec { return r3.Vec{X: a.X + b.X, Y: a.Y + b.Y, Z: a.Z + b.Z} }

func neg(a r3.Vec) r3.Vec { return r3.Vec{X: -a.X, Y: -a.Y, Z: -a.Z} }

// signed returns +1 or −1 with the sign of x, without a branch.
func signed(x float64) float64 {
	return math.Float64frombits(math.Float64bits(x)&(1<<63) | 0x3ff0000000000000)
}

// Centre returns the centre of the solid, world, mm.
func (a *Placed) Centre() r3.Vec { return a.centre }

// Axis returns the solid's own z axis, world, unit length.
func (a *Placed) Axis() r3.Vec { return a.axis }

// Support returns a point of the solid that lies furthest along d, world, mm. d need not be a unit vector; d = 0 gives some point
// of the solid. Components of d above 1e150 overflow.
func (a *Placed) Support(d r3.Vec) r3.Vec {
	x := add(a.centre, a.far(d))
	if a.round > 0 {
		if n := r3.Norm(d); n > 0 {
			x = along(x, d, a.round/n)
		}
	}
	return x
}

// Extent returns max d·x over the solid, world, in mm·|d|.
func (a *Placed) Extent(d r3.Vec) float64 {
	h := dot(a.centre, d) + a.span(d)
	if a.round > 0 {
		h += a.round * math.Sqrt(dot(d, d))
	}
	return h
}

// far returns a support point of the core, seen from the centre.
func (a *Placed) far(d r3.Vec) r3.Vec {
	z := signed(dot(d, a.hz))
	switch a.kind {
	case Box:
		x, y := signed(dot(d, a.hx)), signed(dot(d, a.hy))
		return r3.Vec{
			X: x*a.hx.X + y*a.hy.X + z*a.hz.X,
			Y: x*a.hx.Y + y*a.hy.Y + z*a.hz.Y,
			Z: x*a.hx.Z + y*a.hy.Z + z*a.hz.Z,
		}
	case Cylinder, Cone:
		// The part of d across the axis points to the rim.
		dz := dot(d, a.axis)
		p := r3.Vec{X: d.X - dz*a.axis.X, Y: d.Y - dz*a.axis.Y, Z: d.Z - dz*a.axis.Z}
		pp := dot(p, p)
		if pp < 0.01*dz*dz {
			// d lies near the axis, and p is what cancellation left: take off again what points along the axis, so that the
			// point stays on the end plane to within a few roundings of the radius.
			e := dot(p, a.axis)
			p = r3.Vec{X: p.X - e*a.axis.X, Y: p.Y - e*a.axis.Y, Z: p.Z - e*a.axis.Z}
			if pp = dot(p, p); pp < 1e-30*dz*dz {
				pp = 0 // within 8 roundings of the axis: the middle of the end reaches as far
			}
		}
		radius := a.r2
		if a.kind == Cone {
			z = 1
			if across := math.Sqrt(pp); dz*a.half+a.r2*across < a.r1*across-dz*a.half {
				z, radius = -1, a.r1
			}
		}
		f := 0.0
		if pp > 0 {
			f = radius / math.Sqrt(pp)
		}
		return r3.Vec{X: f*p.X + z*a.hz.X, Y: f*p.Y + z*a.hz.Y, Z: f*p.Z + z*a.hz.Z}
	case Capsule:
		return scaled(z, a.hz)
	}
	return r3.Vec{}
}

// span returns max d·x over the core, seen from the centre.
func (a *Placed) span(d r3.Vec) float64 {
	switch a.kind {
	case Box:
		return math.Abs(dot(d, a.hx)) + math.Abs(dot(d, a.hy)) + math.Abs(dot(d, a.hz))
	case Cylinder:
		return math.Abs(dot(d, a.hz)) + a.r2*a.across(d)
	case Cone:
		z, across := dot(d, a.hz), a.across(d)
		return math.Max(z+a.r2*across, a.r1*across-z)
	case Capsule:
		return math.Abs(dot(d, a.hz))
	}
	return 0
}

// across returns the length of the part of d that is perpendicular to the axis.
func (a *Placed) across(d r3.Vec) float64 {
	// By the vector: √(d² − (d·axis)²) would lose half of the figures near the axis.
	z := dot(d, a.axis)
	p := r3.Vec{X: d.X - z*a.axis.X, Y: d.Y - z*a.axis.Y, Z: d.Z - z*a.axis.Z}
	return math.Sqrt(dot(p, p))
}

// OuterCapsule returns a capsule that contains the solid: the segment p–q and the radius, world, mm. Its family is the segments
// along the longest edge or the axis of revolution; of those it has nearly the least mean width.
func (a *Placed) OuterCapsule() (p, q r3.Vec, radius float64) { return a.capsule(&a.outer) }

// InnerCapsule returns a capsule that the solid contains: the segment p–q and the radius, world, mm. Its family is that of
// OuterCapsule, and for a flat disc the segments across its axis; of those it has nearly the greatest mean width.
func (a *Placed) InnerCapsule() (p, q r3.Vec, radius float64) { return a.capsule(&a.inner) }

func (a *Placed) capsule(c *capsule) (p, q r3.Vec, radius float64) {
	h := a.hz
	switch c.axis {
	case 0:
		h = a.hx
	case 1:
		h = a.hy
	}
	return along(a.centre, h, c.from), along(a.centre, h, c.to), c.radius
}
