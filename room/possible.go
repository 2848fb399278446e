package room

import (
	"math"
	"slices"

	"legroom/axes"
)

// Relaxed returns a gauge that asks by(a, b) mm less of each pair of parts, indices in Model.Parts: less than it takes to be free. It is
// for bounds alone: a pose that it calls blocked has no room with any lengths whose parts stand up to that much elsewhere. With a
// negative by it asks for more: what it calls free has room with all of them.
func (g *Gauge) Relaxed(by func(a, b int) float64) *Gauge {
	r := *g
	r.pairs = slices.Clone(g.pairs)
	for i := range r.pairs {
		p := &r.pairs[i]
		p.need -= by(p.fixed, p.moving)
	}
	return &r
}

// Possible returns the map with its undecided cells called free: what may at most be free, never what is.
func (m *Map) Possible() *Map {
	p := *m
	p.ra, p.dec = m.ra.possible(), m.dec.possible()
	p.roots = make([]quad, len(m.roots))
	for i := range m.roots {
		p.roots[i].nodes = slices.Clone(m.roots[i].nodes)
		for k := range p.roots[i].nodes {
			if n := &p.roots[i].nodes[k]; n.first == 0 && n.state == Edge {
				n.state = Free
			}
		}
	}
	return &p
}

func (l *line) possible() *line {
	out := &line{}
	for i, s := range l.states {
		if s == Edge {
			s = Free
		}
		out.add(l.ends[i], s)
	}
	return out
}

// Hours returns the hour angles, radians, unwrapped, at which every declination in [decFrom, decTo] is proven free on a side, from
// the map's cells.
func (m *Map) Hours(side axes.Side, decFrom, decTo float64) []Interval {
	return m.freeHours(side, decFrom, decTo, m.NotFree)
}

// Up returns the hour angles in [−π, π] at which some declination in [decFrom, decTo] stands above the horizon and an altitude, radians.
func (m *Map) Up(decFrom, decTo, altitude float64) []Interval {
	s := newSky(m.gauge.Model)
	flat := sky{lat: s.lat, lo: altitude, hi: altitude}
	var out []Interval
	for _, d := range []float64{decFrom, (decFrom + decTo) / 2, decTo} {
		out = append(out, intersect(s.up(d), flat.upFlat(d))...)
	}
	return union(out)
}

// Common returns what two sorted lists of intervals share.
func Common(a, b []Interval) []Interval { return intersect(a, b) }

// HoursWithin returns the hour angles at which every declination in [decFrom, decTo] is proven free on a side, and those at which none is
// proven blocked, straight from the gaps in pieces down to fine radians: what is free lies between the two. For a head that is off the pole nothing is
// sure and everything possible.
func (g *Gauge) HoursWithin(side axes.Side, decFrom, decTo, fine float64) (sure, possible []Interval) {
	if !g.Model.Head.Aligned {
		return nil, []Interval{{-turn, turn}}
	}
	var blocked []Interval
	m := &Map{gauge: g}
	sure = m.freeHours(side, decFrom, decTo, func(from, to, dec0, dec1 float64) []Interval {
		var notFree []Interval
		notFree, blocked = g.sweep(Rect{from, to, dec0, dec1}.ordered(), fine)
		return notFree
	})
	possible = m.freeHours(side, decFrom, decTo, func(_, _, _, _ float64) []Interval { return blocked })
	return sure, possible
}

// sweep lists the RA axis angles at which some pose of a rectangle is not proven free, and those at which some pose is proven blocked.
func (g *Gauge) sweep(whole Rect, fine float64) (notFree, blocked []Interval) {
	if !whole.valid() {
		return []Interval{{whole.RAFrom, whole.RATo}}, nil
	}
	v := newProver(g)
	var list []live
	var walk func(r Rect, alive []live)
	walk = func(r Rect, alive []live) {
		base := len(list)
		hRA, hDec := r.half()
		var s State
		list, s = v.prove(r.Centre(), hRA, hDec, alive, list)
		keep := list[base:len(list):len(list)]
		mid := r.Centre()
		a, b := r, r
		switch {
		case s == Free:
		case s == Blocked:
			blocked = append(blocked, Interval{r.RAFrom, r.RATo})
			notFree = append(notFree, Interval{r.RAFrom, r.RATo})
		case math.Max(hRA, hDec) <= fine/2:
			notFree = append(notFree, Interval{r.RAFrom, r.RATo})
		case hRA >= hDec:
			a.RATo, b.RAFrom = mid.RA, mid.RA
			walk(a, keep)
			walk(b, keep)
		default:
			a.DecTo, b.DecFrom = mid.Dec, mid.Dec
			walk(a, keep)
			walk(b, keep)
		}
		list = list[:base]
	}
	walk(whole, g.every())
	return union(notFree), union(blocked)
}
