package solid

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// rigPairs are pairs of the sizes and distances that a rig has, apart by 1 mm to 1 m.
func rigPairs(n int, ka, kb Kind) [][2]Placed {
	r := rand.New(rand.NewPCG(7, 7))
	out := make([][2]Placed, 0, n)
	for len(out) < n {
		a, b := randomSolid(r, ka, 30, 900), randomSolid(r, kb, 30, 900)
		pa, pb := randomRotation(r), randomRotation(r)
		dir := randomRotation(r).Rotate(r3.Vec{Z: 1})
		qa, qb := a.At(pa), b.At(pb)
		pa.T = r3.Scale(qa.Extent(r3.Scale(-1, dir))+qb.Extent(dir)+logUniform(r, 1, 1000), dir)
		pa.T.Z += 1200
		pb.T.Z += 1200
		out = append(out, [2]Placed{a.At(pa), b.At(pb)})
	}
	return out
}

var gapSink float64

func BenchmarkDistance(b *testing.B) {
	for _, k := range [][2]Kind{{Box, Box}, {Box, Cylinder}, {Cylinder, Cylinder}, {Cone, Cylinder}, {Box, Capsule}, {Capsule, Capsule}, {Sphere, Box}, {Sphere, Cylinder}} {
		pairs := rigPairs(256, k[0], k[1])
		b.Run(k[0].String()+"-"+k[1].String(), func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				p := &pairs[i&255]
				gapSink += Distance(&p[0], &p[1]).Lower
			}
		})
	}
}

func BenchmarkClearBy(b *testing.B) {
	pairs := rigPairs(256, Box, Cylinder)
	axes := make([]r3.Vec, len(pairs))
	for i := range pairs {
		axes[i] = Distance(&pairs[i][0], &pairs[i][1]).Normal
	}
	b.Run("cached", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			p := &pairs[i&255]
			if !ClearBy(&p[0], &p[1], 0.5, &axes[i&255]) {
				b.Fatal("not clear")
			}
		}
	})
	b.Run("cold", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			p := &pairs[i&255]
			var axis r3.Vec
			if !ClearBy(&p[0], &p[1], 0.5, &axis) {
				b.Fatal("not clear")
			}
		}
	})
}

func BenchmarkDistanceFrom(b *testing.B) {
	pairs := rigPairs(256, Box, Cylinder)
	axes := make([]r3.Vec, len(pairs))
	for i := range pairs {
		axes[i] = Distance(&pairs[i][0], &pairs[i][1]).Normal
	}
	for i := 0; b.Loop(); i++ {
		p := &pairs[i&255]
		gapSink += DistanceFrom(&p[0], &p[1], axes[i&255]).Lower
	}
}

func BenchmarkAt(b *testing.B) {
	s := must(NewCylinder(100, 300))
	p := randomRotation(rand.New(rand.NewPCG(1, 1)))
	var at Placed
	for b.Loop() {
		at = s.At(p)
	}
	gapSink += at.reach
}

func BenchmarkSegmentDistance(b *testing.B) {
	pairs := rigPairs(256, Capsule, Capsule)
	for i := 0; b.Loop(); i++ {
		p := &pairs[i&255]
		p1, q1, _ := p[0].OuterCapsule()
		p2, q2, _ := p[1].OuterCapsule()
		d, _, _ := SegmentDistance(p1, q1, p2, q2)
		gapSink += d
	}
}

func BenchmarkSeparation(b *testing.B) {
	pairs := rigPairs(256, Box, Cylinder)
	n := r3.Unit(r3.Vec{X: 1, Y: 2, Z: 3})
	for i := 0; b.Loop(); i++ {
		p := &pairs[i&255]
		gapSink += Separation(&p[0], &p[1], n)
	}
}

func BenchmarkExtent(b *testing.B) {
	pairs := rigPairs(256, Cylinder, Cylinder)
	n := r3.Unit(r3.Vec{X: 1, Y: 2, Z: 3})
	for i := 0; b.Loop(); i++ {
		gapSink += pairs[i&255][0].Extent(n)
	}
}

func BenchmarkDepth(b *testing.B) {
	r := rand.New(rand.NewPCG(7, 7))
	var pairs [][2]Placed
	for len(pairs) < 256 {
		s := scene{a: randomSolid(r, Box, 30, 900), b: randomSolid(r, Cylinder, 30, 900), pa: randomRotation(r), pb: randomRotation(r)}
		s.pa.T = r3.Scale(r.Float64()*(s.a.reach+s.b.reach)*.5, randomRotation(r).Rotate(r3.Vec{X: 1}))
		p, q := s.placed()
		if Distance(&p, &q).Status == Overlapping {
			pairs = append(pairs, [2]Placed{p, q})
		}
	}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		gapSink += Depth(&pairs[i&255][0], &pairs[i&255][1]).Lower
	}
}
