package night

import (
	"time"

	"legroom/room"
	"legroom/sky"
)

// Lost says where the time between sunset and sunrise goes that no exposure of a target alone uses. Each moment counts once, for the
// first cause in this order, and Exposed and all causes add up to the time between sunset and sunrise.
type Lost struct {
	Exposed  time.Duration // in blocks, with downloads and dither
	Twilight time.Duration // the Sun is not low enough
	Horizon  time.Duration // below the horizon's profile or the least altitude
	Moon     time.Duration // the Moon is too near
	Idle     time.Duration // between the stop on one side and the resume on the other, without a flip window
	NoRoom   time.Duration // no side that is proven free can be tracked or reached
	Flip     time.Duration // changing sides, with the wait for the first proven start; or free for want of a proven way to change
	Rest     time.Duration // room for less than one more sub-exposure, or Slack
}

// Rig is what the rig costs: no room, idle, flip.
func (l Lost) Rig() time.Duration { return l.NoRoom + l.Idle + l.Flip }

// lost shares out the time between sunset and sunrise.
func (p *planner) lost(g *Target) Lost {
	left := spans(p.night.Set.Windows)
	take := func(part spans) time.Duration {
		n := left.less(part)
		d := left.length() - n.length()
		left = n
		return d
	}
	noon := spans{{From: p.night.Noon, To: p.night.NextNoon}}
	var l Lost
	var blocks, flips []sky.Window
	for _, b := range g.Blocks {
		blocks = append(blocks, sky.Window{From: b.From, To: b.To})
		if b.Come.Flip {
			flips = append(flips, sky.Window{From: b.Come.Begin, To: b.From})
		}
	}
	l.Exposed = take(union(blocks...))
	l.Twilight = take(noon.less(p.dark))
	l.Horizon = take(noon.less(g.seen.up))
	l.Moon = take(g.seen.bright)
	l.Flip = take(union(flips...))
	free := p.free(g.Runs)
	l.Idle = take(spans(g.Idle).less(free))
	l.Flip += take(p.waits(g))
	l.NoRoom = take(noon.less(free))
	// A side that is free and was not used for longer than a sub-exposure takes could not be reached: where both sides have room, from
	// the other side.
	for _, w := range left {
		if d := w.Length(); d >= p.options.SubOf(g.Target)+p.options.Download+2*Slack {
			if g.Advice.Kind == NoFlipProven && len(g.Blocks) > 0 {
				l.Flip += d
			} else {
				l.NoRoom += d
			}
		} else {
			l.Rest += d
		}
	}
	return l
}

// waits returns when a target without a flip window waits between two blocks, from the last exposure on side west on to the proven way
// across: idle for the most part, and what is left of a sub-exposure before it and free for want of that way after it.
func (p *planner) waits(g *Target) spans {
	r := &g.Row
	if !g.Rises || len(r.Flip) > 0 || r.Stop.Reason == room.NeverUsable || r.Resume.Reason == room.NeverUsable {
		return nil
	}
	var out []sky.Window
	for i := 1; i < len(g.Blocks); i++ {
		a, b := &g.Blocks[i-1], &g.Blocks[i]
		if b.Come.Flip {
			out = append(out, sky.Window{From: a.To, To: b.Come.Begin})
		}
	}
	return union(out...)
}
