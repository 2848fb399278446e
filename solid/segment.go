package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// SegmentDistance returns the distance of the segments p1–q1 and p2–q2 with a nearest point on each. Segments may be parallel
// or points.
//
// Source of the scheme: C. Ericson, Real-Time Collision Detection (2005), 5.1.9: minimise over the infinite lines, clamp the
// first parameter, take the best second one for it, clamp, and the best first one for that. For nearly parallel segments the
// unclamped minimum is ill-conditioned, so each end is tried against the other segment too and the best is kept: one of the
// nearest points of parallel segments is always an end.
func SegmentDistance(p1, q1, p2, q2 r3.Vec) (dist float64, a, b r3.Vec) {
	d1, d2, r := r3.Sub(q1, p1), r3.Sub(q2, p2), r3.Sub(p1, p2)
	s, t := segmentParameters(d1, d2, r)
	a, b = along(p1, d1, s), along(p2, d2, t)
	v := sub(a, b)
	return math.Sqrt(dot(v, v)), a, b
}

// segmentParameters returns s, t in [0, 1] that minimise |r + s·d1 − t·d2|.
func segmentParameters(d1, d2, r r3.Vec) (s, t float64) {
	a, e, f := r3.Dot(d1, d1), r3.Dot(d2, d2), r3.Dot(d2, r)
	switch {
	case a == 0 && e == 0:
		return 0, 0
	case a == 0:
		return 0, clamp01(f / e)
	}
	c := r3.Dot(d1, r)
	if e == 0 {
		return clamp01(-c / a), 0
	}
	b := r3.Dot(d1, d2)
	den := a*e - b*b // a·e·sin²
	if den > 1e-6*a*e {
		s = clamp01((b*f - c*e) / den)
		t = (b*s + f) / e
		if t < 0 {
			t, s = 0, clamp01(-c/a)
		} else if t > 1 {
			t, s = 1, clamp01((b-c)/a)
		}
		return s, t
	}
	return slenderParameters(d1, d2, r, a, b, c, e, f, den)
}

// slenderParameters is segmentParameters for nearly parallel segments.
func slenderParameters(d1, d2, r r3.Vec, a, b, c, e, f, den float64) (s, t float64) {
	best := math.Inf(1)
	try := func(si, ti float64) {
		v := r3.Vec{X: r.X + si*d1.X - ti*d2.X, Y: r.Y + si*d1.Y - ti*d2.Y, Z: r.Z + si*d1.Z - ti*d2.Z}
		if n := r3.Dot(v, v); n < best {
			best, s, t = n, si, ti
		}
	}
	try(0, clamp01(f/e))
	try(1, clamp01((b+f)/e))
	try(clamp01(-c/a), 0)
	try(clamp01((b-c)/a), 1)
	// An inner minimum: the common perpendicular by the cross product, which keeps its figures where a·e − b·b loses them.
	n := r3.Cross(d1, d2)
	if nn := r3.Dot(n, n); nn > 0 {
		si := clamp01(r3.Dot(r3.Cross(d2, r), n) / nn)
		for range 4 { // each line in turn, downhill
			ti := clamp01((b*si + f) / e)
			try(si, ti)
			si = clamp01((b*ti - c) / a)
			try(si, ti)
		}
	}
	return s, t
}

func along(p, d r3.Vec, s float64) r3.Vec {
	return r3.Vec{X: p.X + s*d.X, Y: p.Y + s*d.Y, Z: p.Z + s*d.Z}
}

func clamp01(x float64) float64 {
	if x < 0 {
		return 0
	}
	if x > 1 {
		return 1
	}
	return x
}
