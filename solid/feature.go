package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// trait says what part of a core's surface a nearest point is on.
type trait uint8

const (
	within trait = iota // the point asked for is in the core itself
	corner              // a point
	line                // an edge, or with a radius the side of a cylinder, which its axis stands for
	circle              // a rim
	flat                // a face or an end
	slope               // the side of a cone
)

// feature is the part of a core's surface that a nearest point is on, seen from the core's centre.
type feature struct {
	trait  trait
	at     r3.Vec  // middle of a line or a circle
	dir    r3.Vec  // line, slope: from the middle to an end; circle: unit axis; flat: outward normal, of any length
	radius float64 // circle; line: radius of the side
	taper  float64 // slope: what the ball around the axis that touches the side grows by along dir; otherwise 0
}

// stands tells whether the feature is a surface that a line stands for: the side of a cylinder, by its axis, or of a cone, by the axis
// and the balls around it that touch the side.
func (f *feature) stands() bool { return f.trait == slope || f.trait == line && f.radius > 0 }

// project returns the point of the core nearest to t, both seen from the centre, and the feature that it is on. It is exact up to
// rounding for every kind.
func (a *Placed) project(t r3.Vec, f *feature) r3.Vec {
	f.taper = 0
	switch a.kind {
	case Box:
		return a.projectBox(t, f)
	case Cylinder:
		return a.projectCylinder(t, f)
	case Cone:
		return a.projectCone(t, f)
	case Capsule:
		z := dot(t, a.axis)
		if z >= a.half || z <= -a.half {
			f.trait = corner
			return scaled(signed(z), a.hz)
		}
		f.trait, f.at, f.dir, f.radius = line, r3.Vec{}, a.hz, 0
		return scaled(z, a.axis)
	}
	f.trait = corner
	return r3.Vec{}
}

func (a *Placed) projectBox(t r3.Vec, f *feature) r3.Vec {
	x, y, z := dot(t, a.hx)*a.inverse.X, dot(t, a.hy)*a.inverse.Y, dot(t, a.hz)*a.inverse.Z
	free := 0
	if math.Abs(x) < 1 {
		free |= 1
	} else {
		x = signed(x)
	}
	if math.Abs(y) < 1 {
		free |= 2
	} else {
		y = signed(y)
	}
	if math.Abs(z) < 1 {
		free |= 4
	} else {
		z = signed(z)
	}
	f.radius = 0
	switch free {
	case 0:
		f.trait = corner
	case 1:
		f.trait, f.dir, f.at = line, a.hx, a.corner(0, y, z)
	case 2:
		f.trait, f.dir, f.at = line, a.hy, a.corner(x, 0, z)
	case 4:
		f.trait, f.dir, f.at = line, a.hz, a.corner(x, y, 0)
	case 3:
		f.trait, f.dir = flat, scaled(z, a.hz)
	case 5:
		f.trait, f.dir = flat, scaled(y, a.hy)
	case 6:
		f.trait, f.dir = flat, scaled(x, a.hx)
	default:
		f.trait = within
		return t
	}
	return a.corner(x, y, z)
}

// corner returns the point at the given shares of the half axes.
func (a *Placed) corner(x, y, z float64) r3.Vec {
	return r3.Vec{
		X: x*a.hx.X + y*a.hy.X + z*a.hz.X,
		Y: x*a.hx.Y + y*a.hy.Y + z*a.hz.Y,
		Z: x*a.hx.Z + y*a.hy.Z + z*a.hz.Z,
	}
}

func (a *Placed) projectCylinder(t r3.Vec, f *feature) r3.Vec {
	z := dot(t, a.axis)
	p := along(t, a.axis, -z)
	pp := dot(p, p)
	aside, beyond := pp > a.r2*a.r2, math.Abs(z) > a.half
	switch {
	case aside && beyond:
		end := scaled(signed(z), a.hz)
		f.trait, f.at, f.dir, f.radius = circle, end, a.axis, a.r2
		return along(end, p, a.r2/math.Sqrt(pp))
	case aside:
		f.trait, f.at, f.dir, f.radius = line, r3.Vec{}, a.hz, a.r2
		return along(scaled(z, a.axis), p, a.r2/math.Sqrt(pp))
	case beyond:
		f.trait, f.dir = flat, scaled(signed(z), a.axis)
		return along(p, a.hz, signed(z))
	}
	f.trait = within
	return t
}

func (a *Placed) projectCone(t r3.Vec, f *feature) r3.Vec {
	z := dot(t, a.axis)
	p := along(t, a.axis, -z)
	across := math.Sqrt(dot(p, p))
	// In the half plane through t: the share s of the nearest point of the slope from (r1, −half) to (r2, half).
	dr, dz := a.r2-a.r1, 2*a.half
	s := ((across-a.r1)*dr + (z+a.half)*dz) / (dr*dr + dz*dz)
	side := (across-a.r1)*dz - (z+a.half)*dr // > 0: on the outer side of the slope
	switch {
	case z < -a.half && across <= a.r1:
		f.trait, f.dir = flat, neg(a.axis)
		return along(p, a.hz, -1)
	case z > a.half && across <= a.r2:
		f.trait, f.dir = flat, a.axis
		return along(p, a.hz, 1)
	case side <= 0 && math.Abs(z) <= a.half:
		f.trait = within
		return t
	}
	radius := a.r1 + s*dr
	f.trait, f.at, f.dir = slope, r3.Vec{}, a.hz
	f.taper = dr / 2 / math.Hypot(1, dr/dz)
	if s <= 0 || s >= 1 {
		end := a.hz
		if radius = a.r2; s <= 0 {
			end, radius = neg(end), a.r1
		}
		f.trait, f.at, f.dir, f.radius, f.taper = circle, end, a.axis, radius, 0
		if radius == 0 {
			f.trait = corner
			return end
		}
		return along(end, p, radius/across)
	}
	return along(scaled(2*s-1, a.hz), p, radius/across)
}
