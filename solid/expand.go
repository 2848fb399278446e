package solid

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// The most points of the polytope; a closed surface of triangles has at most 2·points − 4 faces.
const (
	maxPoints = 400
	maxFaces  = 2 * maxPoints
)

// face is a triangle of the polytope. No point of it has normal·x < off; the normal is unit and looks outwards.
type face struct {
	normal  r3.Vec
	off     float64
	i, j, k int16
}

// polytope is a closed surface of triangles inside the difference of two cores. When every face has off > 0, each is seen from
// the origin from behind, so that the surface goes around the origin and the ball of the least off is inside the difference: the
// depth is at least that. This holds for whatever triangles rounding has led to, as long as the surface is closed, and it is,
// because a hole is always filled by its own border.
type polytope struct {
	w, p, q [maxPoints]r3.Vec
	face    [maxFaces]face
	edge    [maxFaces][2]int16 // the border of the hole that is being filled
	front   [maxFaces]int16    // faces that the newest point is in front of
	points  int
	faces   int
	edges   int
}

// expand finds the depth of the overlap of the cores by growing a polytope inside their difference where it is nearest to
// the origin (G. van den Bergen, Proximity queries and penetration depth computation on 3D game objects, 2001). It returns an
// upper bound of the signed gap with the two points, or 0 when it does not find that they overlap, and leaves the lower one in t.
func (t *deepest) expand() (upper float64, p, q r3.Vec) {
	var h polytope
	if !h.start(t) {
		return 0, r3.Vec{}, r3.Vec{}
	}
	h.grow(t, neg(t.normal))
	for h.points < maxPoints {
		f := h.nearest()
		if -t.core-f.off <= depthClosed/4 {
			break
		}
		if !h.grow(t, f.normal) {
			break
		}
	}
	f := h.nearest()
	la, lb, lc, _, _ := nearTriangle(h.w[f.i], h.w[f.j], h.w[f.k])
	p = along(along(scaled(la, h.p[f.i]), h.p[f.j], lb), h.p[f.k], lc)
	q = along(along(scaled(la, h.q[f.i]), h.q[f.j], lb), h.q[f.k], lc)
	return -math.Max(0, f.off), p, q
}

// start makes a tetrahedron: the two ends along one direction, what is furthest from their line, and what is furthest from the plane of the
// three. The first direction is askew to the axes, so that its points are not chance picks out of a face. It fails only on a
// difference that is flat to within rounding.
func (h *polytope) start(t *deepest) bool {
	frame := t.a
	if frame.thin() {
		frame = t.b
	}
	d := mix(frame.axis, unit(across(frame.axis)), 0.8, 0.6)
	a, b := h.add(t, d), h.add(t, neg(d))
	ab := sub(b, a)
	d = unit(across(ab))
	d = mix(d, unit(cross(ab, d)), 0.28, 0.96)
	c, e := h.add(t, d), h.add(t, neg(d))
	if math.Abs(dot(d, sub(e, a))) > math.Abs(dot(d, sub(c, a))) {
		c = e
		h.w[2], h.p[2], h.q[2] = h.w[3], h.p[3], h.q[3]
	}
	h.points = 3
	n := cross(ab, sub(c, a))
	if !(dot(n, n) > 0) {
		return false
	}
	n = unit(n)
	e, o := h.add(t, n), h.add(t, neg(n))
	h.points = 4
	if up, down := dot(n, sub(e, a)), -dot(n, sub(o, a)); down > up {
		h.w[3], h.p[3], h.q[3] = h.w[4], h.p[4], h.q[4]
		h.put(0, 1, 2)
		h.put(1, 0, 3)
		h.put(2, 1, 3)
		h.put(0, 2, 3)
	} else if up > 0 {
		h.put(1, 0, 2)
		h.put(0, 1, 3)
		h.put(1, 2, 3)
		h.put(2, 0, 3)
	} else {
		return false
	}
	return true
}

func (h *polytope) nearest() *face {
	f := &h.face[0]
	for i := 1; i < h.faces; i++ {
		if h.face[i].off < f.off {
			f = &h.face[i]
		}
	}
	return f
}

// add appends the point of the difference furthest along n, which must be unit, and reports the separation along −n to t.
func (h *polytope) add(t *deepest, n r3.Vec) (w r3.Vec) {
	p, q := t.a.far(n), t.b.far(neg(n))
	w = add(sub(t.a.centre, t.b.centre), sub(p, q))
	h.w[h.points], h.p[h.points], h.q[h.points] = w, p, q
	h.points++
	if s := -dot(n, w); s > t.core {
		t.core, t.normal = s, neg(n)
	}
	return w
}

// put adds the face i, j, k, anticlockwise seen from outside.
func (h *polytope) put(i, j, k int16) {
	a, b, c := h.w[i], h.w[j], h.w[k]
	ab, ac := sub(b, a), sub(c, a)
	n := cross(ab, ac)
	if nn := dot(n, n); nn > 1e-20*dot(ab, ab)*dot(ac, ac) {
		n = scaled(1/math.Sqrt(nn), n)
	} else { // a needle: look from the origin at its nearest point
		_, _, _, d, _ := nearTriangle(a, b, c)
		if dd := dot(d, d); dd > 0 {
			n = scaled(1/math.Sqrt(dd), d)
		} else {
			n = r3.Vec{Z: 1}
		}
	}
	if h.faces < maxFaces {
		h.face[h.faces] = face{n, math.Min(dot(n, a), math.Min(dot(n, b), dot(n, c))), i, j, k}
	}
	h.faces++ // past the end, grow's caller sees it
}

// grow adds the point furthest along n. The faces that it is in front of give way to faces between it and their border; of those faces
// only the ones that hang together with the face furthest behind it, so that the border is one ring even where rounding
// cannot tell which of the faces of one plane are in front. It reports whether there were any.
func (h *polytope) grow(t *deepest, n r3.Vec) bool {
	if h.points == maxPoints {
		return false
	}
	w := h.add(t, n)
	tiny := 1e-14 * (t.a.reach + t.b.reach)
	front, most := 0, tiny
	for i := 0; i < h.faces; i++ {
		f := &h.face[i]
		if up := dot(f.normal, sub(w, h.w[f.i])); up > tiny {
			h.front[front] = int16(i)
			if up > most { // the furthest behind goes first
				most = up
				h.front[0], h.front[front] = h.front[front], h.front[0]
			}
			front++
		}
	}
	if front == 0 || h.faces+2*front+4 > maxFaces {
		h.points--
		return false
	}
	h.edges = 0
	h.cut(&h.face[h.front[0]])
	taken := 1
	for grown := true; grown; {
		grown = false
		for c := taken; c < front; c++ {
			if f := &h.face[h.front[c]]; h.borders(f) {
				h.cut(f)
				h.front[taken], h.front[c] = h.front[c], h.front[taken]
				taken++
				grown = true
			}
		}
	}
	slices.Sort(h.front[:taken])
	for c := taken - 1; c >= 0; c-- {
		h.faces--
		h.face[h.front[c]] = h.face[h.faces]
	}
	k := int16(h.points - 1)
	for e := 0; e < h.edges; e++ {
		h.put(h.edge[e][0], h.edge[e][1], k)
	}
	return true
}

// borders tells whether f shares an edge with the border of the hole.
func (h *polytope) borders(f *face) bool {
	for e := 0; e < h.edges; e++ {
		switch h.edge[e] {
		case [2]int16{f.j, f.i}, [2]int16{f.k, f.j}, [2]int16{f.i, f.k}:
			return true
		}
	}
	return false
}

// cut adds f to the hole: an edge that it shares with the hole is no longer border, its other edges are.
func (h *polytope) cut(f *face) {
	for _, d := range [...][2]int16{{f.i, f.j}, {f.j, f.k}, {f.k, f.i}} {
		shared := false
		for e := 0; e < h.edges; e++ {
			if h.edge[e] == [2]int16{d[1], d[0]} {
				h.edges--
				h.edge[e] = h.edge[h.edges]
				shared = true
				break
			}
		}
		if !shared {
			h.edge[h.edges] = d
			h.edges++
		}
	}
}

func unit(v r3.Vec) r3.Vec { return scaled(1/math.Sqrt(dot(v, v)), v) }

func mix(x, y r3.Vec, a, b float64) r3.Vec { return along(scaled(a, x), y, b) }
