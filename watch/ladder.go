package watch

import (
	"context"
	"errors"
	"fmt"
	"time"

	"legroom/mount"
)

// ladder is where the watch stands between watching and the owner's hook.
type ladder struct {
	rung   Rung
	cause  Cause
	why    string
	held   bool      // the owner pressed stop, and has not let go
	proven bool      // what is being stopped was a slew on its proven path
	first  time.Time // when this stop was first sent
	sent   time.Time // when it was last sent
	failed int       // read-backs that showed that it had no effect
	repeat int
	hooked time.Time // when the hooks were last called
	after  bool      // the stop of this cause has been seen to hold
}

// hookAgain is how long after a hook without effect it is called again.
const hookAgain = 30 * time.Second

// todo is what a step has to tell the mount.
type todo struct {
	all     bool // abort, rates to zero, tracking off
	off     bool // tracking off alone: an abort makes some drivers track again
	hooks   bool
	call    Call
	connect bool
	leg     func(context.Context)
}

// moving tells whether anything says that the axes turn.
func (w *Watch) moving() bool {
	r := &w.now.r
	return w.now.motion == Moves || r.Slewing == mount.Yes || r.Tracking == mount.Yes || w.ob.moved
}

// want says why the mount has to stand still now.
func (w *Watch) want() (Cause, string) {
	n := &w.now
	if w.l.held {
		return ByStopper, "the owner pressed stop"
	}
	for _, l := range n.looks {
		if l.due {
			return l.why, w.p.words(l)
		}
	}
	if c, why := w.sunWants(); c != NoCause {
		return c, why
	}
	// What had been standing still when it was last seen is told so as a precaution alone.
	if len(n.blind) > 0 && w.o.Blind == StopBlind && n.motion != Still && (w.moving() || n.read && n.r.Tracking == mount.Unsaid) {
		for _, r := range reasons {
			if why, ok := n.blind[r]; ok {
				return ByBlind, "blind: " + why
			}
		}
	}
	return NoCause, ""
}

// againBlind is how often a mount that stood when it was last seen is told to stop while the watch is blind.
const againBlind = 10 * time.Second

// caution tells a mount to stop that stood when it was last seen, and has not been seen for a while: it need not stand any more. It is no
// step of the ladder, for nothing says that it moves: a mount that is switched off for the day brings no power to be cut.
func (w *Watch) caution(now time.Time, t *todo) {
	n := &w.now
	switch {
	case len(n.blind) == 0 || n.motion != Still || !n.read || n.age <= 3*w.o.Period || w.o.Blind != StopBlind:
		w.cautioned = time.Time{}
	case t.all || w.l.rung == Stopping || w.l.rung == Hooked || now.Sub(w.cautioned) < againBlind:
	default:
		if w.cautioned.IsZero() {
			w.alarms.note("caution", "the mount stood when it was last seen, and is told to stop each %v until it is seen again, in case that it moves", againBlind)
		}
		w.cautioned, t.all = now, true
	}
}

// climb moves the ladder by one step and says what the mount has to be told.
func (w *Watch) climb(now time.Time) todo {
	l, n := &w.l, &w.now
	cause, why := w.want()
	still := n.motion == Still && n.age <= 3*w.o.Period
	if w.fault == IgnoreRestored && l.repeat > 0 {
		still = true
	}
	under := l.rung == Stopping || l.rung == Hooked
	switch {
	case under && still:
		w.step(Stopped, l.cause, "the axes stand still: "+l.why, now)
		l.after = true
		w.alarms.over("obey")
		w.meetsSun(now)
		return todo{}
	case cause == NoCause && under:
		// A stop that was begun is brought to its end.
	case cause == NoCause && l.rung == Stopped && !w.moving():
		return todo{}
	case cause == NoCause:
		w.quiet(now)
		return todo{}
	case still && cause == ByBlind, still && l.rung == Stopped:
		return todo{}
	case still:
		l.cause, l.why = cause, why
		w.step(Stopped, cause, "the axes stand still already: "+why, now)
		w.meetsSun(now)
		return todo{}
	case l.rung == Stopped && !w.moving() && l.after && cause == l.cause:
		return todo{} // they are only not yet proven to stand still again
	case !under:
		restored := l.rung == Stopped && l.after
		if restored {
			w.status.Counts.Restored++
			w.alarms.note("restored", "the mount moves again after a stop")
		}
		*l = ladder{rung: l.rung, cause: cause, why: why, held: l.held, proven: w.onPath(), first: now}
		w.status.Counts.Stops++
		w.status.SunMeets = nil
		w.step(Stopping, cause, why, now)
		l.repeat = 1
		// Tracking that came back may have been brought back by the abort.
		slews := n.motion == Moves || n.r.Slewing == mount.Yes
		return todo{all: slews || !restored, off: true}
	}
	return w.again(now)
}

// again looks whether the stop that was sent works, and otherwise repeats it and calls the hooks.
func (w *Watch) again(now time.Time) todo {
	l, n := &w.l, &w.now
	var t todo
	braked := now.Sub(l.first) >= w.o.BrakeTime
	goesOn := w.ob.moved && w.ob.from.Sub(l.first) >= w.o.BrakeTime
	fast := n.r.Slewing == mount.Yes || n.motion == Moves
	switch back := n.fresh && !n.r.Asked.Before(l.sent); {
	case !back: // nothing was read since
		t.all = true
		l.failed++
	case n.r.Tracking == mount.Yes || goesOn || fast && braked:
		t.all, t.off = fast || l.failed > w.o.TriesBeforeHook, true
		l.failed++
	case fast:
		t.all = now.Sub(l.sent) >= w.o.Period // it may still be braking
	default:
		return t // said to stand still: being seen
	}
	if t.all || t.off {
		l.repeat++
	}
	if l.failed > 0 {
		w.alarms.raise("obey", Alarm, "the mount has not obeyed %d stops: cut its power if you can", l.failed)
	}
	if w.hookDue(now) {
		t.hooks = true
		l.hooked = now
		w.status.Counts.Hooks++
		if l.rung != Hooked {
			w.step(Hooked, l.cause, fmt.Sprintf("%d stops had no effect: %s", l.failed, l.why), now)
		}
		t.call = w.call(now)
	}
	return t
}

// blindPatience is how long a stop that is sent only because the watch is blind may go unanswered before the hooks are called: a
// network that is gone for a few seconds is no reason to cut the power, unless what was last known says that time is short.
const blindPatience = time.Minute

func (w *Watch) hookDue(now time.Time) bool {
	l, n := &w.l, &w.now
	if !l.hooked.IsZero() && now.Sub(l.hooked) < hookAgain || l.failed == 0 {
		return false
	}
	for _, k := range n.looks {
		// The way that is left to a contact, margin and all.
		if k.v > 0 && n.motion != Still && k.lower/k.v <= (n.age+w.o.FastPeriod+w.o.ReadDeadline+time.Second).Seconds() {
			return true
		}
	}
	if l.failed < w.o.TriesBeforeHook {
		return false
	}
	short := n.motion == Moves || n.left == nil && !n.noEnd || n.left != nil && *n.left-n.age < 2*time.Minute
	return l.cause != ByBlind || short || now.Sub(l.first) >= blindPatience
}

// quiet is a step with nothing to stop: a warning, or none.
func (w *Watch) quiet(now time.Time) {
	l, n := &w.l, &w.now
	if l.rung == Stopped {
		l.cause, l.why, l.after = NoCause, "", false
		w.status.SunMeets = nil
	}
	short := n.left != nil && *n.left < w.o.WarnBefore
	if short && (now.After(w.snoozed) || *n.left < snoozeLeast) {
		if l.rung != Warned {
			w.status.Counts.Warnings++
			w.step(Warned, NoCause, fmt.Sprintf("a stop is due in %v", n.left.Round(time.Second)), now)
		}
		w.alarms.raise("time", Warning, "a stop is due in %v: %s", n.left.Round(time.Second), w.nearest())
		return
	}
	w.alarms.over("time")
	if l.rung != Watching {
		w.step(Watching, NoCause, "nothing is in the way", now)
	}
}

// step changes the rung and writes it down.
func (w *Watch) step(to Rung, c Cause, why string, now time.Time) {
	d := Decision{From: w.l.rung, To: to, Cause: c, Why: why, Guard: w.onPath(), Shield: w.shielded(), Repeat: w.l.repeat}
	for _, r := range reasons {
		if _, ok := w.now.blind[r]; ok {
			d.Blind = append(d.Blind, r)
		}
	}
	d.LeftS = seconds(w.now.left)
	w.records = append(w.records, Record{At: now, Kind: KindDecision, Decision: &d})
	w.l.rung = to
	switch to {
	case Stopping, Hooked:
		w.alarms.overBy("time", "the warning: the stop has come")
		w.alarms.raise("stop", Alarm, "%s: %s", to, why)
	case Stopped:
		w.alarms.raise("stop", Alarm, "stopped: %s", w.l.why)
	case Watching, Warned:
		w.alarms.over("stop")
		w.alarms.over("obey")
	}
}

// tell carries out what a step decided. Nothing is locked meanwhile.
func (w *Watch) tell(ctx context.Context, t todo) {
	send := func(name string, f func(context.Context) error) {
		c, cancel := w.o.Clock.Timeout(ctx, w.o.CommandDeadline)
		defer cancel()
		from := w.o.Clock.Now()
		err := f(c)
		w.command(name, from, err)
	}
	if t.all {
		send("abort", w.tel.Abort)
		send("zero rates", w.tel.ZeroRates)
	}
	if t.all || t.off {
		send("tracking off", func(c context.Context) error { return w.tel.SetTracking(c, false) })
		w.mu.Lock()
		w.l.sent = w.o.Clock.Now()
		w.mu.Unlock()
	}
	if t.hooks {
		for _, h := range w.o.Hooks {
			w.hooks.Add(1)
			w.o.Clock.Go(func() {
				defer w.hooks.Done()
				w.hook(ctx, h, t.call)
			})
		}
	}
	if t.connect {
		send("connect", w.tel.Connect)
	}
	if t.leg != nil {
		t.leg(ctx)
	}
}

// command writes down what the mount was told.
func (w *Watch) command(name string, from time.Time, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.o.Clock.Now()
	c := Command{Name: name, Sent: from, Ended: now, Answer: "accepted", OK: err == nil}
	if err != nil {
		c.Answer = err.Error()
	}
	w.records = append(w.records, Record{At: now, Kind: KindCommand, Command: &c})
	if err != nil && !errors.Is(err, mount.ErrLacks) {
		kind, _ := kindOf(err)
		w.records = append(w.records, Record{At: now, Kind: KindError, Error: &Failure{Where: name, Kind: kind, Text: err.Error()}})
	}
}

// hook calls one hook to its end.
func (w *Watch) hook(ctx context.Context, h Hook, c Call) {
	ctx, cancel := w.o.Clock.Timeout(ctx, hookDeadline)
	defer cancel()
	from := w.o.Clock.Now()
	err := h.Do(ctx, c)
	w.command("hook "+h.Name, from, err)
	w.mu.Lock()
	defer w.mu.Unlock()
	if err != nil {
		w.alarms.raise("hook", Alarm, "hook %q failed: %v", h.Name, err)
	} else {
		w.alarms.note("hook", "hook %q was called: %s", h.Name, c.Why)
	}
}

func (w *Watch) call(now time.Time) Call {
	c := Call{At: now, Rung: w.l.rung, Cause: w.l.cause, Why: w.l.why, Mount: w.status.Mount, Rig: w.rig.Name}
	if len(w.now.blind) == 0 {
		c.LeftS = seconds(w.now.left)
		if len(w.now.looks) > 0 {
			c.GapMM = finite(w.now.looks[0].gap.Lower)
		}
	}
	return c
}

// feed calls the hook that must be fed, as long as the mount obeys.
func (w *Watch) feed(ctx context.Context, now time.Time) {
	w.mu.Lock()
	due := w.o.Feed != nil && !w.feeding && w.l.rung != Hooked && now.Sub(w.fed) >= w.o.FeedPeriod
	var c Call
	if due {
		w.fed, w.feeding = now, true
		c = w.call(now)
	}
	w.mu.Unlock()
	if !due {
		return
	}
	w.o.Clock.Go(func() {
		ctx, cancel := w.o.Clock.Timeout(ctx, w.o.FeedPeriod)
		defer cancel()
		err := w.o.Feed.Do(ctx, c)
		w.mu.Lock()
		defer w.mu.Unlock()
		w.feeding = false
		if err != nil {
			w.alarms.raise("feed", Alarm, "%q could not be fed: %v", w.o.Feed.Name, err)
		} else {
			w.alarms.over("feed")
		}
	})
}
