package solid

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// Support and Extent agree with the shapes' definitions, for directions of any length and the hard ones along and near the axes.
func TestSupport(t *testing.T) {
	r := newRand(t)
	for range 3000 {
		for _, k := range kinds {
			s := scene{a: randomSolid(r, k, 1e-3, 1e4), pa: randomRotation(r)}
			s.pa.T = r3.Scale(logUniform(r, 1, 1e4), randomRotation(r).Rotate(r3.Vec{X: 1}))
			s.b, s.pb = s.a, s.pa
			a := s.a.At(s.pa)
			d := randomRotation(r).Rotate(r3.Vec{Z: 1})
			switch r.IntN(4) {
			case 0:
				d = r3.Scale([]float64{1, -1}[r.IntN(2)], a.Axis())
			case 1: // near the axis
				d = r3.Unit(r3.Add(a.Axis(), r3.Scale(logUniform(r, 1e-18, .1), d)))
			}
			local := s.pa.Inverse().Rotate(d)
			want := r3.Dot(local, plainSupport(s.a, local)) + r3.Dot(d, s.pa.T)
			fuzz := fuzzOf(&s)
			long := logUniform(r, 1e-6, 1e6)
			if h := a.Extent(r3.Scale(long, d)) / long; math.Abs(h-want) > fuzz {
				t.Fatalf("%v: extent %v, want %v along %v", s.a, h, want, d)
			}
			p := a.Support(r3.Scale(long, d))
			if h := r3.Dot(d, p); math.Abs(h-want) > fuzz {
				t.Fatalf("%v: support %v reaches %v, want %v along %v", s.a, p, h, want, d)
			}
			if out := outside(s.a, s.pa.Inverse().Apply(p)); out > fuzz {
				t.Fatalf("%v: support %v is %g outside", s.a, p, out)
			}
			if out := outside(s.a, s.pa.Inverse().Apply(a.Support(r3.Vec{}))); out > fuzz {
				t.Fatalf("%v: support along nothing is %g outside", s.a, out)
			}
		}
	}
}

// Each outer capsule holds the solid and each inner one is held by it, by their extents along many directions.
func TestCapsules(t *testing.T) {
	r := newRand(t)
	width := map[Kind][3]float64{}
	for range 1000 {
		for _, k := range kinds {
			s := scene{a: randomSolid(r, k, 1, 1000), pa: randomRotation(r)}
			s.b, s.pb = s.a, s.pa
			a := s.a.At(s.pa)
			op, oq, or := a.OuterCapsule()
			ip, iq, ir := a.InnerCapsule()
			if or < 0 || ir < 0 {
				t.Fatalf("%v: radii %v %v", s.a, or, ir)
			}
			fuzz := fuzzOf(&s)
			sum := width[k]
			for range 60 {
				d := randomRotation(r).Rotate(r3.Vec{Z: 1})
				switch r.IntN(6) {
				case 0:
					d = a.Axis()
				case 1:
					d = r3.Scale(-1, a.Axis())
				}
				h := a.Extent(d)
				out := math.Max(r3.Dot(d, op), r3.Dot(d, oq)) + or
				in := math.Max(r3.Dot(d, ip), r3.Dot(d, iq)) + ir
				if out < h-fuzz || in > h+fuzz {
					t.Fatalf("%v: extents inside to outside %v %v %v along %v\nouter %v %v %v inner %v %v %v", s.a, in, h, out, d, op, oq, or, ip, iq, ir)
				}
				sum[0], sum[1], sum[2] = sum[0]+in, sum[1]+h, sum[2]+out
			}
			width[k] = sum
		}
	}
	for _, k := range kinds {
		w := width[k]
		t.Logf("%v: mean extent of the inner capsule %.3f, of the outer %.3f of the solid's", k, w[0]/w[1], w[2]/w[1])
	}
}

// Compare, Bracket and ClearBy decide as Distance does, and what they say is proven.
func TestQuestionsAgree(t *testing.T) {
	r := newRand(t)
	clear := 0
	for range 1000 {
		for _, ka := range kinds {
			for _, kb := range kinds {
				s := randomScene(r, ka, kb)
				a, b := s.placed()
				g := Distance(&a, &b)
				x := g.Lower + []float64{-100, -1e-3, -1e-5, 1e-5, 1e-3, 100}[r.IntN(6)]
				axis := r3.Vec{}
				if r.IntN(2) == 0 {
					axis = randomRotation(r).Rotate(r3.Vec{X: 10})
				}
				c := Compare(&a, &b, x, axis)
				if c.Lower > g.Upper+1e-9 || c.Upper < g.Lower-1e-9 || c.Lower > plainSeparation(&s, c.Normal)+20*fuzzOf(&s) {
					t.Fatalf("Compare with %v: %+v\nDistance %+v\n%+v", x, c, g, s)
				}
				if x >= 0 && !(c.Lower > x) && !(c.Upper < x) && c.Upper-c.Lower > 1.1e-6 {
					t.Fatalf("Compare with %v leaves %+v\n%+v", x, c, s)
				}
				if c.Status == Apart && (c.Lower <= 0 || math.Abs(r3.Norm(r3.Sub(c.A, c.B))-c.Upper) > 20*fuzzOf(&s)) {
					t.Fatalf("Compare with %v: %+v\n%+v", x, c, s)
				}
				w := Bracket(&a, &b, x-1, x+1, 10, axis)
				if w.Lower > g.Upper+1e-9 || w.Upper < g.Lower-1e-9 || !(w.Upper < x-1) && !(w.Lower > x+1) && w.Upper-w.Lower > 10 && w.Status != Overlapping {
					t.Fatalf("Bracket around %v: %+v\nDistance %+v\n%+v", x, w, g, s)
				}
				if x <= 0 {
					continue
				}
				got := ClearBy(&a, &b, x, &axis)
				if got != (g.Lower >= x) && math.Abs(g.Lower-x) > 2e-6 {
					t.Fatalf("ClearBy(%v) = %v, Distance %+v\n%+v", x, got, g, s)
				}
				if got {
					clear++
					if axis == (r3.Vec{}) || !ClearBy(&a, &b, x-1e-6, &axis) || Separation(&a, &b, axis) < x-1e-6 {
						t.Fatalf("the axis %v does not serve again\n%+v", axis, s)
					}
				}
			}
		}
	}
	t.Logf("%d clear", clear)
}

// ClearBy below 0 allows an overlap so deep.
func TestClearByOfAnOverlap(t *testing.T) {
	a, b := box(4, 6, 8).At(upright(0, 0, 0)), cyl(2, 2).At(upright(2, 0, 0))
	for x, want := range map[float64]bool{-.9: false, -.999: false, -1.001: true, -1.1: true, 0: false, 1: false} {
		var axis r3.Vec
		if got := ClearBy(&a, &b, x, &axis); got != want {
			t.Errorf("clear by %v: %v", x, got)
		}
	}
}

// The judge of the other tests notices what is wrong: a bound that is too high, points that are not on the solids, another direction.
func TestCertificateCatchesFaults(t *testing.T) {
	s := scene{box(4, 6, 8), cyl(3, 5), upright(0, 0, 0), shifted(turnY(.7), 9, 2, 1)}
	a, b := s.placed()
	g := Distance(&a, &b)
	if err := certify(&s, g); err != nil {
		t.Fatal(err)
	}
	for name, fault := range map[string]func(*Gap){
		"the bound from above taken for the one from below": func(g *Gap) { g.Lower = g.Upper + 1e-9 },
		"lower bound too high":                              func(g *Gap) { g.Lower += 1e-9 },
		"upper bound too low":                               func(g *Gap) { g.Upper -= 1e-9; g.Lower -= 1e-6 },
		"another normal":                                    func(g *Gap) { g.Normal = r3.Unit(r3.Add(g.Normal, r3.Vec{X: 1e-6, Y: -1e-6})) },
		"A off its solid":                                   func(g *Gap) { g.A.X += 1e-9 },
		"B off its solid":                                   func(g *Gap) { g.B.X -= 1e-9 },
		"called overlapping":                                func(g *Gap) { g.Status, g.Lower, g.Upper = Overlapping, -1, 0 },
	} {
		f := g
		fault(&f)
		if certify(&s, f) == nil {
			t.Errorf("%s is not noticed", name)
		}
	}
}

func TestNoAllocs(t *testing.T) {
	r := newRand(t)
	for _, ka := range kinds {
		for _, kb := range kinds {
			var pairs [64][2]Placed
			for i := range pairs {
				s := randomScene(r, ka, kb)
				if i%4 == 0 {
					s.pa.T = s.pb.T
				}
				pairs[i][0], pairs[i][1] = s.placed()
			}
			var sink float64
			i := 0
			if n := testing.AllocsPerRun(300, func() {
				a, b := &pairs[i&63][0], &pairs[i&63][1]
				i++
				var axis r3.Vec
				g := Distance(a, b)
				ClearBy(a, b, 1, &axis)
				ClearBy(a, b, -1, &axis)
				h := Compare(a, b, 10, g.Normal)
				k := Depth(a, b)
				p, q, radius := a.OuterCapsule()
				d, _, _ := SegmentDistance(p, q, a.Centre(), b.Centre())
				sink += g.Lower + h.Lower + k.Lower + radius + d + Separation(a, b, g.Normal) + a.Extent(g.Normal) + a.Support(g.Normal).X
			}); n != 0 {
				t.Errorf("%v-%v: %v allocations", ka, kb, n)
			}
			gapSink += sink
		}
	}
}

func TestPose(t *testing.T) {
	r := newRand(t)
	for range 1000 {
		p, q := randomRotation(r), randomRotation(r)
		p.T, q.T = r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: 3}, r3.Vec{X: 1, Y: r.NormFloat64(), Z: -2}
		x := r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
		if d := r3.Norm(r3.Sub(p.Mul(q).Apply(x), p.Apply(q.Apply(x)))); d > 1e-14 {
			t.Fatalf("Mul: %g", d)
		}
		if d := r3.Norm(r3.Sub(p.Inverse().Apply(p.Apply(x)), x)); d > 2e-14 {
			t.Fatalf("Inverse: %g", d)
		}
		if d := r3.Norm(r3.Sub(r3.Sub(p.Apply(x), p.T), p.Rotate(x))); d > 2e-14 {
			t.Fatalf("Rotate: %g", d)
		}
		if FromPlace(p.Place()) != p || Identity().Mul(p) != p {
			t.Fatal("Place or Identity")
		}
	}
}

// FuzzGap takes any numbers for sizes and places, and demands a proven answer, closed or overlapping.
func FuzzGap(f *testing.F) {
	f.Add(uint8(0), uint8(1), 10.0, 20.0, 30.0, 5.0, 6.0, 7.0, 0.3, 0.4, 0.5, 0.6, 40.0, 1.0, 2.0)
	f.Add(uint8(2), uint8(2), 7247.4, 0.0, 0.00628, 0.00154, 0.0, 0.2398, 0.1, 0.1, 0.1, 0.1, 972.9, 2860.0, 1420.1)
	f.Add(uint8(1), uint8(1), 1e4, 1e-3, 1.0, 1e-3, 1e4, 1.0, 0.0, 0.0, 0.0, 0.0, 5e3, 5e3, 1.0)
	f.Fuzz(func(t *testing.T, ka, kb uint8, a1, a2, a3, b1, b2, b3, u, v, w, z, x, y, h float64) {
		k, l := Kind(ka%5), Kind(kb%5)
		a, err := New(k.String(), []float64{a1, a2, a3}[:k.sizeCount()])
		if err != nil || a.reach > 1e5 {
			return
		}
		b, err := New(l.String(), []float64{b1, b2, b3}[:l.sizeCount()])
		if err != nil || b.reach > 1e5 {
			return
		}
		for _, n := range []float64{u, v, w, z, x, y, h} {
			if !(math.Abs(n) < 1e5) {
				return
			}
		}
		s := scene{a, b, turnZ(u).Mul(turnY(v)), turnY(w).Mul(turnZ(z))}
		s.pa.T = r3.Vec{X: x, Y: y, Z: h}
		p, q := s.placed()
		g := Distance(&p, &q)
		if err := certify(&s, g); err != nil {
			t.Fatalf("%v: %+v", err, g)
		}
		if g.Status == Undecided || g.Status == Apart && g.Upper-g.Lower > 1e-3 {
			t.Fatalf("open: %+v", g)
		}
		if err := certifyDepth(&s, Depth(&p, &q), nil); err != nil {
			t.Fatal(err)
		}
	})
}
