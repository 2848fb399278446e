package solid

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func upright(x, y, z float64) Pose { return shifted(Identity(), x, y, z) }

var (
	box  = func(x, y, z float64) Solid { return must(NewBox(x, y, z)) }
	cyl  = func(d, l float64) Solid { return must(NewCylinder(d, l)) }
	pill = func(d, l float64) Solid { return must(NewCapsule(d, l)) }
	sph  = func(d float64) Solid { return must(NewSphere(d)) }
)

// gapCases are gaps that are known, each with its source. a and b are nil where the nearest points are not unique.
var gapCases = []struct {
	name   string
	s      scene
	want   float64
	within float64
	a, b   *r3.Vec
}{
	// Closed forms [calc].
	{"box to point", scene{box(2, 4, 6), sph(MinSize), upright(0, 0, 0), upright(4, 6, 3)}, 5, 1e-6, &r3.Vec{X: 1, Y: 2, Z: 3}, nil},
	{"box corner to point", scene{box(2, 4, 6), sph(MinSize), upright(0, 0, 0), upright(4, 6, 15)}, 13, 1e-6, &r3.Vec{X: 1, Y: 2, Z: 3}, nil},
	{"parallel cylinders, rim to rim", scene{cyl(2, 2), cyl(4, 2), upright(0, 0, 0), upright(6, 0, 6)}, 5, 1e-9, &r3.Vec{X: 1, Z: 1}, &r3.Vec{X: 4, Z: 5}},
	{"rim to edge", scene{cyl(2, 2), box(1, 2, 1), upright(0, 0, 1), upright(4.5, 0, -4.5)}, 5, 1e-9, &r3.Vec{X: 1}, &r3.Vec{X: 4, Z: -4}},
	{"rim to corner", scene{cyl(2, 2), box(1, 1, 2), upright(0, 0, 1), upright(6.5, 8.5, -13)}, 15, 1e-9, &r3.Vec{X: .6, Y: .8}, &r3.Vec{X: 6, Y: 8, Z: -12}},
	{"crossed cylinders, 90°", scene{cyl(2, 20), cyl(1, 20), upright(0, 0, 0), shifted(turnY(math.Pi/2), 0, 4, 0)}, 2.5, 1e-9, nil, nil},
	{"crossed cylinders, 60°", scene{cyl(2, 20), cyl(1, 20), upright(0, 0, 0), shifted(turnY(math.Pi/3), 0, 4, 0)}, 2.5, 1e-9, nil, nil},
	// z_c − (L/2)cosθ − R sinθ with 5, 4 (half length 2 of L = 4), R = 1.5, cosθ = 0.8.
	{"tilted cylinder over a plane", scene{cyl(3, 4), box(100, 100, 2), shifted(turnY(math.Acos(.8)), 0, 0, 5), upright(0, 0, -1)}, 2.5, 1e-9, nil, nil},
	{"frustum side", scene{must(NewCone(8, 2, 4)), sph(2), upright(0, 0, 0), upright(2.5+4*4/5.0, 0, 4*3/5.0)}, 3, 1e-9, &r3.Vec{X: 2.5}, nil},
	{"cone apex", scene{must(NewCone(8, 0, 4)), box(2, 2, 2), upright(0, 0, 0), upright(0, 0, 8)}, 5, 1e-9, &r3.Vec{Z: 2}, &r3.Vec{Z: 7}},
	// Coal library, test/box_box_distance.cpp.
	{"Coal boxes", scene{box(6, 10, 2), box(2, 2, 2), upright(0, 0, 0), upright(25, 20, 5)}, math.Sqrt(646), 1e-9, &r3.Vec{X: 3, Y: 5, Z: 1}, &r3.Vec{X: 24, Y: 19, Z: 4}},
	{"Coal turned cubes", scene{box(1, 1, 1), box(1, 1, 1), shifted(turnZ(math.Pi/4), -2, 1, .5), shifted(turnY(math.Pi/4), 2, .5, .5)}, 4 - math.Sqrt2, 1e-9, nil, nil},
	// Coal library, test/capsule_capsule.cpp.
	{"Coal capsules, side", scene{pill(10, 10), pill(10, 10), upright(0, 0, 0), upright(20.1, 0, 0)}, 10.1, 1e-9, nil, nil},
	{"Coal capsules, oblique", scene{pill(10, 10), pill(10, 10), upright(0, 0, 0), upright(20, 20, 0)}, math.Sqrt(800) - 10, 1e-9, nil, nil},
	{"Coal capsules, ends", scene{pill(10, 10), pill(10, 10), upright(0, 0, 0), upright(0, 0, 20.1)}, 0.1, 1e-9, nil, nil},
	// Coal library, test/geometric_shapes.cpp: radius 5, length 10.
	{"Coal cylinders, near", scene{cyl(10, 10), cyl(10, 10), upright(0, 0, 0), upright(10.1, 0, 0)}, 0.1, 1e-9, nil, nil},
	{"Coal cylinders, far", scene{cyl(10, 10), cyl(10, 10), upright(0, 0, 0), upright(40, 0, 0)}, 30, 1e-9, nil, nil},
	// FCL, test_fcl_sphere_capsule.cpp: sphere of radius 50, capsule of radius 50 and length 200.
	{"FCL sphere and capsule", scene{sph(100), pill(100, 200), upright(0, 0, -50), upright(0, 0, 175)}, 25, 1e-9, nil, nil},
	// FCL, test_sphere_box.cpp: box 0.6×1.2×3.6, sphere of radius 0.7 off the corner, 0.8155445; that is 1.25 radii off along each axis [calc].
	{"FCL sphere at a box corner", scene{box(.6, 1.2, 3.6), sph(1.4), upright(0, 0, 0), upright(.3+.875, .6+.875, 1.8+.875)}, 0.8155445, 5e-8, &r3.Vec{X: .3, Y: .6, Z: 1.8}, nil},
}

func TestKnownGaps(t *testing.T) {
	for _, c := range gapCases {
		t.Run(c.name, func(t *testing.T) {
			a, b := c.s.placed()
			g := Distance(&a, &b)
			if err := certify(&c.s, g); err != nil {
				t.Fatalf("%v: %+v", err, g)
			}
			if !(g.Lower <= c.want+c.within && g.Upper >= c.want-c.within && g.Upper-g.Lower < 1.1e-6) {
				t.Errorf("%.12g … %.12g, want %.12g", g.Lower, g.Upper, c.want)
			}
			if c.a != nil && r3.Norm(r3.Sub(*c.a, g.A)) > 1e-5 {
				t.Errorf("A = %v, want %v", g.A, *c.a)
			}
			if c.b != nil && r3.Norm(r3.Sub(*c.b, g.B)) > 1e-5 {
				t.Errorf("B = %v, want %v", g.B, *c.b)
			}
		})
	}
}

func TestSegmentDistance(t *testing.T) {
	v := func(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
	for _, c := range []struct {
		p1, q1, p2, q2 r3.Vec
		want           float64
	}{
		{v(0, 0, 0), v(10, 0, 0), v(2, -3, 4), v(8, 5, 4), 4},          // [calc], at x = 4.25
		{v(0, 0, 0), v(1, 0, 0), v(4, 4, 0), v(4, 8, 0), 5},            // [calc]
		{v(0, 0, 0), v(0, 0, 0), v(3, 4, 0), v(3, 4, 0), 5},            // two points
		{v(0, 0, 0), v(0, 0, 0), v(-5, 2, 0), v(5, 2, 0), 2},           // point and segment
		{v(-5, 2, 0), v(5, 2, 0), v(0, 0, 0), v(0, 0, 0), 2},           // segment and point
		{v(0, 0, 0), v(10, 0, 0), v(4, 3, 0), v(20, 3, 0), 3},          // parallel, side by side
		{v(0, 0, 0), v(10, 0, 0), v(13, 4, 0), v(20, 4, 0), 5},         // parallel, one behind the other
		{v(0, 0, 0), v(10, 0, 0), v(20, 4, 0), v(13, 4, 0), 5},         // against each other
		{v(0, 0, 0), v(10, 0, 0), v(5, 0, 0), v(20, 0, 0), 0},          // on one line
		{v(0, 0, 0), v(1e4, 0, 0), v(0, 1, 0), v(1e4, 1+1e-9, 0), 1},   // nearly parallel
		{v(0, 0, 0), v(1e4, 0, 0), v(0, -1, 1), v(1e4, 1, 1), 1},       // at a small angle, crossing in the middle
		{v(0, 0, 0), v(1e4, 0, 0), v(0, -.01, 1), v(1e4, .01, 1), 1},   // 2e-6
		{v(0, 0, 0), v(1e-3, 0, 0), v(0, 1e4, 0), v(1e4, 1e4, 0), 1e4}, // tiny beside huge
		{v(0, 0, 0), v(10, 0, 0), v(4.25, 0, 0), v(4.25, 0, 8), 0},     // touching
	} {
		for range 2 {
			d, a, b := SegmentDistance(c.p1, c.q1, c.p2, c.q2)
			if math.Abs(d-c.want) > 1e-9 || math.Abs(r3.Norm(r3.Sub(a, b))-d) > 1e-9 {
				t.Errorf("%v–%v, %v–%v: %v at %v, %v; want %v", c.p1, c.q1, c.p2, c.q2, d, a, b, c.want)
			}
			c.p1, c.q1, c.p2, c.q2 = c.p2, c.q2, c.p1, c.q1
		}
	}
	if _, a, _ := SegmentDistance(v(0, 0, 0), v(10, 0, 0), v(2, -3, 4), v(8, 5, 4)); r3.Norm(r3.Sub(a, v(4.25, 0, 0))) > 1e-12 {
		t.Errorf("nearest point %v, want x = 4.25", a)
	}
}

// The distance of two segments is the gap of two thin capsules, which takes another way.
func TestSegmentsAgreeWithCapsules(t *testing.T) {
	r := newRand(t)
	for range 20000 {
		s := randomScene(r, Capsule, Capsule)
		a, b := s.placed()
		p1, q1, _ := a.OuterCapsule()
		p2, q2, _ := b.OuterCapsule()
		d, x, y := SegmentDistance(p1, q1, p2, q2)
		if math.Abs(r3.Norm(r3.Sub(x, y))-d) > 1e-9 {
			t.Fatalf("points %v apart, distance %v", r3.Norm(r3.Sub(x, y)), d)
		}
		h := search{question: question{math.Inf(-1), math.Inf(1), closed}, deep: true}
		g := Gap{Lower: math.Inf(-1), Upper: math.Inf(1)}
		h.run(&a, &b, r3.Vec{}, &g)
		if core := d - a.round - b.round; core < g.Lower-1e-7 || core > g.Upper+1e-7 {
			t.Fatalf("%v outside of %v … %v\n%+v", core, g.Lower, g.Upper, s)
		}
	}
}

func TestRefusals(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		kind  string
		sizes []float64
	}{
		{"box", []float64{0, 1, 1}}, {"box", []float64{1, -1, 1}}, {"box", []float64{1, 1, nan}}, {"box", []float64{1, 1, inf}}, {"box", []float64{1, 1}},
		{"box", []float64{1, 1, 1e-7}}, {"box", []float64{1, 1, 1e8}},
		{"cylinder", []float64{0, 1}}, {"cylinder", []float64{1, 0}}, {"cylinder", []float64{1, 1, 1}}, {"cylinder", []float64{nan, 1}},
		{"cone", []float64{0, 0, 1}}, {"cone", []float64{1, 1, 0}}, {"cone", []float64{-1, 1, 1}}, {"cone", []float64{0, 1, nan}}, {"cone", []float64{nan, 0, 1}},
		{"capsule", []float64{0, 1}}, {"capsule", []float64{1, 0}}, {"sphere", []float64{0}}, {"sphere", []float64{-inf}}, {"sphere", nil}, {"torus", []float64{1, 1}},
	} {
		if _, err := New(c.kind, c.sizes); !errors.Is(err, ErrDegenerate) {
			t.Errorf("%s %v: %v", c.kind, c.sizes, err)
		}
	}
	if _, err := NewBox(1, 0, 2); err == nil || err.Error() != "degenerate solid: box [1 0 2] mm: each size must be from 1e-06 to 1e+07 mm" {
		t.Error(err)
	}
	for _, k := range kinds {
		s, err := New(k.String(), []float64{3, 2, 1}[:k.sizeCount()])
		if err != nil || s.Kind() != k || len(s.Size()) != k.sizeCount() || s.Size()[0] != 3 {
			t.Errorf("%v: %v %v", k, s, err)
		}
	}
}
