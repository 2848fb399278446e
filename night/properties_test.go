package night

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/sky"
)

// properties holds a plan against what must be true of any.
func (j *judge) properties() []string {
	p := j.plan
	var out []string
	bad := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	n := &p.Night
	night := func(what string, ts ...time.Time) {
		for _, t := range ts {
			if t.IsZero() {
				continue
			}
			if t.Before(n.Noon) || t.After(n.NextNoon) {
				bad("%s: %v is outside of the night", what, t)
			}
			if t.Location() != n.Site.Zone {
				bad("%s: %v is not in the site's zone", what, t)
			}
		}
	}
	each := func(what string, ws []sky.Window) {
		for i, w := range ws {
			night(what, w.From, w.To)
			if !w.From.Before(w.To) || i > 0 && w.From.Before(ws[i-1].To) {
				bad("%s: %v", what, ws)
			}
		}
	}
	inside := func(what string, from, to time.Time, ws []sky.Window) {
		for _, w := range ws {
			if !from.Before(w.From) && !to.After(w.To) {
				return
			}
		}
		bad("%s: %v to %v is not in %v", what, from, to, ws)
	}
	darkness := time.Duration(0)
	for _, w := range n.Set.Windows {
		darkness += w.Length()
	}
	if s := &p.Schedule; s.Worth > s.Bound*(1+1e-9) || s.Exact != (s.Worth == s.Bound) || s.Worth < 0 {
		bad("worth %v, bound %v, exact %v", s.Worth, s.Bound, s.Exact)
	}
	for i := range p.Targets {
		g := &p.Targets[i]
		what := fmt.Sprintf("target %d", i)
		night(what, g.Transit, g.Stop, g.Resume)
		each(what+" sky", g.Sky)
		each(what+" usable", g.Usable)
		each(what+" flip", g.Flip)
		for _, w := range g.Usable {
			inside(what+" usable", w.From, w.To, g.Sky)
		}
		l := &g.Lost
		if sum := l.Exposed + l.Twilight + l.Horizon + l.Moon + l.Idle + l.NoRoom + l.Flip + l.Rest; sum != darkness {
			bad("%s: %+v adds up to %v, the night lasts %v", what, *l, sum, darkness)
		}
		for _, d := range []time.Duration{l.Exposed, l.Twilight, l.Horizon, l.Moon, l.Idle, l.NoRoom, l.Flip, l.Rest} {
			if d < 0 {
				bad("%s: %+v", what, *l)
			}
		}
		// Idle is one thing: the time between stop and resume, of which the night's share loses no more than there is.
		if all := spans(g.Idle).length(); l.Idle > all {
			bad("%s: loses %v to idle time, of %v between stop and resume", what, l.Idle, all)
		}
		if !g.Stop.IsZero() {
			if d := g.Stop.Sub(g.LastStart); d < j.sub(i)+p.Options.Download {
				bad("%s: the last start is %v before the stop", what, d)
			}
			inside(what+" stop", g.Stop, g.Stop, g.Sky)
		}
		// What an owner is told to stop at by minutes from the meridian holds for the blocks by the clock too.
		if m := g.Advice.Stop; m != nil {
			at := g.Transit.Add(time.Duration(*m) * time.Minute)
			if d := g.LastStart.Add(j.sub(i) + p.Options.Download).Sub(at); !g.Stop.IsZero() && d > time.Second && d < time.Hour {
				bad("%s: the last start ends %v after the advised stop", what, d)
			}
			for k, b := range append(append([]Block{}, g.Blocks...), p.Schedule.Blocks...) {
				if (k < len(g.Blocks) || b.Target == i) && b.Side == axes.West && !b.Either && b.From.Before(at) && b.To.After(at.Add(time.Second)) && !turnedBack(&b, at, *m) {
					bad("%s: exposed on side west from %v to %v, past its stop at %v", what, b.From, b.To, at)
				}
			}
		}
		subs := 0
		for k, b := range g.Blocks {
			subs += b.Subs
			inside(fmt.Sprintf("%s block %d", what, k), b.From, b.To, g.Usable)
			night(what+" block", b.From, b.To, b.Come.Begin)
		}
		if subs != g.Subs || len(g.Blocks) > 0 && g.First != g.Blocks[0].Side {
			bad("%s: %d subs, %d in blocks; first %v", what, g.Subs, subs, g.First)
		}
		if H := axes.Wrap(j.site.HourAngle(g.Transit, j.place(i, g.Transit))); math.Abs(H)*math.Cos(g.Apparent.Dec) > axes.Rad(speck) {
			bad("%s: at its transit its hour angle is %.2f″", what, axes.Deg(H)*3600)
		}
		if len(g.Sky) > 0 && !g.Rises {
			bad("%s: the sky has it, and it does not rise", what)
		}
		j.heights(what, i, bad)
	}
	for k, b := range p.Schedule.Blocks {
		inside(fmt.Sprintf("schedule block %d", k), b.From, b.To, p.Targets[b.Target].Usable)
		night("schedule", b.From, b.To, b.Come.Begin)
		if b.Why == "" {
			bad("schedule block %d stands for no reason", k)
		}
	}
	for _, w := range p.Moon.Up {
		night("Moon", w.From, w.To)
	}
	night("Moon", p.Moon.Rise, p.Moon.Set)
	return out
}

// heights samples the greatest altitude and the least distance from the Moon.
func (j *judge) heights(what string, i int, bad func(string, ...any)) {
	g := &j.plan.Targets[i]
	apart := math.Inf(1)
	for _, w := range g.Sky {
		for t := w.From; t.Before(w.To); t = t.Add(20 * time.Minute) {
			alt, _ := j.site.AltAz(t, j.place(i, t))
			if alt > g.MaxAltitude+axes.Rad(speck) {
				bad("%s: stands at %.3f° at %v, its greatest is %.3f°", what, axes.Deg(alt), t, axes.Deg(g.MaxAltitude))
			}
			apart = min(apart, sky.Separation(j.site.Moon(t), j.place(i, t)))
		}
	}
	if g.MoonApart > apart+axes.Rad(0.2) {
		bad("%s: the Moon comes as near as %.2f°, not %.2f°", what, axes.Deg(apart), axes.Deg(g.MoonApart))
	}
	// The transit cannot be beaten by more than the sky turns between two looks.
	if highest := math.Pi/2 - math.Abs(j.site.Lat-g.Apparent.Dec); g.MaxAltitude > highest+axes.Rad(speck) {
		bad("%s: greatest altitude %.3f°, and at transit it stands at %.3f°", what, axes.Deg(g.MaxAltitude), axes.Deg(highest))
	}
}

// turnedBack tells that the mount has come to a block with its RA axis a whole turn back from the run that ends at stop, so many minutes past
// the meridian: that is another run.
func turnedBack(b *Block, stop time.Time, past int) bool {
	if len(b.Come.Path) == 0 {
		return false
	}
	there := (float64(past)*60-stop.Sub(b.From).Seconds())*2*math.Pi/86400 + math.Pi/2 // at the Sun's rate: a degree of a turn
	return there-b.Come.Path[len(b.Come.Path)-1].RA > math.Pi
}
