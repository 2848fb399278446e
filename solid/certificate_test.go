package solid

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// The judge of this package's answers: the shapes again, written from their definition in their own frames and as slowly as they like.
// It shares nothing with Placed.

// plainSupport returns a point of s, in its own frame, furthest along d.
func plainSupport(s Solid, d r3.Vec) r3.Vec {
	z := s.Size()
	sign := func(x float64) float64 { return math.Copysign(1, x) }
	rim := func(radius, height float64) r3.Vec {
		if across := math.Hypot(d.X, d.Y); across > 0 {
			return r3.Vec{X: radius * d.X / across, Y: radius * d.Y / across, Z: height}
		}
		return r3.Vec{Z: height}
	}
	ball := func(radius float64) r3.Vec { return r3.Scale(radius, r3.Unit(d)) }
	switch s.Kind() {
	case Box:
		return r3.Vec{X: sign(d.X) * z[0] / 2, Y: sign(d.Y) * z[1] / 2, Z: sign(d.Z) * z[2] / 2}
	case Cylinder:
		return rim(z[0]/2, sign(d.Z)*z[1]/2)
	case Cone:
		lo, hi := rim(z[0]/2, -z[2]/2), rim(z[1]/2, z[2]/2)
		if r3.Dot(lo, d) > r3.Dot(hi, d) {
			return lo
		}
		return hi
	case Capsule:
		return r3.Add(ball(z[0]/2), r3.Vec{Z: sign(d.Z) * z[1] / 2})
	}
	return ball(z[0] / 2)
}

// outside returns how far x, in the solid's own frame, sticks out of the solid: at most the distance, 0 inside.
func outside(s Solid, x r3.Vec) float64 {
	z := s.Size()
	across := math.Hypot(x.X, x.Y)
	switch s.Kind() {
	case Box:
		return math.Max(0, math.Max(math.Abs(x.X)-z[0]/2, math.Max(math.Abs(x.Y)-z[1]/2, math.Abs(x.Z)-z[2]/2)))
	case Cylinder:
		return math.Max(0, math.Max(across-z[0]/2, math.Abs(x.Z)-z[1]/2))
	case Cone:
		slope := (z[1] - z[0]) / 2 / z[2]
		side := (across - z[0]/2 - slope*(x.Z+z[2]/2)) / math.Hypot(1, slope)
		return math.Max(0, math.Max(side, math.Abs(x.Z)-z[2]/2))
	case Capsule:
		return math.Max(0, math.Hypot(across, math.Max(0, math.Abs(x.Z)-z[1]/2))-z[0]/2)
	}
	return math.Max(0, r3.Norm(x)-z[0]/2)
}

// plainSeparation is the least n·x over a less the greatest over b, for the unit vector n.
func plainSeparation(s *scene, n r3.Vec) float64 {
	na, nb := s.pa.Inverse().Rotate(n), s.pb.Inverse().Rotate(n)
	a := r3.Dot(na, plainSupport(s.a, r3.Scale(-1, na)))
	b := r3.Dot(nb, plainSupport(s.b, nb))
	return r3.Dot(n, r3.Sub(s.pa.T, s.pb.T)) + a - b
}

// fuzzOf is what the judge's own rounding may come to, mm.
func fuzzOf(s *scene) float64 {
	return 1e-14*(r3.Norm(s.pa.T)+r3.Norm(s.pb.T)+s.a.reach+s.b.reach) + 1e-12
}

// certify proves an answer by what it names: A in a, B in b, and, apart, |A − B| = Upper with a plane of normal Normal between them that leaves
// Lower (the conditions of optimality); overlapping, a common point.
func certify(s *scene, g Gap) error {
	fuzz := 20 * fuzzOf(s)
	if !(g.Lower <= g.Upper) {
		return fmt.Errorf("Lower %v > Upper %v", g.Lower, g.Upper)
	}
	if n := r3.Norm(g.Normal); math.Abs(n-1) > 1e-12 {
		return fmt.Errorf("|Normal| = %v", n)
	}
	if out := outside(s.a, s.pa.Inverse().Apply(g.A)); out > fuzz {
		return fmt.Errorf("A is %g mm outside of a", out)
	}
	if out := outside(s.b, s.pb.Inverse().Apply(g.B)); out > fuzz {
		return fmt.Errorf("B is %g mm outside of b", out)
	}
	if sep := plainSeparation(s, g.Normal); g.Lower > sep+fuzz {
		return fmt.Errorf("Lower %v is above the separation %v along Normal", g.Lower, sep)
	} else if g.Status != Overlapping && math.Abs(g.Lower-sep) > fuzz {
		return fmt.Errorf("Lower %v is not the separation %v along Normal", g.Lower, sep)
	}
	switch g.Status {
	case Apart:
		if d := r3.Norm(r3.Sub(g.A, g.B)); math.Abs(d-g.Upper) > fuzz {
			return fmt.Errorf("|A − B| = %v, Upper %v", d, g.Upper)
		}
		if g.Lower <= 0 {
			return fmt.Errorf("apart with Lower %v", g.Lower)
		}
	case Overlapping:
		if g.Lower > 0 || g.Upper != 0 {
			return fmt.Errorf("overlapping with %v…%v", g.Lower, g.Upper)
		}
		// A common point is half-way between A and B, each of which is in the other one.
		if out := outside(s.b, s.pb.Inverse().Apply(g.A)); out > fuzz {
			return fmt.Errorf("A is %g mm outside of b", out)
		}
		if out := outside(s.a, s.pa.Inverse().Apply(g.B)); out > fuzz {
			return fmt.Errorf("B is %g mm outside of a", out)
		}
	}
	return nil
}

// Every answer over all kinds and arrangements closes and proves itself.
func TestDistanceIsOptimal(t *testing.T) {
	r := newRand(t)
	n, apart, overlapping, touching, wide, worst := 0, 0, 0, 0, 0, 0.0
	for range 3000 {
		for _, ka := range kinds {
			for _, kb := range kinds {
				s := randomScene(r, ka, kb)
				a, b := s.placed()
				g := Distance(&a, &b)
				if err := certify(&s, g); err != nil {
					t.Fatalf("%v\n%+v\n%+v", err, s, g)
				}
				n++
				switch g.Status {
				case Apart:
					apart++
				case Overlapping:
					overlapping++
				default:
					if touching++; g.Upper > 1e-5 || g.Upper-g.Lower > 1e-3 {
						t.Fatalf("undecided\n%+v\n%+v", s, g)
					}
				}
				if w := g.Upper - g.Lower; g.Status == Apart && w > closed+4*slop(&a, &b) {
					wide++
					worst = math.Max(worst, w)
					if w > 1e-3 {
						t.Fatalf("open by %g mm\n%+v\n%+v", w, s, g)
					}
				}
			}
		}
	}
	t.Logf("%d pairs: %d apart, %d overlapping, %d touching; %d not closed to %g mm, worst %.2g mm", n, apart, overlapping, touching, wide, closed, worst)
	if apart < n/2 || overlapping < n/30 || touching > n/5000 || wide > n/1000 {
		t.Error("the draw or the iteration is off")
	}
}
