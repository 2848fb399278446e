package watch

import (
	"context"
	"errors"
	"math"
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
	boxes, err := w.proven(start, end, flip, now)
	if err != nil {
		return nil, err
	}
	return w.grant(boxes, start, now), nil
}

// Park takes the mount to its park place when the way is proven: straight, or over waypoints. Otherwise it is refused, with an
// alarm. Finding waypoints may take seconds. It returns when the way has begun; the loop goes it.
func (w *Watch) Park(ctx context.Context) error {
	pass, err := w.AdmitPark()
	if err == nil {
		c, cancel := w.o.Clock.Timeout(ctx, w.o.CommandDeadline)
		defer cancel()
		return w.sendPark(c, pass)
	}
	var no *Refusal
	if !errors.As(err, &no) || no.Key != "room" {
		return w.parkRefused(err)
	}
	w.mu.Lock()
	from, ready := w.ready(w.o.Clock.Now())
	w.mu.Unlock()
	if ready != nil {
		return w.parkRefused(ready)
	}
	p := w.rig.Mount.Park
	route, found := w.m.Route(ctx, from.at, axes.Angles{RA: axes.Rad(p.RAAxisDeg), Dec: axes.Rad(p.DecAxisDeg)})
	if found != nil {
		return w.parkRefused(err)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.l.held {
		return refuse("stop", "the owner pressed stop")
	}
	w.legs = route.Waypoints[1 : len(route.Waypoints)-1]
	w.legs = append(w.legs[:len(w.legs):len(w.legs)], axes.Angles{RA: math.NaN()}) // and then park
	w.alarms.note("park", "to park over %d waypoints", len(w.legs)-1)
	w.hurry()
	return nil
}

func (w *Watch) parkRefused(err error) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.alarms.raise("park", Alarm, "not parked: %v", err)
	w.legs = nil
	return err
}

func (w *Watch) sendPark(ctx context.Context, pass *Pass) error {
	from := w.o.Clock.Now()
	err := w.tel.Park(ctx)
	w.command("park", from, err)
	if err != nil {
		pass.Cancel()
		return w.parkRefused(err)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.alarms.over("park")
	w.alarms.note("park", "on the way to park")
	return nil
}

// nextLeg begins the next leg of a park once the one before has ended.
func (w *Watch) nextLeg(now time.Time, t *todo) {
	if len(w.legs) == 0 {
		return
	}
	if w.l.held || w.l.rung == Stopping || w.l.rung == Hooked {
		w.legs = nil
		w.alarms.raise("park", Alarm, "not parked: %s", w.l.why)
		return
	}
	if w.pass != nil || w.now.motion == Moves || !w.now.fresh || t.all || t.off {
		return
	}
	leg := w.legs[0]
	w.legs = w.legs[1:]
	t.leg = func(ctx context.Context) {
		c, cancel := w.o.Clock.Timeout(ctx, w.o.CommandDeadline)
		defer cancel()
		if math.IsNaN(leg.RA) {
			if pass, err := w.AdmitPark(); err != nil {
				_ = w.parkRefused(err)
			} else {
				_ = w.sendPark(c, pass)
			}
			return
		}
		p := w.p.g.Model.Head.Pose(leg)
		to := sky.Equatorial{RA: math.Mod(w.site.SiderealTime(now)-p.HourAngle+4*math.Pi, 2*math.Pi), Dec: p.Dec}
		pass, err := w.AdmitSlew(to, &p.Side)
		if err != nil {
			_ = w.parkRefused(err)
			return
		}
		from := w.o.Clock.Now()
		err = w.tel.Slew(c, to, &p.Side)
		if errors.Is(err, mount.ErrLacks) {
			err = w.tel.Slew(c, to, nil) // the pass holds for this side alone: any other path is stopped
		}
		w.command("slew", from, err)
		if err != nil {
			pass.Cancel()
			_ = w.parkRefused(err)
		}
	}
}
