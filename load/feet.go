package load

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/rig"
)

// Foot is a place that the support stands on.
type Foot struct {
	Name string
	At   r3.Vec // world, mm
}

// rimFeet is how many points stand for the round foot of a pier. They lie on its rim, so that their polygon is smaller than
// the round, by 0.4 % of its radius at most.
const rimFeet = 36

// stand finds the feet: the lower ends of the legs' centre lines, or the rim under a pier.
func (l *Load) stand() {
	for i := range l.Model.Parts {
		p := &l.Model.Parts[i]
		size := p.Rig.SizeMM
		switch p.Rig.From {
		case "support.legs":
			l.feet = append(l.feet, Foot{p.Name, p.Place.Apply(r3.Vec{Z: -size[len(size)-1] / 2})})
		case "support":
			if l.Model.Rig.Support.Kind != rig.Pier {
				continue
			}
			for k := range rimFeet {
				s, c := math.Sincos(2 * math.Pi * float64(k) / rimFeet)
				at := p.Place.Apply(r3.Vec{X: size[0] / 2 * s, Y: size[0] / 2 * c, Z: -size[1] / 2})
				l.feet = append(l.feet, Foot{fmt.Sprintf("rim at %d°", 360*k/rimFeet), at})
			}
		}
	}
}

// Feet lists what the support stands on.
func (l *Load) Feet() []Foot { return slices.Clone(l.feet) }

// edge is one side of the feet's polygon, from a to b with the inside on its left, seen from above.
type edge struct {
	a, b   Foot
	normal r3.Vec  // horizontal, outwards, unit
	height float64 // of its middle, mm: what tips turns about it
}

// inside is how far a point lies inside of the edge, seen from above, mm; negative outside.
func (e *edge) inside(p r3.Vec) float64 { return r3.Dot(e.normal, r3.Sub(e.a.At, p)) }

func (e *edge) name() string { return e.a.Name + " – " + e.b.Name }

// polygon returns the edges of the convex hull of the feet seen from above, anticlockwise: none with fewer than three feet that
// are not in a row. A. M. Andrew, "Another efficient algorithm for convex hulls in two dimensions", Information Processing
// Letters 9 (1979).
func polygon(feet []Foot) []edge {
	p := slices.Clone(feet)
	slices.SortFunc(p, func(a, b Foot) int {
		return cmp.Or(cmp.Compare(a.At.X, b.At.X), cmp.Compare(a.At.Y, b.At.Y))
	})
	p = slices.CompactFunc(p, func(a, b Foot) bool { return a.At.X == b.At.X && a.At.Y == b.At.Y })
	if len(p) < 3 {
		return nil
	}
	left := func(a, b, c r3.Vec) bool { return (b.X-a.X)*(c.Y-a.Y)-(b.Y-a.Y)*(c.X-a.X) > 0 }
	var hull []Foot
	chain := func(p []Foot) {
		from := len(hull)
		for _, f := range p {
			for n := len(hull); n-from >= 2 && !left(hull[n-2].At, hull[n-1].At, f.At); n = len(hull) {
				hull = hull[:n-1]
			}
			hull = append(hull, f)
		}
		hull = hull[:len(hull)-1] // it starts the other chain
	}
	chain(p)
	slices.Reverse(p)
	chain(p)
	if len(hull) < 3 {
		return nil
	}
	edges := make([]edge, len(hull))
	for i, a := range hull {
		b := hull[(i+1)%len(hull)]
		d := r3.Sub(b.At, a.At)
		n := math.Hypot(d.X, d.Y)
		edges[i] = edge{a, b, r3.Vec{X: d.Y / n, Y: -d.X / n}, (a.At.Z + b.At.Z) / 2}
	}
	return edges
}
