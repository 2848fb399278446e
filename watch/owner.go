package watch

import (
	"errors"
	"fmt"
	"time"

	"legroom/axes"
)

// Stop stops the mount now, and keeps it stopped until Release.
func (w *Watch) Stop() {
	w.mu.Lock()
	w.l.held = true
	w.legs = nil
	w.alarms.note("stop", "the owner pressed stop")
	w.mu.Unlock()
	w.Look()
}

// Release lets go of a stop that the owner pressed. It sets nothing in motion.
func (w *Watch) Release() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch {
	case !w.l.held && w.l.rung == Stopped && w.l.cause != ByStopper:
		return fmt.Errorf("nobody has pressed stop; the watch stopped the mount by itself: %s. When that is over, switch tracking on again at the "+
			"mount to go on; or park", w.l.why)
	case !w.l.held:
		return errors.New("nobody has pressed stop")
	}
	if w.l.rung == Stopping || w.l.rung == Hooked {
		return errors.New("the axes have not been seen to stand still yet")
	}
	w.l.held = false
	w.alarms.note("stop", "the owner has let go of the stop")
	return nil
}

// snoozeLeast is the time left below which a warning cannot be snoozed: the stop comes soon, and comes all the same.
const snoozeLeast = time.Minute

// Snooze silences the warning that a stop is due, for at most half an hour. It moves no stop.
func (w *Watch) Snooze(d time.Duration) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.o.Clock.Now()
	switch {
	case d <= 0 || d > 30*time.Minute:
		return fmt.Errorf("snooze of %v: give more than nothing and at most 30 min", d)
	case w.l.rung != Warned && w.l.rung != Watching:
		return fmt.Errorf("%s cannot be snoozed", w.l.rung)
	case w.now.left != nil && *w.now.left < snoozeLeast:
		return fmt.Errorf("the stop is due in %v, that cannot be snoozed", w.now.left.Round(time.Second))
	}
	w.snoozed = now.Add(d)
	w.alarms.note("snooze", "the warning is silent for %v; the stop comes when it is due", d)
	return nil
}

// Confirmable gives where the axes are if the owner confirms a side by the last usable reading, as ConfirmReference would take it.
func (w *Watch) Confirmable(side axes.Side) (axes.Angles, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.now.read {
		return axes.Angles{}, errors.New("there has been no usable reading yet")
	}
	f := w.f // a copy, so that nothing is taken
	c, err := f.confirm(w.now.r, side)
	return c.at, err
}

// ConfirmReference says that the owner has looked: the tube is on that side, and the rig stands as the mount says it does. Only
// a fresh reading can be confirmed.
func (w *Watch) ConfirmReference(side axes.Side) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	n := &w.now
	switch {
	case !n.read || !n.fresh || n.age > 3*w.o.Period:
		return errors.New("there is no fresh reading to confirm")
	case n.motion == Moves:
		return errors.New("the mount is moving: a pose can be confirmed when it stands or tracks")
	}
	if n.r.SideSaid && !w.o.IgnoreSide && n.r.Side != side {
		return fmt.Errorf("the mount says side %v: one of the two is wrong, and if it is the mount, then so is where it says that it points; look again, "+
			"find home, or have the watch ignore the side that is told", n.r.Side)
	}
	f, err := w.f.confirm(n.r, side)
	if err != nil {
		return err
	}
	w.reference, w.c.set, w.syncs = "", 0, syncs{}
	if w.ob.prev != nil && w.ob.prev.side != side {
		w.ob = observer{}
	}
	w.alarms.note("confirm", "the owner confirmed: side %v, RA axis %.1f°, declination axis %.1f°", side, axes.Deg(f.at.RA), axes.Deg(f.at.Dec))
	w.Look()
	return nil
}

// sunWants is a slew towards the Sun, and tells of a tube that is near it.
func (w *Watch) sunWants() (Cause, string) {
	n := &w.now
	now := w.o.Clock.Now()
	if len(n.res.fixes) == 0 || !w.sun.up(now) {
		w.alarms.over("sun")
		return NoCause, ""
	}
	at := n.res.fixes[0].at // both sides point to the same place
	before := n.before
	if before == (axes.Angles{}) {
		before = at
	}
	exposed := n.age + w.o.stopCalls(n.motion) + w.o.FastPeriod + w.o.BrakeTime/2
	sep, near, stop := w.sun.approaching(before, at, now, n.rates, exposed)
	if !near {
		w.alarms.over("sun")
	} else {
		w.alarms.raise("sun", Alarm, "%s: cover it", w.sun.words(sep))
	}
	if stop && n.motion == Moves && !w.onPath() {
		return BySun, w.sun.words(sep)
	}
	return NoCause, ""
}

// meetsSun says, after a stop, when the Sun will come near where the tube points.
func (w *Watch) meetsSun(now time.Time) {
	if len(w.now.res.fixes) == 0 {
		return
	}
	at, meets := w.sun.meets(w.now.res.fixes[0].at, now)
	w.status.SunMeets = nil
	if meets {
		w.status.SunMeets = &at
		w.alarms.note("sun", "the Sun comes within %.0f° of where the tube points at %s: cover it, or move it, before", axes.Deg(w.sun.angle),
			at.In(w.site.Zone).Format("2006-01-02 15:04"))
	}
}
