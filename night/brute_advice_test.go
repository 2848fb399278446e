package night

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// hour is the hour angle of a minute by the clock, and some more time, from the meridian, of the pointing that is looked at.
func (j *judge) hour(m int, more time.Duration) float64 {
	return sky.SiderealRate*(float64(m)*60+more.Seconds()) + j.aside
}

// advices judges each target's minutes, and the pair for all of them.
func (j *judge) advices() {
	var two []*Target
	for i := range j.plan.Targets {
		g := &j.plan.Targets[i]
		if !g.Rises {
			continue
		}
		j.advice(fmt.Sprintf("advice %q for target %d", g.Advice.Text, i), &g.Advice, g)
		if len(g.Sky) > 0 && g.Row.Stop.Reason != room.NeverUsable && g.Row.Resume.Reason != room.NeverUsable {
			two = append(two, g)
		}
	}
	for i, g := range two {
		j.advice(fmt.Sprintf("pair %q for target %d of %d", j.plan.Pair.Text, i, len(two)), &j.plan.Pair, g)
	}
}

// advice drives what a target's minutes tell the owner to do, for its place and for the pointings of a mosaic east and west of it.
func (j *judge) advice(what string, a *Advice, g *Target) {
	if a.Flip == nil && a.Kind == FlipOnce || a.Flip != nil && a.Kind != FlipOnce && a.Kind != EastOnly ||
		a.Stop != nil && a.Kind != FlipOnce && a.Kind != NoFlipProven && a.Kind != WestOnly {
		j.fault("%s: kind %q with stop %v and flip %v", what, a.Kind, a.Stop, a.Flip)
	}
	for _, to := range []float64{0, 90, -90} {
		if g.Extent == 0 && to != 0 {
			break
		}
		e := rim(g.Extent, axes.Rad(to))(g.Apparent)
		if j.aside = 0; to != 0 {
			j.aside = axes.Wrap(g.Apparent.RA - e.RA)
		}
		j.minutes(what, a, g)
	}
	j.aside = 0
}

func (j *judge) minutes(what string, a *Advice, g *Target) {
	now := j.plan.Night.Midnight
	decs := []float64{g.Row.DecFrom + 1e-9, (g.Row.DecFrom + g.Row.DecTo) / 2, g.Row.DecTo - 1e-9}
	ends := []time.Duration{0, Slack / 2, Slack}
	hold := func(why string, side axes.Side, from, to float64) {
		for h := from; ; h += axes.FromHours(1. / 60) {
			h = min(h, to)
			for _, d := range decs {
				p := j.hourAngles(side, h, d)
				if !j.free(what+": "+why, now, p) || !j.inside(what+": "+why, now, p.RA) {
					return
				}
			}
			if h >= to {
				return
			}
		}
	}
	if a.Stop != nil {
		at := j.hour(*a.Stop, 0)
		run, ok := holding(g.Row.West, at-j.aside)
		if !ok {
			j.fault("%s: side west has no run at the stop, %v", what, g.Row.West)
			return
		}
		hold("until the stop", axes.West, max(run.From+j.aside, at-math.Pi/2)+1e-6, j.hour(*a.Stop, Slack))
	}
	if a.Flip == nil {
		return
	}
	first, last := *a.Flip, *a.Flip
	if a.Late != nil {
		last = *a.Late
	}
	if first > last {
		j.fault("%s: between %d and %d", what, first, last)
		return
	}
	j.crossing(what, a, g, first, ends[0], decs, hold)
	j.crossing(what, a, g, last, ends[2], decs, hold)
	j.crossing(what, a, g, first+j.rnd.IntN(last-first+1), ends[1], decs, hold)
}

// hourAngles is the pose of an hour angle: as it is counted on from the meridian, hour angle ± 90°, or, where the head's own hour angle
// runs otherwise, as its travel has it.
func (j *judge) hourAngles(side axes.Side, h, dec float64) axes.Angles {
	if !j.aligned {
		return j.within(j.anglesAt(side, h, dec, 0))
	}
	if side == axes.West {
		return j.anglesAt(side, h, dec, h+math.Pi/2)
	}
	return j.anglesAt(side, h, dec, h-math.Pi/2)
}

// crossing drives the flip of an advice at a minute, or a bit later: from side west as it tracks or rests, or to side east alone.
func (j *judge) crossing(what string, a *Advice, g *Target, m int, late time.Duration, decs []float64,
	hold func(why string, side axes.Side, from, to float64)) {
	what = fmt.Sprintf("%s: flip at %d min and %v", what, m, late)
	now := j.plan.Night.Midnight
	begin := j.hour(m, late)
	two := g.Row.Stop.Reason != room.NeverUsable
	rules := j.mount.Rules.SideChoice
	switch {
	case rules == "as_told" || rules == "by_hour_angle":
		j.chooses(what, []axes.Side{axes.East}, axes.Wrap(begin))
	case !two || a.Late == nil:
		j.fault("%s: the mount may take side west", what)
	}
	var longest time.Duration
	if two {
		start := begin // as it tracks
		if a.Late == nil {
			start = j.hour(*a.Stop, j.delay())
		}
		for _, dec := range []float64{decs[0], decs[2]} {
			w := j.hourAngles(axes.West, start, dec)
			longest = max(longest, j.slew(what, now, w, j.hourAngles(axes.East, begin, dec)))
			if j.rnd.IntN(2) == 0 {
				end := begin + sky.SiderealRate*longest.Seconds()
				j.slew(what, now, w, j.hourAngles(axes.East, end, dec))
			}
		}
		if a.Late != nil {
			hold("before the flip", axes.West, begin, begin)
		}
		if rules != "as_told" && rules != "by_hour_angle" {
			hold("staying on side west", axes.West, begin, begin+sky.SiderealRate*longest.Seconds())
		}
	}
	hold("after the flip", axes.East, begin, begin+sky.SiderealRate*longest.Seconds())
}

func holding(free []room.Interval, h float64) (room.Interval, bool) {
	for _, i := range free {
		if i.From <= h && h <= i.To {
			return i, true
		}
	}
	return room.Interval{}, false
}
