package room

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"legroom/axes"
	"legroom/rig"
)

// LimitOptions says which limits are asked for.
type LimitOptions struct {
	RowDeg float64 // height of the bands of declination, degrees; 5 when 0
	// The declinations that the two numbers must hold for, degrees; all when both are 0.
	DecFromDeg, DecToDeg float64
}

// Limits returns the limits by declination, the two-number limit and the room. Every free in them comes from m's cells.
func (m *Map) Limits(ctx context.Context, o LimitOptions) (*Limits, error) {
	if o.RowDeg == 0 {
		o.RowDeg = 5
	}
	if o.DecFromDeg == 0 && o.DecToDeg == 0 {
		o.DecFromDeg, o.DecToDeg = -90, 90
	}
	if !(o.RowDeg >= 0.1 && o.RowDeg <= 180) {
		return nil, fmt.Errorf("bands of %v°: give 0.1 to 180", o.RowDeg)
	}
	if !(math.Abs(o.DecFromDeg) <= 90 && math.Abs(o.DecToDeg) <= 90) {
		return nil, fmt.Errorf("declinations %v° to %v°: give -90 to 90", o.DecFromDeg, o.DecToDeg)
	}
	g := m.gauge
	if err := g.JointsHold(); err != nil {
		return nil, err
	}
	lengths, _ := g.Model.Rig.Unmeasured()
	l := &Limits{
		MarginMM: g.MarginMM, ToleranceMM: g.maxAllowance, Mode: g.Mode,
		Fingerprint: g.Model.Rig.Fingerprint(), Unmeasured: rig.Paths(lengths), Without: g.Model.Assembly.Without,
	}
	s := newSky(g.Model)
	rows := make([]*Row, int(math.Ceil(180/o.RowDeg-1e-9)))
	InParallel(len(rows), func(i int) {
		d := -90 + float64(i)*o.RowDeg
		if ctx.Err() != nil {
			return
		}
		if r, ever := m.row(s, axes.Rad(d), axes.Rad(math.Min(d+o.RowDeg, 90)), m.NotFree); ever {
			m.across(&r)
			rows[i] = &r
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for _, r := range rows {
		if r != nil {
			l.Rows = append(l.Rows, *r)
		}
	}
	sky := m.slices(s)
	l.Orders = m.byOrder(s, l.Rows)
	l.Room = share(sky, everything)
	l.Two = m.twoNumber(s, sky, axes.Rad(o.DecFromDeg), axes.Rad(o.DecToDeg))
	return l, nil
}

// InParallel calls f for 0 to n−1 on all processors.
func InParallel(n int, f func(i int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(i)
			}
		})
	}
	wg.Wait()
}

// Target returns the row of one target: apparent declination dec ± half, radians, its edges to the fineness of a track, without a
// way across (Across). ever is false when it never rises.
func (m *Map) Target(dec, half float64) (row Row, ever bool) {
	m = m.finer()
	return m.row(newSky(m.gauge.Model), math.Max(dec-half, -math.Pi/2), math.Min(dec+half, math.Pi/2), m.notFreeKept)
}

// Band returns the row of a band of declination from m's cells alone, as Limits does, without a way across: at a small part of Target's
// work. Its runs lie within Target's, and its flips are proven; when some are as long as enough, radians, others may be left out.
func (m *Map) Band(decFrom, decTo, enough float64) (row Row, ever bool) {
	f := *m
	f.enough = enough
	return f.row(newSky(m.gauge.Model), decFrom, decTo, f.NotFree)
}

// finer returns the same map with slews proven inside its edge cells too, straight from the gaps.
func (m *Map) finer() *Map {
	f := *m
	f.fine = true
	return &f
}

// notFreeIn answers which RA axis angles in [from, to] are not proven free at declination axis angles in [decFrom, decTo].
type notFreeIn func(from, to, decFrom, decTo float64) []Interval

func (m *Map) row(s *sky, from, to float64, bad notFreeIn) (Row, bool) {
	r := Row{DecFrom: from, DecTo: to}
	up := s.upIn(from, to)
	if len(up) == 0 {
		return r, false
	}
	r.West = m.freeHours(axes.West, from, to, bad)
	r.East = m.freeHours(axes.East, from, to, bad)
	m.choose(s, &r, up)
	return r, true
}

// freeHours returns the hour angles at which every declination in [from, to] is proven free on a side: unwrapped, within the
// travel of the axes.
func (m *Map) freeHours(side axes.Side, from, to float64, bad notFreeIn) []Interval {
	h := &m.gauge.Model.Head
	t := m.gauge.Model.Travel
	if !h.Aligned {
		return m.freeHoursTilted(side, from, to)
	}
	box := m.axisRect(side, 0, 0, from, to)
	lo, hi, ok := reach(box, t)
	if !ok {
		return nil
	}
	shift := h.Angles(axes.Pose{Side: side}).RA
	out := complement(bad(t.RAFrom, t.RATo, lo, hi), t.RAFrom, t.RATo)
	for i := range out {
		out[i].From -= shift
		out[i].To -= shift
	}
	return out
}

// reach tells where, by whole turns, the declination axis reaches all of box within its travel.
func reach(box Rect, t axes.Travel) (lo, hi float64, ok bool) {
	for _, k := range []float64{0, 1, -1} {
		lo, hi = box.DecFrom+k*turn, box.DecTo+k*turn
		if lo >= t.DecFrom-joinSlop && hi <= t.DecTo+joinSlop {
			return lo, hi, true
		}
	}
	return 0, 0, false
}

// freeHoursTilted is freeHours for a head that is off the pole: the sky's hour angle and declination are not the head's, so that
// small boxes of sky are put on the torus, each with a proven bound of its size there.
func (m *Map) freeHoursTilted(side axes.Side, from, to float64) []Interval {
	t := m.gauge.Model.Travel
	const step = 0.5 * math.Pi / 180
	rows := max(1, int(math.Ceil((to-from)/step)))
	var bad []Interval
	shift := quarter
	if side == axes.East {
		shift = -quarter
	}
	first, last := t.RAFrom-shift, t.RATo-shift
	n := int(math.Ceil((last - first) / step))
	for i := range n {
		h0, h1 := first+float64(i)*step, first+float64(i+1)*step
		if i == n-1 {
			h1 = last
		}
		for j := range rows {
			d0 := from + (to-from)*float64(j)/float64(rows)
			d1 := from + (to-from)*float64(j+1)/float64(rows)
			box := m.axisRect(side, h0, h1, d0, d1)
			lo, hi, ok := reach(box, t)
			box.DecFrom, box.DecTo = lo, hi
			if !ok || box.RAFrom < t.RAFrom-joinSlop || box.RATo > t.RATo+joinSlop || !m.FreeRect(box) {
				bad = append(bad, Interval{h0, h1})
				break
			}
		}
	}
	return complement(union(bad), first, last)
}

const quarter = math.Pi / 2

// axisRect returns a rectangle of axis angles that holds every pose of a side with hour angle in [h0, h1] and declination in
// [d0, d1].
func (m *Map) axisRect(side axes.Side, h0, h1, d0, d1 float64) Rect {
	h := &m.gauge.Model.Head
	if h.Aligned {
		a := h.Angles(axes.Pose{Side: side, HourAngle: h0, Dec: d0})
		b := h.Angles(axes.Pose{Side: side, HourAngle: h1, Dec: d1})
		return Rect{a.RA, b.RA, math.Min(a.Dec, b.Dec), math.Max(a.Dec, b.Dec)}
	}
	c := h.Angles(axes.Pose{Side: side, HourAngle: (h0 + h1) / 2, Dec: (d0 + d1) / 2})
	// Every direction of the box lies within r of its centre. Seen from the polar axis that is at most r in polar distance, and at
	// most asin(sin r / sin P) in hour angle.
	r := (h1-h0)/2 + (d1-d0)/2 + 1e-12
	p := math.Abs(c.Dec)
	w := math.Pi
	if r < p && p+r < math.Pi {
		w = math.Asin(math.Min(1, math.Sin(r)/math.Sin(p))) + 1e-12
	}
	return Rect{c.RA - w, c.RA + w, c.Dec - r, c.Dec + r}
}

// choose picks the pair of runs that gives the most time above the horizon, and fills the other runs, stop, resume, flip window and
// idle time.
func (m *Map) choose(s *sky, r *Row, up []Interval) {
	day := []Interval{{-math.Pi, math.Pi}}
	usable := func(runs ...Interval) float64 {
		return length(intersect(intersect(union(slices.Clone(runs)), day), up))
	}
	var west, east *Interval
	best := 0.0
	for i := range r.West {
		if u := usable(r.West[i]); u > best {
			best, west = u, &r.West[i]
		}
	}
	for j := range r.East {
		if u := usable(r.East[j]); u > best {
			best, west, east = u, nil, &r.East[j]
		}
	}
	for i := range r.West {
		for j := range r.East {
			w, e := &r.West[i], &r.East[j]
			if e.From <= w.From || usable(*w) == 0 || usable(*e) == 0 {
				continue
			}
			// Between equal times, two sides beat one.
			if u := usable(*w, *e); u > best || (u == best && (west == nil || east == nil)) {
				best, west, east = u, w, e
			}
		}
	}
	others := func(runs []Interval, chosen *Interval) []Interval {
		var out []Interval
		for i := range runs {
			if &runs[i] != chosen {
				out = append(out, runs[i])
			}
		}
		return intersect(intersect(out, day), up)
	}
	r.WestOther, r.EastOther = others(r.West, west), others(r.East, east)
	r.Stop, r.Resume = RunEnd{Reason: NeverUsable}, RunEnd{Reason: NeverUsable}
	t := m.gauge.Model.Travel
	mid := (r.DecFrom + r.DecTo) / 2
	if west != nil {
		r.Stop = m.edge(s, r, axes.Pose{Side: axes.West, HourAngle: west.To, Dec: mid}, t.RATo, up)
	}
	if east != nil {
		r.Resume = m.edge(s, r, axes.Pose{Side: axes.East, HourAngle: east.From, Dec: mid}, t.RAFrom, up)
	}
	if west == nil || east == nil {
		return
	}
	r.Flip = m.flipWindow(r, *west, *east)
	if len(r.Flip) > 0 {
		return
	}
	r.Idle = math.Max(0, east.From-west.To)
	r.west, r.east = *west, *east
}

// borderSlop, radians, keeps off the border between a free cell, which is proven with its border, and the next.
const borderSlop = 1e-9

// Across fills in a target's way across after its idle time.
func (m *Map) Across(r *Row) { m.finer().across(r) }

// across looks for the earliest start of a proven slew from where the run on side west stopped, tracking off, into the run on side
// east, in steps of a minute up to two hours after it could begin. A row without two runs or with a flip window has none, nor has a
// mount that may choose to come back to side west, which is not free any more.
func (m *Map) across(r *Row) {
	west, east := r.west, r.east
	first, chooses := m.EarliestFlip()
	if !chooses || west == east {
		return
	}
	dur := m.FlipDuration(r.DecFrom, r.DecTo)
	begin := math.Max(math.Max(west.To, east.From), first) + borderSlop
	last := math.Min(begin+turn/12, east.To-dur)
	stop := west.To - borderSlop
	for h := begin; h <= last; h += flipStep {
		if m.crossFree(Interval{stop, stop}, Interval{h, h + dur}, r.DecFrom, r.DecTo, flipBand) {
			r.Cross, r.CrossProven = h, true
			return
		}
	}
}

// EarliestFlip returns the hour angle, radians, before which the mount does not change to side east by what its document says (−π:
// at any), and whether it is known which side it takes: the one that it is told, or east from then on.
func (m *Map) EarliestFlip() (first float64, known bool) {
	rules := m.gauge.Model.Rig.Mount.Rules
	switch {
	case rules.EarliestFlipMin != nil:
		first = *rules.EarliestFlipMin * math.Pi / 720
	case rules.SideChoice == "by_hour_angle":
		first = 0
	default:
		first = -math.Pi
	}
	return first, rules.SideChoice == "as_told" || rules.SideChoice == "by_hour_angle"
}

// edge says why a run ends on side west, or begins on side east, at p. end is the RA axis angle where the travel would cut it. That the
// horizon ends it is said only where every declination of the row is proven to stay below it on the rest of its way to lower transit.
func (m *Map) edge(s *sky, r *Row, p axes.Pose, end float64, up []Interval) RunEnd {
	h := &m.gauge.Model.Head
	near := 1e-9
	if !h.Aligned {
		near = 2 * math.Pi / 180 // the boxes of sky leave so much before the end of the travel
	}
	x, reason := p.HourAngle, ByRoom
	if math.Abs(h.Angles(p).RA-end) < near {
		reason = ByTravel
	}
	sky, rest := up[len(up)-1].To, Interval{x, math.Pi}
	beyond := x >= sky-skySlop
	if p.Side == axes.East {
		sky, rest = up[0].From, Interval{-math.Pi, x}
		beyond = x <= sky+skySlop
	}
	switch lowest := math.Abs(sky) >= math.Pi-skySlop; {
	case lowest && math.Abs(x) >= math.Pi:
		return RunEnd{Reason: NeverEnds}
	case !lowest && beyond && s.hidden(rest, Interval{r.DecFrom, r.DecTo}):
		return RunEnd{HourAngle: sky, Reason: ByHorizon}
	}
	return RunEnd{HourAngle: x, Reason: reason}
}

// flipWindow returns the start hour angles in both runs from which the flip is proven.
func (m *Map) flipWindow(r *Row, west, east Interval) []Interval {
	rules := m.gauge.Model.Rig.Mount.Rules
	dur := m.FlipDuration(r.DecFrom, r.DecTo)
	from, to := math.Max(west.From, east.From), math.Min(west.To, east.To-dur)
	from, to = math.Max(from, -math.Pi)+borderSlop, math.Min(to, math.Pi)-borderSlop
	first, _ := m.EarliestFlip()
	from = math.Max(from, first)
	if rules.SideChoice != "as_told" {
		to = math.Min(to, west.To-dur) // it may stay on the first side instead
	}
	var out []Interval
	var look func(a, b float64)
	look = func(a, b float64) {
		// A band moves the ends of the slew, and so does a stretch of starts: first the whole, then pieces of it.
		thin := r.DecTo - r.DecFrom
		if b-a <= flipBlock {
			thin = flipBand
		}
		if m.flipFree(a, b, dur, r.DecFrom, r.DecTo, thin) {
			out = append(out, Interval{a, b})
			return
		}
		if b-a <= flipStep {
			return
		}
		c := (a + b) / 2
		look(c, b) // first, for a flip more often has room late than early
		if out = union(out); m.enough > 0 && slices.ContainsFunc(out, func(i Interval) bool { return i.To-i.From >= m.enough }) {
			return
		}
		look(a, c)
	}
	if from < to {
		look(from, to)
	}
	return union(out)
}

// How finely flips are proven, radians: starts in steps of a minute, and once a stretch of starts is down to four, bands of
// declination cut into quarters of a degree.
const (
	flipStep  = 0.25 * math.Pi / 180
	flipBlock = 1 * math.Pi / 180
	flipBand  = 0.25 * math.Pi / 180
)

// FlipDuration is the longest that a flip takes at declinations in [from, to], in radians of hour angle.
func (m *Map) FlipDuration(from, to float64) float64 {
	h := &m.gauge.Model.Head
	s := axes.Hemisphere(h.Latitude)
	off := h.Misalignment()
	// The polar distances, seen from the head's own axis.
	least := math.Max(0, quarter-math.Max(s*from, s*to)-off)
	most := math.Min(math.Pi, quarter-math.Min(s*from, s*to)+off)
	ra := math.Pi
	if off > 0 && (least == 0 || most == math.Pi) {
		ra = turn // between the pole and the head's own the hour angle may run backwards
	}
	swing := 2 * most
	if m.gauge.Model.Rig.Mount.Travel.Flip != rig.ThroughPole {
		swing = math.Max(swing, turn-2*least)
	}
	return m.gauge.slew().longest(ra, swing, m.order()) * sidereal
}

// sidereal is how far the sky turns in a second, radians (86164.0905 s a turn).
const sidereal = turn / 86164.0905

// flipFree tells whether a flip that starts anywhere in [a, b], for every declination in [decFrom, decTo], is proven: the slew, by
// every way that the mount may take, and its arrival while the sky goes on for dur. The band is cut down to thin if need be.
func (m *Map) flipFree(a, b, dur, decFrom, decTo, thin float64) bool {
	return m.crossFree(Interval{a, b}, Interval{a, b + dur}, decFrom, decTo, thin)
}

// crossFree tells whether the slews from side west at hour angles in west to side east at hour angles in east are proven, for every
// declination in [decFrom, decTo], by every way that the mount may take. The band is cut down to thin if need be.
func (m *Map) crossFree(west, east Interval, decFrom, decTo, thin float64) bool {
	start := m.axisRect(axes.West, west.From, west.To, decFrom, decTo)
	end := m.axisRect(axes.East, east.From, east.To, decFrom, decTo)
	if m.passage(start, end, true) {
		return true
	}
	if decTo-decFrom <= thin {
		return false
	}
	mid := (decFrom + decTo) / 2
	return m.crossFree(west, east, decFrom, mid, thin) && m.crossFree(west, east, mid, decTo, thin)
}

// proven tells whether a slew from anywhere in start to anywhere in end is free in every order that the document leaves open.
func (m *Map) proven(start, end Rect) bool {
	var ways [3]sweep
	open := ways[:0]
	for _, o := range orders(m.order()) {
		w := m.sweep(start, end, o)
		if !w.clear(nil) { // most of what is not free shows here, so it is not worth keeping
			return false
		}
		open = append(open, w)
	}
	free := func() bool {
		for _, w := range open {
			if !w.edgesFree(nil) {
				return false
			}
		}
		return true
	}
	if m.memory == nil || !m.fine {
		return free()
	}
	return recall(&m.memory.slews, [2]Rect{start, end}, free)
}
