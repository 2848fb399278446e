package night

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// planner is what the targets of one night share.
type planner struct {
	m       *room.Map
	night   *sky.Night
	options Options
	dark    spans
	moonUp  spans
	moon    sky.MoonPath
	phase   float64
	lit     float64
	sided   sides
	ways    []way
}

func newPlanner(m *room.Map, n *sky.Night, moonUp []sky.Window, o Options) *planner {
	p := &planner{m: m, night: n, options: o, moonUp: moonUp, moon: n.Site.MoonPath(n.Noon, n.NextNoon), sided: sidesOf(m), ways: waysOf(m)}
	p.dark = n.Dark.Windows
	if o.SunAltitude != n.Dark.Altitude {
		p.dark = sky.Windows(sky.Not(n.Site.SunAbove(o.SunAltitude)), n.Noon, n.NextNoon)
	}
	p.phase, p.lit = sky.MoonPhase(n.Midnight)
	return p
}

// look finds what one target can have, up to its blocks.
func (p *planner) look(t sky.Target) Target {
	n := p.night
	g := Target{Target: t, Apparent: t.Place.Apparent(n.Midnight), Half: halfOf(t, p.m.Overshoot())}
	track := n.Site.Track(n.Midnight, g.Apparent)
	h := handOf(track, n)
	g.Transit = nearest(track.Transits(n.Noon, n.NextNoon), n.Midnight)
	up := spans(sky.Windows(sky.All(track.AboveHorizon(), track.Above(p.options.MinAltitude)), n.Noon, n.NextNoon))
	bright := p.tooBright(g.Apparent)
	g.up, g.bright = up, bright
	g.Sky = p.dark.and(up).less(bright)
	g.MaxAltitude = p.highest(track, g.Transit)
	g.MoonApart = p.moonApart(&g)
	if g.Row, g.Rises = p.m.Target(g.Apparent.Dec, g.Half); g.Rises {
		g.wide = wideOf(t, g.Apparent.Dec, p.m.Overshoot())
		g.Row = narrowed(g.Row, g.wide)
		g.Runs = append(h.runs(axes.West, g.Row.West, n), h.runs(axes.East, g.Row.East, n)...)
		g.Usable = spans(g.Sky).and(p.free(g.Runs))
		p.turns(&g, h)
	}
	g.MoonBrighter = p.moonBrighter(&g, track)
	g.Advice = p.advice(&g)
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
		g.LastStart = t.Add(-p.options.SubOf(g.Target) - p.options.Download)
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

// tooBright returns when the Moon is up and nearer than the owner wants.
func (p *planner) tooBright(e sky.Equatorial) spans {
	if p.options.MoonApart == 0 || p.lit < p.options.MoonLit {
		return nil
	}
	near := sky.Windows(sky.Not(p.moon.Apart(e, p.options.MoonApart)), p.night.Noon, p.night.NextNoon)
	return spans(near).and(p.moonUp)
}

// nearest returns the moment nearest to t.
func nearest(ts []time.Time, t time.Time) time.Time {
	var best time.Time
	for i, x := range ts {
		if i == 0 || x.Sub(t).Abs() < best.Sub(t).Abs() {
			best = x
		}
	}
	return best
}

// highest is the greatest altitude while it is dark, or between sunset and sunrise when it never is: at the transit, or at an end.
func (p *planner) highest(k sky.Track, transit time.Time) float64 {
	ws := p.dark
	if len(ws) == 0 {
		ws = p.night.Set.Windows
	}
	if len(ws) == 0 {
		ws = spans{{From: p.night.Noon, To: p.night.NextNoon}}
	}
	best := math.Inf(-1)
	look := func(t time.Time) {
		alt, _ := k.AltAz(t)
		best = max(best, alt)
	}
	for _, w := range ws {
		look(w.From)
		look(w.To)
		if !transit.Before(w.From) && !transit.After(w.To) {
			look(transit)
		}
	}
	return best
}

// moonStep is how finely the Moon's distance and light are looked at: it moves by 5′ among the stars meanwhile.
const moonStep = 10 * time.Minute

// moonApart is the least distance from the Moon while the sky has the target, or at midnight.
func (p *planner) moonApart(g *Target) float64 {
	least := math.Inf(1)
	each(g.Sky, func(t time.Time) { least = min(least, sky.Separation(p.moon.At(t), g.Apparent)) })
	if math.IsInf(least, 1) {
		return sky.Separation(p.moon.At(p.night.Midnight), g.Apparent)
	}
	return least
}

// moonBrighter is the worst moonlight while the target is usable, magnitudes.
func (p *planner) moonBrighter(g *Target, k sky.Track) float64 {
	worst := 0.0
	each(g.Usable, func(t time.Time) { worst = max(worst, p.moonlight(t, g.Apparent, k)) })
	return worst
}

// moonlight is by how many magnitudes the Moon brightens the sky about a target that is up.
func (p *planner) moonlight(t time.Time, e sky.Equatorial, k sky.Track) float64 {
	alt, _ := k.AltAz(t)
	m := p.moon.At(t)
	moonAlt, _ := p.night.Site.AltAz(t, m)
	if alt <= 0 || moonAlt <= 0 {
		return 0
	}
	return sky.GoodAir.Moonlight(p.phase, moonAlt, alt, sky.Separation(m, e))
}

// each calls f at the ends of windows and every moonStep inside.
func each(ws []sky.Window, f func(time.Time)) {
	for _, w := range ws {
		for t := w.From; t.Before(w.To); t = t.Add(moonStep) {
			f(t)
		}
		f(w.To)
	}
}
