package watch

import (
	"fmt"
	"math"
	"slices"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/room"
	"legroom/sky"
)

// Refusal is why the watch does not let something through, in words for the owner.
type Refusal struct {
	Key  string // blind, stop, room, travel, sun, busy, document
	Text string
	End  bool // of a slew: it is where it ends that has no room, so that no other way leads there
}

func (r *Refusal) Error() string { return r.Text }

func refuse(key, format string, a ...any) error {
	return &Refusal{Key: key, Text: fmt.Sprintf(format, a...)}
}

// How long a slew that was let through may take to begin, and a place may be off, radians.
const (
	beginWithin = 10 * time.Second
	placeOff    = 0.1 * math.Pi / 180
)

// ready gives the one pose from which something may be begun.
func (w *Watch) ready(now time.Time) (fix, error) {
	f, err := w.readyByHand(now)
	if h := w.hand; err == nil && h != nil && (h.waits[0] || h.waits[1]) && now.Before(h.until) {
		return fix{}, refuse("busy", "a motion by hand has been let through, and has not been seen to begin: wait for it, or end it first")
	}
	return f, err
}

// readyByHand is ready for one more motion by hand.
func (w *Watch) readyByHand(now time.Time) (fix, error) {
	n := &w.now
	switch {
	case w.l.held:
		return fix{}, refuse("stop", "the owner pressed stop and has not let go")
	case w.l.rung == Stopping || w.l.rung == Hooked:
		return fix{}, refuse("stop", "the watch is stopping the mount: %s", w.l.why)
	case !n.read:
		return fix{}, refuse("blind", "the watch has not seen the mount yet")
	case since(now, w.status.At) > 3*w.o.Period:
		return fix{}, refuse("blind", "the watch has not come round for %v", since(now, w.status.At).Round(time.Millisecond))
	case len(n.blind) > 0:
		for _, r := range reasons {
			if why, ok := n.blind[r]; ok {
				return fix{}, refuse("blind", "the watch is blind: %s", why)
			}
		}
	case len(n.res.fixes) != 1:
		return fix{}, refuse("blind", "it is not known on which side the tube is")
	case n.motion == Moves:
		return fix{}, refuse("busy", "the mount is moving: wait for the end, or stop it first")
	case w.ob.unsettled:
		return fix{}, refuse("busy", "the mount has just been moving, and may still be coming to rest: wait for it")
	case w.pass != nil && (w.pass.sent.IsZero() || !n.r.Asked.After(w.pass.sent)):
		return fix{}, refuse("busy", "another slew has just been let through: wait for its end, or stop it first")
	case w.pass != nil && !w.pass.begun(&n.res.fixes[0]):
		return fix{}, refuse("busy", "another slew has been let through, and has not been seen to begin: wait for its end, or stop it first")
	}
	return n.res.fixes[0], nil
}

// AdmitSlew proves a slew to a place of date from where the mount is: to the side told, or to every side that the mount may choose.
// What it returns lets the watch hold still while the slew keeps to what was proven. The error is a *Refusal.
func (w *Watch) AdmitSlew(to sky.Equatorial, side *axes.Side) (*Pass, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.o.Clock.Now()
	from, err := w.ready(now)
	if err != nil {
		return nil, err
	}
	if math.IsNaN(to.RA-to.RA) || math.IsNaN(to.Dec-to.Dec) || math.Abs(to.Dec) > math.Pi/2 {
		return nil, refuse("room", "right ascension %v h, declination %v° is no place", axes.Hours(to.RA), axes.Deg(to.Dec))
	}
	hour := w.hourOf(to, from, now)
	start := w.startRect(from, now)
	var ways []room.Way
	var all []room.Rect
	for _, s := range w.sides(hour, side) {
		ends := w.ends(s, hour, to.Dec, start, s != from.side)
		if len(ends) == 0 {
			return nil, refuse("travel", "hour angle %.2f h, declination %.1f° is out of the travel of the axes on side %v", axes.Hours(hour), axes.Deg(to.Dec), s)
		}
		for _, end := range ends {
			more, err := w.proven(start, end, s != from.side, now, &s)
			if err != nil {
				return nil, err
			}
			if l := w.p.see(end.Centre(), Tracks, tracking(&from.r), heading{}, 0, w.o.Period); l.due {
				return nil, &Refusal{"room", fmt.Sprintf("a stop would be due as soon as it is there, on side %v: %s", s, w.p.words(l)), true}
			}
			ways = append(ways, more...)
		}
		all = append(all, ends...)
	}
	return w.grant(ways, all, now), nil
}

// hourOf is the hour angle of a place by the same clock that the mount's place goes by.
func (w *Watch) hourOf(to sky.Equatorial, from fix, now time.Time) float64 {
	if !from.r.SiderealSaid {
		return w.site.HourAngle(now, to)
	}
	return axes.Wrap(from.r.Sidereal + sky.SiderealRate*now.Sub(from.r.Got).Seconds() - to.RA)
}

// Sides lists the sides on which a slew to a place of date may end when none is told, by what the document says of the mount's
// own rules: one, or both when that is not certain.
func (w *Watch) Sides(to sky.Equatorial) []axes.Side {
	return w.sides(w.site.HourAngle(w.o.Clock.Now(), to), nil)
}

// startRect holds where the axes may be when a slew begins.
func (w *Watch) startRect(from fix, now time.Time) room.Rect {
	ahead := 2 * sky.SiderealRate * (now.Sub(from.r.Asked) + beginWithin).Seconds()
	if w.now.motion == Still {
		ahead = 0
	}
	return room.Rect{RAFrom: from.at.RA - placeOff, RATo: from.at.RA + ahead + placeOff, DecFrom: from.at.Dec - placeOff, DecTo: from.at.Dec + placeOff}
}

// takes tells whether the mount can be sent to axis angles by the place that they point to: it does not go there on the other side.
func (w *Watch) takes(at axes.Angles) bool {
	p := w.p.g.Model.Head.Pose(at)
	return w.rig.Mount.Rules.SideChoice != "by_hour_angle" || slices.Equal(w.sides(axes.Wrap(p.HourAngle), nil), []axes.Side{p.Side})
}

// sides lists the sides on which a slew may end.
func (w *Watch) sides(hour float64, told *axes.Side) []axes.Side {
	if told != nil {
		return []axes.Side{*told}
	}
	rules := w.rig.Mount.Rules
	if rules.SideChoice != "by_hour_angle" || rules.EarliestFlipMin == nil {
		return []axes.Side{axes.West, axes.East}
	}
	const unsure = 5 // minutes about the flip
	past := axes.Minutes(hour) - *rules.EarliestFlipMin
	switch {
	case past < -unsure:
		return []axes.Side{axes.West}
	case past > unsure:
		return []axes.Side{axes.East}
	}
	return []axes.Side{axes.West, axes.East}
}

// lasts is the longest until a slew that is let through now has ended.
func (w *Watch) lasts(start, end room.Rect, flip bool) time.Duration {
	return beginWithin + time.Duration(math.Min(w.m.PassageSeconds(start, end, flip), 86400)*float64(time.Second))
}

// ends lists the rectangles of axis angles within travel in which a slew from start to a place may end, by whole turns of the RA axis:
// the mount goes after the sky for as long as the slew takes.
func (w *Watch) ends(s axes.Side, hour, dec float64, start room.Rect, flip bool) []room.Rect {
	t := w.p.g.Model.Travel
	var out []room.Rect
	for k := -1; k <= 1; k++ {
		h := hour + 2*math.Pi*float64(k)
		hold := func(after time.Duration) room.Rect {
			return w.m.Hold(s, room.Interval{From: h - placeOff, To: h + placeOff + sky.SiderealRate*after.Seconds()},
				room.Interval{From: math.Max(dec-placeOff, -math.Pi/2), To: math.Min(dec+placeOff, math.Pi/2)})
		}
		r := hold(w.lasts(start, hold(0), flip))
		if t.RAFrom <= r.RAFrom && r.RATo <= t.RATo && t.DecFrom <= r.DecFrom && r.DecTo <= t.DecTo {
			out = append(out, r)
		}
	}
	return out
}

// proven gives the ways of a slew that is proven free, and by day clear of the Sun; side is nil for one to a place to rest at.
func (w *Watch) proven(start, end room.Rect, flip bool, now time.Time, side *axes.Side) ([]room.Way, error) {
	if !w.m.Passage(start, end, flip) {
		at, to, right := end.Centre(), "", "choose another place to rest at"
		if side != nil {
			to, right = fmt.Sprintf(" on side %v", *side), w.roomAt(end, now)
		}
		// Short: the device standards' clients show two lines of an error, and mount cuts it there.
		if !w.m.FreeRect(end) {
			a, b := w.tightest(at)
			return nil, &Refusal{"room", fmt.Sprintf("no room where it ends%s: %s and %s (axes at %.1f°, %.1f°). %s", to, a, b, axes.Deg(at.RA), axes.Deg(at.Dec), right), true}
		}
		rep, err := w.m.Slew(start.Centre(), at)
		if err == nil && rep.Obstruction != nil {
			o := rep.Obstruction
			return nil, refuse("room", "room where it ends%s, but not on the way: %s and %s (axes at %.1f°, %.1f°)", to, o.A, o.B, axes.Deg(o.At.RA), axes.Deg(o.At.Dec))
		}
		a, b := w.tightest(start.Centre(), at)
		return nil, refuse("room", "room where it ends%s, but not by every way that the mount may take; least at its ends: %s and %s", to, a, b)
	}
	ways := w.m.Ways(start, end, flip)
	for _, way := range ways {
		// What brakes for longer than a passage takes into account may come anywhere between start and end.
		if w.o.BrakeTime.Seconds() > room.Rest && !w.m.FreeRect(way.Box()) {
			return nil, refuse("room", "the slew to RA axis %.1f°, declination axis %.1f° is not proven free for axes that take %v to come to rest",
				axes.Deg(end.Centre().RA), axes.Deg(end.Centre().Dec), w.o.BrakeTime)
		}
	}
	if takes := w.lasts(start, end, flip); w.sun.up(now) || w.sun.up(now.Add(takes)) {
		for _, way := range ways {
			if !w.sun.clear(way.Box(), now, takes) {
				return nil, refuse("sun", "by day, with the tube uncovered, the slew may come within %.0f° of the Sun", axes.Deg(w.sun.angle))
			}
		}
	}
	return ways, nil
}

// roomAt says when a place of the sky that has no room now has it on the same side, as the RA axis goes on with the sky, and what would
// be right.
func (w *Watch) roomAt(end room.Rect, now time.Time) string {
	model := w.p.g.Model
	at := end.Centre()
	clock := func(ra float64) string { // "" below the horizon
		p := model.Head.Pose(axes.Angles{RA: ra, Dec: at.Dec})
		if alt, _ := axes.AltAz(axes.Direction(w.site.Lat, p.HourAngle, p.Dec)); alt < 0 {
			return ""
		}
		return now.Add(time.Duration((ra - at.RA) / sky.SiderealRate * float64(time.Second))).In(w.site.Zone).Format("15:04")
	}
	for _, bad := range w.m.NotFree(model.Travel.RAFrom, model.Travel.RATo, end.DecFrom, end.DecTo) {
		if at.RA < bad.From || at.RA > bad.To {
			continue
		}
		if from := clock(bad.To + placeOff); from != "" && bad.To < model.Travel.RATo {
			return "It has room from " + from + " on: slew to it then, or take another target"
		}
		if until := clock(bad.From - placeOff); until != "" && bad.From > model.Travel.RAFrom {
			return "It had room until " + until + ": take another target, or the other side"
		}
	}
	return "It has none at any time: take another target, or the other side"
}

// tightest names the pair of parts with the least room at some poses.
func (w *Watch) tightest(at ...axes.Angles) (a, b string) {
	least, parts := math.Inf(1), w.p.g.Model.Parts
	for _, x := range at {
		if gap := w.p.g.Gap(x, w.p.s); gap.Lower < least {
			least, a, b = gap.Lower, parts[gap.LowerPair[0]].Name, parts[gap.LowerPair[1]].Name
		}
	}
	return a, b
}

// TrackOffsets are how much faster or slower than the sky guiding, and rates that are set for a comet, may turn each axis, rad/s, for
// what the watch proves of tracking and says of the time left.
func TrackOffsets() (ra, dec float64) { return trackRates.ra - sky.SiderealRate, trackRates.dec }

// AdmitChange tells whether something may be changed that makes the mount move or say something else, and no slew: what it is set to, or
// by a pulse where it points. The error is a *Refusal.
func (w *Watch) AdmitChange() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	_, err := w.ready(w.o.Clock.Now())
	return err
}

// AdmitTracking tells whether tracking may be switched on where the mount is. The error is a *Refusal.
func (w *Watch) AdmitTracking() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.o.Clock.Now()
	f, err := w.ready(now)
	if err != nil {
		return err
	}
	if l := w.p.see(f.at, Tracks, tracking(&f.r), heading{}, now.Sub(f.r.Asked), w.o.Period); l.due {
		return refuse(string(l.why), "tracking would have to be stopped at once: %s", w.p.words(l))
	}
	if sep := w.sun.separation(f.at, now); w.sun.up(now) && sep < w.sun.angle {
		return refuse("sun", "%s", w.sun.words(sep))
	}
	return nil
}

// paths lets go of passes and motions that have ended, and goes on with a park.
func (w *Watch) paths(now time.Time, t *todo) {
	n := &w.now
	if p := w.pass; p != nil && n.fresh {
		slewing := n.r.Slewing == mount.Yes
		switch {
		case slewing:
			p.started, p.ended = true, 0
			p.until = now.Add(beginWithin)
			if !p.brake.over.IsZero() && now.After(p.brake.over) {
				p.brake = braking{} // it goes on: the mount did not take the abort, or took it before the slew
			}
		case p.started:
			p.ended++
		}
		coming := p.brake.told && w.ob.unsettled && len(n.res.fixes) == 1 && p.holds(&n.res.fixes[0]) // to rest
		if p.started && p.ended >= 2 && !coming || now.After(p.until) || w.l.rung == Stopping || w.l.rung == Hooked {
			w.pass = nil
		}
	}
	if h := w.hand; h != nil {
		if n.motion == Moves && n.fresh {
			h.seen(w.ob.speed, tracking(&n.r))
		}
		if n.motion == Moves && n.r.Slewing == mount.Yes && now.Before(h.until.Add(beginWithin)) {
			h.until = now
		}
		if n.motion != Moves && now.After(h.until) || w.l.rung == Stopping || w.l.rung == Hooked {
			w.hand = nil
		}
	}
	w.nextLeg(now, t)
}
