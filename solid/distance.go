package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Status says what is known of a pair.
type Status uint8

const (
	// Undecided: a question was stopped by its answer before it was known whether the solids overlap, they touch so that
	// rounding hides which it is, or the iteration cap came first. The bounds hold.
	Undecided   Status = iota
	Apart              // Lower > 0
	Overlapping        // a common point is found, to within slop: touching to within rounding counts
)

func (s Status) String() string { return [...]string{"undecided", "apart", "overlapping"}[s] }

// Gap is what is known of the gap of two solids, mm, world.
type Gap struct {
	Lower, Upper float64 // Lower ≤ gap ≤ Upper, rounding allowed for
	A, B         r3.Vec  // points of a and of b; apart, |A − B| is Upper to within slop; overlapping, see Distance and Depth
	Normal       r3.Vec  // unit, from b towards a: the separation along it is Lower
	Status       Status
}

const (
	// closed is the bracket, mm, at which Distance stops. With coordinates of 10 m slop is 6e-10 mm, so that it can be reached.
	closed = 1e-6
	// maxSteps bounds the simplices. The few pairs that the walk leaves need 15 on average when they are curved.
	maxSteps = 64
)

// Distance returns the gap of a and b between bounds that are within 1e-3 mm of each other, and mostly within 1e-6; between shapes a
// million times as wide as thick they may, seldom, be left a little wider, and are as true. When the
// solids overlap, Lower ≤ 0 and Upper = 0; ask Depth for how much. A and B are then one point of both, to within rounding.
func Distance(a, b *Placed) Gap { return DistanceFrom(a, b, r3.Vec{}) }

// DistanceFrom is Distance started with a guess of the direction from b to a, of any length; zero means none.
func DistanceFrom(a, b *Placed, axis r3.Vec) Gap {
	return Bracket(a, b, math.Inf(-1), math.Inf(1), closed, axis)
}

// Compare is DistanceFrom that stops as soon as the gap is proven greater than x (Lower > x) or less (Upper < x). The bounds are
// true in each case, and when neither holds they are closed around x as Distance closes them. Overlap counts as Upper = 0.
func Compare(a, b *Placed, x float64, axis r3.Vec) Gap {
	return Bracket(a, b, x, x, closed, axis)
}

// Bracket is DistanceFrom that stops as soon as Upper < below, or Lower > above, or the bounds are within mm of each other,
// whichever comes first. The bounds are true in each case.
func Bracket(a, b *Placed, below, above, within float64, axis r3.Vec) Gap {
	g := Gap{Lower: math.Inf(-1), Upper: math.Inf(1)}
	if !(slop(a, b) < math.Inf(1)) { // a pose is not of finite numbers: nothing is known
		g.Normal = r3.Vec{Z: 1}
		return g
	}
	q := question{below: below, above: above, within: within}
	if walk(a, b, &q, axis, &g) {
		return g
	}
	if g.Lower > math.Inf(-1) {
		axis = g.Normal
	}
	s := search{question: q}
	s.run(a, b, axis, &g)
	if g.Status != Overlapping && (g.Lower <= 0 || g.Upper-g.Lower > depthClosed) && !(g.Lower > above) && !(g.Upper < below) {
		settle(a, b, &g)
	}
	return g
}

// question is what is asked of a gap.
type question struct {
	below, above float64 // an upper bound below the one, or a lower bound above the other, decides
	within       float64 // closed enough, mm
}

// search is the algorithm of Gilbert, Johnson and Keerthi (IEEE J. Robotics and Automation 4, 1988) on the cores of two solids: it
// walks to the point of a − b nearest to the origin by simplices of support points. Each direction that it looks in proves a
// lower bound of the gap, each simplex holds a point that proves an upper one. It stops when they meet or decide, when
// a step brings nothing, or at maxSteps.
type search struct {
	question
	deep bool // go on although the balls around the cores overlap
	simplex
}

// run starts from the bounds and the direction that are known and leaves better ones in g.
func (s *search) run(a, b *Placed, d r3.Vec, g *Gap) {
	centres := sub(a.centre, b.centre)
	round, loose := a.round+b.round, slop(a, b)
	if !(dot(d, d) > 0) {
		if d = centres; d == (r3.Vec{}) {
			d = r3.Vec{Z: 1}
		}
	}
	floor := 2 * loose // an upper bound below it: they overlap
	if s.deep {
		floor = math.Inf(-1)
	}
	walked := g.Upper
	vv := math.Inf(1)
	inside := false
	for step := 0; step < maxSteps; step++ {
		dn := 1 / math.Sqrt(dot(d, d))
		p, q := a.far(neg(d)), b.far(d)
		w := sub(add(centres, p), q)
		if low := dot(d, w)*dn - round - loose; low > g.Lower {
			g.Lower, g.Normal = low, scaled(dn, d)
			if low > s.above || g.Upper-low <= s.within {
				if s.n == 0 {
					s.add(w, p, q)
					s.weight[0] = 1
				}
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
		g.Upper = math.Min(g.Upper, math.Sqrt(vv)-round+loose)
		if g.Upper <= floor || g.Upper < s.below || g.Upper-g.Lower <= s.within {
			break
		}
	}
	if inside {
		s.enclose()
	}
	v, p, q := s.points()
	long := math.Sqrt(dot(v, v))
	upper := long - round + loose
	inside = long <= loose || inside && s.deep
	if inside || upper <= walked {
		g.Upper = upper
		g.A, g.B = add(a.centre, p), add(b.centre, q)
		switch {
		case round == 0:
		case upper <= floor: // a common point: as deep in the one ball as in the other
			g.A = along(g.A, v, -a.round/round)
			g.B = g.A
		case long > 0:
			g.A, g.B = along(g.A, v, -a.round/long), along(g.B, v, b.round/long)
		}
	} else {
		g.Upper = walked
	}
	switch {
	case inside && s.deep:
		g.Status, g.Upper = Overlapping, upper
	case inside || g.Upper <= floor:
		g.Status, g.Upper, g.Lower = Overlapping, 0, math.Min(g.Lower, 0)
	case g.Upper <= 2*loose:
		g.Status = Overlapping // deep: the balls overlap
	case g.Lower > 0:
		g.Status = Apart
	}
}
