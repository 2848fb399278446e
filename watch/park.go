package watch

import (
	"context"
	"errors"
	"math"
	"slices"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// AdmitPark proves the way to the park place that the document names, as AdmitSlew does. The error is a *Refusal.
func (w *Watch) AdmitPark() (*Pass, error) {
	return w.admitPose(w.rig.Mount.Park, "park")
}

// AdmitHome does the same for the home place.
func (w *Watch) AdmitHome() (*Pass, error) {
	return w.admitPose(w.rig.Mount.Home, "home")
}

func (w *Watch) admitPose(p *rig.AxisPose, name string) (*Pass, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.o.Clock.Now()
	from, err := w.ready(now)
	if err != nil {
		return nil, err
	}
	if p == nil {
		return nil, refuse("document", "the rig document does not say where %s is (mount.%s): the way there cannot be proven", name, name)
	}
	to := axes.Angles{RA: axes.Rad(p.RAAxisDeg), Dec: axes.Rad(p.DecAxisDeg)}
	end := room.Rect{RAFrom: to.RA - placeOff, RATo: to.RA + placeOff, DecFrom: to.Dec - placeOff, DecTo: to.Dec + placeOff}
	start := w.startRect(from, now)
	// At the pole, and at the far one, one side is the other.
	flip := math.Sin(to.Dec)*math.Sin(from.at.Dec) < 0 && math.Abs(math.Sin(to.Dec)) > math.Sin(placeOff)
	ways, err := w.proven(start, end, flip, now, nil)
	if err != nil {
		return nil, err
	}
	return w.grant(ways, []room.Rect{end}, now), nil
}

// leg is one slew of a way over waypoints: to axis angles, to a place on a side, or to park.
type leg struct {
	at   axes.Angles
	to   *sky.Equatorial
	side axes.Side
	park bool
}

// Park takes the mount to its park place when the way is proven: straight, or over waypoints. Otherwise it is refused, with an
// alarm. Finding waypoints may take seconds. It returns when the way has begun; the loop goes it.
func (w *Watch) Park(ctx context.Context) error {
	w.mu.Lock()
	count := w.abandoned
	w.mu.Unlock()
	pass, err := w.AdmitPark()
	if err == nil {
		c, cancel := w.o.Clock.Timeout(ctx, w.o.CommandDeadline)
		defer cancel()
		return w.sendPark(c, pass, count)
	}
	var no *Refusal
	if !errors.As(err, &no) || no.Key != "room" {
		return w.notGone("park", err)
	}
	p := w.rig.Mount.Park
	if found := w.around(ctx, axes.Angles{RA: axes.Rad(p.RAAxisDeg), Dec: axes.Rad(p.DecAxisDeg)}, leg{park: true}); found != nil {
		return w.notGone("park", err)
	}
	return nil
}

// SlewAround takes the mount to a place of date on a side over waypoints, for when the straight slew is refused. The error is a
// *Refusal. It returns when the way has been found; the loop goes it, and tells of its end or failure by events.
func (w *Watch) SlewAround(ctx context.Context, to sky.Equatorial, side axes.Side) error {
	w.mu.Lock()
	from, err := w.ready(w.o.Clock.Now())
	var ends []room.Rect
	if err == nil {
		now := w.o.Clock.Now()
		ends = w.ends(side, w.hourOf(to, from, now), to.Dec, w.startRect(from, now), side != from.side)
	}
	w.mu.Unlock()
	switch {
	case err != nil:
		return err
	case !slices.Contains(w.Sides(to), side):
		return refuse("room", "the mount goes there on the other side (mount.own_rules)")
	case len(ends) == 0:
		return refuse("travel", "declination %.1f° is out of the travel of the axes on side %v there", axes.Deg(to.Dec), side)
	}
	return w.around(ctx, ends[0].Centre(), leg{to: &to, side: side})
}

// around finds a proven way to axis angles and sets the loop on it; last is its last leg.
func (w *Watch) around(ctx context.Context, to axes.Angles, last leg) error {
	w.mu.Lock()
	from, err := w.ready(w.o.Clock.Now())
	w.mu.Unlock()
	if err != nil {
		return err
	}
	route, err := w.m.RouteOver(ctx, from.at, to, w.takes)
	if err != nil {
		return refuse("room", "no proven way over waypoints: %v", err)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if _, err := w.ready(w.o.Clock.Now()); err != nil { // seconds may have passed
		return err
	}
	if ctx.Err() != nil {
		return refuse("stop", "it was taken back before a way over waypoints was found")
	}
	w.legs = nil
	for _, at := range route.Waypoints[1 : len(route.Waypoints)-1] {
		w.legs = append(w.legs, leg{at: at})
	}
	w.legs = append(w.legs, last)
	w.onWay = true
	w.alarms.note("way", "a way over %d waypoints", len(w.legs)-1)
	w.Look()
	return nil
}

// Abandon lets go of a way over waypoints, and of a slew or park of the watch's own that is on its way to the mount. The mount is
// told nothing. What was on its way may have come there all the same; once ended is closed it does not any more. Nil: nothing was.
func (w *Watch) Abandon() (ended <-chan struct{}) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.abandoned++
	if w.onWay {
		w.legs, w.onWay = nil, false
		w.alarms.note("way", "the way over waypoints was given up")
	}
	if w.errand == nil {
		return nil
	}
	w.errand.giveUp()
	return w.errand.ended
}

// errand is a slew or park of the watch's own on its way to the mount.
type errand struct {
	giveUp context.CancelFunc
	ended  chan struct{}
}

// errAbandoned says that a slew or park was given up before it was sent.
var errAbandoned = errors.New("given up")

// send sends a slew or park of the watch's own, unless somebody has abandoned it since the count of that was read. Its context ends
// when it is given up meanwhile.
func (w *Watch) send(ctx context.Context, count uint64, f func(context.Context) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	e := &errand{cancel, make(chan struct{})}
	w.mu.Lock()
	if w.abandoned != count {
		w.mu.Unlock()
		return errAbandoned
	}
	w.errand = e
	w.mu.Unlock()
	err := f(ctx)
	close(e.ended)
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.errand == e {
		w.errand = nil
	}
	return err
}

// notGone tells of a way that is not gone, or not to its end.
func (w *Watch) notGone(name string, err error) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.alarms.raise(name, Alarm, "%s is not reached: %v", name, err)
	w.legs, w.onWay = nil, false
	return err
}

func (w *Watch) sendPark(ctx context.Context, pass *Pass, count uint64) error {
	from := w.o.Clock.Now()
	err := w.send(ctx, count, w.tel.Park)
	if errors.Is(err, errAbandoned) {
		pass.Cancel()
		return w.notGone("park", err)
	}
	pass.Sent()
	w.command("park", from, err)
	if err != nil {
		pass.Cancel()
		return w.notGone("park", err)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.alarms.over("park")
	w.alarms.note("park", "on the way to park")
	return nil
}

// nextLeg begins the next leg of a way once the one before has ended.
func (w *Watch) nextLeg(now time.Time, t *todo) {
	if len(w.legs) == 0 {
		w.onWay = w.onWay && (w.pass != nil || w.now.motion == Moves || !w.now.fresh)
		return
	}
	name := "the place"
	if w.legs[len(w.legs)-1].park {
		name = "park"
	}
	if w.l.held || w.l.rung == Stopping || w.l.rung == Hooked {
		w.legs, w.onWay = nil, false
		w.alarms.raise(name, Alarm, "%s is not reached: %s", name, w.l.why)
		return
	}
	if w.pass != nil || w.now.motion == Moves || w.ob.unsettled || !w.now.fresh || t.all || t.off {
		return
	}
	next := w.legs[0]
	w.legs = w.legs[1:]
	count := w.abandoned
	t.leg = func(ctx context.Context) {
		c, cancel := w.o.Clock.Timeout(ctx, w.o.CommandDeadline)
		defer cancel()
		if next.park {
			if pass, err := w.AdmitPark(); err != nil {
				_ = w.notGone(name, err)
			} else {
				_ = w.sendPark(c, pass, count)
			}
			return
		}
		w.goLeg(c, next, name, count, now)
	}
}

// goLeg proves one leg from where the mount is by now, and sends it.
func (w *Watch) goLeg(ctx context.Context, next leg, name string, count uint64, now time.Time) {
	to, side := next.to, next.side
	if to == nil {
		p := w.p.g.Model.Head.Pose(next.at)
		to, side = &sky.Equatorial{RA: math.Mod(w.site.SiderealTime(now)-p.HourAngle+4*math.Pi, 2*math.Pi), Dec: p.Dec}, p.Side
	}
	pass, err := w.AdmitSlew(*to, &side)
	if err != nil {
		_ = w.notGone(name, err)
		return
	}
	from := w.o.Clock.Now()
	slew := func(side *axes.Side) error {
		return w.send(ctx, count, func(ctx context.Context) error { return w.tel.Slew(ctx, w.told(*to, from), side) })
	}
	err = slew(&side)
	if errors.Is(err, mount.ErrLacks) { // nobody can tell it the side: every one that it may take has to be proven
		if !slices.Equal(w.Sides(*to), []axes.Side{side}) {
			pass.Cancel()
			if pass, err = w.AdmitSlew(*to, nil); err != nil {
				_ = w.notGone(name, err)
				return
			}
		}
		err = slew(nil)
	}
	if errors.Is(err, errAbandoned) {
		pass.Cancel()
		return
	}
	pass.Sent()
	w.command("slew", from, err)
	w.mu.Lock()
	given := w.abandoned != count // and may have been taken all the same
	w.mu.Unlock()
	if err != nil && !given {
		pass.Cancel()
		_ = w.notGone(name, err)
	}
}

// told is a place of date as the mount has to be told it. One that does not say what its coordinates refer to takes numbers as they
// are, and the owner has said what they are.
func (w *Watch) told(to sky.Equatorial, now time.Time) sky.Equatorial {
	if w.tel.Describe().Equinox != mount.UnknownEquinox {
		return to
	}
	ra, dec := w.o.Equinox.FromDate(to, now)
	return sky.Equatorial{RA: ra, Dec: dec}
}
