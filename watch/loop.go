package watch

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// reasons lists every way of being blind, in the order in which they are named.
var reasons = []Reason{BlindLink, BlindAnswer, BlindOld, BlindFrozen, BlindClock, BlindSite, BlindPlace, BlindEquinox, BlindSide, BlindJump,
	BlindReference, BlindSetup, BlindFingerprint}

// Step comes round once: read, place, decide, act, write down. It returns how long to wait until the next time. When ctx ends
// meanwhile, it sets nothing in motion any more, and all else is brought to its end: least of all is a stop left out.
func (w *Watch) Step(ctx context.Context) time.Duration {
	going := ctx
	ctx = context.WithoutCancel(ctx)
	begun := w.o.Clock.Now()
	w.mu.Lock()
	actual := time.Duration(0)
	if !w.lastStep.IsZero() {
		actual = begun.Sub(w.lastStep)
		w.status.Counts.WorstStepS = math.Max(w.status.Counts.WorstStepS, actual.Seconds())
	}
	jumped := w.c.computer(begun)
	if jumped.Abs() > clockSet {
		w.c.lags.begin()
	}
	if w.c.set += jumped; w.c.set.Abs() > clockOff && jumped.Abs() > clockNoise {
		w.f.jumps = fmt.Sprintf("this computer's clock was set by %v since the reference pose", w.c.set.Round(time.Second))
	}
	w.lastStep = begun
	if at := w.status.At; !at.IsZero() && begun.Sub(at) > LongSilence && w.c.lostAt.IsZero() {
		w.c.lostAt = at // it was this computer that was away
	}
	w.mu.Unlock()
	w.lookAtFiles(begun)

	c, cancel := w.o.Clock.Timeout(ctx, w.o.ReadDeadline)
	r, err := w.tel.Read(c)
	cancel()

	w.mu.Lock()
	now := w.o.Clock.Now()
	w.status.Counts.Steps++
	w.take(r, err, now)
	w.place(now, max(w.period(), min(actual, 5*w.o.Period)))
	w.watchBlind(now)
	t := w.climb(now)
	w.caution(now, &t)
	w.paths(now, &t)
	if w.c.disconnected && errors.Is(w.now.err, mount.ErrNotConnected) && now.Sub(w.connected) >= 5*time.Second {
		t.connect, w.connected = true, now
	}
	w.mu.Unlock()

	if going.Err() != nil {
		t.connect, t.leg = false, nil
	}
	w.tell(ctx, t)
	w.feed(going, now)

	w.mu.Lock()
	w.publish(w.o.Clock.Now())
	next := w.period()
	w.mu.Unlock()
	w.write()
	return max(begun.Add(next).Sub(w.o.Clock.Now()), 10*time.Millisecond)
}

// period is how long after this step the next begins.
func (w *Watch) period() time.Duration {
	n := &w.now
	under := w.l.rung == Stopping || w.l.rung == Hooked
	if n.motion == Moves || w.ob.unsettled || under || n.left != nil && *n.left < time.Minute {
		return w.o.FastPeriod
	}
	return w.o.Period
}

// take makes of a reading where the axes are and what they do. What cannot be used leaves the last reading to grow old.
func (w *Watch) take(r mount.Reading, err error, now time.Time) {
	n := &w.now
	n.fresh, n.err, n.odd = false, err, ""
	w.status.Reading = r
	if err != nil {
		w.failed(err, now)
		return
	}
	reason, err := w.c.usable(&r)
	old := time.Duration(0)
	if err == nil && w.fault != AcceptOld {
		if old, err = w.c.lags.judge(&r, r.Slewing == mount.Yes || w.f.moved == Moves); err != nil {
			reason = BlindOld
		}
	}
	if err != nil {
		n.err, n.odd = err, reason
		w.silent(string(reason), err, now)
		n.r.Tracking, n.r.Slewing = r.Tracking, r.Slewing // so that it is known whether there is anything to stop
		switch {
		case r.Slewing == mount.Yes && n.motion != Moves:
			n.motion, n.rates, n.to = Moves, w.p.slew, heading{}
		case r.Tracking == mount.Yes && n.motion == Still:
			n.motion, n.rates = Tracks, tracking(&r)
		}
		return
	}
	w.status.Counts.Readings++
	said := r
	r.Asked = r.Asked.Add(-old) // its state may be from then
	if old > LongSilence && w.c.lostAt.IsZero() {
		w.c.lostAt = r.Asked
	}
	if !w.c.lostAt.IsZero() {
		if gone := now.Sub(w.c.lostAt); w.c.disconnected || gone > LongSilence {
			w.reference = fmt.Sprintf("the mount was not seen for %v, and may have lost power: confirm that the rig stands as it says", gone.Round(time.Second))
		}
		w.c.lostAt, w.c.disconnected = time.Time{}, false
	}
	if w.o.Resume != nil {
		w.resume(r, now)
	}
	if w.fault == AcceptOld {
		r.Asked, r.Got = now, now
	}
	n.r, n.read, n.fresh = r, true, true
	n.before = axes.Angles{}
	if w.f.last != nil {
		n.before = w.f.last.at
	}
	n.res = w.f.resolve(r, w.o.IgnoreSide)
	if n.res.either != "" {
		w.reference = n.res.either
	}
	if w.fault != AcceptOld {
		w.c.times(&n.res, said, w.o.Period)
	}
	was := n.motion
	n.motion, n.rates, n.to = NotKnown, w.p.slew, heading{}
	if len(n.res.fixes) > 0 {
		n.motion, n.rates = w.ob.observe(n.res.fixes[0], w.p.slew)
		n.to = w.ob.heading
		if r.Slewing != mount.Yes {
			w.brakes(&n.res.fixes[0], now)
		}
	}
	w.f.moved = n.motion
	if h := w.hand; h != nil && (w.ob.speed.ra > 1.3*h.rates.ra || w.ob.speed.dec > 1.3*h.rates.dec) {
		w.hand = nil // this is another motion than the one let through
	}
	if n.motion == Moves && w.hand != nil && w.pass == nil {
		n.rates, n.to = w.hand.rates, heading{}
	}
	on := w.onPath()
	if n.motion == Moves && (was != Moves || w.followed && !on) {
		w.began(now)
	}
	w.followed = on
}

// began counts a slew: one that begins, or leaves the path on which it was proven. An axis that brakes begins none.
func (w *Watch) began(now time.Time) {
	if under := w.l.rung == Stopping || w.l.rung == Hooked; under {
		if now.Sub(w.l.first) <= w.o.BrakeTime {
			return
		}
		w.l.proven = false
	}
	if p := w.pass; p != nil && p.brake.told && w.onPath() {
		return
	}
	w.status.Counts.Slews++
	if !w.shielded() {
		w.status.Counts.Unprotected++
		w.alarms.note("slew", "a slew that was not proven, faster than what can be protected")
	}
}

// shielded tells whether what the axes do now is protected: no slew, one that was proven and may be braking, or one slow enough.
func (w *Watch) shielded() bool {
	under := w.l.rung == Stopping || w.l.rung == Hooked
	if w.now.motion != Moves || w.onPath() || under && w.l.proven || w.status.Protect.All {
		return true
	}
	p, r := w.status.Protect, w.now.rates
	return axes.Deg(r.ra) <= p.RADegPerS && axes.Deg(r.dec) <= p.DecDegPerS
}

func (w *Watch) failed(err error, now time.Time) {
	kind, _ := kindOf(err)
	if errors.Is(err, mount.ErrNotConnected) {
		w.c.disconnected = true
	}
	w.silent(kind, err, now)
}

// silent is a look that told nothing: no answer, or one that cannot be used. Nobody knows what the mount did meanwhile.
func (w *Watch) silent(kind string, err error, now time.Time) {
	w.status.Counts.ReadErrors++
	if w.c.lostAt.IsZero() {
		w.c.lostAt = now
	}
	w.records = append(w.records, Record{At: now, Kind: KindError, Error: &Failure{Where: "read", Kind: kind, Text: err.Error()}})
}

// place looks at the room where the axes are, or may be.
func (w *Watch) place(now time.Time, period time.Duration) {
	n := &w.now
	n.looks, n.left, n.noEnd = n.looks[:0], nil, n.motion == Still
	if !n.read {
		n.age = now.Sub(w.started)
		return
	}
	n.age = max(0, since(now, n.r.Asked))
	if w.fault == AcceptOld {
		n.age = 0
	}
	for i := range n.res.fixes {
		f := &n.res.fixes[i]
		l := w.p.see(f.at, n.motion, n.rates, n.to, n.age, period)
		if l.due && n.motion == Moves && w.pass.holds(f) && l.gap.Lower >= w.p.g.MarginMM {
			l.due = false // this path was proven from end to end
		}
		if w.fault == IgnoreMargin {
			l.due = false
		}
		if len(n.looks) > 0 && l.lower-l.zone < n.looks[0].lower-n.looks[0].zone {
			n.looks = slices.Insert(n.looks, 0, l)
		} else {
			n.looks = append(n.looks, l)
		}
		if n.motion == Tracks {
			w.timeLeft(f)
		}
	}
}

// timeLeft takes the least over the sides that may be. An older reading leaves less.
func (w *Watch) timeLeft(f *fix) {
	n := &w.now
	v, on := w.p.paceOf(f)
	if !on {
		n.noEnd = false // backwards: no word of when
		return
	}
	d, ends := w.p.left(f.at, f.side, n.rates, v)
	if !ends {
		n.noEnd = n.left == nil
		return
	}
	d = max(0, d-n.age)
	if n.left == nil || d < *n.left {
		n.left, n.noEnd = &d, false
	}
}

// watchBlind gathers what makes the watch blind now.
func (w *Watch) watchBlind(now time.Time) {
	n := &w.now
	blind := map[Reason]string{}
	for r, why := range n.res.bad {
		blind[r] = why
	}
	if n.age > 3*w.o.Period {
		age := n.age.Round(100 * time.Millisecond)
		blind[BlindOld] = fmt.Sprintf("the last usable reading is %v old", age)
		if !n.read {
			blind[BlindOld] = "there has been no usable reading yet"
		}
		switch {
		case n.odd != "":
			blind[n.odd] = n.err.Error()
		case n.err != nil:
			_, reason := kindOf(n.err)
			blind[reason] = n.err.Error()
		}
	}
	if w.reference != "" && n.read {
		blind[BlindReference] = w.reference
	}
	if !w.setup.Confirmed {
		blind[BlindSetup] = "the set-up is not confirmed for tonight: " + w.setup.Reason
	}
	if w.stale != "" {
		blind[BlindFingerprint] = w.stale
	}
	n.blind = blind
	if len(blind) > 0 {
		w.status.Counts.BlindSteps++
	}
	for _, r := range reasons {
		key := "blind " + string(r)
		if why, ok := blind[r]; ok {
			w.alarms.raise(key, Alarm, "blind: %s", why)
		} else {
			w.alarms.over(key)
		}
	}
}

// lookAtFiles asks now and then whether the set-up is still confirmed and the document still the one that is watched. It does so
// beside the loop: a disk that does not answer keeps nobody from looking at the mount.
func (w *Watch) lookAtFiles(now time.Time) {
	w.mu.Lock()
	late := !w.lookedAt.IsZero() && now.Sub(w.lookedAt) >= lookEvery || now.Before(w.lookedAt)
	begin := (w.lookedAt.IsZero() || late) && !w.looking
	if late && w.looking {
		w.stale = "the rig document cannot be read any more: its disk does not answer"
	}
	if begin {
		w.lookedAt, w.looking = now, true
	}
	w.mu.Unlock()
	if !begin {
		return
	}
	w.o.Clock.Go(func() {
		w.relock()
		setup := w.o.Setup(now)
		print, err := w.o.Fingerprint()
		stale := ""
		switch {
		case err != nil:
			stale = fmt.Sprintf("the rig document cannot be read any more: %v", err)
		case print != w.print:
			stale = "the rig document has changed since the watch began: begin anew"
		}
		w.mu.Lock()
		defer w.mu.Unlock()
		w.looking, w.setup, w.stale = false, setup, stale
	})
}

// publish puts everything into the status and the journal.
func (w *Watch) publish(now time.Time) {
	n, s := &w.now, &w.status
	s.At, s.Rung, s.Cause, s.Why = now, w.l.rung, w.l.cause, w.l.why
	s.Blind, s.BlindWhy = nil, nil
	for _, r := range reasons {
		if why, ok := n.blind[r]; ok {
			s.Blind, s.BlindWhy = append(s.Blind, r), append(s.BlindWhy, why)
		}
	}
	s.LeftS, s.NoEnd, s.PathOK = seconds(n.left), n.noEnd, w.onPath()
	s.Snoozed = nil
	if now.Before(w.snoozed) {
		t := w.snoozed
		s.Snoozed = &t
	}
	s.Desc = w.tel.Describe()
	if n.fresh {
		c := w.sample()
		s.Sample = &c
		w.records = append(w.records, Record{At: now, Kind: KindSample, Sample: &c})
	}
}

func (w *Watch) sample() Sample {
	n := &w.now
	r := &n.r
	c := Sample{Asked: r.Asked, Got: r.Got, RADeg: axes.Deg(r.Place.RA), DecDeg: axes.Deg(r.Place.Dec), SideSaid: "unknown", Side: "unknown",
		SideHow: n.res.how, HourH: axes.Hours(hourAngle(*r, w.site)), Tracking: r.Tracking.String(), Slewing: r.Slewing.String(), Parked: r.Parked.String(),
		Motion: n.motion, LeftS: seconds(n.left), Blind: slices.Clone(w.status.Blind)}
	if doubt := w.reference != "" || w.f.jumps != ""; doubt && (c.SideHow == ByOwner || c.SideHow == ByPath) {
		c.SideHow = ByMount // what the owner once confirmed is worth nothing now, nor to a watch that begins again
	}
	if r.SideSaid {
		c.SideSaid = r.Side.String()
	}
	if len(n.res.fixes) == 1 {
		c.Side = n.res.fixes[0].side.String()
	}
	if len(n.looks) > 0 {
		l := &n.looks[0]
		ra, dec := axes.Deg(l.at.RA), axes.Deg(l.at.Dec)
		c.RAAxisDeg, c.DecAxisDeg = &ra, &dec
		c.GapMM, c.LowerMM, c.ZoneMM = finite(l.gap.Nearest.Gap), finite(l.gap.Lower), finite(l.zoneOfAll())
		c.A, c.B = w.p.g.Model.Parts[l.gap.LowerPair[0]].Name, w.p.g.Model.Parts[l.gap.LowerPair[1]].Name
	}
	return c
}

func (w *Watch) nearest() string {
	if len(w.now.looks) == 0 {
		return ""
	}
	return w.p.words(w.now.looks[0])
}

// write hands the records of a step to the journal.
func (w *Watch) write() {
	w.mu.Lock()
	rs := w.records
	w.records = nil
	w.mu.Unlock()
	if w.o.Record == nil || len(rs) == 0 {
		return
	}
	err := w.o.Record(rs)
	w.mu.Lock()
	defer w.mu.Unlock()
	if err != nil {
		w.status.Counts.JournalFails++
		w.alarms.raise("journal", Alarm, "the journal cannot be written: %v", err)
	} else {
		w.alarms.over("journal")
	}
}

// resume carries on from the last sample of an earlier watch, when the mount still stands or tracks where it was.
func (w *Watch) resume(r mount.Reading, now time.Time) {
	s := w.o.Resume
	w.o.Resume = nil
	const old = 10 * time.Minute
	if s.RAAxisDeg == nil || s.DecAxisDeg == nil || s.SideHow != ByOwner && s.SideHow != ByPath || now.Sub(s.Got) > old || now.Before(s.Got) || r.Slewing == mount.Yes {
		return
	}
	side, err := axes.ParseSide(s.Side)
	if err != nil || r.SideSaid && !w.o.IgnoreSide && r.Side != side {
		return
	}
	was := axes.Angles{RA: axes.Rad(*s.RAAxisDeg), Dec: axes.Rad(*s.DecAxisDeg)}
	f, ok := w.f.pose(r, hourAngle(r, w.site), side, &was)
	turned := sky.SiderealRate * r.Got.Sub(s.Got).Seconds()
	d := f.at.RA - was.RA
	const off = 0.25 * math.Pi / 180
	if !ok || math.Abs(f.at.Dec-was.Dec) > off || d < -off || d > turned+off {
		return
	}
	w.f.keep(f, ByOwner)
	w.reference = ""
	w.alarms.note("resume", "carries on from %s, side %v: the mount stands where it stood", s.Got.Format(time.RFC3339), side)
}

func seconds(d *time.Duration) *float64 {
	if d == nil {
		return nil
	}
	s := d.Seconds()
	return &s
}

func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
