package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// walkSteps bounds the walk; a pair that needs more goes to the simplices.
const walkSteps = 6

// walk looks for the two nearest points by projecting from one core to the other and back. Once each projection lands on the
// right feature (corner, edge, side, rim, face), the nearest points of the two features are found at once: two lines in closed form, a face by
// the other core's support point, rims and cones by Newton's method. It proves nothing by itself: what it finds counts only when the
// separation along the line between the points is the distance of the points. done is false when that has not happened; g then holds the
// best bounds so far.
func walk(a, b *Placed, ask *question, d r3.Vec, g *Gap) (done bool) {
	w := walker{a: a, b: b, centres: sub(a.centre, b.centre), round: a.round + b.round, loose: slop(a, b), ask: ask, g: g}
	var fa, fb feature
	var y r3.Vec
	if d == (r3.Vec{}) {
		y, d = w.start()
	} else {
		y = b.far(d)
	}
	if ask.above < math.Inf(1) && w.clears(d) {
		return true
	}
	for step := 0; step < walkSteps; step++ {
		jump := step&1 == 0 // to a support point off the face only every other time: it may lead around in a ring
		x := a.project(sub(y, w.centres), &fa)
		if fa.trait == within {
			return w.meet(x)
		}
		y = b.project(add(x, w.centres), &fb)
		if fb.trait == within {
			return w.meet(x)
		}
		switch {
		case fa.trait == corner || fb.trait == corner:
			// The projection of a corner is the nearest point already; only the corner may be wrong.
		case fa.trait == flat:
			n := fa.dir
			q := b.far(neg(n))
			p := a.project(sub(q, w.centres), &fa)
			if jump || fa.trait == flat && fa.dir == n {
				x, y = p, q
			}
		case fb.trait == flat:
			n := fb.dir
			p := a.far(neg(n))
			q := b.project(add(p, w.centres), &fb)
			if jump || fb.trait == flat && fb.dir == n {
				x, y = p, q
			}
		case fa.trait == line && fb.trait == line:
			x, y = w.lines(&fa, &fb)
		default:
			x, y = w.newton(&fa, &fb, x, y, true)
		}
		if w.judge(x, y) {
			return true
		}
	}
	return false
}

// walker is the walk's state.
type walker struct {
	a, b         *Placed
	centres      r3.Vec // a's centre seen from b's
	round, loose float64
	ask          *question
	g            *Gap
}

// meet ends the walk at a common point of the cores, seen from a's centre.
func (w *walker) meet(x r3.Vec) bool {
	g := w.g
	if g.Normal == (r3.Vec{}) {
		g.Normal = r3.Vec{Z: 1}
		if cc := dot(w.centres, w.centres); cc > 0 {
			g.Normal = scaled(1/math.Sqrt(cc), w.centres)
		}
		g.Lower = Separation(w.a, w.b, g.Normal)
	}
	g.A = add(w.a.centre, x)
	g.B = g.A
	g.Upper, g.Lower, g.Status = 0, math.Min(g.Lower, 0), Overlapping
	return true
}

// judge bounds the gap by the points x of a and y of b, each seen from its centre, and tells whether that settles it.
func (w *walker) judge(x, y r3.Vec) bool {
	g := w.g
	v := sub(add(x, w.centres), y)
	long := math.Sqrt(dot(v, v))
	if !(long > w.loose) {
		return false
	}
	per := 1 / long
	w.lower(v, per)
	upper := long - w.round + w.loose
	w.upper(x, y, v, per, upper)
	switch {
	case upper <= 2*w.loose:
		if w.round == 0 {
			return false
		}
		// A common point: as deep in the one ball as in the other.
		g.A = along(add(w.a.centre, x), v, -w.a.round/w.round)
		g.B = g.A
		g.Upper, g.Lower, g.Status = 0, math.Min(g.Lower, 0), Overlapping
		return true
	case g.Upper-g.Lower <= w.ask.within || g.Lower > w.ask.above || g.Upper < w.ask.below:
		if g.Lower > 0 {
			g.Status = Apart
		}
		return true
	}
	return false
}

// lower bounds the gap along v, whose length is 1/per.
func (w *walker) lower(v r3.Vec, per float64) {
	if low := (dot(v, w.centres)-w.a.span(neg(v))-w.b.span(v))*per - w.round - w.loose; low > w.g.Lower {
		w.g.Lower, w.g.Normal = low, scaled(per, v)
	}
}

// upper takes the bound that the points x and y set, v = x − y apart with length 1/per.
func (w *walker) upper(x, y, v r3.Vec, per, bound float64) {
	if g := w.g; bound < g.Upper {
		g.Upper = bound
		g.A, g.B = add(w.a.centre, x), add(w.b.centre, y)
		if w.round > 0 {
			g.A, g.B = along(g.A, v, -w.a.round*per), along(g.B, v, w.b.round*per)
		}
	}
}

// clears tells whether the direction d alone proves more than is asked for; then the support points stand for the nearest ones.
func (w *walker) clears(d r3.Vec) bool {
	w.lower(d, 1/math.Sqrt(dot(d, d)))
	if !(w.g.Lower > w.ask.above) {
		return false
	}
	x, y := w.a.far(neg(d)), w.b.far(d)
	v := sub(add(x, w.centres), y)
	long := math.Sqrt(dot(v, v))
	w.upper(x, y, v, 1/long, long-w.round+w.loose)
	if w.g.Lower > 0 {
		w.g.Status = Apart
	}
	return true
}

// start returns a first guess of b's nearest point and of the direction from b to a, from the segments along both solids' lengths.
func (w *walker) start() (y, d r3.Vec) {
	p, d1 := w.a.spine()
	q, d2 := w.b.spine()
	s, t := segmentParameters(d1, d2, sub(add(p, w.centres), q))
	y = along(q, d2, t)
	return y, sub(add(along(p, d1, s), w.centres), y)
}

// spine returns the outer capsule's segment, seen from the centre: its start and the way to its end.
func (a *Placed) spine() (from, way r3.Vec) {
	h := a.hz
	switch a.outer.axis {
	case 0:
		h = a.hx
	case 1:
		h = a.hy
	}
	return scaled(a.outer.from, h), scaled(a.outer.to-a.outer.from, h)
}

// lines returns the nearest points of two edges or sides.
func (w *walker) lines(fa, fb *feature) (x, y r3.Vec) {
	d1, d2 := scaled(2, fa.dir), scaled(2, fb.dir)
	p, q := sub(fa.at, fa.dir), sub(fb.at, fb.dir)
	s, t := segmentParameters(d1, d2, sub(add(p, w.centres), q))
	p, q = along(p, d1, s), along(q, d2, t)
	x, y = w.surface(fa, fb, p, q)
	if fa.rim(2*s-1, w.a.axis) || fb.rim(2*t-1, w.b.axis) {
		return w.newton(fa, fb, x, y, false)
	}
	return x, y
}

// rim makes the side of a cylinder the rim at its end when s, the share of its half length, is there.
func (f *feature) rim(s float64, axis r3.Vec) bool {
	if f.trait != line || f.radius == 0 || math.Abs(s) < 1-1e-12 {
		return false
	}
	f.trait, f.at, f.dir = circle, scaled(signed(s), f.dir), axis
	return true
}

// surface goes from points on the curves of two features to points of the cores: on an edge or a side, the one nearest to the
// other's curve, which leaves the line between them square to it.
func (w *walker) surface(fa, fb *feature, p, q r3.Vec) (x, y r3.Vec) {
	x, y = p, q
	if fa.trait == line || fa.trait == slope {
		x = w.a.project(sub(q, w.centres), &feature{})
	}
	if fb.trait == line || fb.trait == slope {
		y = w.b.project(add(p, w.centres), &feature{})
	}
	return x, y
}

// curve returns the point of the feature's curve that x on the surface belongs to.
func (f *feature) curve(x r3.Vec) r3.Vec {
	if f.trait == circle {
		r := sub(x, f.at)
		r = along(r, f.dir, -dot(r, f.dir))
		if rr := dot(r, r); rr > 0 {
			return along(f.at, r, f.radius/math.Sqrt(rr))
		}
	}
	if !f.stands() {
		return x
	}
	// The normal at x meets the axis: on a cone of slope k, k times the distance from the axis further along.
	dd := dot(f.dir, f.dir)
	p := along(f.at, f.dir, f.share(x))
	if f.taper != 0 {
		r := sub(x, p)
		k := f.taper / math.Sqrt(dd-f.taper*f.taper)
		p = along(p, f.dir, k*math.Sqrt(dot(r, r)/dd))
	}
	return p
}

// tangent returns the curve's derivative at p by the share of a line's half length or the angle on a circle, and p seen from a
// circle's middle.
func (f *feature) tangent(p r3.Vec) (arm, t r3.Vec) {
	if f.trait != circle {
		return r3.Vec{}, f.dir
	}
	arm = sub(p, f.at)
	return arm, cross(f.dir, arm)
}

// move goes by a share or an angle along the curve from p.
func (f *feature) move(p, arm, t r3.Vec, step float64) r3.Vec {
	switch f.trait {
	case circle:
		q := along(arm, t, step)
		return along(f.at, q, f.radius/math.Sqrt(dot(q, q)))
	case slope:
		return along(p, t, step)
	}
	return along(f.at, f.dir, math.Max(-1, math.Min(1, f.share(p)+step)))
}

// newton minimises the distance of two features, of which one at least is a rim or a cone's side, from x and y on. With r the vector
// from curve β of b to curve α of a, and balls around the curves that grow at the rates k and l, it looks for r·α′ = k·|r|, r·β′ = −l·|r|. The
// second derivative of a circle points to its middle; the other second derivatives are right at the solution.
func (w *walker) newton(fa, fb *feature, x, y r3.Vec, again bool) (r3.Vec, r3.Vec) {
	p, q := fa.curve(x), fb.curve(y)
	k, l := fa.taper, fb.taper
	for range 8 {
		pArm, pt := fa.tangent(p)
		qArm, qt := fb.tangent(q)
		r := sub(add(p, w.centres), q)
		rr := dot(r, r)
		g, h := dot(r, pt), -dot(r, qt)
		if k != 0 || l != 0 {
			long := math.Sqrt(rr)
			g, h = g-k*long, h-l*long
		}
		pp, qq := dot(pt, pt), dot(qt, qt)
		h11, h22, h12 := pp-dot(r, pArm)-k*k, qq+dot(r, qArm)-l*l, -dot(pt, qt)-k*l
		det := h11*h22 - h12*h12
		if !(det > 1e-12*pp*qq && h11 > 0) {
			return x, y
		}
		f := 1 / det
		i, j := f*(h12*h-h22*g), f*(h12*g-h11*h)
		if !(math.Abs(i) < 4 && math.Abs(j) < 4) {
			return x, y
		}
		p, q = fa.move(p, pArm, pt, i), fb.move(q, qArm, qt, j)
		if i*i*pp+j*j*qq < 1e-8*rr {
			break
		}
	}
	x, y = w.surface(fa, fb, p, q)
	if again && (fa.rim(fa.share(p), w.a.axis) || fb.rim(fb.share(q), w.b.axis)) {
		return w.newton(fa, fb, x, y, false)
	}
	return x, y
}

// share returns where p on a line is, by its half length.
func (f *feature) share(p r3.Vec) float64 { return dot(sub(p, f.at), f.dir) / dot(f.dir, f.dir) }
