package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Status says what is known of a pair.
type Status uint8

const (
	// Undecided: neither Apart nor Overlapping is proven: the solids touch to within rounding, a question stopped early with
	// its answer, or the iteration cap came first. The bounds hold.
	Undecided   Status = iota
	Apart              // Lower > 0
	Overlapping        // a common point is found, to within slop
)

func (s Status) String() string { return [...]string{"undecided", "apart", "overlapping"}[s] }

// Gap is what is known of the gap of two solids, mm, world.
type Gap struct {
	Lower, Upper float64 // Lower ≤ gap ≤ Upper, rounding allowed for
	A, B         r3.Vec  // points of a and of b; |A − B| is Upper to within rounding when the solids are apart
	Normal       r3.Vec  // unit, from b towards a: the separation along it is Lower
	Status       Status
}

const (
	// closed is the bracket, mm, at which Distance stops. With coordinates of 10 m slop is 6e-10 mm, so that it can be reached.
	closed = 1e-6
	// maxSteps bounds the iteration. Pairs of curved solids need 6 on average; 64 leaves the slowest ones closed.
	maxSteps = 64
)

// Distance returns the gap of a and b between bounds that are within 1e-3 mm of each other, and mostly within 1e-6. When the
// solids overlap, Lower ≤ 0 and Upper = 0; ask Depth for how much.
func Distance(a, b *Placed) Gap { return iterate(a, b, math.NaN(), r3.Vec{}) }

// DistanceFrom is Distance started with a guess of the direction from b to a, of any length; zero means none.
func DistanceFrom(a, b *Placed, axis r3.Vec) Gap { return iterate(a, b, math.NaN(), axis) }

// Compare is DistanceFrom that stops as soon as the gap is proven greater than x (Lower > x, or Lower ≥ x where they close on x) or less
// (Upper < x). The bounds are true in each case, and when neither holds they are closed around x as Distance closes them. Overlap
// counts as Upper = 0.
func Compare(a, b *Placed, x float64, axis r3.Vec) Gap { return iterate(a, b, x, axis) }

// iterate is the algorithm of Gilbert, Johnson and Keerthi (IEEE J. Robotics and Automation 4, 1988) on the cores of a and b: it
// walks to the point of a − b nearest to the origin by simplices of support points. Each direction that it looks in proves a lower bound of
// the gap, each simplex holds a point that proves an upper one. It stops when they meet or decide about x (NaN: no x), when a
// step brings nothing, or at maxSteps.
func iterate(a, b *Placed, x float64, d r3.Vec) Gap {
	centres := sub(a.centre, b.centre)
	round, loose := a.round+b.round, slop(a, b)
	if !(dot(d, d) > 0) {
		if d = centres; d == (r3.Vec{}) {
			d = r3.Vec{Z: 1}
		}
	}
	g := Gap{Lower: math.Inf(-1), Upper: math.Inf(1)}
	var s simplex
	var normal r3.Vec
	vv := math.Inf(1)
	inside, decided := false, false
	for step := 0; step < maxSteps; step++ {
		dn := 1 / math.Sqrt(dot(d, d))
		p, q := a.far(neg(d)), b.far(d)
		w := sub(add(centres, p), q)
		if low := dot(d, w)*dn - round - loose; low > g.Lower {
			g.Lower, normal = low, scaled(dn, d)
			if low > x || g.Upper-low <= closed {
				decided = low > x
				break
			}
		}
		if s.holds(w) {
			break
		}
		n := s.n
		s.add(w, p, q)
		var r near
		if r, inside = s.nearest(); inside {
			break
		}
		if !(r.vv < vv) {
			s.n = n // no nearer: the last simplex stands
			break
		}
		vv, d = r.vv, r.d
		s.keep(&r)
		g.Upper = math.Sqrt(vv) - round + loose
		if g.Upper < 0 || g.Upper < x || g.Upper-g.Lower <= closed {
			break
		}
	}
	return finish(a, b, g, &s, normal, x, inside, decided)
}

// finish turns the state of the iteration into an answer.
func finish(a, b *Placed, g Gap, s *simplex, normal r3.Vec, x float64, inside, decided bool) Gap {
	round, loose := a.round+b.round, slop(a, b)
	g.Normal = normal
	if inside || s.n == 0 {
		g.A, g.B = a.centre, b.centre
	} else {
		v, p, q := s.points()
		long := math.Sqrt(dot(v, v))
		g.Upper = long - round + loose
		g.A, g.B = add(a.centre, p), add(b.centre, q)
		if long > 0 && round > 0 {
			g.A, g.B = along(g.A, v, -a.round/long), along(g.B, v, b.round/long)
		}
		inside = g.Upper < 0
	}
	switch {
	case inside:
		g.Upper, g.Status = 0, Overlapping
		g.Lower = math.Min(g.Lower, 0)
	case g.Lower > 0:
		g.Status = Apart
	}
	_ = decided
	return g
}
