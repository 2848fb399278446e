package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// slop returns the rounding allowance of a pair, mm: what a bound may be wrong by because its arithmetic rounds.
//
// Let u = 2⁻⁵³ and S = |c_a|₁ + |c_b|₁ + reach_a + reach_b, so that the centres' difference and every support point have length
// at most S. Along a unit direction, to first order in u:
//
//   - the difference of the centres: one rounding a component, ≤ √3·u·S;
//   - n·(difference): a three-term product sum, ≤ 3u·√3·S in any order;
//   - each half-axis product of span: ≤ 3u·√3·S in all, for the half axes' lengths add up to at most √3 times the reach; each half
//     axis itself and each unit axis (one Newton step) is off by ≤ 4u of its length: ≤ 7u·S;
//   - across: the vector is off by ≤ 6u·|d|, its norm by 3u more: ≤ 9u·S; a support point on a rim lies off the end plane by
//     ≤ 30u of the radius (far takes off what points along the axis when d is within 6° of it, and gives the middle of the end, which
//     falls short by ≤ 9u of the radius, when nothing else is left): ≤ 30u·S;
//   - the direction's own length is off by ≤ 3u: ≤ 3u·S; adding up, ≤ 4u·S;
//   - witness points as world coordinates: one rounding a component, ≤ 2√3·u·S.
//
// Together less than 80u·S. The products of the simplex do not enter: whatever direction they come to, the separation along it is
// true, and whatever weights, their points are in the solids. A fused multiply-add drops a rounding and adds none. 128u·S leaves
// room; with coordinates of 10 m it is 6e-10 mm.
func slop(a, b *Placed) float64 { return 0x1p-46 * (a.scale + b.scale) }

// Separation returns a proven lower bound of the signed gap along the unit direction n, from b towards a, mm: the least n·x over a
// less the greatest over b, with slop taken off. When n's length is not 1 it is allowed for. A zero n, or one that is not a number, proves
// nothing: −Inf.
func Separation(a, b *Placed, n r3.Vec) float64 {
	s := dot(n, sub(a.centre, b.centre)) - a.span(neg(n)) - b.span(n)
	nn := dot(n, n)
	switch {
	case s > 0:
		s *= (3 - nn) / 2 // ≤ s/|n|: the tangent of nn^(−1/2) at 1 lies below it
	case nn > 0:
		s /= math.Sqrt(nn)
	default:
		return math.Inf(-1)
	}
	if s -= a.round + b.round + slop(a, b); s > math.Inf(-1) {
		return s
	}
	return math.Inf(-1) // not a number
}

// ClearBy tells whether the signed gap is proven to be x mm or more. Undecided is false. axis carries a separating direction from
// one call to the next (zero: none): with parts that moved little it alone decides most calls. It must not be nil.
//
// x below 0 asks for an overlap of no more than −x.
func ClearBy(a, b *Placed, x float64, axis *r3.Vec) bool {
	if *axis != (r3.Vec{}) && Separation(a, b, *axis) >= x {
		return true
	}
	d := sub(a.centre, b.centre)
	if dd := dot(d, d); dd > 0 {
		if far := math.Sqrt(dd); far-a.reach-b.reach-slop(a, b) >= x {
			*axis = scaled(1/far, d)
			return true
		}
	}
	g := Compare(a, b, x, *axis)
	if g.Lower > 0 {
		*axis = g.Normal
	}
	if x < 0 && !(g.Lower >= x) {
		g = Depth(a, b)
	}
	return g.Lower >= x
}
