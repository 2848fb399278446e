package solid

import "math"

// The capsules are chosen by their mean width over all directions, which for a segment of half length t and radius r is
// 2r + t: the outer one has the least, the inner one the greatest that its family allows. Their radii are rounded outwards and
// inwards, so that containment holds in spite of rounding (up to slop once placed).

// boxCapsules sets the capsules of a box, both along its longest edge.
func (s *Solid) boxCapsules() {
	k := 0
	for i := 1; i < 3; i++ {
		if s.half[i] > s.half[k] {
			k = i
		}
	}
	h, y, z := s.half[k], s.half[(k+1)%3], s.half[(k+2)%3]
	// A segment that ends e before the faces leaves the corners at √(y² + z² + e²); r + t/2 is least where e = √(y² + z²)/√3.
	diag := math.Hypot(y, z)
	e := math.Min(h, diag/math.Sqrt(3))
	t := 1 - e/h
	s.outer = capsule{uint8(k), -t, t, up(math.Hypot(diag, e))}
	r := math.Min(y, z)
	t = math.Max(0, 1-r/h)
	s.inner = capsule{uint8(k), -t, t, down(math.Min(r, h*(1-t)))}
}

// revolve sets the core of a frustum (a cylinder when the radii are equal) with its capsules.
func (s *Solid) revolve(r1, r2, h float64) {
	s.r1, s.r2 = r1, r2
	wide := math.Max(r1, r2)
	s.half = [3]float64{wide, wide, h}
	s.reach = up(math.Hypot(wide, h))

	// Outer: both end circles inside. Radius r lets the segment end √(r² − r₁²) and √(r² − r₂²) before the end planes.
	outer := func(r float64) (from, to float64) {
		from = -h + math.Sqrt(math.Max(0, r*r-r1*r1))
		to = h - math.Sqrt(math.Max(0, r*r-r2*r2))
		if from > to { // a sphere; the wider end decides where its centre may be
			if r1 >= r2 {
				return from, from
			}
			return to, to
		}
		return from, to
	}
	r := least(func(r float64) float64 { from, to := outer(r); return r + (to-from)/4 }, wide, s.reach)
	from, to := outer(r)
	r = math.Max(math.Hypot(r1, from+h), math.Hypot(r2, h-to))
	s.outer = capsule{2, from / h, to / h, up(r)}

	// Inner, along the axis: a centre at z has room h − |z| to the ends and (r₁ + (r₂ − r₁)(z + h)/2h)·cosψ to the side.
	slope := (r2 - r1) / (2 * h)
	cos := 1 / math.Hypot(1, slope)
	inner := func(r float64) (from, to float64) {
		from, to = -h+r, h-r
		switch at := (r/cos - (r1+r2)/2) / slope; {
		case slope > 0:
			from = math.Max(from, at)
		case slope < 0:
			to = math.Min(to, at)
		}
		return from, to
	}
	// The greatest ball on the axis bounds the radius.
	lo, hi := 0.0, math.Min(h, wide)
	for range 80 {
		mid := (lo + hi) / 2
		if from, to := inner(mid); from <= to && mid <= cos*wide {
			lo = mid
		} else {
			hi = mid
		}
	}
	r = lo
	if r1 != r2 {
		r = least(func(r float64) float64 { from, to := inner(r); return -r - (to-from)/4 }, 0, lo)
	}
	from, to = inner(r)
	if from > to {
		from = (from + to) / 2
		to = from
	}
	s.inner = capsule{2, from / h, to / h, down(math.Min(r, math.Min(h-math.Max(-from, to), cos*(math.Min(r1+slope*(from+h), r1+slope*(to+h))))))}
	// A flat disc holds a longer one across its axis, in the greatest cylinder inside of it.
	if thin := math.Min(r1, r2); thin > h && h+(thin-h)/2 > s.inner.radius+(to-from)/4 {
		t := (thin - h) / wide
		s.inner = capsule{0, -t, t, down(h)}
	}
	s.inner.radius = math.Max(0, s.inner.radius)
}

// least returns where f, with one valley in [lo, hi], is least: golden section.
func least(f func(float64) float64, lo, hi float64) float64 {
	const g = 0.6180339887498949
	a, b := hi-g*(hi-lo), lo+g*(hi-lo)
	fa, fb := f(a), f(b)
	for range 100 {
		if fa <= fb {
			hi, b, fb = b, a, fa
			a = hi - g*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + g*(hi-lo)
			fb = f(b)
		}
	}
	return (lo + hi) / 2
}
