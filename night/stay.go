package night

import (
	"time"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// stay is where blocks of one target may stand: in one run, and without a break in what the sky gives. Where the mount may take
// either side it holds a run on each, and both must have room.
type stay struct {
	target   int
	hand     hand
	decs     room.Interval
	wide     float64 // how far its pointings reach in hour angle, to each side, radians
	runs     []Run
	expose   sky.Window // when exposures may be taken; it ends Slack before the room does
	arrive   sky.Window // when a slew to it may be under way, to its end and Slack more
	from, to int        // expose in whole minutes of the grid
}

// stays lists where blocks of a target may stand.
func (p *planner) stays(target int, g *Target) []stay {
	h := handOf(p.night.Site.Track(p.night.Midnight, g.Apparent), p.night)
	decs := room.Interval{From: g.Row.DecFrom, To: g.Row.DecTo}
	var together [][]Run
	if p.sided.certain {
		for _, r := range g.Runs {
			together = append(together, []Run{r})
		}
	} else {
		for _, a := range g.Runs {
			for _, b := range g.Runs {
				if a.Side == axes.West && b.Side == axes.East {
					together = append(together, []Run{a, b})
				}
			}
		}
	}
	var out []stay
	for _, runs := range together {
		lasts := sky.Window{From: p.night.Noon, To: p.night.NextNoon}
		arrive := lasts
		for _, r := range runs {
			lasts.From, lasts.To = later(lasts.From, r.From), earlier(lasts.To, r.To)
			lasts.To = earlier(lasts.To, g.lastOn(r, h).Add(Slack))
			starts := p.sided.starts(r.Side)
			arrive.From = later(arrive.From, h.when(starts.From+r.turns+g.wide))
			arrive.To = earlier(arrive.To, h.when(starts.To+r.turns-g.wide))
		}
		lasts.To = lasts.To.Add(-Slack)
		arrive = sky.Window{From: later(arrive.From, lasts.From), To: earlier(arrive.To, lasts.To)}
		for _, w := range spans(g.Sky).and(spans{lasts}) {
			out = append(out, stay{target: target, hand: h, decs: decs, wide: g.wide, runs: runs, expose: w, arrive: arrive})
		}
	}
	return out
}

// lastOn is when exposures on a run end at the latest: the advice's stop, a whole minute from the meridian, is kept to by the clock too.
func (g *Target) lastOn(r Run, h hand) time.Time {
	if g.Advice.Stop != nil && r.Side == axes.West {
		if at := minute(*g.Advice.Stop); r.Hours.From < at && at < r.Hours.To {
			return h.when(at + r.turns)
		}
	}
	return r.To.Add(-Slack)
}

// side is the side that a stay is on; where that is open, the one that works the target's half of the sky.
func (s *stay) side(t time.Time) (side axes.Side, either bool) {
	if len(s.runs) == 1 {
		return s.runs[0].Side, false
	}
	if axes.Wrap(s.hand.hour(t)) < 0 {
		return axes.West, true
	}
	return axes.East, true
}
