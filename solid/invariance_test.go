package solid

import (
	"math"
	"math/big"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// Swapping the pair, moving both, and mirroring both change nothing but the points.
func TestInvariance(t *testing.T) {
	r := newRand(t)
	mirror := func(p Pose) Pose { // x → −x of the world; the solids are their own mirror images
		p.T.X = -p.T.X
		for _, i := range [...]int{0, 1, 2} {
			p.R[i] = -p.R[i]
		}
		for _, i := range [...]int{0, 3, 6} { // right-handed again
			p.R[i] = -p.R[i]
		}
		return p
	}
	for range 1200 {
		for _, ka := range kinds {
			for _, kb := range kinds {
				s := randomScene(r, ka, kb)
				a, b := s.placed()
				g := Distance(&a, &b)
				by := randomRotation(r)
				by.T = r3.Scale(logUniform(r, 1e-3, 1e4), randomRotation(r).Rotate(r3.Vec{X: 1}))
				for what, o := range map[string]scene{
					"swapped":  {s.b, s.a, s.pb, s.pa},
					"moved":    {s.a, s.b, by.Mul(s.pa), by.Mul(s.pb)},
					"mirrored": {s.a, s.b, mirror(s.pa), mirror(s.pb)},
				} {
					a, b := o.placed()
					h := Distance(&a, &b)
					if err := certify(&o, h); err != nil {
						t.Fatalf("%s: %v\n%+v\n%+v", what, err, o, h)
					}
					if fuzz := 20 * (fuzzOf(&s) + fuzzOf(&o)); h.Lower > g.Upper+fuzz || g.Lower > h.Upper+fuzz {
						t.Fatalf("%s: %v … %v, before %v … %v\n%+v", what, h.Lower, h.Upper, g.Lower, g.Upper, s)
					}
				}
			}
		}
	}
}

// bigSeparation is Separation in 200 bits, along exactly n/|n|, of exactly the solids that the Placed describe with their axes brought
// to exactly unit length.
func bigSeparation(a, b *Placed, n r3.Vec) *big.Float {
	f := func(x float64) *big.Float { return new(big.Float).SetPrec(200).SetFloat64(x) }
	mul := func(x, y *big.Float) *big.Float { return f(0).Mul(x, y) }
	sum := func(x ...*big.Float) *big.Float {
		s := f(0)
		for _, v := range x {
			s.Add(s, v)
		}
		return s
	}
	sqrt := func(x *big.Float) *big.Float {
		if x.Sign() <= 0 {
			return f(0)
		}
		return f(0).Sqrt(x)
	}
	type vec [3]*big.Float
	dot := func(a, b vec) *big.Float { return sum(mul(a[0], b[0]), mul(a[1], b[1]), mul(a[2], b[2])) }
	of := func(v r3.Vec) vec { return vec{f(v.X), f(v.Y), f(v.Z)} }
	unit := func(v vec) vec {
		l := sqrt(dot(v, v))
		return vec{f(0).Quo(v[0], l), f(0).Quo(v[1], l), f(0).Quo(v[2], l)}
	}
	d := unit(of(n))
	span := func(s *Placed, sign int) *big.Float { // max of ±d·x over the core
		if s.kind == Box {
			h := f(0)
			for _, v := range []r3.Vec{s.hx, s.hy, s.hz} {
				h.Add(h, f(0).Abs(dot(d, of(v))))
			}
			return h
		}
		z := dot(d, unit(of(s.axis)))
		across := sqrt(f(0).Sub(f(1), mul(z, z)))
		if sign < 0 {
			z.Neg(z)
		}
		lo := sum(mul(z, f(-s.half)), mul(across, f(s.r1)))
		hi := sum(mul(z, f(s.half)), mul(across, f(s.r2)))
		if lo.Cmp(hi) > 0 {
			return lo
		}
		return hi
	}
	s := f(0).Sub(dot(d, of(a.centre)), dot(d, of(b.centre)))
	s.Sub(s, span(a, -1))
	s.Sub(s, span(b, +1))
	return s.Sub(s, sum(f(a.round), f(b.round)))
}

// The bounds hold against 200-bit arithmetic without any tolerance of the test's own: slop covers the rounding. The gap is at least the exact
// separation along the normal, so that Upper must not be below it either.
func TestBoundsHoldInExactArithmetic(t *testing.T) {
	r := newRand(t)
	least := math.Inf(1)
	for range 400 {
		for _, ka := range kinds {
			for _, kb := range kinds {
				s := randomScene(r, ka, kb)
				a, b := s.placed()
				for _, g := range []Gap{Distance(&a, &b), Depth(&a, &b)} {
					exact, _ := bigSeparation(&a, &b, g.Normal).Float64()
					if g.Lower > exact {
						t.Fatalf("Lower %v > %v\n%+v\n%+v", g.Lower, exact, s, g)
					}
					if g.Status == Apart && g.Upper < exact {
						t.Fatalf("Upper %v < %v\n%+v\n%+v", g.Upper, exact, s, g)
					}
				}
				n := randomRotation(r).Rotate(r3.Vec{X: 1})
				sep := Separation(&a, &b, n)
				exact, _ := bigSeparation(&a, &b, n).Float64()
				if sep > exact {
					t.Fatalf("Separation %v > %v along %v\n%+v", sep, exact, n, s)
				}
				least = math.Min(least, (exact-sep)/slop(&a, &b))
			}
		}
	}
	t.Logf("at the worst %.2f of slop was left", least)
	if least < 0.5 {
		t.Error("slop is tighter than its derivation says")
	}
}

// A lower bound is not had by giving a longer direction.
func TestSeparationAllowsForLength(t *testing.T) {
	a, b := sph(2).At(upright(10, 0, 0)), sph(2).At(upright(0, 0, 0))
	for _, n := range []float64{.5, 1 - 1e-9, 1, 1 + 1e-9, 1.1, 2, 10} {
		if s := Separation(&a, &b, r3.Vec{X: n}); s > 8 || n > .9 && n < 1.01 && s < 8-1e-6 {
			t.Errorf("%v: %v", n, s)
		}
	}
	if s := Separation(&a, &b, r3.Vec{}); !math.IsInf(s, -1) {
		t.Errorf("along nothing: %v", s)
	}
	if s := Separation(&a, &b, r3.Vec{X: math.NaN()}); !math.IsInf(s, -1) {
		t.Errorf("along no number: %v", s)
	}
}

// What is not a number, or not finite, proves nothing, and ends.
func TestNoNumberProvesNothing(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, k := range kinds {
		for _, l := range kinds {
			s, o := must(New(k.String(), []float64{3, 2, 1}[:k.sizeCount()])), must(New(l.String(), []float64{3, 2, 1}[:l.sizeCount()]))
			b := o.At(upright(100, 0, 0))
			for _, p := range []Pose{upright(nan, 0, 0), upright(0, inf, 0), upright(0, 0, -inf), {R: [9]float64{nan, 0, 0, 0, 1, 0, 0, 0, nan}}} {
				a := s.At(p)
				for _, g := range []Gap{Distance(&a, &b), Distance(&b, &a), Compare(&a, &b, 1, r3.Vec{X: nan}), Depth(&a, &b)} {
					if g.Lower != -inf || g.Upper != inf || g.Status != Undecided {
						t.Fatalf("%v %v at %v: %+v", k, l, p, g)
					}
				}
				var axis r3.Vec
				if ClearBy(&a, &b, 1, &axis) || Separation(&a, &b, r3.Vec{X: 1}) != -inf {
					t.Fatalf("%v %v at %v is clear", k, l, p)
				}
			}
		}
	}
}
