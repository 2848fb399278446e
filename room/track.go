package room

import (
	"math"

	"legroom/axes"
)

// How finely contacts are found, radians: along a single declination to half of the promised 0.001°; over a band of
// declinations in cells of 0.005° by 0.01°, for there the border may run along the band, and every cell on it counts.
const (
	trackStep = 0.0005 * math.Pi / 180
	bandStep  = 0.005 * math.Pi / 180
)

// Contact is where a track first meets a pose that is not proven free.
type Contact struct {
	RA    float64 // RA axis angle, radians: never later than the truth
	Found bool    // false: the whole track is free
	// Sure tells that a pose within 0.001° is proven not free; otherwise the track only grazes the margin there, and what
	// lies beyond is undecided.
	Sure bool
	A, B int // the tightest pair there, indices in Model.Parts
}

// FirstContact follows a track from RA axis angle from to to (which may be less: then backwards), all declination axis
// angles in [decFrom, decTo] at once, and returns where it first meets a pose that is not proven free: never later than the
// truth, and, for a single declination, within 0.001° of it unless the gap grazes the margin.
func (g *Gauge) FirstContact(from, to, decFrom, decTo float64) Contact {
	r := Rect{from, to, decFrom, decTo}.ordered()
	if !r.valid() {
		return Contact{RA: from, Found: true}
	}
	t := newTracker(g, r.DecFrom, r.DecTo)
	t.back = to < from
	x, found := t.first(r, g.every())
	if !found {
		return Contact{}
	}
	c := Contact{RA: x, Found: true}
	beyond := x + 2*trackStep
	if t.back {
		beyond = x - 2*trackStep
	}
	s := g.NewScratch()
	gap := g.Gap(axes.Angles{RA: beyond, Dec: (decFrom + decTo) / 2}, s)
	c.A, c.B = gap.LowerPair[0], gap.LowerPair[1]
	c.Sure = !g.mayBeFree(axes.Angles{RA: beyond, Dec: (decFrom + decTo) / 2}, s)
	return c
}

// mayBeFree tells whether no pair is proven to be below its need at ax.
func (g *Gauge) mayBeFree(ax axes.Angles, s *Scratch) bool {
	s.at.set(g, ax.RA, ax.Dec)
	for i := range g.pairs {
		if d := g.measure(&g.pairs[i], s.at); d.Upper < g.pairs[i].need {
			return false
		}
	}
	return true
}

// tracker searches thin rectangles for their first pose that is not proven free.
type tracker struct {
	v    *prover
	back bool // from high RA to low
	list []live
	bad  []Interval // what walk found
	// Half-widths of the smallest rectangles.
	minRA, minDec float64
}

func newTracker(g *Gauge, decFrom, decTo float64) *tracker {
	t := &tracker{v: newProver(g), minRA: trackStep / 2}
	if decTo > decFrom {
		t.minRA, t.minDec = bandStep/2, bandStep
	}
	return t
}

// first returns the RA axis angle at which the search of r meets the first stretch that is not proven free.
func (t *tracker) first(r Rect, alive []live) (float64, bool) {
	base := len(t.list)
	hRA, hDec := r.half()
	var s State
	t.list, s = t.v.prove(r.Centre(), hRA, hDec, alive, t.list)
	defer func() { t.list = t.list[:base] }()
	start := r.RAFrom
	if t.back {
		start = r.RATo
	}
	switch {
	case s == Free:
		return 0, false
	case s == Blocked || (hRA <= t.minRA && hDec <= t.minDec):
		return start, true
	}
	keep := t.list[base:len(t.list):len(t.list)]
	mid := r.Centre()
	if hRA > t.minRA && (hRA >= hDec/4 || hDec <= t.minDec) {
		near, far := r, r
		near.RATo, far.RAFrom = mid.RA, mid.RA
		if t.back {
			near, far = far, near
		}
		if x, found := t.first(near, keep); found {
			return x, true
		}
		return t.first(far, keep)
	}
	low, high := r, r
	low.DecTo, high.DecFrom = mid.Dec, mid.Dec
	x, found := t.first(low, keep)
	if found {
		if t.back {
			high.RAFrom = x
		} else {
			high.RATo = x
		}
		if high.RAFrom >= high.RATo {
			return x, true
		}
	}
	if y, also := t.first(high, keep); also {
		return y, true // high was cut at x, so that y is no later
	}
	return x, found
}

// NotFree returns the RA axis angles in [from, to] at which some pose with a declination axis angle in [decFrom, decTo] is not
// proven free, to the fineness of a track, straight from the gaps.
func (g *Gauge) NotFree(from, to, decFrom, decTo float64) []Interval {
	whole := Rect{from, to, decFrom, decTo}.ordered()
	if !whole.valid() {
		return []Interval{{whole.RAFrom, whole.RATo}}
	}
	t := newTracker(g, whole.DecFrom, whole.DecTo)
	t.walk(whole, g.every())
	return union(t.bad)
}

// walk adds the stretches of RA axis angle at which some pose of r is not proven free for the pairs in alive to bad.
func (t *tracker) walk(r Rect, alive []live) {
	base := len(t.list)
	hRA, hDec := r.half()
	var s State
	t.list, s = t.v.prove(r.Centre(), hRA, hDec, alive, t.list)
	keep := t.list[base:len(t.list):len(t.list)]
	mid := r.Centre()
	switch {
	case s == Free:
	case s == Blocked || (hRA <= t.minRA && hDec <= t.minDec):
		t.bad = append(t.bad, Interval{r.RAFrom, r.RATo})
	case hRA > t.minRA && (hRA >= hDec/4 || hDec <= t.minDec):
		a, b := r, r
		a.RATo, b.RAFrom = mid.RA, mid.RA
		t.walk(a, keep)
		t.walk(b, keep)
	default:
		a, b := r, r
		a.DecTo, b.DecFrom = mid.Dec, mid.Dec
		t.walk(a, keep)
		t.walk(b, keep)
	}
	t.list = t.list[:base]
}

// notFreeFine is NotFree as finely as Gauge.NotFree, which looks at the gaps themselves: here only where the map is undecided.
func (m *Map) notFreeFine(from, to, decFrom, decTo float64) []Interval {
	r := Rect{from, to, decFrom, decTo}.ordered()
	if !r.valid() || !m.dec.free(r.DecFrom, r.DecTo) {
		return m.gauge.NotFree(from, to, decFrom, decTo)
	}
	t := newTracker(m.gauge, r.DecFrom, r.DecTo)
	all, byRA := m.gauge.all(true, true), m.gauge.all(true, false)
	look := func(c Rect, s State, alive []live) {
		switch c = c.cut(r); s {
		case Blocked:
			t.bad = append(t.bad, Interval{c.RAFrom, c.RATo})
		case Edge:
			t.walk(c, alive)
		}
	}
	m.ra.visit(r.RAFrom, r.RATo, func(i Interval, s State) { look(Rect{i.From, i.To, r.DecFrom, r.DecTo}, s, byRA) })
	m.visit(r, Edge, nil, func(c Rect, s State) bool {
		look(c, s, all)
		return true
	})
	return union(t.bad)
}
