package night

import (
	"fmt"
	"strings"
	"time"

	"legroom/rig"
)

// explain says in one line for each block why it stands there: what it waited for, and what ends it.
func (m *mover) explain(plan *Plan, chosen []block) {
	blocks := plan.Schedule.Blocks
	taken := map[int]int{}
	for i := range blocks {
		b := &blocks[i]
		g, s := &plan.Targets[b.Target], &m.stays[chosen[i].stretch]
		taken[b.Target] += b.Subs
		var why []string
		if g.Priority > 0 {
			why = append(why, fmt.Sprintf("priority %d", g.Priority))
		}
		why = append(why, m.begins(plan, i, s), m.ends(plan, i, s, taken[b.Target]))
		b.Why = strings.Join(why, ", ")
	}
}

// near is within what whole minutes, Slack and one slew take.
func near(a, b time.Time) bool { return a.Sub(b).Abs() <= 2*Slack+time.Minute }

// begins says what a block waited for.
func (m *mover) begins(plan *Plan, i int, s *stay) string {
	b := &plan.Schedule.Blocks[i]
	g := &plan.Targets[b.Target]
	starts := func(w spans) bool {
		for _, x := range w {
			if near(x.From, b.From) {
				return true
			}
		}
		return false
	}
	switch {
	case b.Come.Flip:
		return "after its flip"
	case near(s.arrive.From, b.Come.Begin) && !near(s.arrive.From, m.p.night.Noon) && b.From.Sub(s.expose.From) <= b.Come.End.Sub(b.Come.Begin)+3*Slack:
		return fmt.Sprintf("from when side %s is free", b.Side)
	case near(s.expose.From, b.From) && near(s.expose.From, m.p.night.Noon):
		return "from noon, when the plan begins"
	case starts(m.p.dark):
		return "from dark"
	case starts(g.seen.up):
		return "from when it is high enough"
	case near(s.expose.From, b.From):
		return "from when the Moon is far enough"
	case i > 0 && !b.From.After(b.Come.End.Add(2*time.Minute)) && b.Come.Begin.Sub(plan.Schedule.Blocks[i-1].To) <= 2*time.Minute:
		return "after " + plan.Targets[plan.Schedule.Blocks[i-1].Target].Name
	}
	return "when it stands best"
}

// ends says what ends a block.
func (m *mover) ends(plan *Plan, i int, s *stay, subs int) string {
	b := &plan.Schedule.Blocks[i]
	g := &plan.Targets[b.Target]
	o := &plan.Options
	one := o.SubOf(g.Target) + o.Download + o.Dither
	full := s.expose.To.Sub(b.To) < one+time.Minute
	lasts := func(w spans) bool {
		for _, x := range w {
			if near(x.To, s.expose.To) {
				return true
			}
		}
		return false
	}
	switch {
	case g.Wanted > 0 && time.Duration(subs)*o.SubOf(g.Target) >= g.Wanted:
		return "until its wanted time is reached"
	case full && near(s.expose.To, m.p.night.NextNoon):
		return "until noon, when the plan ends"
	case full && lasts(m.p.dark):
		return "until dawn"
	case full && lasts(g.seen.up):
		return "until it is too low"
	case full && !lasts(g.Sky):
		return fmt.Sprintf("until its stop on side %s", b.Side)
	case full:
		return "until the Moon is too near"
	case i+1 < len(plan.Schedule.Blocks):
		next := &plan.Schedule.Blocks[i+1]
		if next.Target == b.Target {
			return "until its flip"
		}
		return "until " + plan.Targets[next.Target].Name + " is worth more"
	}
	return "as long as it is worth more than another"
}

// notes lists what the owner should know of the plan as a whole.
func (p *planner) notes(plan *Plan) []string {
	var out []string
	mount := &p.m.Gauge().Model.Rig.Mount
	if !p.sided.certain {
		out = append(out, "the document does not say which side the mount takes (mount.own_rules.side_choice): only time that is free on both sides is planned, without flips")
	}
	if mount.Slew.Order == rig.UnknownOrder {
		out = append(out, "the document does not say which axis turns first in a slew (mount.slew.axis_order), so that every order must be free: legroom limits says "+
			"what that costs, and how to settle it")
	}
	if mount.Park == nil {
		out = append(out, "the document has no park position (mount.park): the plan begins at "+p.parked().name)
	} else if n := len(plan.Schedule.Blocks); n > 0 && plan.Schedule.Park == nil {
		out = append(out, "no proven way to the park position after the last block: leave the mount where it stands, tracking off, and park by hand")
	}
	if at := p.parked(); !p.m.Gauge().Free(at.at, p.m.Gauge().NewScratch()) {
		out = append(out, "the mount begins at "+at.name+", which is not proven free: no slew from there is, and nothing is planned")
	}
	for i := range plan.Targets {
		subs := 0
		for _, b := range plan.Schedule.Blocks {
			if b.Target == i {
				subs += b.Subs
			}
		}
		if g := &plan.Targets[i]; subs > g.Subs {
			out = append(out, fmt.Sprintf("%s has %d sub-exposures in the schedule and %d alone: slews to another target and back are proven where none "+
				"from park, or from its one side to the other, is", g.Name, subs, g.Subs))
		}
	}
	for i := range plan.Schedule.Blocks {
		if i == 0 || !plan.Schedule.Blocks[i].Come.Flip {
			continue
		}
		if b := &plan.Schedule.Blocks[i]; plan.Schedule.Blocks[i-1].Target == b.Target {
			if text := offAdvice(&plan.Targets[b.Target], b.Come.Begin); text != "" {
				out = append(out, text)
			}
		}
	}
	if len(p.dark) == 0 {
		out = append(out, "it does not get dark")
	}
	return out
}

// offAdvice says that the schedule flips at another minute of the clock than a target's advice for a stop and a flip from there, and why; ""
// when it does not.
func offAdvice(g *Target, begin time.Time) string {
	a := &g.Advice
	if a.Kind != FlipOnce || a.Flip == nil || a.Late != nil || g.Transit.IsZero() {
		return ""
	}
	shown := func(t time.Time) time.Time { return t.Add(time.Minute - 1).Truncate(time.Minute) } // a flip begins no earlier than it may
	off, way := shown(begin).Sub(shown(g.Transit.Add(time.Duration(*a.Flip)*time.Minute))), "later"
	if off < 0 {
		off, way = -off, "earlier"
	}
	if off == 0 {
		return ""
	}
	return fmt.Sprintf("%s flips in the schedule %d min %s than by its own advice: the schedule proves the slew from where it stops, by whole minutes of the clock and "+
		"after set waits, the advice by whole minutes from the meridian; each is proven", g.Name, int(off/time.Minute), way)
}
