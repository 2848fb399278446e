package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// simplex holds up to four points of the difference a − b of two cores with the points of a and b that they come from, and the
// weights that make the point nearest to the origin.
type simplex struct {
	w, p, q [4]r3.Vec
	weight  [4]float64
	slot    [4]uint8 // slot[:n] are in use; the last is the newest
	n       int
}

// near is the outcome of one search: the point nearest to the origin.
type near struct {
	l  [4]float64 // weights, in the order of the points given
	d  r3.Vec     // from the origin towards the point; a direction, not of its length
	vv float64    // squared distance
}

// add puts a point into a free slot as the newest.
func (s *simplex) add(w, p, q r3.Vec) {
	used := uint8(0)
	for i := 0; i < s.n; i++ {
		used |= 1 << s.slot[i&3]
	}
	k := uint8(0)
	for used&(1<<k) != 0 {
		k++
	}
	s.w[k&3], s.p[k&3], s.q[k&3] = w, p, q
	s.slot[s.n&3] = k & 3
	s.n++
}

// holds tells whether w is one of the points already.
func (s *simplex) holds(w r3.Vec) bool {
	for i := 0; i < s.n; i++ {
		if s.w[s.slot[i&3]&3] == w {
			return true
		}
	}
	return false
}

// nearest finds the point of the simplex nearest to the origin; inside: a tetrahedron holds the origin.
func (s *simplex) nearest() (r near, inside bool) {
	a := s.w[s.slot[(s.n-1)&3]&3]
	switch s.n {
	case 1:
		r.l[0], r.d, r.vv = 1, a, dot(a, a)
	case 2:
		b := s.w[s.slot[0]&3]
		var t float64
		t, r.d, r.vv = nearEdge(b, a)
		r.l[0], r.l[1] = 1-t, t
	case 3:
		b, c := s.w[s.slot[0]&3], s.w[s.slot[1]&3]
		r.l[2], r.l[0], r.l[1], r.d, r.vv = nearTriangle(a, b, c)
	default:
		return s.nearTetrahedron(a)
	}
	return r, false
}

// keep drops the points without weight.
func (s *simplex) keep(r *near) {
	n := 0
	for i := 0; i < s.n; i++ {
		if k := s.slot[i&3]; r.l[i&3] > 0 {
			s.weight[k&3] = r.l[i&3]
			s.slot[n&3] = k
			n++
		}
	}
	s.n = n
}

// enclose sets the weights that make the origin out of the four points of a tetrahedron that holds it. A flat one loses figures; two rounds of
// refinement by what is left over bring them back.
func (s *simplex) enclose() {
	i, j, k, l := s.slot[0]&3, s.slot[1]&3, s.slot[2]&3, s.slot[3]&3
	x, y, z := sub(s.w[j], s.w[i]), sub(s.w[k], s.w[i]), sub(s.w[l], s.w[i])
	yz := cross(y, z)
	f := 1 / dot(x, yz)
	var tx, ty, tz float64
	for range 3 {
		o := neg(along(along(along(s.w[i], x, tx), y, ty), z, tz))
		tx += f * dot(o, yz)
		ty += f * dot(x, cross(o, z))
		tz += f * dot(x, cross(y, o))
	}
	tx, ty, tz = math.Max(0, tx), math.Max(0, ty), math.Max(0, tz)
	over := 1 / math.Max(1, tx+ty+tz)
	s.weight[j], s.weight[k], s.weight[l] = over*tx, over*ty, over*tz
	s.weight[i] = math.Max(0, 1-over*(tx+ty+tz))
}

// points returns the weighted point of the difference and of each core.
func (s *simplex) points() (v, p, q r3.Vec) {
	for i := 0; i < s.n; i++ {
		k := s.slot[i&3] & 3
		l := s.weight[k]
		v, p, q = along(v, s.w[k], l), along(p, s.p[k], l), along(q, s.q[k], l)
	}
	return v, p, q
}

// nearEdge finds the nearest point a + t(b − a).
func nearEdge(a, b r3.Vec) (t float64, d r3.Vec, vv float64) {
	ab := sub(b, a)
	if e := dot(ab, ab); e > 0 {
		t = clamp01(-dot(a, ab) / e)
	}
	switch t {
	case 0:
		d = a
	case 1:
		d = b
	default:
		d = along(a, ab, t)
	}
	return t, d, dot(d, d)
}

// nearTriangle finds the nearest point of a triangle with its weights. The inside is found by the signed areas of the three
// triangles that the projected origin makes with the edges; outside, the nearest point is on an edge that has the origin on
// its far side. Inside, the direction is the plane's normal, which keeps its figures however near the plane is.
func nearTriangle(a, b, c r3.Vec) (la, lb, lc float64, d r3.Vec, vv float64) {
	ab, ac := sub(b, a), sub(c, a)
	n := cross(ab, ac)
	nn := dot(n, n)
	uc, ub := dot(n, cross(a, ab)), dot(n, cross(ac, a))
	ua := nn - ub - uc
	flat := !(nn > 1e-20*dot(ab, ab)*dot(ac, ac)) // no plane worth the name: its normal is rounding
	if ua > 0 && ub > 0 && uc > 0 && !flat {
		na := dot(n, a)
		if na < 0 {
			n = neg(n)
		}
		f := 1 / nn
		return ua * f, ub * f, uc * f, n, na * na * f
	}
	vv = math.Inf(1)
	if uc <= 0 || flat {
		var t float64
		t, d, vv = nearEdge(a, b)
		la, lb, lc = 1-t, t, 0
	}
	if ub <= 0 || flat {
		if t, e, ee := nearEdge(a, c); ee < vv {
			d, vv = e, ee
			la, lb, lc = 1-t, 0, t
		}
	}
	if ua <= 0 || flat {
		if t, e, ee := nearEdge(b, c); ee < vv {
			d, vv = e, ee
			la, lb, lc = 0, 1-t, t
		}
	}
	return la, lb, lc, d, vv
}

// nearTetrahedron looks at the three faces that meet in the newest point a: the fourth was the nearest face before it. When the
// origin is beyond none of them it is inside.
func (s *simplex) nearTetrahedron(a r3.Vec) (r near, inside bool) {
	r.vv = math.Inf(1)
	inside = true
	for i := 0; i < 3; i++ {
		j, k := (i+1)%3, (i+2)%3
		b, c, o := s.w[s.slot[i&3]&3], s.w[s.slot[j&3]&3], s.w[s.slot[k&3]&3]
		n := cross(sub(b, a), sub(c, a))
		ao := sub(o, a)
		side, here := dot(n, ao), -dot(n, a)
		if side*here > 0 && side*side > 1e-20*dot(n, n)*dot(ao, ao) {
			continue // the origin is on the side of the opposite point, which is not in the plane itself
		}
		inside = false
		la, lb, lc, d, vv := nearTriangle(a, b, c)
		if vv < r.vv {
			r.d, r.vv = d, vv
			r.l[3], r.l[i], r.l[j], r.l[k] = la, lb, lc, 0
		}
	}
	return r, inside
}
