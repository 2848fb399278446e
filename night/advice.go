package night

import (
	"fmt"
	"math"
	"slices"

	"legroom/axes"
	"legroom/room"
)

// Advice is what an owner enters for a target: whole minutes from the meridian by the clock, negative before it, rounded to the safe
// side.
type Advice struct {
	Kind AdviceKind
	Stop *int // tracking on side west ends here at the latest; nil: nothing stops it
	Flip *int // the flip to side east begins here at the earliest; nil: none is proven
	// Late is when the flip must have begun, when it may begin while side west still tracks; nil: it begins after the stop, tracking off.
	Late *int
	Text string
}

// AdviceKind says which of its minutes an advice has, and why not the others.
type AdviceKind string

const (
	FlipOnce     AdviceKind = "flip"           // from side west to side east, begun at Flip
	NoFlipNeeded AdviceKind = "no_flip_needed" // one side holds the target until it is too low
	NoFlipProven AdviceKind = "no_flip_proven" // both sides have room, and no way across is proven: Stop alone
	WestOnly     AdviceKind = "west_only"      // side east has no room
	EastOnly     AdviceKind = "east_only"      // side west has no room; Flip is when the mount may be sent east, nil for any time
	NoAdvice     AdviceKind = "nothing"        // no minute is safe: Text says why
)

// clock is how many minutes by the clock a sidereal minute of hour angle takes (86164.0905 s a turn).
const clock = 86164.0905 / 86400

// before returns the last whole minute that is not after an hour angle, by the clock and in sidereal minutes.
func before(hour float64) int {
	x := axes.Minutes(hour)
	return int(math.Floor(min(x, x*clock) + 1e-9))
}

// after returns the first whole minute that is not before an hour angle.
func after(hour float64) int { return -before(-hour) }

// minute is the hour angle of a whole minute by the clock.
func minute(m int) float64 { return float64(m) / clock * math.Pi / 720 }

// slackHours is how far the sky turns in Slack, radians.
const slackHours = 2 * math.Pi / 86164.0905 * 60

func usable(e room.RunEnd) bool { return e.Reason != room.NeverUsable }

func stops(e room.RunEnd) bool { return e.Reason == room.ByRoom || e.Reason == room.ByTravel }

// advice puts one target's row into the owner's words.
func (p *planner) advice(g *Target) Advice {
	if !g.Rises {
		return Advice{Kind: NoAdvice, Text: "never above the horizon here"}
	}
	r := &g.Row
	switch {
	case !usable(r.Stop) && !usable(r.Resume):
		return Advice{Kind: NoAdvice, Text: "no room on either side"}
	case !usable(r.Resume):
		return p.westOnly(g)
	case !usable(r.Stop):
		return p.eastOnly(g)
	}
	if w, ok := widest(r.Flip); ok {
		if from, to := after(w.From), before(w.To-slackHours); from <= to {
			return flipBetween(from, to, lastMinute(r))
		}
	}
	for _, side := range []axes.Side{axes.West, axes.East} {
		if p.alone(g, side) {
			return Advice{Kind: NoFlipNeeded, Text: fmt.Sprintf("no flip needed: side %s holds it until it is too low%s", side, p.begunBy(g, side))}
		}
	}
	stop := before(hourOf(r.Stop) - slackHours)
	if a, ok := p.restAndFlip(stop, []*Target{g}); ok {
		return a
	}
	return Advice{Kind: NoFlipProven, Stop: &stop,
		Text: fmt.Sprintf("stop at %s; no proven way across: go by waypoints (legroom slew --route), or by hand and eye", FromMeridian(stop))}
}

// alone tells whether a run on one side holds a target from when it is high enough, when a slew to it ends there, to when it is too low.
func (p *planner) alone(g *Target, side axes.Side) bool {
	starts, h := p.sided.starts(side), handOf(g.seen.track, p.night)
	for _, up := range g.seen.up {
		if !slices.ContainsFunc(g.Runs, func(r Run) bool {
			first := h.hour(up.From) - r.turns
			return r.Side == side && !up.From.Before(r.From) && !up.To.After(r.To) && starts.From+g.wide <= first && first <= starts.To-g.wide
		}) {
			return false
		}
	}
	return p.sided.certain && len(g.seen.up) > 0
}

// begunBy says when a target has to be slewed to at the latest for the mount to take a side; "" where it takes it at any time.
func (p *planner) begunBy(g *Target, side axes.Side) string {
	last := p.sided.west.To - g.wide - slackHours
	if side == axes.West && p.sided.west.To < math.Pi/2 && last < hourOf(g.Row.Stop) {
		return ", begun by " + FromMeridian(before(last))
	}
	return ""
}

// earlierStop is how much before the last minute a stop is tried from which a way across is proven, minutes.
const earlierStop = 15

// restAndFlip is the advice for a stop, tracking off, at a whole minute or a few before it, and a flip from there.
func (p *planner) restAndFlip(stop int, targets []*Target) (Advice, bool) {
	for s := stop; s >= stop-earlierStop; s-- {
		if m, ok := p.across(s, targets); ok {
			return Advice{Kind: FlipOnce, Stop: &s, Flip: &m, Text: fmt.Sprintf("stop at %s, flip at %s", FromMeridian(s), FromMeridian(m))}, true
		}
	}
	return Advice{}, false
}

// flipBetween is the advice for a flip window; stop is nil where nothing stops side west.
func flipBetween(from, to int, stop *int) Advice {
	a := Advice{Kind: FlipOnce, Stop: stop, Flip: &from, Late: &to, Text: fmt.Sprintf("flip between %s and %s", FromMeridian(from), FromMeridian(to))}
	if from == to {
		a.Text = fmt.Sprintf("flip at %s, no later", FromMeridian(from))
	}
	if stop != nil {
		a.Text = fmt.Sprintf("stop at %s, %s", FromMeridian(*stop), a.Text)
	}
	return a
}

// lastMinute is where the room or the axes stop side west; nil where nothing does.
func lastMinute(r *room.Row) *int {
	if !stops(r.Stop) {
		return nil
	}
	m := before(r.Stop.HourAngle - slackHours)
	return &m
}

// runOf is the free interval that a run which starts or ends at e is of, above the horizon or below.
func runOf(free []room.Interval, e room.RunEnd) (room.Interval, bool) {
	for _, i := range free {
		if e.Reason != room.NeverEnds && i.From-1e-6 <= e.HourAngle && e.HourAngle <= i.To+1e-6 {
			return i, true
		}
	}
	return room.Interval{}, false
}

// westOnly is the advice where side east has no room: the mount must not be sent there when it would choose that side.
func (p *planner) westOnly(g *Target) Advice {
	if !p.sided.certain {
		return Advice{Kind: NoAdvice, Text: "no room on side east, and the mount may take it"}
	}
	a := Advice{Kind: WestOnly, Stop: lastMinute(&g.Row), Text: "side west only" + p.begunBy(g, axes.West)}
	if a.Stop != nil {
		a.Text += ", stop at " + FromMeridian(*a.Stop)
	}
	return a
}

// eastOnly is the advice where side west has no room.
func (p *planner) eastOnly(g *Target) Advice {
	first, certain := p.m.EarliestFlip()
	if !certain {
		return Advice{Kind: NoAdvice, Text: "no room on side west, and the mount may take it"}
	}
	from := math.Inf(-1)
	if first > -math.Pi {
		from = first + g.wide
	}
	if stops(g.Row.Resume) {
		from = math.Max(from, g.Row.Resume.HourAngle)
	}
	if math.IsInf(from, -1) {
		return Advice{Kind: EastOnly, Text: "side east only"}
	}
	// The mount may flip to a target that has not risen: where it tracks until then is to be free too.
	run, ok := runOf(g.Row.East, g.Row.Resume)
	if ok {
		from = math.Max(from, run.From)
	}
	m := after(from)
	if ok && minute(m)+slackHours > run.To {
		return Advice{Kind: NoAdvice, Text: "no room on side east from when the mount takes it"}
	}
	return Advice{Kind: EastOnly, Flip: &m, Text: "side east only, from " + FromMeridian(m)}
}

// hourOf is where a run ends, for one that the room or the axes end; else as far as a day reaches.
func hourOf(e room.RunEnd) float64 {
	if stops(e) || e.Reason == room.ByHorizon {
		return e.HourAngle
	}
	return math.Pi
}

func widest(ws []room.Interval) (room.Interval, bool) {
	var best room.Interval
	for i, w := range ws {
		if i == 0 || w.To-w.From > best.To-best.From {
			best = w
		}
	}
	return best, len(ws) > 0
}

// lastAcross is how late after the latest resume a common way across is looked for, minutes.
const lastAcross = 120

// across finds the first whole minute at which the slew from where side west stopped at a whole minute, tracking off, to side east is
// proven for every target.
func (p *planner) across(stop int, targets []*Target) (int, bool) {
	from, certain := p.m.EarliestFlip()
	if !certain {
		return 0, false
	}
	first := stop + 1
	for _, g := range targets {
		if stops(g.Row.Resume) {
			first = max(first, after(g.Row.Resume.HourAngle))
		}
		if from > -math.Pi {
			first = max(first, after(from+g.wide))
		}
	}
	for m := first; m <= first+lastAcross; m++ {
		ok := true
		for _, g := range targets {
			ok = ok && minute(m)+slackHours+g.wide <= p.sided.east.To && p.crosses(g, minute(stop), minute(m))
		}
		if ok {
			return m, true
		}
	}
	return 0, false
}

// crosses tells whether a target's slew from side west at rest, stopped at an hour angle or Slack later, to side east begun at another
// or Slack later, is proven, and its run on side east holds it then.
func (p *planner) crosses(g *Target, stop, begin float64) bool {
	decs := room.Interval{From: g.Row.DecFrom, To: g.Row.DecTo}
	end := begin + slackHours + p.m.FlipDuration(decs.From, decs.To)
	west, east := room.Interval{From: stop, To: stop + slackHours}, room.Interval{From: begin, To: end}
	if !holds(g.Row.West, west) || !holds(g.Row.East, east) {
		return false
	}
	for _, i := range []*room.Interval{&west, &east} {
		i.From, i.To = i.From-g.wide, i.To+g.wide
	}
	goal := p.m.Hold(axes.East, east, decs)
	return (spot{{Rect: goal}}).sure() && p.m.Passage(p.m.Hold(axes.West, west, decs), goal, true)
}

func holds(free []room.Interval, i room.Interval) bool {
	for _, f := range free {
		if f.From <= i.From && i.To <= f.To {
			return true
		}
	}
	return false
}

// pair finds the one pair of whole minutes that is safe for every target of the night that has two sides.
func (p *planner) pair(targets []Target) Advice {
	var two []*Target
	var one []string
	for i := range targets {
		switch g := &targets[i]; {
		case !g.Rises || len(g.Sky) == 0:
		case usable(g.Row.Stop) && usable(g.Row.Resume):
			two = append(two, g)
		default:
			one = append(one, g.Name)
		}
	}
	if len(two) == 0 {
		return Advice{Kind: NoAdvice, Text: "no target of the night has two sides"}
	}
	// Inside every target's flip window, or else from side west at rest, stopped before all of them.
	from, to := math.MinInt, math.MaxInt
	last, below := math.MaxInt, math.MaxInt
	var stop *int
	for _, g := range two {
		w, ok := widest(g.Row.Flip)
		a, b := after(w.From), before(w.To-slackHours)
		if !ok {
			a, b = 1, 0
		}
		from, to = max(from, a), min(to, b)
		if !ok || stops(g.Row.Stop) {
			b = before(hourOf(g.Row.Stop) - slackHours)
		}
		last = min(last, b)
		if m := lastMinute(&g.Row); m != nil && (stop == nil || *m < *stop) {
			stop = m
		}
		// One that sets first may be tracked on below the horizon by an owner who stops all at one minute.
		if run, ok := runOf(g.Row.West, g.Row.Stop); ok {
			below = min(below, before(run.To-slackHours))
		}
	}
	if stop != nil && below < *stop {
		stop = &below
	}
	a := Advice{Kind: NoAdvice, Text: "no pair of minutes is proven for all of them: use each target's own"}
	if from <= to {
		a = flipBetween(from, to, stop)
	} else if b, ok := p.restAndFlip(last, two); ok {
		a = b
	}
	for i, name := range one {
		if i == 0 {
			a.Text += "; not for "
		} else {
			a.Text += ", "
		}
		a.Text += name
	}
	return a
}

// FromMeridian writes whole minutes from the meridian as they are entered, with their sign and never in hours.
func FromMeridian(m int) string {
	switch {
	case m < 0:
		return fmt.Sprintf("−%d min", -m)
	case m > 0:
		return fmt.Sprintf("+%d min", m)
	}
	return "0 min"
}
