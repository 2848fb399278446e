package soak

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount/sim"
	"legroom/watch"
)

// judge holds what the watch says and does in one life against where the axes and the true rig really are.
type judge struct {
	announced bool // the slew that runs, or is about to, went through the watch
	synced    bool // the mount has been told another place
	lost      bool // the power was gone and the place with it

	bare []span // while what moves is not protected, by the watch's own word
	deaf []span // while the mount does not obey, or cannot be reached

	blind      bool
	blindSince time.Time
	see        *seen

	decided  []watch.Decision // to stop, in the last step
	stopping *reaction
	contacts int
	polled   time.Time
	turning  time.Time // since when the axes turn under a stop called done
	astray   time.Time // since when the watch takes the axes for elsewhere
}

// span is a stretch of time; an open one has no end.
type span struct {
	from, to time.Time
	why      string
}

func open(s []span) bool { return len(s) > 0 && s[len(s)-1].to.IsZero() }

// within finds the stretch that holds a moment, its end later by grace.
func within(s []span, at time.Time, grace time.Duration) (why string, ok bool) {
	for _, x := range s {
		if !at.Before(x.from) && (x.to.IsZero() || !at.After(x.to.Add(grace))) {
			return x.why, true
		}
	}
	return "", false
}

// seen is a fault that has to make the watch blind.
type seen struct {
	what   string
	since  time.Time
	unless func(*watch.Sample) bool // it cannot be seen; may be nil
}

// seeWithin is how long the watch may take to see what makes it blind: three periods, and the deadlines of what it is doing.
const seeWithin = 12 * time.Second

// reaction is a stop under way.
type reaction struct {
	at     time.Time
	sound  bool // the mount obeys and could be reached all along
	hooked bool
}

func (n *night) begin() { n.judge = judge{polled: n.clock.Now()} }

// restarted says that the mount has lost power and place.
func (n *night) restarted() { n.lost, n.ill = true, n.clock.Now() }

func (n *night) mustSee(what string, unless func(*watch.Sample) bool) {
	if n.see == nil && !n.blind {
		n.see = &seen{what, n.clock.Now(), unless}
	}
}

// hidden tells whether what the mount does cannot be seen now.
func (n *night) hidden() bool {
	f := n.m.Faults()
	return f.DelayS > 0 || f.Loss > 0 || f.HalfOpen || f.Garbage || f.Frozen || n.lost
}

// begins says that other software set the mount in motion without a word. By the watch's own word it does not protect a slew that
// is too fast for it, and it tells no mount to stop that stood still when it was last seen.
func (n *night) begins(fast bool, why string) {
	n.announced = false
	if !fast && n.hidden() {
		fast, why = true, "a motion that began unseen"
	}
	if fast && !open(n.bare) {
		n.bare = append(n.bare, span{from: n.clock.Now(), why: why})
	}
}

// reach says whether the mount obeys in time under some faults, and can be reached.
func (n *night) reach(f sim.Faults) {
	slow := f.SlowStopS > n.brake.Seconds()/2-0.7 // what is left of the braking time for an axis that takes a second to stop
	not := f.IgnoreStop || slow || f.HalfOpen || f.Loss > 0
	now := n.clock.Now()
	switch {
	case not && !open(n.deaf):
		n.deaf = append(n.deaf, span{from: now, why: "the mount does not obey"})
	case !not && open(n.deaf):
		n.deaf[len(n.deaf)-1].to = now
	}
}

func (n *night) found(kind, format string, a ...any) {
	text := fmt.Sprintf(format, a...)
	if n.s.as != "" {
		text += " [" + n.s.as + "]"
	}
	if kind == "broken" {
		n.rep.Broken++
	}
	n.rep.Findings = append(n.rep.Findings, Finding{Night: n.rep.index + 1, Rig: n.s.name, At: n.clock.Now(), Kind: kind, Text: text})
}

// record takes the watch's records: the decisions to stop, and why it was blind.
func (n *night) record(rs []watch.Record) error {
	for i := range rs {
		switch r := &rs[i]; {
		case r.Kind == watch.KindDecision && r.Decision.To == watch.Stopping:
			n.decided = append(n.decided, *r.Decision)
			n.stopping = &reaction{at: r.At, sound: true}
		case r.Kind == watch.KindEvent && r.Event.Level == watch.Alarm && !r.Event.Over && len(r.Event.Key) > 6 && r.Event.Key[:6] == "blind ":
			n.rep.BlindBy[r.Event.Key[6:]]++
		}
	}
	return n.book.take(rs)
}

// How often the true rig is looked at, and the watch's word for the place held against the mount's.
const (
	pollEvery = 20 * time.Second
	askEvery  = 5 * time.Second
)

// watched is the verdict on one step.
func (n *night) watched() {
	now, s := n.clock.Now(), n.w.Status()
	if len(s.Blind) > 0 != n.blind {
		n.blind = !n.blind
		if n.blind {
			n.rep.Blind++
			n.blindSince = now
		}
	}
	n.watchSeen(now, &s)
	asked := n.polled.Truncate(askEvery) != now.Truncate(askEvery)
	if asked || n.stopping != nil || open(n.bare) || len(n.decided) > 0 {
		st := n.m.State()
		n.watchStops(now, &s, st)
		n.watchMotion(now, &s, st)
		n.watchPlace(now, &s, st)
	}
	every := pollEvery
	if open(n.bare) {
		every = time.Second
	}
	if now.Sub(n.polled) >= every && n.settle() && !n.cut {
		n.anew("parts touched")
	}
}

// watchSeen waits for the watch to become blind.
func (n *night) watchSeen(now time.Time, s *watch.Status) {
	if n.see == nil {
		return
	}
	since := now.Sub(n.see.since)
	switch {
	case n.blind:
		n.rep.WorstBlindS = math.Max(n.rep.WorstBlindS, since.Seconds())
		n.see = nil
	case n.see.unless != nil && (s.Sample == nil || n.see.unless(s.Sample)):
		n.see.since = now
	case since > seeWithin:
		n.rep.Unseen++
		n.found("unseen fault", "%s is not seen after %v", n.see.what, since.Round(time.Second))
		n.see = nil
	}
}

// sideUnseen tells that the side that the mount says cannot be held against another: it slews, or the tube points along the polar
// axis, where a pose is of both sides.
func sideUnseen(s *watch.Sample) bool {
	return s.Motion == watch.Moves || s.Slewing == "yes" || alongAxis(s)
}

// raUnseen tells that the place does not say how the RA axis stands: the tube points along a polar axis that is off the pole.
func (n *night) raUnseen(s *watch.Sample) bool {
	return alongAxis(s) && !n.s.m.Gauge().Model.Head.Aligned
}

// alongAxis tells that the tube points along the polar axis, as near as makes no difference to the watch, 0.05°, and to its noise.
func alongAxis(s *watch.Sample) bool {
	return s.DecAxisDeg != nil && math.Abs(math.Remainder(*s.DecAxisDeg, 180)) < 0.06
}

// stands tells whether the axes really do.
func stands(st sim.State) bool {
	return !st.Power || !st.Tracking && !st.Slewing && st.Rates == [2]float64{}
}

func (n *night) watchStops(now time.Time, s *watch.Status, st sim.State) {
	for _, d := range n.decided {
		n.rep.StopsBy[string(d.Cause)]++
		n.judgeStop(now, s, st, d)
	}
	n.decided = n.decided[:0]
	if r := n.stopping; r != nil {
		_, deaf := within(n.deaf, now, time.Minute)
		r.sound = r.sound && !deaf && !n.hidden() && n.m.Faults().RestoreTrackingS == 0
		if stands(st) {
			if r.sound && !r.hooked {
				d := now.Sub(r.at).Seconds()
				n.rep.WorstReactionS = math.Max(n.rep.WorstReactionS, d)
				n.rep.reactions = append(n.rep.reactions, d)
			}
			n.stopping = nil
		}
	}
	// A stop called done.
	if s.Rung != watch.Stopped || stands(st) || n.hidden() {
		n.turning = time.Time{}
		return
	}
	if n.turning.IsZero() {
		n.turning = now
	}
	if now.Sub(n.turning) > 12*time.Second {
		n.rep.Unheld++
		n.found("stop not held", "called stopped (%s), and the axes have been turning for %v", s.Why, now.Sub(n.turning).Round(time.Second))
		n.turning = now.Add(time.Hour)
	}
}

// judgeStop tells whether there was a reason to stop, by the document's rig and by the true one. The watch takes tolerances off the
// document's gap; where the drawn rig has more room than the document, the true gap alone proves no stop false.
func (n *night) judgeStop(now time.Time, s *watch.Status, st sim.State, d watch.Decision) {
	if n.lost || n.failing() || n.deafNow(now) || now.Sub(n.ill) < 20*time.Second && !n.ill.IsZero() {
		return
	}
	if n.synced && len(d.Blind) > 0 {
		return // the place jumped, and either side has to have room
	}
	false_ := func(format string, a ...any) {
		n.rep.FalseStops++
		n.found("false stop", "%s: "+format, append([]any{d.Why}, a...)...)
	}
	switch d.Cause {
	case watch.ByGap:
		if s.Sample == nil || s.Sample.ZoneMM == nil {
			return
		}
		least := *s.Sample.ZoneMM + n.s.g.MaxAllowance()
		doc := n.s.g.Gap(st.Believed, n.scratch).Nearest.Gap
		if s.Sample.Motion == watch.Moves && s.Sample.RAAxisDeg != nil { // it has gone on since
			at := axes.Angles{RA: axes.Rad(*s.Sample.RAAxisDeg), Dec: axes.Rad(*s.Sample.DecAxisDeg)}
			doc = math.Min(doc, n.s.g.Gap(at, n.scratch).Nearest.Gap)
		}
		switch {
		case st.Gap.Gap < least:
		case doc < least:
			n.rep.RoomyStops++
		default:
			false_("true gap %.1f mm, the document's %.1f mm, margin + tolerance + zone %.1f mm", st.Gap.Gap, doc, least)
		}
	case watch.ByTravel:
		if left := n.s.g.Model.Travel.RATo - st.Believed.RA; left > axes.Rad(1) {
			false_("%.1f° of travel are left", axes.Deg(left))
		}
	case watch.ByBlind:
		// A head off the pole that turns its RA axis along itself cannot be seen to, and is called blind.
		h := &n.s.g.Model.Head
		along := !h.Aligned && math.Abs(math.Sin(st.Believed.Dec)) < axes.Rad(0.1)
		switch {
		case along:
		case n.busy(20 * time.Second):
			n.rep.BusyStops++
		default:
			false_("nothing fails")
		}
	}
}

func (n *night) deafNow(now time.Time) bool {
	_, deaf := within(n.deaf, now, time.Minute)
	return deaf
}

// watchMotion follows what moves: a slew that the mount began by itself, and the end of what is not protected.
func (n *night) watchMotion(now time.Time, s *watch.Status, st sim.State) {
	if st.Slewing && !n.announced && !s.OnWay && !s.PathOK && !s.Protect.All && !open(n.bare) {
		n.bare = append(n.bare, span{from: now.Add(-askEvery - time.Second), why: "a slew that the mount began by itself"})
	}
	ended := !st.Slewing && !st.ByHand
	if ended && !s.OnWay && len(n.agenda) > 0 {
		n.announced = n.announced && n.agenda[0].at.Sub(now) < 3*time.Second
	}
	watching := s.Rung == watch.Watching || s.Rung == watch.Warned
	if open(n.bare) && ended && len(s.Blind) == 0 && watching && s.Sample != nil && s.Sample.Motion != watch.Moves {
		n.bare[len(n.bare)-1].to = now
	}
}

// watchPlace holds where the watch takes the axes to be against where the mount does.
func (n *night) watchPlace(now time.Time, s *watch.Status, st sim.State) {
	x := s.Sample
	off := false
	if x != nil && len(s.Blind) == 0 && x.Motion != watch.Moves && !st.Slewing && !st.ByHand && x.RAAxisDeg != nil && x.Side != "unknown" && !n.hidden() {
		dRA := math.Abs(axes.Rad(*x.RAAxisDeg) - st.Believed.RA)
		dDec := math.Abs(axes.Wrap(axes.Rad(*x.DecAxisDeg) - st.Believed.Dec))
		off = dRA > axes.Rad(1) && !n.raUnseen(x) || dDec > axes.Rad(1)
	}
	switch {
	case !off:
		n.astray = time.Time{}
	case n.astray.IsZero():
		n.astray = now
	case now.Sub(n.astray) > 6*time.Second:
		n.rep.Misplaced++
		n.found("misplaced", "the watch has side %s, RA axis %.1f°, declination axis %.1f°; the mount believes %.1f°, %.1f°", x.Side, *x.RAAxisDeg,
			*x.DecAxisDeg, axes.Deg(st.Believed.RA), axes.Deg(st.Believed.Dec))
		n.astray = now.Add(time.Hour)
	}
}

// hooked is the owner's hook being called.
func (n *night) hooked(c watch.Call) {
	now := n.clock.Now()
	n.rep.Hooks++
	if n.stopping != nil {
		n.stopping.hooked = true
		n.rep.WorstHookS = math.Max(n.rep.WorstHookS, now.Sub(n.stopping.at).Seconds())
	}
	if !n.lost && !n.failing() && !n.deafNow(now) && (n.ill.IsZero() || now.Sub(n.ill) > 2*time.Minute) {
		n.rep.FalseHooks++
		n.found("false hook", "%s: %s, with a mount that obeys", c.Cause, c.Why)
	}
}

// settle counts what has touched since, and tells whether anything has.
func (n *night) settle() bool {
	n.polled = n.clock.Now()
	c := n.m.Contacts()
	if c.Count == n.contacts {
		return false
	}
	for i := n.contacts; i < min(c.Count, len(c.List)); i++ {
		n.touched(c.List[i])
	}
	n.contacts = c.Count
	return true
}

func (n *night) touched(k sim.Contact) {
	what := fmt.Sprintf("%s and %s overlap by %.1f mm at RA axis %.2f°, declination axis %.2f°, %s", k.A, k.B, k.DepthMM, axes.Deg(k.At.RA),
		axes.Deg(k.At.Dec), k.Motion)
	s := n.w.Status()
	st := n.m.State()
	what += fmt.Sprintf("; the watch: %s, blind %v; believed − true %.2f°, %.2f°", s.Rung, s.Blind, axes.Deg(st.Believed.RA-st.True.RA), axes.Deg(st.Believed.Dec-st.True.Dec))
	if _, bare := within(n.bare, k.From, 2*time.Second); bare {
		n.rep.ContactsUnprotected++
	} else if _, deaf := within(n.deaf, k.From, 15*time.Second); deaf {
		n.rep.LateHooks++
		n.found("late hook", "%s", what)
	} else {
		n.rep.Contacts++
		n.found("contact", "%s", what)
	}
}
