package guard

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/sky"
	"legroom/watch"
)

// take waits for the turn of a command that sets the mount in motion, and for a look from now on: a path is proven from where the mount
// is, not from where it was before the last command, or before somebody else moved it.
func (t *Telescope) take(ctx context.Context, member string) (free func(), err error) {
	late := time.After(waitTurn)
	if free, err = t.takeTurn(ctx, member, late); err != nil {
		return nil, err
	}
	now := time.Now()
	t.w.Look()
	for {
		s := t.w.Status()
		if s.OnWay {
			free()
			return nil, t.refuse("the mount is on a way over waypoints: wait for its end, or stop it first")
		}
		seen := s.Sample != nil && s.Sample.Asked.After(now)
		if len(s.Blind) > 0 || seen && !comesToRest(&s) {
			return free, nil // the watch will say that it is blind
		}
		select {
		case <-time.After(5 * time.Millisecond):
		case <-ctx.Done():
			free()
			return nil, t.overtaken()
		case <-late:
			if seen {
				return free, nil // the watch will say that the mount moves
			}
			free()
			return nil, t.refuse("the watch has not seen the mount since it was asked")
		}
	}
}

// takeTurn waits for the turn alone.
func (t *Telescope) takeTurn(ctx context.Context, member string, late <-chan time.Time) (free func(), err error) {
	select {
	case t.turn <- struct{}{}:
	case <-late:
		t.mu.Lock()
		has, since := t.has, t.since.In(t.site.Zone).Format("15:04:05")
		t.mu.Unlock()
		return nil, t.refuse("%s is under way since %s: wait for its end, or stop it first", has, since)
	case <-ctx.Done():
		return nil, t.overtaken()
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.has, t.since = member, time.Now()
	return func() { <-t.turn }, nil
}

// comesToRest tells whether the axes may be braking: no slew is said to be under way any more, and they have just been moving.
func comesToRest(s *watch.Status) bool {
	return s.Settling && s.Sample.Slewing != "yes"
}

// admit asks the watch about a command that sets the mount in motion.
type admit func() (*watch.Pass, error)

// begin sends such a command when it is admitted, and no stop has come since ctx was made. The caller has the turn.
func (t *Telescope) begin(ctx context.Context, c alpaca.Call, may admit) (any, error) {
	pass, err := may()
	if err != nil {
		return nil, t.refused(err)
	}
	out, cancel := context.WithTimeout(context.WithoutCancel(ctx), within(c.Member))
	defer cancel()
	answered, err := t.send(ctx, c, cancel)
	if err != nil {
		if pass != nil {
			pass.Cancel()
		}
		return nil, err
	}
	if c.Member != "pulseguide" { // nothing that the next look would not see in time
		defer time.AfterFunc(100*time.Millisecond, t.w.Look).Stop()
		defer t.w.Look()
	}
	v, err := t.to.Call(out, c)
	answered()
	switch {
	case pass == nil:
	case notTaken(err):
		pass.Cancel()
	case err == nil && slices.Contains(answeredAtEnd, c.Member):
		pass.Done()
	default: // where the link failed, the mount may have taken it all the same
		pass.Sent()
	}
	t.tellLet(c, err)
	return v, err
}

// notTaken tells whether an answer says that the mount did not take the command, or that it was not sent.
func notTaken(err error) bool {
	return errors.Is(err, mount.ErrRefused) || errors.Is(err, mount.ErrLacks)
}

// answeredAtEnd are the slews that the standard has answered when they have ended.
var answeredAtEnd = []string{"slewtocoordinates", "slewtotarget", "slewtoaltaz"}

// within is how long the mount may work on a command: some are answered at their end.
func within(member string) time.Duration {
	switch member {
	case "slewtocoordinates", "slewtotarget", "slewtoaltaz", "sideofpier", "park", "unpark", "findhome":
		return longest
	}
	return short
}

// run takes the turn and begins.
func (t *Telescope) run(ctx context.Context, c alpaca.Call, may admit) (any, error) {
	free, err := t.take(ctx, c.Member)
	if err != nil {
		return nil, err
	}
	defer free()
	return t.begin(ctx, c, may)
}

// slew goes to coordinates.
func (t *Telescope) slew(ctx context.Context, c alpaca.Call) (any, error) {
	free, err := t.take(ctx, c.Member)
	if err != nil {
		return nil, err
	}
	defer free()
	to := t.place(c)
	side, err := t.endSide(ctx, c, to)
	if err != nil {
		return nil, err
	}
	var no error
	v, err := t.begin(ctx, c, func() (p *watch.Pass, err error) {
		p, no = t.w.AdmitSlew(to, side)
		return p, no
	})
	if side == nil {
		if sides := t.w.Sides(to); len(sides) == 1 {
			side = &sides[0]
		}
	}
	if side == nil || !t.mayGoAround(no) {
		if otherWay(no) && !t.o.Around {
			err = t.refuse("%v. Go by a target in between, or start the watch with --around", no)
		}
		return v, err
	}
	if e := t.w.SlewAround(ctx, to, *side); e != nil {
		if ctx.Err() != nil {
			return nil, t.overtaken()
		}
		return nil, t.refuse("%v; %v", no, e)
	}
	t.tellLet(c, nil)
	if strings.HasSuffix(c.Member, "async") {
		return nil, nil
	}
	return nil, t.arrived(to)
}

// otherWay tells whether a refusal is one that waypoints may help with.
func otherWay(no error) bool {
	var r *watch.Refusal
	return errors.As(no, &r) && r.Key == "room" && !r.End
}

// mayGoAround tells whether they may be tried.
func (t *Telescope) mayGoAround(no error) bool { return t.o.Around && otherWay(no) }

// arrived waits for the end of a way over waypoints.
func (t *Telescope) arrived(to sky.Equatorial) error {
	for end := time.Now().Add(longest); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		s := t.w.Status()
		if s.OnWay {
			continue
		}
		p := s.Sample
		if p != nil && sky.Separation(sky.Equatorial{RA: axes.Rad(p.RADeg), Dec: axes.Rad(p.DecDeg)}, to) < axes.Rad(1) {
			return nil
		}
		break
	}
	return t.refuse("the way over waypoints was not gone to its end")
}

// slewTarget goes to the mount's target by its coordinates, so that what was proven is what is sent.
func (t *Telescope) slewTarget(ctx context.Context, c alpaca.Call) (any, error) {
	c, err := t.aimed(ctx, c, strings.Replace(c.Member, "target", "coordinates", 1))
	if err != nil {
		return nil, err
	}
	return t.slew(ctx, c)
}

// aimed makes of a command to the target one to coordinates.
func (t *Telescope) aimed(ctx context.Context, c alpaca.Call, member string) (alpaca.Call, error) {
	ra, err := t.ask(ctx, "targetrightascension")
	if err != nil {
		return c, err
	}
	dec, err := t.ask(ctx, "targetdeclination")
	if err != nil {
		return c, err
	}
	c.Member, c.Args = member, alpaca.Args{"RightAscension": ra, "Declination": dec}
	return c, inRange(c)
}

// lowest is the altitude below which refraction is more than the watch allows a place to be off.
const lowest = 10.0

func (t *Telescope) slewAltAz(ctx context.Context, c alpaca.Call) (any, error) {
	if alt := c.Float("Altitude"); !(alt >= lowest && alt <= 90) {
		return nil, t.refuse("a slew to altitude %.1f°: below %g° refraction makes it uncertain where it ends; give the place by right ascension and declination", alt, lowest)
	}
	return t.run(ctx, c, func() (*watch.Pass, error) { return t.w.AdmitSlew(t.level(c), nil) })
}

// level is the place of date of an altitude and azimuth in a call, by the mount's own site and time.
func (t *Telescope) level(c alpaca.Call) sky.Equatorial {
	r, now := t.w.Status().Reading, time.Now()
	lat, lst := t.site.Lat, t.site.SiderealTime(now)
	if r.SiteSaid {
		lat = r.Lat
	}
	if r.SiderealSaid {
		lst = r.Sidereal + sky.SiderealRate*now.Sub(r.Got).Seconds()
	}
	hour, dec := fromAltAz(lat, axes.Rad(c.Float("Altitude")), axes.Rad(c.Float("Azimuth")))
	return sky.Equatorial{RA: math.Mod(math.Mod(lst-hour, 2*math.Pi)+2*math.Pi, 2*math.Pi), Dec: dec}
}

// fromAltAz turns altitude and azimuth, clockwise from north, into hour angle and declination, all radians: the rotation of
// axes.Direction the other way.
func fromAltAz(lat, alt, az float64) (hour, dec float64) {
	sinLat, cosLat := math.Sincos(lat)
	sinAlt, cosAlt := math.Sincos(alt)
	sinAz, cosAz := math.Sincos(az)
	x := sinAlt*cosLat - cosAlt*cosAz*sinLat
	y := -cosAlt * sinAz
	z := sinAlt*sinLat + cosAlt*cosAz*cosLat
	return math.Atan2(y, x), math.Atan2(z, math.Hypot(x, y))
}

// flip changes the side at the present place.
func (t *Telescope) flip(ctx context.Context, c alpaca.Call) (any, error) {
	side := axes.East
	if c.Int("SideOfPier") == 1 {
		side = axes.West
	}
	return t.run(ctx, c, func() (*watch.Pass, error) {
		s := t.w.Status()
		p := t.fresh(&s)
		if p == nil {
			return nil, t.refuse("it is not known where the mount is")
		}
		return t.w.AdmitSlew(sky.Equatorial{RA: axes.Rad(p.RADeg), Dec: axes.Rad(p.DecDeg)}, &side)
	})
}

func (t *Telescope) goPark(ctx context.Context, c alpaca.Call) (any, error) {
	free, err := t.take(ctx, c.Member)
	if err != nil {
		return nil, err
	}
	defer free()
	var no error
	v, err := t.begin(ctx, c, func() (p *watch.Pass, err error) {
		if err := t.w.AdmitChange(); err != nil {
			return nil, err
		}
		s := t.w.Status()
		if p := t.fresh(&s); p != nil && p.Parked == "yes" && p.Motion == watch.Still {
			return nil, nil // nothing moves
		}
		p, no = t.w.AdmitPark()
		return p, no
	})
	if !t.mayGoAround(no) {
		return v, err
	}
	if e := t.w.Park(ctx); e != nil {
		return nil, t.refused(e)
	}
	t.tellLet(c, nil)
	return nil, nil
}

func (t *Telescope) goHome(ctx context.Context, c alpaca.Call) (any, error) {
	return t.run(ctx, c, t.w.AdmitHome)
}
