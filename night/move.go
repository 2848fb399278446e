package night

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Move is a slew of the plan, proven free in every order of the axes and by every way round that the document leaves open, for every
// start up to Slack later. Before it the mount stands still where its last block ended, tracking off, when there is time between.
type Move struct {
	Begin, End time.Time // End: at the slowest, settled
	Flip       bool      // changes sides on one target
	From       string    // "park", "home" or "counterweight-down" when the mount comes from there, else empty
	Via, To    string    // "park" or "home" when it goes by way of there, or ends there
	Path       []axes.Angles
}

// way is a pose of the document that the owner's software knows by name.
type way struct {
	name string
	at   axes.Angles
}

// waysOf lists the park and home poses within travel.
func waysOf(m *room.Map) []way {
	var out []way
	mount := m.Gauge().Model.Rig.Mount
	for _, w := range []struct {
		name string
		pose *rig.AxisPose
	}{{"park", mount.Park}, {"home", mount.Home}} {
		if w.pose == nil {
			continue
		}
		at := axes.Angles{RA: axes.Rad(w.pose.RAAxisDeg), Dec: axes.Rad(w.pose.DecAxisDeg)}
		if m.Gauge().Model.Travel.Contains(at) {
			out = append(out, way{w.name, at})
		}
	}
	return out
}

// parked is where the mount stands at dusk: its park position, or home, or else counterweight-down at the pole.
func (p *planner) parked() way {
	if len(p.ways) > 0 {
		return p.ways[0]
	}
	return way{name: "counterweight-down"}
}

// spot is where a slew starts or ends: a rectangle of axis angles for each side that the mount may be on.
type spot []sidedRect

type sidedRect struct {
	room.Rect
	side int // −1 west, +1 east, 0 neither: at the pole
}

func sideSign(s axes.Side) int {
	if s == axes.West {
		return -1
	}
	return 1
}

func (w way) spot() spot {
	side := 0
	switch d := axes.Wrap(w.at.Dec); {
	case d > 1e-9:
		side = -1
	case d < -1e-9:
		side = 1
	}
	return spot{{room.At(w.at), side}}
}

// at is where a stay has the mount between two moments, and Slack more.
func (s *stay) at(p *planner, from, to time.Time) spot {
	out := make(spot, len(s.runs))
	for i, r := range s.runs {
		hours := room.Interval{From: s.hand.hour(from) - r.turns - s.wide, To: s.hand.hour(to.Add(Slack)) - r.turns + s.wide}
		out[i] = sidedRect{p.m.Hold(r.Side, hours, s.decs), sideSign(r.Side)}
	}
	return out
}

// sure tells whether a slew to a target there surely goes to these RA axis angles: the mount takes the axis to where it is nearest to
// counterweight-down, and what lies more than half a turn from it would be reached a whole turn away. The hour angles of sides say
// the same for a head on the pole; off it the axis is elsewhere, near the pole by far.
func (s spot) sure() bool {
	for _, r := range s {
		if r.RAFrom < -math.Pi-1e-9 || r.RATo > math.Pi+1e-9 {
			return false
		}
	}
	return true
}

// passage tells whether every slew from a to b is proven.
func (p *planner) passage(a, b spot) bool {
	for _, x := range a {
		for _, y := range b {
			if !p.m.Passage(x.Rect, y.Rect, x.side*y.side < 0) {
				return false
			}
		}
	}
	return true
}

// lasts is the longest that a slew from a to b takes.
func (p *planner) lasts(a, b spot) time.Duration {
	most := 0.0
	for _, x := range a {
		for _, y := range b {
			most = math.Max(most, p.m.PassageSeconds(x.Rect, y.Rect, x.side*y.side < 0))
		}
	}
	return time.Duration(math.Ceil(most * 1e9))
}

// withDrift is how long a slew takes to a target that moves on meanwhile, which makes it longer by less than a hundredth.
func withDrift(d time.Duration) time.Duration { return d + d/50 + time.Second }

// come looks at the slew from a spot to a stay that begins at a moment: directly, or by way of a pose, the slew to which is proven
// already. It returns when it has ended at the latest, and whether it is proven.
func (p *planner) come(from spot, by *way, b *stay, begin time.Time) (end time.Time, ok bool) {
	if begin.Before(b.arrive.From) {
		return end, false
	}
	last := from
	off := begin
	if by != nil {
		last = by.spot()
		off = off.Add(p.lasts(from, last))
	}
	end = off.Add(withDrift(p.lasts(last, b.at(p, off, off))))
	if end.Add(Slack).After(b.arrive.To) {
		return end, false
	}
	goal := b.at(p, begin, end)
	if !goal.sure() {
		return end, false
	}
	if off.Add(p.lasts(last, goal)).After(end) {
		return end, false
	}
	return end, p.passage(last, goal)
}

// flips tells whether a move between two stays is a flip on one target, and if so whether it may begin at a moment while the first
// run still tracks: inside one of the row's flip windows, to Slack later, and of the widest at the whole minutes that the advice has.
func flips(a, b *stay, g *Target, begin time.Time) (flip, ok bool) {
	if a.target != b.target || len(a.runs) != 1 || a.runs[0].Side == b.runs[0].Side {
		return false, true
	}
	if a.runs[0].Side == axes.East {
		return true, true
	}
	from := a.hand.hour(begin) - a.runs[0].turns
	to := a.hand.hour(begin.Add(Slack)) - a.runs[0].turns
	w, _ := widest(g.Row.Flip)
	for _, f := range g.Row.Flip {
		if f == w && g.Advice.Late != nil {
			f = room.Interval{From: minute(*g.Advice.Flip), To: minute(*g.Advice.Late) + slackHours}
		}
		if from >= f.From && to <= f.To {
			return true, true
		}
	}
	return true, false
}
