package night

import (
	"math"
	"slices"
	"time"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// limits is what a rig leaves of one target's sky, by hour angle: found once for all nights of a season.
type limits struct {
	rises   bool
	certain bool // else both sides must be free
	row     room.Row
	changes []change
	arrive  [2][]room.Interval // by side: hour angles of its runs at which a slew from the parked mount is proven to begin and end
}

// change is a proven change of sides: it may leave a side at the hour angles of leave, unwrapped as the side's runs, and exposures
// go on take later, radians.
type change struct {
	from  axes.Side
	leave room.Interval
	take  float64
}

// limitsFor finds the limits of a target in its band of declination, for every pointing that its extent reaches.
func limitsFor(m *room.Map, g *SeasonTarget) limits {
	l := limits{certain: sidesOf(m).certain}
	if l.row, l.rises = m.Target((g.DecFrom+g.DecTo)/2, (g.DecTo-g.DecFrom)/2); !l.rises {
		return l
	}
	wide := math.Max(wideOf(g.Target, g.DecFrom, m.Overshoot()), wideOf(g.Target, g.DecTo, m.Overshoot()))
	l.row = narrowed(l.row, wide)
	c := changer{p: &planner{m: m, sided: sidesOf(m), ways: waysOf(m)}, row: &l.row, wide: wide}
	l.arrive = [2][]room.Interval{axes.West: c.arrivals(axes.West, l.row.West), axes.East: c.arrivals(axes.East, l.row.East)}
	if l.certain {
		l.changes = append(c.westToEast(), c.eastToWest()...)
	}
	return l
}

// changer proves changes of sides for one row.
type changer struct {
	p    *planner
	row  *room.Row
	wide float64 // how far the target's pointings reach in hour angle, to each side, radians
}

// arrivals lists the hour angles at which a slew from the parked mount to a side may begin and is proven, to its end, in pieces.
func (c *changer) arrivals(side axes.Side, runs []room.Interval) []room.Interval {
	const piece = math.Pi / 360
	p := c.p
	parked, starts := p.parked().spot(), c.starts(side)
	var out []room.Interval
	for _, r := range runs {
		from, to := max(r.From, starts.From), min(r.To, starts.To)-slackHours
		for n := 0.0; from+n*piece < to; n++ {
			h := room.Interval{From: from + n*piece, To: min(from+(n+1)*piece, to)}
			goal := spot{{c.hold(side, h.From, h.To), sideSign(side)}}
			take := sky.SiderealRate*withDrift(p.lasts(parked, goal)).Seconds() + slackHours
			if h.From+take > to {
				break
			}
			h.To = min(h.To, to-take)
			goal[0].Rect = c.hold(side, h.From, h.To+take)
			if !goal.sure() || !p.passage(parked, goal) {
				continue
			}
			if k := len(out); k > 0 && h.From-out[k-1].To < 1e-9 {
				out[k-1].To = h.To
			} else {
				out = append(out, h)
			}
		}
	}
	return out
}

// hold is every pointing of the target on a side at the hour angles from one to another.
func (c *changer) hold(side axes.Side, from, to float64) room.Rect {
	return c.p.m.Hold(side, room.Interval{From: from - c.wide, To: to + c.wide}, room.Interval{From: c.row.DecFrom, To: c.row.DecTo})
}

// starts is where a slew to a side surely ends there, for every pointing.
func (c *changer) starts(side axes.Side) room.Interval {
	s := c.p.sided.starts(side)
	return room.Interval{From: s.From + c.wide, To: s.To - c.wide}
}

// westToEast lists the flips of the row's pair of runs: from its flip windows, or else from side west at rest, at the row's crossing
// or by way of a pose of the document.
func (c *changer) westToEast() []change {
	r := c.row
	dur := c.p.m.FlipDuration(r.DecFrom, r.DecTo)
	var out []change
	for _, f := range r.Flip {
		out = append(out, change{axes.West, f, dur})
	}
	if len(out) > 0 || !usable(r.Stop) || !usable(r.Resume) {
		return out
	}
	// Without a flip window an earlier stop may be worth more: a way across may be proven sooner from there.
	stop, last := hourOf(r.Stop), math.Inf(1)
	for _, early := range delays {
		at := stop - minute(early)
		if !holds(r.West, room.Interval{From: at, To: at}) {
			break
		}
		if x, ok := c.atRest(axes.West, at, r.East, 0, last-minute(early)); ok {
			out = append(out, x)
			last = min(last, x.leave.From+x.take+minute(early))
		}
	}
	return out
}

// eastToWest lists the changes back, under the pole or below the horizon: side west's hour angles are a turn less there.
func (c *changer) eastToWest() []change {
	const piece = math.Pi / 180
	r := c.row
	dur := c.p.m.FlipDuration(r.DecFrom, r.DecTo)
	starts := c.starts(axes.West)
	var out []change
	for _, e := range r.East {
		found := len(out)
		for _, w := range r.West {
			from := max(e.From, w.From+2*math.Pi, starts.From+2*math.Pi)
			to := min(e.To, w.To+2*math.Pi, starts.To+2*math.Pi) - dur
			for h := from; h+piece <= to; h += piece {
				a := c.hold(axes.East, h, h+piece)
				b := c.hold(axes.West, h-2*math.Pi, h+piece+dur-2*math.Pi)
				if !(spot{{Rect: b}}).sure() || !c.p.m.Passage(a, b, true) {
					continue
				}
				if n := len(out); n > found && out[n-1].leave.To == h {
					out[n-1].leave.To = h + piece
				} else {
					out = append(out, change{axes.East, room.Interval{From: h, To: h + piece}, dur})
				}
			}
		}
		if len(out) == found {
			if x, ok := c.atRest(axes.East, e.To, r.West, 2*math.Pi, math.Inf(1)); ok {
				out = append(out, x)
			}
		}
	}
	return out
}

// atRest looks for the earliest proven slew from a side that stopped at an hour angle, tracking off, into a run of the other side,
// whose hour angles are less by some, to arrive before an hour angle of the first: straight, or by way of a pose of the document.
func (c *changer) atRest(from axes.Side, stop float64, runs []room.Interval, less, before float64) (change, bool) {
	p := c.p
	to := axes.East
	if from == axes.East {
		to = axes.West
	}
	starts := c.starts(to)
	left := spot{{c.hold(from, stop, stop), sideSign(from)}}
	for _, run := range runs {
		first := max(stop, run.From+less, starts.From+less)
		last := min(run.To+less, starts.To+less, before)
		for late := range delays[len(delays)-1] + 1 { // every minute, as the advice does
			begin := first + minute(late)
			if begin >= last {
				break
			}
			for k := -1; k < len(p.ways); k++ {
				at := left
				off := begin
				if k >= 0 {
					at = p.ways[k].spot()
					off += sky.SiderealRate * p.lasts(left, at).Seconds()
				}
				goal := func(until float64) spot {
					return spot{{c.hold(to, begin-less, until-less), sideSign(to)}}
				}
				end := off + sky.SiderealRate*p.lasts(at, goal(begin)).Seconds()*1.02
				if end >= last || sky.SiderealRate*p.lasts(at, goal(end)).Seconds() > end-off {
					continue
				}
				if goal(end).sure() && p.passage(at, goal(end)) && (k < 0 || p.passage(left, at)) {
					return change{from, room.Interval{From: stop, To: stop}, end - stop}, true
				}
			}
		}
	}
	return change{}, false
}

// night is what the limits leave of what the sky gives one night.
func (l *limits) night(h hand, n *sky.Night, has spans) Limited {
	var d day
	if l.rises {
		d[axes.West] = windows(h.runs(axes.West, l.row.West, n)).and(has)
		d[axes.East] = windows(h.runs(axes.East, l.row.East, n)).and(has)
	}
	var out Limited
	var free spans
	if l.certain {
		free = union(append(append(spans{}, d[axes.West]...), d[axes.East]...)...)
		turns := l.turns(h, n)
		most := max(d.best(axes.West, n.Noon, turns), d.best(axes.East, n.Noon, turns))
		for _, side := range []axes.Side{axes.West, axes.East} {
			if come := windows(h.runs(side, l.arrive[side], n)).and(d[side]); len(come) > 0 {
				out.Hours = max(out.Hours, d.best(side, come[0].From, turns))
			}
		}
		out.NoWay, out.Flip = most-out.Hours, free.length()-most
	} else {
		free = d[axes.West].and(d[axes.East])
		west, east := windows(h.runs(axes.West, l.arrive[axes.West], n)), windows(h.runs(axes.East, l.arrive[axes.East], n))
		if come := free.and(west.and(east)); len(come) > 0 {
			out.Hours = free.from(come[0].From).length()
		}
		out.NoWay = free.length() - out.Hours
	}
	rest := has.less(free)
	if l.row.Idle > 0 {
		idle := windows(h.runs(axes.West, []room.Interval{{From: l.row.Stop.HourAngle, To: l.row.Resume.HourAngle}}, n))
		out.Idle = rest.and(idle).length()
	}
	out.NoRoom = rest.length() - out.Idle
	return out
}

// turned is a change on the clock of one night.
type turned struct {
	from  axes.Side
	leave sky.Window // both ends included, and they may be one
	take  time.Duration
}

// turns puts the changes on the clock.
func (l *limits) turns(h hand, n *sky.Night) []turned {
	var out []turned
	for _, c := range l.changes {
		for k := -2; k <= 2; k++ {
			by := 2 * math.Pi * float64(k)
			w := sky.Window{From: h.when(c.leave.From + by), To: h.when(c.leave.To + by)}
			if !w.To.Before(n.Noon) && !w.From.After(n.NextNoon) {
				out = append(out, turned{c.from, w, time.Duration(math.Ceil(c.take / sky.SiderealRate * 1e9))})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b turned) int { return a.leave.From.Compare(b.leave.From) })
	return out
}

// day is when exposures may be taken on each side.
type day [2]spans

// best is the most time that can be exposed from a moment on, the mount being on a side and turning in the order of the changes.
//
// As a function of when a side is left, what it gave until then rises by the clock or stands, and what the other side gives after
// falls by the clock or stands. So the sum has its maximum at an end of the change's window, where the first side's windows end, or
// where the arrival meets the beginning of a window of the other.
func (d *day) best(side axes.Side, t time.Time, turns []turned) time.Duration {
	here, there := d[side], d[1-side]
	most := here.from(t).length()
	for i, c := range turns {
		if c.from != side || c.leave.To.Before(t) || len(there) == 0 || there[len(there)-1].To.Before(c.leave.From.Add(c.take)) {
			continue
		}
		try := func(leave time.Time) {
			if !leave.Before(later(t, c.leave.From)) && !leave.After(c.leave.To) {
				most = max(most, here.from(t).length()-here.from(leave).length()+d.best(1-side, leave.Add(c.take), turns[i+1:]))
			}
		}
		try(later(t, c.leave.From))
		try(c.leave.To)
		for _, w := range here {
			try(w.To)
		}
		for _, w := range there {
			try(w.From.Add(-c.take))
		}
	}
	return most
}

// from returns the moments from t on.
func (s spans) from(t time.Time) spans {
	var out spans
	for _, w := range s {
		if w.To.After(t) {
			out = append(out, sky.Window{From: later(t, w.From), To: w.To})
		}
	}
	return out
}
