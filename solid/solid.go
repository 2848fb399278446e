// Package solid answers how far apart two convex solids are, with proof.
//
// A solid (box, cylinder, cone frustum, capsule, sphere) is built once, is immutable and is put into the world with At. Every
// answer about two placed solids is a pair of bounds that hold whatever the iteration did: Lower is the separation along a named
// direction, and any direction proves one; Upper is the distance of two points of the solids. What rounding can spoil is taken
// off (see slop in separation.go). An iteration that reaches its cap says so and keeps its bounds; nothing is ever called clear
// because an iteration ended.
//
// Lengths are millimetres. No query allocates.
package solid

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Kind is the shape of a solid.
type Kind uint8

// The shapes. Each is centred on its own origin, and its axis is its own z.
const (
	Box      Kind = iota // x, y, z
	Cylinder             // diameter, length
	Cone                 // diameter at −z, diameter at +z, length: a frustum, or a cone when one diameter is 0
	Capsule              // diameter, length between the centres
	Sphere               // diameter
)

var kindNames = [...]string{"box", "cylinder", "cone", "capsule", "sphere"}

func (k Kind) String() string {
	if int(k) < len(kindNames) {
		return kindNames[k]
	}
	return fmt.Sprintf("Kind(%d)", uint8(k))
}

// ErrDegenerate is wrapped by every refusal of a size: zero, negative, not a number, smaller than MinSize, greater than MaxSize,
// or the wrong count of sizes.
var ErrDegenerate = errors.New("degenerate solid")

// Sizes outside [MinSize, MaxSize], mm, are refused: with them double precision cannot keep the stated accuracy.
const (
	MinSize = 1e-6
	MaxSize = 1e7
)

// Solid is one convex solid in its own frame. It is an immutable value; the zero Solid is not usable and comes only with an
// error.
type Solid struct {
	kind   Kind
	sizes  [3]float64 // as given
	half   [3]float64 // half sizes of the core along x, y, z
	r1, r2 float64    // radii of the core at −z and +z; 0 for a box, a capsule and a sphere
	round  float64    // radius of the ball that the core is grown by: capsule and sphere
	reach  float64    // greatest distance of a point from the centre

	inverse r3.Vec // a box: 1 over the squares of the half sizes

	outer, inner capsule
}

// capsule is a segment along one of the half axes with a radius: from·half[axis] to to·half[axis].
type capsule struct {
	axis     uint8
	from, to float64
	radius   float64
}

// NewBox returns a box with the given edge lengths, mm.
func NewBox(x, y, z float64) (Solid, error) {
	if err := checkSizes(Box, x, y, z); err != nil {
		return Solid{}, err
	}
	s := Solid{kind: Box, sizes: [3]float64{x, y, z}, half: [3]float64{x / 2, y / 2, z / 2}}
	s.reach = up(math.Hypot(math.Hypot(x, y), z) / 2)
	s.inverse = r3.Vec{X: 4 / (x * x), Y: 4 / (y * y), Z: 4 / (z * z)}
	s.boxCapsules()
	return s, nil
}

// NewCylinder returns a flat-ended cylinder of the given diameter and length, mm.
func NewCylinder(diameter, length float64) (Solid, error) {
	if err := checkSizes(Cylinder, diameter, length); err != nil {
		return Solid{}, err
	}
	s := Solid{kind: Cylinder, sizes: [3]float64{diameter, length}}
	s.revolve(diameter/2, diameter/2, length/2)
	return s, nil
}

// NewCone returns a frustum of the given length with the given diameters at −z and +z, mm. One of them may be 0.
func NewCone(diaMinusZ, diaPlusZ, length float64) (Solid, error) {
	check := []float64{diaMinusZ, diaPlusZ, length}
	switch {
	case diaMinusZ == 0:
		check = []float64{diaPlusZ, length}
	case diaPlusZ == 0:
		check = []float64{diaMinusZ, length}
	}
	if checkSizes(Cone, check...) != nil {
		return Solid{}, refuse(Cone, diaMinusZ, diaPlusZ, length)
	}
	s := Solid{kind: Cone, sizes: [3]float64{diaMinusZ, diaPlusZ, length}}
	s.revolve(diaMinusZ/2, diaPlusZ/2, length/2)
	return s, nil
}

// NewCapsule returns a capsule of the given diameter around a segment of the given length between the centres, mm.
func NewCapsule(diameter, lengthBetweenCentres float64) (Solid, error) {
	if err := checkSizes(Capsule, diameter, lengthBetweenCentres); err != nil {
		return Solid{}, err
	}
	r, h := diameter/2, lengthBetweenCentres/2
	s := Solid{kind: Capsule, sizes: [3]float64{diameter, lengthBetweenCentres}, half: [3]float64{0, 0, h}, round: r, reach: up(h + r)}
	s.outer = capsule{2, -1, 1, r}
	s.inner = s.outer
	return s, nil
}

// NewSphere returns a sphere of the given diameter, mm.
func NewSphere(diameter float64) (Solid, error) {
	if err := checkSizes(Sphere, diameter); err != nil {
		return Solid{}, err
	}
	r := diameter / 2
	s := Solid{kind: Sphere, sizes: [3]float64{diameter}, round: r, reach: r}
	s.outer = capsule{2, 0, 0, r}
	s.inner = s.outer
	return s, nil
}

// New returns the solid of the named kind: "box" [x, y, z], "cylinder" [diameter, length], "cone" [diameter at −z, diameter at
// +z, length], "capsule" [diameter, length between the centres], "sphere" [diameter].
func New(kind string, sizes []float64) (Solid, error) {
	for k, name := range kindNames {
		if name != kind {
			continue
		}
		if len(sizes) != Kind(k).sizeCount() {
			return Solid{}, fmt.Errorf("%w: a %s takes %d sizes, got %v", ErrDegenerate, kind, Kind(k).sizeCount(), sizes)
		}
		switch Kind(k) {
		case Box:
			return NewBox(sizes[0], sizes[1], sizes[2])
		case Cylinder:
			return NewCylinder(sizes[0], sizes[1])
		case Cone:
			return NewCone(sizes[0], sizes[1], sizes[2])
		case Capsule:
			return NewCapsule(sizes[0], sizes[1])
		case Sphere:
			return NewSphere(sizes[0])
		}
	}
	return Solid{}, fmt.Errorf("%w: no shape %q; there are box, cylinder, cone, capsule, sphere", ErrDegenerate, kind)
}

// Kind returns the shape.
func (s Solid) Kind() Kind { return s.kind }

// Size returns the sizes as they were given, mm, in the order that Kind documents.
func (s Solid) Size() []float64 {
	return append([]float64(nil), s.sizes[:s.kind.sizeCount()]...)
}

func (k Kind) sizeCount() int {
	switch k {
	case Box, Cone:
		return 3
	case Cylinder, Capsule:
		return 2
	}
	return 1
}

func checkSizes(k Kind, sizes ...float64) error {
	for _, v := range sizes {
		if !(v >= MinSize && v <= MaxSize) {
			return refuse(k, sizes...)
		}
	}
	return nil
}

func refuse(k Kind, sizes ...float64) error {
	tail := ""
	if k == Cone {
		tail = "; one diameter may be 0"
	}
	return fmt.Errorf("%w: %s %v mm: each size must be from %g to %g mm%s", ErrDegenerate, k, sizes, MinSize, MaxSize, tail)
}

// up rounds a positive bound outwards by more than the few roundings that made it.
func up(x float64) float64 { return x * (1 + 1e-15*8) }

// down is up's counterpart for a bound that must not be too great.
func down(x float64) float64 { return x * (1 - 1e-15*8) }
