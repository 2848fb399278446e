package guard

import (
	"context"
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/sky"
	"legroom/watch"
)

// unpark makes some mounts track.
func (t *Telescope) unpark(ctx context.Context, c alpaca.Call) (any, error) {
	return t.run(ctx, c, t.mayTrack)
}

func (t *Telescope) mayTrack() (*watch.Pass, error) { return nil, t.w.AdmitTracking() }

func (t *Telescope) moveAxis(ctx context.Context, c alpaca.Call) (any, error) {
	axis, rate := c.Int("Axis"), axes.Rad(c.Float("Rate"))
	if axis < 0 || axis > 2 {
		return nil, fmt.Errorf("%w: axis %d, give 0, 1 or 2", mount.ErrValue, axis)
	}
	if rate == 0 {
		return t.stopAxis(ctx, c)
	}
	let := false
	v, err := t.run(ctx, c, func() (*watch.Pass, error) {
		if axis == 2 {
			return nil, t.refuse("the rig document knows of no third axis")
		}
		err := t.w.AdmitMotion(axis, rate)
		let = err == nil
		return nil, err
	})
	if let && notTaken(err) {
		t.w.CancelMotion(axis)
	}
	return v, err
}

// guide goes on unless the mount has been stopped.
func (t *Telescope) guide(ctx context.Context, c alpaca.Call) (any, error) {
	if s := t.w.Status(); s.Rung != watch.Watching && s.Rung != watch.Warned {
		return nil, t.refuse("the mount is %s: %s", s.Rung, s.Why)
	}
	return t.pass(ctx, c)
}

// The rates that the watch takes for tracking: offsets of what tracks up to half the sidereal rate, and pulses up to the sidereal
// rate. In the standard's units: seconds of right ascension a sidereal second, seconds of arc a second, degrees a second.
var rateLimits = map[string]struct {
	param, unit string
	most        float64
}{
	"rightascensionrate":      {"RightAscensionRate", "s/s", 0.5},
	"declinationrate":         {"DeclinationRate", "″/s", 3600 * axes.Deg(0.5*sky.SiderealRate)},
	"guideraterightascension": {"GuideRateRightAscension", "°/s", axes.Deg(sky.SiderealRate)},
	"guideratedeclination":    {"GuideRateDeclination", "°/s", axes.Deg(sky.SiderealRate)},
}

func (t *Telescope) setRate(ctx context.Context, c alpaca.Call) (any, error) {
	l := rateLimits[c.Member]
	if x := c.Float(l.param); !(math.Abs(x) <= l.most*1.001) { // a rate that is said to be sidereal is rounded
		return nil, t.refuse("%s %g %s: the watch takes up to %.3g %s for tracking; faster is a motion by hand or a slew", l.param, x, l.unit, l.most, l.unit)
	}
	return t.pass(ctx, c)
}

func (t *Telescope) sync(ctx context.Context, c alpaca.Call) (any, error) {
	return t.run(ctx, c, func() (*watch.Pass, error) { return nil, t.w.AdmitSync(t.place(c)) })
}

func (t *Telescope) syncTarget(ctx context.Context, c alpaca.Call) (any, error) {
	c, err := t.aimed(ctx, c, "synctocoordinates")
	if err != nil {
		return nil, err
	}
	return t.sync(ctx, c)
}

func (t *Telescope) syncAltAz(ctx context.Context, c alpaca.Call) (any, error) {
	return t.run(ctx, c, func() (*watch.Pass, error) { return nil, t.w.AdmitSync(t.level(c)) })
}

// setPark is let through where it changes nothing: the way to park is proven to the document's place.
func (t *Telescope) setPark(ctx context.Context, c alpaca.Call) (any, error) {
	s := t.w.Status()
	p, park := t.fresh(&s), t.own.Park
	const off = 0.1 // degrees
	if p == nil || park == nil || p.RAAxisDeg == nil || p.DecAxisDeg == nil || p.Side == "unknown" && park.DecAxisDeg != 0 ||
		!(math.Abs(*p.RAAxisDeg-park.RAAxisDeg) <= off && math.Abs(*p.DecAxisDeg-park.DecAxisDeg) <= off) {
		return nil, t.refuse("the mount does not stand where the rig document has its park place (mount.park): change the document first")
	}
	return t.pass(ctx, c)
}

// How far the mount's clock and site may be set from the computer's and the rig's: beyond, the watch would be blind.
const (
	clockOff   = time.Minute
	siteOffDeg = 0.25
)

func (t *Telescope) setClock(ctx context.Context, c alpaca.Call) (any, error) {
	text := c.Text("UTCDate")
	at, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return nil, fmt.Errorf("%w: UTCDate: give a time such as 2026-11-25T21:04:05Z", mount.ErrValue)
	}
	if off := time.Until(at); off.Abs() > clockOff {
		return nil, t.refuse("UTCDate is off this computer's clock by %v", off.Round(time.Second))
	}
	return t.pass(ctx, c)
}

func (t *Telescope) setSite(ctx context.Context, c alpaca.Call) (any, error) {
	name, mine := "SiteLatitude", axes.Deg(t.site.Lat)
	if c.Member == "sitelongitude" {
		name, mine = "SiteLongitude", axes.Deg(t.site.Lon)
	}
	if x := c.Float(name); !(math.Abs(math.Remainder(x-mine, 360)) <= siteOffDeg) {
		return nil, t.refuse("%s %g°: the rig document has %.4f°", name, x, mine)
	}
	return t.pass(ctx, c)
}
