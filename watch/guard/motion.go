package guard

import (
	"context"
	"math"

	"legroom/axes"
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

// rateLimits are the rates that the watch takes for tracking, in the standard's units: seconds of right ascension a sidereal second,
// seconds of arc a second, degrees a second. Faster, less time would be left than it says.
var rateLimits = func() map[string]rateLimit {
	ra, dec := watch.TrackOffsets()
	return map[string]rateLimit{
		"rightascensionrate":      {"RightAscensionRate", "s/s", ra / sky.SiderealRate, true},
		"declinationrate":         {"DeclinationRate", "″/s", 3600 * axes.Deg(dec), true},
		"guideraterightascension": {"GuideRateRightAscension", "°/s", axes.Deg(ra), false},
		"guideratedeclination":    {"GuideRateDeclination", "°/s", axes.Deg(dec), false},
	}
}()

type rateLimit struct {
	param, unit string
	most        float64
	offset      bool // turns the axes by itself
}

func (t *Telescope) setRate(ctx context.Context, c alpaca.Call) (any, error) {
	l := rateLimits[c.Member]
	if x := c.Float(l.param); !(math.Abs(x) <= l.most*1.001) { // a rate that is said to be sidereal is rounded
		return nil, t.refuse("%s %g %s: beyond %.3g %s, half the sidereal rate, less time is left than the watch says; go faster by hand or by a slew",
			l.param, x, l.unit, l.most, l.unit)
	}
	if c.Float(l.param) != 0 && l.offset {
		return t.change(ctx, c, nil)
	}
	return t.pass(context.WithoutCancel(ctx), c)
}

func (t *Telescope) sync(ctx context.Context, c alpaca.Call) (any, error) {
	return t.syncTo(ctx, c, t.place)
}

func (t *Telescope) syncTarget(ctx context.Context, c alpaca.Call) (any, error) {
	c, err := t.aimed(ctx, c, "synctocoordinates")
	if err != nil {
		return nil, err
	}
	return t.sync(ctx, c)
}

func (t *Telescope) syncAltAz(ctx context.Context, c alpaca.Call) (any, error) {
	return t.syncTo(ctx, c, t.level)
}

// syncTo tells the mount that it points to a place of date, and the watch whether the mount took that.
func (t *Telescope) syncTo(ctx context.Context, c alpaca.Call, place func(alpaca.Call) sky.Equatorial) (any, error) {
	free, err := t.take(ctx, c.Member)
	if err != nil {
		return nil, err
	}
	defer free()
	let := false
	v, err := t.begin(ctx, c, func() (*watch.Pass, error) {
		err := t.w.AdmitSync(place(c))
		let = err == nil
		return nil, err
	})
	if let && (err == nil || notTaken(err)) {
		t.w.SyncTaken(err == nil)
	}
	return v, err
}
