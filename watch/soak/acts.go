package soak

import (
	"errors"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount/sim"
	"legroom/sky"
	"legroom/watch"
)

// act is the other software, or the owner, doing the next thing.
func (n *night) act() {
	s, st := n.w.Status(), n.m.State()
	moving := st.Slewing || st.ByHand || s.OnWay
	switch {
	case n.cut:
		return // the owner comes to set it up
	case moving && n.chance(0.03):
		n.unannounced()
	case moving || s.Rung == watch.Stopping || s.Rung == watch.Hooked:
		n.after(n.between(3*time.Second, 20*time.Second), n.act)
		return
	case len(s.Blind) > 0 && !n.failing():
		n.mend(&s, st)
		return
	case s.Rung == watch.Stopped:
		n.resume(&s, st)
		return
	case len(s.Blind) > 0 && n.chance(0.5):
		n.after(n.between(5*time.Second, 2*time.Minute), n.act)
		return
	case st.Parked:
		n.unpark()
	case n.clock.Now().Before(n.patient):
		n.after(n.between(time.Minute, 5*time.Minute), n.act)
		return
	default:
		n.work(st)
	}
	n.after(n.between(20*time.Second, 25*time.Minute), n.act)
}

// did counts what was done; refused what the watch did not let through, and tells whether it did.
func (n *night) did(what string) { n.rep.Acts[what]++ }

func (n *night) admitted(what string, err error) bool {
	if err == nil {
		n.did(what)
		return true
	}
	var no *watch.Refusal
	if errors.As(err, &no) {
		n.rep.Refused[what+": "+no.Key]++
	} else {
		n.rep.Refused[what+": other"]++
	}
	return false
}

// work draws what a good evening consists of, and what should not happen in one.
func (n *night) work(st sim.State) {
	switch x := n.rnd.IntN(100); {
	case x < 28:
		n.slew()
	case x < 50:
		n.nearLimit()
	case x < 60:
		n.flip(st)
	case x < 67:
		n.unannounced()
	case x < 73:
		n.park()
	case x < 82:
		n.byHand(true)
	case x < 88:
		n.byHand(false)
	case x < 91:
		n.sync(st, true)
	case x < 94:
		n.sync(st, false)
	case x < 98:
		n.switchTracking(st)
	default:
		n.did("owner's stop")
		n.w.Stop()
		n.after(n.between(20*time.Second, 3*time.Minute), n.release)
	}
}

// release lets go of the owner's stop, once the axes stand.
func (n *night) release() {
	if n.w.Release() != nil {
		n.after(10*time.Second, n.release)
	}
}

// place is where hour angle and declination are now by the mount's own sidereal time.
func (n *night) place(hour, dec float64) sky.Equatorial {
	lst := n.s.site.SiderealTime(n.clock.Now())
	return sky.Equatorial{RA: math.Mod(lst-hour+6*math.Pi, 2*math.Pi), Dec: dec}
}

// target draws a place above the horizon, even on the sky.
func (n *night) target() sky.Equatorial {
	for {
		hour, dec := 2*math.Pi*n.rnd.Float64()-math.Pi, math.Asin(2*n.rnd.Float64()-1)
		if axes.Direction(n.s.site.Lat, hour, dec).Z > 0.1 {
			return n.place(hour, dec)
		}
	}
}

// slew goes somewhere through the watch, to a side or to whichever the mount chooses.
func (n *night) slew() bool {
	for range 5 {
		var side *axes.Side
		if n.tells() && n.chance(0.5) {
			x := axes.West
			if n.chance(0.5) {
				x = axes.East
			}
			side = &x
		}
		if n.slewTo("slew", n.target(), side) {
			return true
		}
	}
	return false
}

// tells says whether this mount goes to a side that it is told.
func (n *night) tells() bool { return n.m.Habits().SideChoice == "as_told" }

// slewTo goes to a place through the watch, unless watch or mount refuse. A driver may take a moment to begin.
func (n *night) slewTo(what string, to sky.Equatorial, side *axes.Side) bool {
	pass, err := n.w.AdmitSlew(to, side)
	if err != nil {
		n.admitted(what, err)
		var no *watch.Refusal
		if side != nil && errors.As(err, &no) && no.Key == "room" && n.chance(0.01) {
			if n.admitted(what+" over waypoints", n.w.SlewAround(n.ctx, to, *side)) {
				n.announced = true
				return true
			}
		}
		return false
	}
	begin := func() bool {
		if r := n.w.Status().Rung; r == watch.Stopping || r == watch.Hooked || n.m.Slew(to, side) != nil {
			pass.Cancel()
			return false
		}
		pass.Sent()
		n.did(what)
		n.announced = true
		if n.faulty && n.chance(0.15) { // on the way
			n.after(n.between(time.Second, 40*time.Second), n.fault)
		}
		return true
	}
	if n.chance(0.3) {
		n.after(time.Duration(n.rnd.IntN(2000))*time.Millisecond, func() { begin() })
		return true
	}
	return begin()
}

// nearLimit goes to where a run ends soon, so that it is tracked past its end.
func (n *night) nearLimit() {
	t, h := n.s.g.Model.Travel, &n.s.g.Model.Head
	for range 100 {
		at := axes.Angles{RA: t.RAFrom + n.rnd.Float64()*(t.RATo-t.RAFrom), Dec: (2*n.rnd.Float64() - 1) * math.Pi}
		if !n.s.g.Free(at, n.scratch) {
			continue
		}
		end := t.RATo
		if c := n.s.g.FirstContact(at.RA, end, at.Dec, at.Dec); c.Found {
			end = c.RA
		} else if n.chance(0.7) {
			continue // where only the travel ends it
		}
		at.RA = math.Max(at.RA, end-axes.FromHours((1+29*n.rnd.Float64())/60))
		p := h.Pose(at)
		if axes.Direction(n.s.site.Lat, p.HourAngle, p.Dec).Z < 0.05 {
			continue
		}
		to := n.place(p.HourAngle, p.Dec)
		side := &p.Side
		if !n.tells() {
			if ends, err := n.m.SideOf(to); err != nil || ends != p.Side {
				continue
			}
			side = nil
		}
		if n.slewTo("slew to near a limit", to, side) {
			n.patient = n.clock.Now().Add(45 * time.Minute) // to past its end
			return
		}
	}
}

// flip goes to the other side at the place where the mount is.
func (n *night) flip(st sim.State) {
	p := n.s.g.Model.Head.Pose(st.Believed)
	side := axes.West + axes.East - p.Side
	n.slewTo("flip", n.place(p.HourAngle, p.Dec), &side)
}

// unannounced slews without a word to the watch, from wherever it is and whatever it does.
func (n *night) unannounced() {
	to := n.target()
	for range 50 {
		if n.chance(0.02) || n.trouble(to) { // most of them into trouble
			break
		}
		to = n.target()
	}
	if n.m.Slew(to, nil) != nil {
		return
	}
	n.did("slew, unannounced")
	n.begins(!n.w.Status().Protect.All, "a slew that was not proven")
}

// trouble tells whether a slew to a place ends where parts overlap, by the document.
func (n *night) trouble(to sky.Equatorial) bool {
	side, err := n.m.SideOf(to)
	if err != nil {
		return false
	}
	at := n.s.g.Model.Head.Angles(axes.Pose{Side: side, HourAngle: n.s.site.HourAngle(n.clock.Now(), to), Dec: to.Dec})
	return n.s.g.Gap(at, n.scratch).Nearest.Gap < 0
}

// park goes to park through the watch, over waypoints where it has to.
func (n *night) park() bool {
	ok := n.admitted("park", n.w.Park(n.ctx))
	n.announced = n.announced || ok
	return ok
}

func (n *night) unpark() {
	if n.admitted("unpark", n.w.AdmitTracking()) {
		_ = n.m.Unpark()
	}
}

// byHand turns an axis for some seconds.
func (n *night) byHand(ask bool) {
	axis := n.rnd.IntN(2)
	p := n.w.Status().Protect
	top, safe := n.s.rig.Mount.Slew.RADegPerS, p.RADegPerS
	if axis == 1 {
		top, safe = n.s.rig.Mount.Slew.DecDegPerS, p.DecDegPerS
	}
	deg := math.Exp(math.Log(0.01) + n.rnd.Float64()*(math.Log(top)-math.Log(0.01)))
	if !ask && n.chance(0.6) {
		deg = math.Min(top, safe) * (0.2 + 0.8*n.rnd.Float64())
	}
	rate := axes.Rad(deg)
	if n.chance(0.7) == n.widens(axis, rate) {
		rate = -rate
	}
	if ask {
		if !n.admitted("motion by hand", n.w.AdmitMotion(axis, rate)) {
			return
		}
	} else {
		n.did("motion by hand, unannounced")
	}
	if n.m.MoveAxis(axis, rate) != nil {
		return
	}
	if !ask {
		n.begins(deg > safe, "a motion by hand that is faster than protected")
	}
	if n.faulty && n.chance(0.4) { // in the middle of it
		n.after(n.between(time.Second, 20*time.Second), n.fault)
	}
	n.after(n.between(time.Second, 2*time.Minute), func() {
		if ask {
			_ = n.w.AdmitMotion(axis, 0)
		}
		_ = n.m.MoveAxis(axis, 0)
	})
}

// widens tells whether the document's gap grows when an axis goes on at a rate for some seconds.
func (n *night) widens(axis int, rate float64) bool {
	at := n.m.State().Believed
	before := n.s.g.Gap(at, n.scratch).Nearest.Gap
	if axis == 0 {
		at.RA += 5 * rate
	} else {
		at.Dec += 5 * rate
	}
	return n.s.g.Gap(at, n.scratch).Nearest.Gap > before
}

// sync tells the mount that it points to somewhere near: through the watch, or without a word.
func (n *night) sync(st sim.State, ask bool) {
	p := n.s.g.Model.Head.Pose(st.Believed)
	size := axes.Rad(0.02 + 0.96*n.rnd.Float64())
	if !ask && n.chance(0.6) {
		size = axes.Rad(1.2 + 8*n.rnd.Float64())
	}
	s, c := math.Sincos(2 * math.Pi * n.rnd.Float64())
	to := n.place(p.HourAngle, p.Dec)
	to.Dec += size * c
	if math.Abs(to.Dec) > axes.Rad(89.5) {
		return
	}
	to.RA = math.Mod(to.RA+size*s/math.Cos(to.Dec)+4*math.Pi, 2*math.Pi)
	if ask && !n.admitted("sync", n.w.AdmitSync(to)) {
		return
	}
	err := n.m.Sync(to)
	if ask {
		n.w.SyncTaken(err == nil)
	}
	if err != nil {
		return
	}
	if !ask {
		n.did("sync, unannounced")
	}
	n.synced = true
	now := n.m.State().Believed
	if math.Max(math.Abs(now.RA-st.Believed.RA), math.Abs(now.Dec-st.Believed.Dec)) > axes.Rad(1.1) {
		n.mustSee("a sync by more than a degree", n.raUnseen)
	}
}

// switchTracking switches tracking off, or on through the watch.
func (n *night) switchTracking(st sim.State) {
	if st.Tracking {
		n.did("tracking off")
		_ = n.m.SetTracking(false)
		return
	}
	if n.admitted("tracking on", n.w.AdmitTracking()) {
		_ = n.m.SetTracking(true)
	}
}

// resume is what happens after a stop: careless software tracks on, careful software goes elsewhere, or the owner has to come.
func (n *night) resume(s *watch.Status, st sim.State) {
	n.patient = time.Time{}
	switch {
	case s.Cause == watch.ByStopper:
		n.after(30*time.Second, n.act)
		return
	case n.chance(0.25) && !st.Parked:
		n.did("tracking on, unannounced")
		_ = n.m.SetTracking(true)
		n.begins(false, "")
		n.after(n.between(5*time.Second, 2*time.Minute), n.act)
		return
	}
	if n.slew() {
		n.after(n.between(time.Minute, 20*time.Minute), n.act)
		return
	}
	if n.park() {
		n.after(n.between(time.Minute, 20*time.Minute), n.act)
		return
	}
	n.anew("after a stop")
}

// mend is the owner seeing to a watch that is blind though nothing fails any more: confirming where the rig stands as the mount
// says, as far as an eye can tell, and setting up anew where it does not.
func (n *night) mend(s *watch.Status, st sim.State) {
	const eye = math.Pi / 180
	right := math.Abs(st.True.RA-st.Believed.RA) < eye && math.Abs(st.True.Dec-st.Believed.Dec) < eye
	switch {
	case s.Rung == watch.Stopping || s.Rung == watch.Hooked || n.clock.Now().Sub(n.blindSince) < 30*time.Second:
		n.after(10*time.Second, n.act)
	case !right:
		n.anew("the place was lost")
	case n.w.ConfirmReference(n.sideNow()) != nil:
		n.anew("it cannot be confirmed")
	default:
		n.did("confirmation")
		n.after(n.between(10*time.Second, 2*time.Minute), func() {
			if s := n.w.Status(); len(s.Blind) > 0 && !n.failing() && n.m.State().True == st.True {
				n.anew("blind after confirmation: " + string(s.Blind[0]))
				return
			}
			n.act()
		})
	}
}
