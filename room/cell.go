package room

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/solid"
)

// State is what is proven of a cell of the torus.
type State uint8

const (
	Edge    State = iota // undecided at the smallest size: not free
	Free                 // every pose in it is free
	Blocked              // no pose in it is free
)

func (s State) String() string { return [...]string{"edge", "free", "blocked"}[s] }

// Rect is a rectangle of axis angles, radians, unwrapped.
type Rect struct{ RAFrom, RATo, DecFrom, DecTo float64 }

// Centre returns the middle of the rectangle.
func (r Rect) Centre() axes.Angles {
	return axes.Angles{RA: (r.RAFrom + r.RATo) / 2, Dec: (r.DecFrom + r.DecTo) / 2}
}

func (r Rect) half() (ra, dec float64) { return (r.RATo - r.RAFrom) / 2, (r.DecTo - r.DecFrom) / 2 }

// ordered returns the rectangle with its borders in order; a border that is not a number stays one.
func (r Rect) ordered() Rect {
	return Rect{math.Min(r.RAFrom, r.RATo), math.Max(r.RAFrom, r.RATo), math.Min(r.DecFrom, r.DecTo), math.Max(r.DecFrom, r.DecTo)}
}

// valid tells whether the borders are numbers, in order, and within a few turns, where rounding stays below moveSlop.
func (r Rect) valid() bool {
	const far = 10 * turn
	return -far <= r.RAFrom && r.RAFrom <= r.RATo && r.RATo <= far && -far <= r.DecFrom && r.DecFrom <= r.DecTo && r.DecTo <= far
}

// hull returns the smallest rectangle that holds both.
func (r Rect) hull(o Rect) Rect {
	return Rect{math.Min(r.RAFrom, o.RAFrom), math.Max(r.RATo, o.RATo),
		math.Min(r.DecFrom, o.DecFrom), math.Max(r.DecTo, o.DecTo)}
}

// cut returns what of the rectangle lies in o, which must meet it.
func (r Rect) cut(o Rect) Rect {
	return Rect{math.Max(r.RAFrom, o.RAFrom), math.Min(r.RATo, o.RATo), math.Max(r.DecFrom, o.DecFrom), math.Min(r.DecTo, o.DecTo)}
}

// live is a pair that is not yet proven free over a cell, with the direction that last kept it apart.
type live struct {
	pair   int32
	normal r3.Vec // from the fixed part towards the moving one, unit; zero when none is known
}

// moveSlop covers, in mm, the rounding of placing a part and of the motion bound itself: coordinates stay below 1e5 mm, each
// product and sum rounds by at most 1e5·2⁻⁵³ = 1.2e-11 mm, and fewer than 200 of them meet in one bound.
const moveSlop = 3e-9

// coarse, mm, is the motion over a cell above which a pair that is too near to be proven free goes on to smaller cells unmeasured.
const coarse = 60

// prover proves cells. It is the working memory of one goroutine.
type prover struct {
	g  *Gauge
	at *at
}

func newProver(g *Gauge) *prover {
	p := &prover{g: g, at: newAt(len(g.Model.Parts))}
	p.at.fix(g)
	return p
}

// all lists the pairs that either axis, or both, move as asked.
func (g *Gauge) all(byRA, byDec bool) []live {
	var out []live
	for i := range g.pairs {
		if g.pairs[i].byRA == byRA && g.pairs[i].byDec == byDec {
			out = append(out, live{pair: int32(i)})
		}
	}
	return out
}

// every lists all pairs.
func (g *Gauge) every() []live {
	out := make([]live, len(g.pairs))
	for i := range out {
		out[i].pair = int32(i)
	}
	return out
}

// prove looks at the cell with half-widths hRA, hDec around centre for the pairs in in. It appends those that it could not
// prove free over the whole cell to keep and returns the extended slice with the cell's state: Free when nothing was
// appended, Blocked when one pair is proven not free over the whole cell, and Edge otherwise.
//
// The proof. A point X of the moving part, seen from the crossing, goes to R_p(Δθ)·R_a(Δβ)·X, with |Δθ| ≤ hθ, |Δβ| ≤ hβ, a the
// declination axis at the centre. Along a fixed unit direction n it moves, by Taylor's theorem with the remainders of both
// turns and of their product, by no more than
//
//	hθ·|n·(p × X)| + hβ·|n·(a × X)| + ½hθ²·|X| + hθ·hβ·ρ_a + ½hβ²·ρ_a
//
// where ρ_a bounds the distance of the part's points from the declination axis. n·(p × X) = X·(n × p) is linear in X, so that its
// greatest size over the part is read off the part's support function. The separation along n at the centre less all this
// bounds the gap over the cell from below, for any n. From above the gap is bounded by the distance of the two witness points,
// of which only the moving one moves, by at most hθ·ρ_p + hβ·ρ_a of its own.
func (v *prover) prove(centre axes.Angles, hRA, hDec float64, in, keep []live) ([]live, State) {
	v.at.set(v.g, centre.RA, centre.Dec)
	if v.g.fault == motionHalved {
		hRA, hDec = hRA/2, hDec/2
	}
	base := len(keep)
	worst, worstAt := math.Inf(1), base
	for i := range in {
		l := in[i]
		p := &v.g.pairs[l.pair]
		part := &v.g.Model.Parts[p.moving]
		hθ, hβ := 0.0, 0.0
		reach := part.FromCrossing
		if p.byRA {
			hθ = hRA
		}
		if p.byDec {
			hβ = hDec
		} else {
			reach = part.FromPolarAxis
		}
		m, f := v.at.part(v.g, p.moving), v.at.part(v.g, p.fixed)
		plain := hθ*reach + hβ*part.FromDecAxis + moveSlop
		curve := hθ*(0.5*hθ*reach+hβ*part.FromDecAxis) + 0.5*hβ*hβ*part.FromDecAxis + moveSlop

		// First what the direction that kept the pair apart in the cell above still proves, and without one what balls around
		// the parts do.
		if l.normal != (r3.Vec{}) {
			if v.clear(m, f, l.normal, p.need, plain, curve, hθ, hβ) {
				continue
			}
		} else if norm(r3.Sub(m.Centre(), f.Centre()))-p.radius-plain >= p.need {
			continue
		}
		// Capsules inside the parts bound the gap from above: it may be blocked, or too near for any proof over a cell so large.
		upper := v.inner(m, f, hθ, hβ)
		if upper.moved < p.need {
			return keep[:base], Blocked
		}
		if upper.here < p.need+math.Min(plain, curve) && plain > coarse {
			if slack := upper.here - p.need; slack < worst {
				worst, worstAt = slack, len(keep)
			}
			keep = append(keep, l)
			continue
		}
		d := solid.Bracket(m, f, p.need-plain, p.need+plain, 1e-4+plain/32, l.normal)
		if d.Lower-plain >= p.need {
			continue
		}
		if d.Lower > 0 {
			l.normal = d.Normal
			if v.clear(m, f, d.Normal, p.need, plain, curve, hθ, hβ) {
				continue
			}
		} else {
			l.normal = r3.Vec{}
		}
		// When they overlap, A is a common point and Upper is 0.
		if d.Upper+v.travel(d.A, hθ, hβ) < p.need {
			return keep[:base], Blocked
		}
		if slack := d.Upper - p.need; slack < worst {
			worst, worstAt = slack, len(keep)
		}
		keep = append(keep, l)
	}
	if len(keep) == base {
		return keep, Free
	}
	// The tightest pair first: when a cell below is blocked it is most likely by this one.
	keep[base], keep[worstAt] = keep[worstAt], keep[base]
	return keep, Edge
}

// drift bounds the first-order motion of m along n over the cell.
func (v *prover) drift(m *solid.Placed, n r3.Vec, hθ, hβ float64) float64 {
	d := 0.0
	if hθ > 0 {
		d = hθ * widest(m, r3.Cross(n, v.at.p), v.at.o)
	}
	if hβ > 0 {
		d += hβ * widest(m, r3.Cross(n, v.at.a), v.at.o)
	}
	return d
}

// widest returns the greatest |(X − o)·g| over the solid.
func widest(m *solid.Placed, g, o r3.Vec) float64 {
	c := r3.Dot(g, o)
	return math.Max(m.Extent(g)-c, m.Extent(r3.Vec{X: -g.X, Y: -g.Y, Z: -g.Z})+c)
}

// travel bounds how far the point x of the moving part goes over the cell.
func (v *prover) travel(x r3.Vec, hθ, hβ float64) float64 {
	x = r3.Sub(x, v.at.o)
	return hθ*norm(r3.Cross(v.at.p, x)) + hβ*norm(r3.Cross(v.at.a, x)) + moveSlop
}

// clear tells whether the direction n proves the pair free over the cell.
func (v *prover) clear(m, f *solid.Placed, n r3.Vec, need, plain, curve, hθ, hβ float64) bool {
	sep := solid.Separation(m, f, n) - need
	if v.g.fault == boundFromAbove {
		sep = v.inner(m, f, hθ, hβ).here - need
	}
	return sep >= plain || sep >= curve && sep-curve >= v.drift(m, n, hθ, hβ)
}

// fromAbove bounds a gap from above, at the centre of a cell and anywhere in it, mm; both may be negative.
type fromAbove struct{ here, moved float64 }

// inner bounds the gap from above by the distance of capsules inside the two parts.
func (v *prover) inner(m, f *solid.Placed, hθ, hβ float64) fromAbove {
	ms, me, mr := m.InnerCapsule()
	fs, fe, fr := f.InnerCapsule()
	d, x, _ := solid.SegmentDistance(ms, me, fs, fe)
	here := d - mr - fr + moveSlop
	return fromAbove{here, here + v.travel(x, hθ, hβ)}
}

// norm is the length of a vector whose square does not overflow.
func norm(v r3.Vec) float64 { return math.Sqrt(r3.Dot(v, v)) }
