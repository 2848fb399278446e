package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Depth returns the signed gap: for solids that overlap, minus the depth, which is the least shift that would part them. Lower ≤
// signed gap ≤ Upper, mostly within 1e-3 mm of each other; where the work is capped first (a surface of revolution whose
// every direction is as near as the next, and which is not parallel to the other's), Status is Undecided, the bounds hold, and they are within 1e-3 of the
// solids' size. A shift of a along Normal by −Lower parts the solids. A and B are then points of a and b deepest in the other along Normal.
//
// For solids apart it is Distance.
func Depth(a, b *Placed) Gap {
	g := Distance(a, b)
	if g.Status == Apart || g.Lower == math.Inf(-1) {
		return g
	}
	s := search{question: question{math.Inf(-1), math.Inf(1), closed}, deep: true}
	apart := g
	g = Gap{Lower: g.Lower, Upper: math.Inf(1), Normal: g.Normal}
	s.run(a, b, g.Normal, &g)
	if g.Status == Overlapping && g.Upper < 0 && g.Upper-g.Lower <= depthClosed {
		return g // only the balls around the cores overlap: the distance of the cores tells the depth
	}
	best := deepest{a: a, b: b, core: math.Inf(-1)}
	best.try(g.Normal)
	var upper float64 // of the cores' signed gap
	var p, q r3.Vec
	if a.thin() && b.thin() {
		best.perpendicular()
		p, q = a.far(neg(best.normal)), b.far(best.normal)
	} else {
		best.axes()
		var done bool
		if upper, done = best.coaxial(); done {
			p, q = a.far(neg(best.normal)), b.far(best.normal)
		} else {
			upper, p, q = best.expand()
		}
	}
	round, loose := a.round+b.round, slop(a, b)
	n := best.normal
	g.Lower = best.core - round - loose
	if upper < 0 { // the cores are proven to overlap
		g.Upper = math.Min(g.Upper, math.Max(upper, best.core)-round+loose)
	}
	g.Normal = n
	g.A, g.B = along(add(a.centre, p), n, -a.round), along(add(b.centre, q), n, b.round)
	switch {
	case g.Lower > 0: // touching, and a better direction shows that they do not overlap
		apart.Lower, apart.Normal, apart.Status = g.Lower, n, Apart
		return apart
	case g.Upper-g.Lower > depthClosed || g.Upper > 2*loose:
		g.Status = Undecided
	default:
		g.Status = Overlapping
	}
	return g
}

// settle is the last resort of a distance whose bounds do not close: solids that touch to within rounding, or needles. The polytope
// that tells the depth finds a separating plane as well, when there is one.
func settle(a, b *Placed, g *Gap) {
	t := deepest{a: a, b: b, core: math.Inf(-1)}
	t.try(g.Normal)
	t.axes()
	upper, _, _ := t.expand()
	round, loose := a.round+b.round, slop(a, b)
	if low := t.core - round - loose; low > g.Lower {
		g.Lower, g.Normal = low, t.normal
	}
	switch {
	case g.Lower > 0:
		g.Status = Apart
	case upper < 0 && upper-round+loose < 0:
		g.Status, g.Upper = Overlapping, 0
		g.A = along(g.A, sub(g.B, g.A), .5)
		g.B = g.A
	}
}

// depthClosed is the bracket, mm, that Depth aims at.
const depthClosed = 1e-3

// deepest collects directions and keeps the one with the greatest separation of the cores.
type deepest struct {
	a, b   *Placed
	core   float64 // separation of the cores along normal; negative
	normal r3.Vec
}

// try looks along n, of any length, and against it.
func (t *deepest) try(n r3.Vec) {
	nn := dot(n, n)
	if !(nn > 0) {
		return
	}
	n = scaled(1/math.Sqrt(nn), n)
	d := dot(n, sub(t.a.centre, t.b.centre))
	m := neg(n)
	if s := d - t.a.span(m) - t.b.span(n); s > t.core {
		t.core, t.normal = s, n
	}
	if s := -d - t.a.span(n) - t.b.span(m); s > t.core {
		t.core, t.normal = s, m
	}
}

// thin tells whether the core is a point or a segment.
func (a *Placed) thin() bool { return a.kind == Capsule || a.kind == Sphere }

// perpendicular tries a direction across two thin cores: their difference is flat, so that cores that meet have depth 0.
func (t *deepest) perpendicular() {
	n := cross(t.a.hz, t.b.hz)
	if dot(n, n) <= 1e-20*dot(t.a.hz, t.a.hz)*dot(t.b.hz, t.b.hz) {
		z := t.a.hz
		if dot(t.b.hz, t.b.hz) > dot(z, z) {
			z = t.b.hz
		}
		n = across(z)
	}
	t.try(n)
}

// across returns some direction perpendicular to z, of any length; for z = 0 any.
func across(z r3.Vec) r3.Vec {
	x, y, w := math.Abs(z.X), math.Abs(z.Y), math.Abs(z.Z)
	switch {
	case x == 0 && y == 0 && w == 0:
		return r3.Vec{X: 1}
	case x <= y && x <= w:
		return r3.Vec{Y: -z.Z, Z: z.Y}
	case y <= w:
		return r3.Vec{X: z.Z, Z: -z.X}
	}
	return r3.Vec{X: -z.Y, Y: z.X}
}

// axes tries the directions in which flat faces, edges and axes meet: the half axes of both and their cross products.
func (t *deepest) axes() {
	for i := 0; i < 3; i++ {
		u := t.a.halfAxis(i)
		t.try(u)
		t.try(t.b.halfAxis(i))
		for j := 0; j < 3; j++ {
			v := t.b.halfAxis(j)
			if n := cross(u, v); dot(n, n) > 1e-16*dot(u, u)*dot(v, v) {
				t.try(n)
			}
		}
	}
}

func (a *Placed) halfAxis(i int) r3.Vec {
	switch i {
	case 0:
		return a.hx
	case 1:
		return a.hy
	}
	return a.hz
}

// coaxial answers in closed form for two solids of revolution with parallel axes (a sphere is parallel to all). Their difference is
// then a solid of revolution too, a convex polygon turned about an axis, and the depth of a point in it is the least over
// the polygon's sides: the ends, and the slope of either side (as long as the point is in it). Turning b to be exactly parallel moves its points by at most
// reach·sine of the angle, which goes into the bound; done is false where that would be more than a tenth of depthClosed.
func (t *deepest) coaxial() (upper float64, done bool) {
	a, b := t.a, t.b
	if a.kind == Box || b.kind == Box {
		return 0, false
	}
	u, tilt := a.axis, 0.0
	switch {
	case a.kind == Sphere:
		u = b.axis
	case b.kind != Sphere:
		c := cross(a.axis, b.axis)
		tilt = math.Sqrt(dot(c, c)) * math.Min(a.reach, b.reach) * 1.5
	}
	if !(tilt <= depthClosed/10) {
		return 0, false
	}
	if b.reach > a.reach && b.kind != Sphere {
		u = b.axis
	}
	d := sub(a.centre, b.centre)
	e := along(d, u, -dot(d, u))
	if ee := dot(e, e); ee > 1e-24*(dot(d, d)+a.reach*a.reach) {
		e = scaled(1/math.Sqrt(ee), e)
		e = along(e, u, -dot(e, u))
	} else {
		e = across(u)
	}
	e = scaled(1/math.Sqrt(dot(e, e)), e)
	for _, side := range [...]*Placed{a, b} {
		k := 0.0
		if side.kind == Cone {
			k = (side.r2 - side.r1) / (2 * side.half) * dot(side.axis, u)
		}
		t.try(along(e, u, -k))
		t.try(along(e, u, k))
	}
	t.try(u)
	return t.core + tilt, t.core+tilt < 0
}
