package solid

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
)

// newRand returns a random source whose seed is printed with the test.
func newRand(t testing.TB) *rand.Rand {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	return rand.New(rand.NewPCG(seed, 1))
}

// must returns a solid whose sizes are known to be good.
func must(s Solid, err error) Solid {
	if err != nil {
		panic(err)
	}
	return s
}

// randomRotation is uniform over all rotations, by a unit quaternion.
func randomRotation(r *rand.Rand) Pose {
	var q [4]float64
	n := 0.0
	for i := range q {
		q[i] = r.NormFloat64()
		n += q[i] * q[i]
	}
	n = math.Sqrt(n)
	w, x, y, z := q[0]/n, q[1]/n, q[2]/n, q[3]/n
	return Pose{R: [9]float64{
		1 - 2*(y*y+z*z), 2 * (x*y - w*z), 2 * (x*z + w*y),
		2 * (x*y + w*z), 1 - 2*(x*x+z*z), 2 * (y*z - w*x),
		2 * (x*z - w*y), 2 * (y*z + w*x), 1 - 2*(x*x+y*y),
	}}
}

// turnZ is a rotation about z by radians.
func turnZ(by float64) Pose {
	s, c := math.Sincos(by)
	return Pose{R: [9]float64{c, -s, 0, s, c, 0, 0, 0, 1}}
}

// turnY is a rotation about y by radians.
func turnY(by float64) Pose {
	s, c := math.Sincos(by)
	return Pose{R: [9]float64{c, 0, s, 0, 1, 0, -s, 0, c}}
}

func shifted(p Pose, x, y, z float64) Pose {
	p.T = r3.Add(p.T, r3.Vec{X: x, Y: y, Z: z})
	return p
}

func logUniform(r *rand.Rand, lo, hi float64) float64 {
	return lo * math.Exp(r.Float64()*math.Log(hi/lo))
}

// randomSolid has sizes log-uniform in [lo, hi].
func randomSolid(r *rand.Rand, k Kind, lo, hi float64) Solid {
	v := func() float64 { return logUniform(r, lo, hi) }
	switch k {
	case Box:
		return must(NewBox(v(), v(), v()))
	case Cylinder:
		return must(NewCylinder(v(), v()))
	case Cone:
		switch r.IntN(4) {
		case 0:
			return must(NewCone(0, v(), v()))
		case 1:
			return must(NewCone(v(), 0, v()))
		}
		return must(NewCone(v(), v(), v()))
	case Capsule:
		return must(NewCapsule(v(), v()))
	}
	return must(NewSphere(v()))
}

// axisPose is one of the 24 rotations that map the axes to each other: parallel faces, edges and axes.
func axisPose(r *rand.Rand) Pose {
	p := Identity()
	for range r.IntN(4) {
		p = p.Mul(Pose{R: [9]float64{0, -1, 0, 1, 0, 0, 0, 0, 1}})
	}
	for range r.IntN(4) {
		p = p.Mul(Pose{R: [9]float64{1, 0, 0, 0, 0, -1, 0, 1, 0}})
	}
	for range r.IntN(4) {
		p = p.Mul(Pose{R: [9]float64{0, 0, 1, 0, 1, 0, -1, 0, 0}})
	}
	return p
}

// scene is one random pair.
type scene struct {
	a, b   Solid
	pa, pb Pose
}

func (s *scene) placed() (Placed, Placed) { return s.a.At(s.pa), s.b.At(s.pb) }

// randomScene draws a pair of the given kinds in one of the arrangements that are hard: far, near, touching, parallel, edge to
// edge, tiny beside huge.
func randomScene(r *rand.Rand, ka, kb Kind) scene {
	lo, hi := 1e-3, 1e4
	switch r.IntN(3) {
	case 0:
		lo, hi = 10, 1000
	case 1:
		lo, hi = 1, 1e4
	}
	s := scene{a: randomSolid(r, ka, lo, hi), b: randomSolid(r, kb, lo, hi)}
	pose := randomRotation
	if r.IntN(3) == 0 {
		pose = axisPose
	}
	s.pa, s.pb = pose(r), pose(r)
	if r.IntN(6) == 0 {
		s.pb.R = s.pa.R
	}
	// Along a random direction (an axis of a at times), at a random share of the reach, then moved to a chosen gap.
	dir := randomRotation(r).Rotate(r3.Vec{Z: 1})
	if r.IntN(3) == 0 {
		dir = s.pa.Rotate([]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}[r.IntN(3)])
	}
	reach := s.a.reach + s.b.reach
	s.pa.T = r3.Scale(reach*3*r.Float64(), dir)
	if r.IntN(4) != 0 {
		a, b := s.placed()
		side := r3.Scale(-1, dir)
		want := logUniform(r, 1e-4, 100)
		if r.IntN(3) == 0 {
			want = -want
		}
		move := want + a.Extent(side) + b.Extent(dir)
		s.pa.T = r3.Add(s.pa.T, r3.Scale(move, dir))
		if r.IntN(2) == 0 { // sideways, so that other features meet
			s.pa.T = r3.Add(s.pa.T, r3.Scale(r.Float64()*s.b.reach, r3.Unit(r3.Cross(dir, r3.Vec{X: .3, Y: .5, Z: .8}))))
		}
	}
	if r.IntN(2) == 0 {
		by := r3.Scale(logUniform(r, 1, 1e4), randomRotation(r).Rotate(r3.Vec{X: 1}))
		s.pa.T, s.pb.T = r3.Add(s.pa.T, by), r3.Add(s.pb.T, by)
	}
	return s
}

var kinds = []Kind{Box, Cylinder, Cone, Capsule, Sphere}
