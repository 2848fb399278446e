package guard

import (
	"context"
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/watch"
)

// change hands on what changes the mount without a slew, when the watch sees the mount and nothing is under way: what it says later
// depends on it. also is what else has to be so then; nil: nothing.
func (t *Telescope) change(ctx context.Context, c alpaca.Call, also func() error) (any, error) {
	return t.run(ctx, c, func() (*watch.Pass, error) {
		if err := t.w.AdmitChange(); err != nil || also == nil {
			return nil, err
		}
		return nil, also()
	})
}

func (t *Telescope) set(ctx context.Context, c alpaca.Call) (any, error) {
	return t.change(ctx, c, nil)
}

// guide sends a pulse, unless the mount has been stopped. It is proven from the last look: guiding keeps within what that allows for,
// and a pulse that comes late is worth nothing.
func (t *Telescope) guide(ctx context.Context, c alpaca.Call) (any, error) {
	s := t.w.Status()
	if s.Rung != watch.Watching && s.Rung != watch.Warned {
		return nil, t.refuse("the mount is %s: %s", s.Rung, s.Why)
	}
	if s.Sample == nil || s.OnWay || comesToRest(&s) {
		return t.change(ctx, c, nil)
	}
	free, err := t.takeTurn(ctx, c.Member, time.After(waitTurn))
	if err != nil {
		return nil, err
	}
	defer free()
	return t.begin(ctx, c, func() (*watch.Pass, error) { return nil, t.w.AdmitChange() })
}

// setPark is let through where it changes nothing: the way to park is proven to the document's place.
func (t *Telescope) setPark(ctx context.Context, c alpaca.Call) (any, error) {
	return t.change(ctx, c, func() error {
		s := t.w.Status()
		p, park := t.fresh(&s), t.own.Park
		const off = 0.1 // degrees
		if p == nil || park == nil || p.RAAxisDeg == nil || p.DecAxisDeg == nil || p.Side == "unknown" && park.DecAxisDeg != 0 ||
			!(math.Abs(*p.RAAxisDeg-park.RAAxisDeg) <= off && math.Abs(*p.DecAxisDeg-park.DecAxisDeg) <= off) {
			return t.refuse("the mount does not stand where the rig document has its park place (mount.park): change the document first")
		}
		return nil
	})
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
	return t.set(ctx, c)
}

func (t *Telescope) setSite(ctx context.Context, c alpaca.Call) (any, error) {
	name, mine := "SiteLatitude", axes.Deg(t.site.Lat)
	if c.Member == "sitelongitude" {
		name, mine = "SiteLongitude", axes.Deg(t.site.Lon)
	}
	if x := c.Float(name); !(math.Abs(math.Remainder(x-mine, 360)) <= siteOffDeg) {
		return nil, t.refuse("%s %g°: the rig document has %.4f°", name, x, mine)
	}
	return t.set(ctx, c)
}
