package room

import (
	"fmt"
	"math"

	"legroom/axes"
	"legroom/rig"
)

// Rest is how long an axis takes at most from the document's rate to a standstill at the end of a slew, and as long to speed up, s:
// both axes alike. While the one that arrives first comes to rest, the other goes on.
const Rest = 2.0

// slewing is how the mount slews, radians and seconds.
type slewing struct {
	ra, dec   float64 // rad/s
	spread    float64 // share that the ratio of the rates may be off by
	overshoot float64
	settle    float64
}

func (g *Gauge) slew() slewing {
	d := g.Model.Rig.Mount.Slew
	s := slewing{ra: axes.Rad(d.RADegPerS), dec: axes.Rad(d.DecDegPerS), spread: 0.3, overshoot: axes.Rad(1), settle: d.SettleS}
	if d.SpreadPercent != nil {
		s.spread = *d.SpreadPercent / 100
	}
	if d.OvershootDeg != nil {
		s.overshoot = axes.Rad(*d.OvershootDeg)
	}
	return s
}

// seconds is how long both axes take at the document's rates, side by side.
func (s slewing) seconds(ra, dec float64) float64 {
	return math.Max(math.Abs(ra)/s.ra, math.Abs(dec)/s.dec)
}

// longest is how long a slew may take, rates slower by the spread, speeding up, coming to rest and settling included: side by side when
// both axes move at once, and one after the other when that is not certain. An axis that speeds up and brakes evenly, within Rest each,
// loses half of Rest at either end; on a way too short for its rate it takes 2·√(way/rate·Rest), which is no more.
func (s slewing) longest(ra, dec float64, o rig.Order) float64 {
	t := s.seconds(ra, dec)/(1-s.spread) + Rest
	if o != rig.BothAtOnce && ra != 0 && dec != 0 {
		t = (math.Abs(ra)/s.ra+math.Abs(dec)/s.dec)/(1-s.spread) + 2*Rest
	}
	return t + s.settle
}

// orders lists the orders of the axes that a document leaves open.
func orders(o rig.Order) []rig.Order {
	if o == rig.BothAtOnce || o == rig.RAFirst || o == rig.DecFirst {
		return []rig.Order{o}
	}
	return []rig.Order{rig.BothAtOnce, rig.RAFirst, rig.DecFirst}
}

// Obstruction is where a slew is not proven free.
type Obstruction struct {
	At    axes.Angles // the centre of the first cell in the way
	State State
	A, B  string // the tightest pair there
}

// SlewReport says in which orders of the axes a slew is proven free.
type SlewReport struct {
	From, To                          axes.Angles
	AnyOrder, Both, RAFirst, DecFirst bool
	Safe                              bool    // in every order that the document leaves open
	Seconds                           float64 // both axes side by side at the document's rates
	Obstruction                       *Obstruction
}

// Slew looks at the slew between two poses, given by unwrapped axis angles within travel.
func (m *Map) Slew(from, to axes.Angles) (SlewReport, error) {
	m = m.finer()
	t := m.gauge.Model.Travel
	for _, g := range []axes.Angles{from, to} {
		if !t.Contains(g) {
			return SlewReport{}, fmt.Errorf("pose at RA axis %.2f°, declination axis %.2f° is outside the axes' travel: RA %.1f° to %.1f°, declination %.1f° to %.1f°",
				axes.Deg(g.RA), axes.Deg(g.Dec), axes.Deg(t.RAFrom), axes.Deg(t.RATo), axes.Deg(t.DecFrom), axes.Deg(t.DecTo))
		}
	}
	s, e := At(from), At(to)
	r := SlewReport{From: from, To: to, Seconds: m.gauge.slew().seconds(to.RA-from.RA, to.Dec-from.Dec)}
	r.AnyOrder = m.slewFree(s, e, anyOrder, nil)
	r.Both = r.AnyOrder || m.slewFree(s, e, rig.BothAtOnce, nil)
	r.RAFirst = r.AnyOrder || m.slewFree(s, e, rig.RAFirst, nil)
	r.DecFirst = r.AnyOrder || m.slewFree(s, e, rig.DecFirst, nil)
	r.Safe = true
	for _, o := range orders(m.order()) {
		ok := map[rig.Order]bool{rig.BothAtOnce: r.Both, rig.RAFirst: r.RAFirst, rig.DecFirst: r.DecFirst}[o]
		if r.Safe && !ok {
			r.Safe = false
			var at Rect
			m.slewFree(s, e, o, &at)
			r.Obstruction = m.obstruction(at)
		}
	}
	return r, nil
}

func (m *Map) obstruction(at Rect) *Obstruction {
	g := m.gauge
	c := at.Centre()
	gap := g.Gap(c, g.NewScratch())
	return &Obstruction{At: c, State: m.State(c),
		A: g.Model.Parts[gap.LowerPair[0]].Name, B: g.Model.Parts[gap.LowerPair[1]].Name}
}

// anyOrder is every path inside the rectangle between the poses.
const anyOrder rig.Order = "any"

// slewFree tells whether every path from anywhere in start to anywhere in end is free that the order allows, overshoot
// included. When not, and bad is given, it says where.
func (m *Map) slewFree(start, end Rect, o rig.Order, bad *Rect) bool {
	w := m.sweep(start, end, o)
	// Edge cells cost most: only when nothing is surely in the way.
	return w.clear(bad) && w.edgesFree(bad)
}

// sweep is what slews in one order may sweep: what of the rectangles no skip turns away.
type sweep struct {
	m     *Map
	rects []Rect
	skip  func(Rect) bool // may be nil
}

func (m *Map) sweep(start, end Rect, o rig.Order) sweep {
	s := m.gauge.slew()
	w := sweep{m: m, rects: swept(start, overshot(start, end, s.overshoot), o)}
	if o == rig.BothAtOnce {
		w.skip = newFan(start, end, s).misses
	}
	return w
}

// clear tells that the map has nothing in the way, at which a map that looks inside edge cells leaves them out. When not, and bad
// is given, it says where.
func (w sweep) clear(bad *Rect) bool {
	m, at := w.m, Rect{}
	if bad == nil {
		bad = &at
	}
	least := Edge
	if m.fine {
		least = Blocked
	}
	for _, r := range w.rects {
		if !r.valid() {
			*bad = r
			return false
		}
		if !m.ra.free(r.RAFrom, r.RATo) || !m.dec.free(r.DecFrom, r.DecTo) {
			*bad = m.lineObstruction(r)
			return false
		}
		if !m.visit(r, least, w.skip, func(c Rect, _ State) bool { *bad = c; return false }) {
			return false
		}
	}
	return true
}

// edgesFree tells whether what a clear sweep meets of edge cells is free, straight from the gaps. When not, and bad is given, it
// says where.
func (w sweep) edgesFree(bad *Rect) bool {
	if !w.m.fine {
		return true
	}
	var v *prover
	var all []live
	for _, r := range w.rects {
		if !w.m.visit(r, Edge, w.skip, func(c Rect, _ State) bool {
			if v == nil {
				v, all = newProver(w.m.gauge), w.m.gauge.every()
			}
			if v.proveWithin(c.cut(r), all, w.skip) {
				return true
			}
			if bad != nil {
				*bad = c
			}
			return false
		}) {
			return false
		}
	}
	return true
}

// swept lists rectangles that hold every path from anywhere in start to anywhere in over, an end with its overshoot, that an order
// allows.
func swept(start, over Rect, o rig.Order) []Rect {
	switch o {
	case rig.RAFirst:
		return []Rect{start.hull(Rect{over.RAFrom, over.RATo, start.DecFrom, start.DecTo}),
			{over.RAFrom, over.RATo, math.Min(start.DecFrom, over.DecFrom), math.Max(start.DecTo, over.DecTo)}}
	case rig.DecFirst:
		return []Rect{start.hull(Rect{start.RAFrom, start.RATo, over.DecFrom, over.DecTo}),
			{math.Min(start.RAFrom, over.RAFrom), math.Max(start.RATo, over.RATo), over.DecFrom, over.DecTo}}
	}
	return []Rect{start.hull(over)}
}

// proveWithin tells whether what of an edge cell a slew may sweep is free, straight from the gaps, in pieces down to those of a
// band's track.
func (v *prover) proveWithin(c Rect, all []live, skip func(Rect) bool) bool {
	var list []live
	var look func(r Rect, alive []live) bool
	look = func(r Rect, alive []live) bool {
		if skip != nil && skip(r) {
			return true
		}
		base := len(list)
		defer func() { list = list[:base] }()
		hRA, hDec := r.half()
		var s State
		list, s = v.prove(r.Centre(), hRA, hDec, alive, list)
		if s != Edge || math.Max(hRA, hDec) <= bandStep/2 {
			return s == Free
		}
		keep := list[base:len(list):len(list)]
		a, b := r, r
		if mid := r.Centre(); hRA >= hDec {
			a.RATo, b.RAFrom = mid.RA, mid.RA
		} else {
			a.DecTo, b.DecFrom = mid.Dec, mid.Dec
		}
		return look(a, keep) && look(b, keep)
	}
	return look(c, all)
}

// lineObstruction finds where in r one axis alone is not free.
func (m *Map) lineObstruction(r Rect) Rect {
	if bad := m.ra.notFree(r.RAFrom, r.RATo); len(bad) > 0 {
		r.RAFrom, r.RATo = bad[0].From, bad[0].To
		return r
	}
	if bad := m.dec.notFree(r.DecFrom, r.DecTo); len(bad) > 0 {
		r.DecFrom, r.DecTo = bad[0].From, bad[0].To
	}
	return r
}

// overshot grows end in every direction in which a slew from somewhere in start to somewhere in end may move.
func overshot(start, end Rect, by float64) Rect {
	over := end
	if end.RATo >= start.RAFrom {
		over.RATo += by
	}
	if end.RAFrom < start.RATo {
		over.RAFrom -= by
	}
	if end.DecTo >= start.DecFrom {
		over.DecTo += by
	}
	if end.DecFrom < start.DecTo {
		over.DecFrom -= by
	}
	return over
}

// fan is what a slew of both axes at once may sweep: every path along which both axes move at a constant ratio of rates within
// the spread until one has arrived, and then the other alone. In coordinates counted from the start in the direction of
// motion, x for RA and y for declination, from a point at rest to another the paths fill a wedge lo·y ≤ x ≤ hi·y and the two far
// borders of the rectangle: x ≥ min(lo·y, end of x) and y ≥ min(x/hi, end of y), at all times.
//
// An axis that comes to rest evenly within Rest falls behind that wedge by up to rate × Rest/8, and only on the last rate × Rest/2
// of its way: at the time at which it would have arrived unbraked, half of the braking time and a quarter of the braking distance
// are left of it.
type fan struct {
	o         axes.Angles
	sRA, sDec float64 // sense of motion
	x, y      float64 // length of the slew
	lo, hi    float64 // x/y within the spread
	// How much the start and the end may be off their centres.
	startRA, startDec, endRA, endDec float64
	lagRA, lagDec                    float64 // how far an axis may fall behind the wedge as it comes to rest
}

func newFan(start, end Rect, s slewing) *fan {
	a, b := start.Centre(), end.Centre()
	f := &fan{o: a, sRA: 1, sDec: 1, x: b.RA - a.RA, y: b.Dec - a.Dec}
	if f.x < 0 {
		f.sRA, f.x = -1, -f.x
	}
	if f.y < 0 {
		f.sDec, f.y = -1, -f.y
	}
	ratio := s.ra / s.dec
	f.lo, f.hi = ratio*(1-s.spread), ratio*(1+s.spread)
	f.startRA, f.startDec = start.half()
	f.endRA, f.endDec = end.half()
	f.lagRA, f.lagDec = s.ra*(1+s.spread)*Rest/8, s.dec*(1+s.spread)*Rest/8
	return f
}

// misses tells that no path of the fan meets the cell; it errs to false.
func (f *fan) misses(c Rect) bool {
	if f.x < f.startRA+f.endRA || f.y < f.startDec+f.endDec {
		return false // it may move either way
	}
	x0, x1 := f.sRA*(c.RAFrom-f.o.RA), f.sRA*(c.RATo-f.o.RA)
	if x0 > x1 {
		x0, x1 = x1, x0
	}
	y0, y1 := f.sDec*(c.DecFrom-f.o.Dec), f.sDec*(c.DecTo-f.o.Dec)
	if y0 > y1 {
		y0, y1 = y1, y0
	}
	if x1 < -f.startRA || y1 < -f.startDec {
		return true
	}
	behindX, behindY := 0.0, 0.0 // where an axis may be coming to rest
	if x1 >= f.x-f.endRA-4*f.lagRA {
		behindX = f.lagRA
	}
	if y1 >= f.y-f.endDec-4*f.lagDec {
		behindY = f.lagDec
	}
	// An axis is no less far than the other one's way lets it be, nor than where the nearest of its ends is.
	leastX := math.Min(f.lo*math.Max(y0-f.startDec, 0)-f.startRA, f.x-f.endRA)
	leastY := math.Min(math.Max(x0-f.startRA, 0)/f.hi-f.startDec, f.y-f.endDec)
	return x1+behindX < leastX || y1+behindY < leastY
}
