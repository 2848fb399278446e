package solid

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func TestDepthCloses(t *testing.T) {
	r := newRand(t)
	for _, ka := range kinds {
		for _, kb := range kinds {
			n, wide, worst, pts := 0, 0, 0.0, 0.0
			for range 600 {
				s := scene{a: randomSolid(r, ka, 10, 1000), b: randomSolid(r, kb, 10, 1000)}
				pose := randomRotation
				if r.IntN(3) == 0 {
					pose = axisPose
				}
				s.pa, s.pb = pose(r), pose(r)
				if r.IntN(4) != 0 {
					s.pa.T = r3.Scale(r.Float64()*(s.a.reach+s.b.reach)*.5, randomRotation(r).Rotate(r3.Vec{X: 1}))
				}
				a, b := s.placed()
				g := Depth(&a, &b)
				if g.Status == Apart {
					continue
				}
				n++
				if g.Upper > 0 || g.Lower > 0 || math.IsInf(g.Lower, 0) {
					t.Errorf("%+v %+v", s, g)
				}
				if w := g.Upper - g.Lower; w > 1e-3 {
					wide++
					if w > worst {
						worst = w
						if w > .2 {
							t.Logf("%+v %+v", s, g)
						}
					}
				}
				_ = pts
			}
			t.Logf("%v-%v: %d, not closed %d, worst %g", ka, kb, n, wide, worst)
		}
	}
}

func BenchmarkDepth(b *testing.B) {
	r := newRand(b)
	var ps [][2]Placed
	for len(ps) < 256 {
		s := scene{a: randomSolid(r, Box, 30, 900), b: randomSolid(r, Cylinder, 30, 900)}
		s.pa, s.pb = randomRotation(r), randomRotation(r)
		s.pa.T = r3.Scale(r.Float64()*(s.a.reach+s.b.reach)*.5, randomRotation(r).Rotate(r3.Vec{X: 1}))
		p, q := s.placed()
		if Distance(&p, &q).Status == Overlapping {
			ps = append(ps, [2]Placed{p, q})
		}
	}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		gapSink += Depth(&ps[i&255][0], &ps[i&255][1]).Lower
	}
}
