package night

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// planner is what the targets of one night share under one kind of limits.
type planner struct {
	*heavens
	m     *room.Map
	sided sides
	ways  []way
}

func newPlanner(m *room.Map, h *heavens) *planner {
	return &planner{heavens: h, m: m, sided: sidesOf(m), ways: waysOf(m)}
}

// look finds what one target can have, up to its blocks.
func (p *planner) look(s seen) Target {
	n := p.night
	t := s.target
	g := Target{
		Target: t, Apparent: s.apparent, Half: halfOf(t, p.m.Overshoot()), Transit: s.transit,
		Sky: s.sky, MaxAltitude: s.highest, MoonApart: s.moonApart, seen: s,
	}
	h := handOf(s.track, n)
	if g.Row, g.Rises = p.m.Target(g.Apparent.Dec, g.Half); g.Rises {
		g.wide = wideOf(t, g.Apparent.Dec, p.m.Overshoot())
		g.Row = narrowed(g.Row, g.wide)
		g.Runs = append(h.runs(axes.West, g.Row.West, n), h.runs(axes.East, g.Row.East, n)...)
		g.Usable = spans(g.Sky).and(p.free(g.Runs))
		p.turns(&g, h)
	}
	g.MoonBrighter = p.moonBrighter(&g)
	g.Advice = p.advice(&g)
	if !g.Stop.IsZero() {
		last := g.Stop.Add(-Slack)
		for _, r := range g.Runs {
			if at := g.lastOn(r, h); r.Side == axes.West && !g.Stop.Before(r.From) && !g.Stop.After(r.To.Add(time.Millisecond)) {
				last = earlier(last, at)
			}
		}
		g.LastStart = last.Add(-p.options.SubOf(g.Target) - p.options.Download)
	}
	return g
}

func handOf(k sky.Track, n *sky.Night) hand { return hand{noon: n.Noon, at: k.HourAngle(n.Noon)} }

// free returns when some side may be used: both must be free where the mount may take either.
func (p *planner) free(runs []Run) spans {
	var by [2][]Run
	for _, r := range runs {
		by[r.Side] = append(by[r.Side], r)
	}
	west, east := windows(by[axes.West]), windows(by[axes.East])
	if !p.sided.certain {
		return west.and(east)
	}
	return union(append(west, east...)...)
}

// turns puts the row's stop, resume and flip windows on the clock, where the sky has the target.
func (p *planner) turns(g *Target, h hand) {
	r := &g.Row
	g.StopReason = r.Stop.Reason
	if t, ok := during(h, r.Stop, g.Sky); ok {
		g.Stop = t
	}
	if t, ok := during(h, r.Resume, g.Sky); ok {
		g.Resume = t
	}
	g.Flip = tonight(h, r.Flip, g.Sky)
	if r.Idle > 0 && stops(r.Stop) && stops(r.Resume) {
		g.Idle = tonight(h, []room.Interval{{From: r.Stop.HourAngle, To: r.Resume.HourAngle}}, g.Sky)
	}
}

// tonight returns when the target stands at hour angles, between the sky's first and last moment.
func tonight(h hand, hours []room.Interval, ws spans) spans {
	var out []sky.Window
	for _, i := range hours {
		for k := -1; k <= 1; k++ {
			by := float64(k) * 2 * math.Pi
			out = append(out, sky.Window{From: h.when(i.From + by), To: h.when(i.To + by)})
		}
	}
	return union(out...).and(hull(ws))
}

// during returns the moment of an end that the room or the axes set, when the sky has the target then.
func during(h hand, end room.RunEnd, ws []sky.Window) (time.Time, bool) {
	if end.Reason != room.ByRoom && end.Reason != room.ByTravel {
		return time.Time{}, false
	}
	for k := -2; k <= 2; k++ {
		t := h.when(end.HourAngle + float64(k)*2*math.Pi)
		for _, w := range ws {
			if !t.Before(w.From) && !t.After(w.To) {
				return t, true
			}
		}
	}
	return time.Time{}, false
}

// hull is the one window from the first beginning to the last end.
func hull(ws spans) spans {
	if len(ws) == 0 {
		return nil
	}
	return spans{{From: ws[0].From, To: ws[len(ws)-1].To}}
}

// moonBrighter is the worst moonlight while the target is usable, magnitudes.
func (p *planner) moonBrighter(g *Target) float64 {
	worst := 0.0
	each(g.Usable, func(t time.Time) { worst = max(worst, p.moonlight(t, g.Apparent, g.seen.track)) })
	return worst
}
