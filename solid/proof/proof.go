// Package proof proves answers about gaps by what they name, for tests: the five shapes again, written from their definition in their own
// frames and as slowly as they like. It shares no code with package solid.
package proof

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Shape is one of the five solids in its own frame, centred, its axis along z. Kind and Size, mm, are as in solid.New.
type Shape struct {
	Kind string
	Size []float64
}

// Part is a shape in the world: Place is a row-major 3×4, part → world.
type Part struct {
	Shape
	Place [12]float64
}

// Answer is what is claimed of the gap of a and b, mm, world.
type Answer struct {
	Lower, Upper float64
	A, B         r3.Vec // points of a and of b
	Normal       r3.Vec // unit, from b towards a
	Claim        Claim
}

// Claim is what an answer says of the two parts.
type Claim uint8

const (
	Touching    Claim = iota // undecided: only the bounds are claimed
	Apart                    // |A − B| is Upper, and Lower is above 0
	Overlapping              // A and B are in both parts
)

// Support returns a point of s furthest along d.
func (s Shape) Support(d r3.Vec) r3.Vec {
	z := s.Size
	sign := func(x float64) float64 { return math.Copysign(1, x) }
	rim := func(radius, height float64) r3.Vec {
		if across := math.Hypot(d.X, d.Y); across > 0 {
			return r3.Vec{X: radius * d.X / across, Y: radius * d.Y / across, Z: height}
		}
		return r3.Vec{Z: height}
	}
	ball := func(radius float64) r3.Vec { return r3.Scale(radius, r3.Unit(d)) }
	switch s.Kind {
	case "box":
		return r3.Vec{X: sign(d.X) * z[0] / 2, Y: sign(d.Y) * z[1] / 2, Z: sign(d.Z) * z[2] / 2}
	case "cylinder":
		return rim(z[0]/2, sign(d.Z)*z[1]/2)
	case "cone":
		lo, hi := rim(z[0]/2, -z[2]/2), rim(z[1]/2, z[2]/2)
		if r3.Dot(lo, d) > r3.Dot(hi, d) {
			return lo
		}
		return hi
	case "capsule":
		return r3.Add(ball(z[0]/2), r3.Vec{Z: sign(d.Z) * z[1] / 2})
	}
	return ball(z[0] / 2)
}

// Outside returns how far x sticks out of s: at most the distance, 0 inside.
func (s Shape) Outside(x r3.Vec) float64 {
	z := s.Size
	across := math.Hypot(x.X, x.Y)
	switch s.Kind {
	case "box":
		return math.Max(0, math.Max(math.Abs(x.X)-z[0]/2, math.Max(math.Abs(x.Y)-z[1]/2, math.Abs(x.Z)-z[2]/2)))
	case "cylinder":
		return math.Max(0, math.Max(across-z[0]/2, math.Abs(x.Z)-z[1]/2))
	case "cone":
		slope := (z[1] - z[0]) / 2 / z[2]
		side := (across - z[0]/2 - slope*(x.Z+z[2]/2)) / math.Hypot(1, slope)
		return math.Max(0, math.Max(side, math.Abs(x.Z)-z[2]/2))
	case "capsule":
		return math.Max(0, math.Hypot(across, math.Max(0, math.Abs(x.Z)-z[1]/2))-z[0]/2)
	}
	return math.Max(0, r3.Norm(x)-z[0]/2)
}

// around bounds the distance of the shape's points from its centre.
func (s Shape) around() float64 {
	sum := 0.0
	for _, v := range s.Size {
		sum += v
	}
	return sum
}

func (p *Part) centre() r3.Vec { return r3.Vec{X: p.Place[3], Y: p.Place[7], Z: p.Place[11]} }

// turned takes a direction of the world into the part's frame.
func (p *Part) turned(d r3.Vec) r3.Vec {
	m := &p.Place
	return r3.Vec{
		X: m[0]*d.X + m[4]*d.Y + m[8]*d.Z,
		Y: m[1]*d.X + m[5]*d.Y + m[9]*d.Z,
		Z: m[2]*d.X + m[6]*d.Y + m[10]*d.Z,
	}
}

// Outside returns how far the point x of the world sticks out of the part: at most the distance, 0 inside.
func (p *Part) Outside(x r3.Vec) float64 { return p.Shape.Outside(p.turned(r3.Sub(x, p.centre()))) }

// Separation is the least n·x over a less the greatest over b, for the unit vector n.
func Separation(a, b *Part, n r3.Vec) float64 {
	na, nb := a.turned(n), b.turned(n)
	least := r3.Dot(na, a.Support(r3.Scale(-1, na)))
	most := r3.Dot(nb, b.Support(nb))
	return r3.Dot(n, r3.Sub(a.centre(), b.centre())) + least - most
}

// Fuzz is what this package's own rounding may come to, mm: some tens of roundings of the coordinates.
func Fuzz(a, b *Part) float64 {
	return 1e-14*(r3.Norm(a.centre())+r3.Norm(b.centre())+a.around()+b.around()) + 1e-12
}

// Certify proves an answer by what it names: A in a, B in b, and, apart, |A − B| = Upper with a plane of normal Normal between them
// that leaves Lower (the conditions of optimality); overlapping, a common point.
func Certify(a, b *Part, g Answer) error {
	fuzz := 20 * Fuzz(a, b)
	if !(g.Lower <= g.Upper) {
		return fmt.Errorf("lower bound %v > upper bound %v", g.Lower, g.Upper)
	}
	if n := r3.Norm(g.Normal); !(math.Abs(n-1) <= 1e-12) {
		return fmt.Errorf("length of the normal = %v", n)
	}
	if out := a.Outside(g.A); !(out <= fuzz) {
		return fmt.Errorf("the point A is %g mm outside of a", out)
	}
	if out := b.Outside(g.B); !(out <= fuzz) {
		return fmt.Errorf("the point B is %g mm outside of b", out)
	}
	if sep := Separation(a, b, g.Normal); !(g.Lower <= sep+fuzz) {
		return fmt.Errorf("lower bound %v is above the separation %v along Normal", g.Lower, sep)
	} else if g.Claim != Overlapping && !(math.Abs(g.Lower-sep) <= fuzz) {
		return fmt.Errorf("lower bound %v is not the separation %v along Normal", g.Lower, sep)
	}
	switch g.Claim {
	case Apart:
		if d := r3.Norm(r3.Sub(g.A, g.B)); !(math.Abs(d-g.Upper) <= fuzz) {
			return fmt.Errorf("|A − B| = %v, upper bound %v", d, g.Upper)
		}
		if g.Lower <= 0 {
			return fmt.Errorf("apart with lower bound %v", g.Lower)
		}
	case Overlapping:
		if g.Lower > 0 || g.Upper != 0 {
			return fmt.Errorf("overlapping with %v…%v", g.Lower, g.Upper)
		}
		// A common point is half-way between A and B, each of which is in the other one.
		if out := b.Outside(g.A); !(out <= fuzz) {
			return fmt.Errorf("the point A is %g mm outside of b", out)
		}
		if out := a.Outside(g.B); !(out <= fuzz) {
			return fmt.Errorf("the point B is %g mm outside of a", out)
		}
	}
	return nil
}
