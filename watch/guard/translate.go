package guard

import (
	"context"
	"fmt"
	"sync"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/sky"
	"legroom/watch"
)

// Translated is a mount of another protocol as the standard's telescope. What it says of the mount is what the watch last read,
// so that a client takes nothing from the watch; what mount.Telescope does not have, it lacks.
type Translated struct {
	w    *watch.Watch
	tel  mount.Telescope
	site sky.Site

	mu      sync.Mutex
	sent    time.Time // when the mount last took a command
	ra, dec *float64  // the target, hours and degrees
}

var _ alpaca.Device = (*Translated)(nil)

// Translate makes a device of the mount that a watch watches.
func Translate(w *watch.Watch, tel mount.Telescope, site sky.Site) *Translated {
	return &Translated{w: w, tel: tel, site: site}
}

// translatedFixed is what is so for every such mount. German equatorial is alignment mode 2 [mem].
var translatedFixed = map[string]any{
	"interfaceversion": 3, "supportedactions": []string{}, "alignmentmode": 2, "connecting": false,
	"canfindhome": false, "canpulseguide": false, "cansetdeclinationrate": false, "cansetguiderates": false, "cansetpark": false,
	"cansetpierside": false, "cansetrightascensionrate": false, "canslewaltaz": false, "canslewaltazasync": false, "cansync": false,
	"cansyncaltaz": false, "canmoveaxis": false, "axisrates": []string{}, "rightascensionrate": 0.0, "declinationrate": 0.0,
	"trackingrate": 0, "trackingrates": []int{0},
}

// Call implements alpaca.Device.
func (d *Translated) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if c.Put {
		return nil, d.put(ctx, c)
	}
	if v, ok := translatedFixed[c.Member]; ok {
		return v, nil
	}
	if v, ok := d.about(c.Member); ok {
		return v, nil
	}
	switch c.Member {
	case "targetrightascension":
		return d.target(&d.ra)
	case "targetdeclination":
		return d.target(&d.dec)
	}
	return d.state(c.Member)
}

// about is what the driver says of itself.
func (d *Translated) about(member string) (any, bool) {
	s := d.w.Status()
	a := &s.Desc
	switch member {
	case "name":
		return a.Name, true
	case "description", "driverinfo":
		return a.Driver, true
	case "driverversion":
		return a.Version, true
	case "cansettracking":
		return a.Can.SetTracking, true
	case "canslew", "canslewasync":
		return a.Can.Slew, true
	case "canpark":
		return a.Can.Park, true
	case "canunpark":
		return a.Can.Unpark, true
	case "equatorialsystem": // 0 other, 1 of date, 2 J2000
		return map[mount.Equinox]int{mount.OfDate: 1, mount.OfJ2000: 2}[a.Equinox], true
	case "connected":
		return s.AgeS != nil && *s.AgeS < 5, true
	}
	return nil, false
}

// state is what the last reading says.
func (d *Translated) state(member string) (any, error) {
	r := d.w.Status().Reading
	if r.Got.IsZero() || time.Since(r.Asked) > 5*time.Second {
		return nil, fmt.Errorf("%w: there is no fresh reading", mount.ErrNotConnected)
	}
	d.mu.Lock()
	begun := r.Asked.Before(d.sent) // it may have started to move since
	d.mu.Unlock()
	alt, az := d.site.AltAz(r.Got, r.Place)
	said := func(v any, ok bool) (any, error) {
		if !ok {
			return nil, fmt.Errorf("%w: the mount does not tell", mount.ErrLacks)
		}
		return v, nil
	}
	switch member {
	case "rightascension":
		return axes.Hours(r.RA), nil
	case "declination":
		return axes.Deg(r.Dec), nil
	case "altitude":
		return axes.Deg(alt), nil
	case "azimuth":
		return axes.Deg(az), nil
	case "siderealtime":
		if !r.SiderealSaid {
			return axes.Hours(d.site.SiderealTime(time.Now())), nil
		}
		return axes.Hours(r.Sidereal), nil
	case "utcdate":
		if !r.UTCSaid {
			r.UTC = time.Now()
		}
		return r.UTC.UTC().Format("2006-01-02T15:04:05.0000000Z"), nil
	case "sideofpier":
		return pier(r.Side, r.SideSaid), nil
	case "slewing":
		return begun || r.Slewing == mount.Yes, nil
	case "tracking":
		return said(r.Tracking == mount.Yes, r.Tracking != mount.Unsaid)
	case "atpark":
		return r.Parked == mount.Yes, nil
	case "athome":
		return r.AtHome == mount.Yes, nil
	case "sitelatitude":
		return said(axes.Deg(r.Lat), r.SiteSaid)
	case "sitelongitude":
		return said(axes.Deg(r.Lon), r.SiteSaid)
	}
	return nil, fmt.Errorf("%w: %s", mount.ErrLacks, member)
}

// target is where the targets of slews are kept: such a mount has none until it goes there.
func (d *Translated) target(at **float64) (any, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if *at == nil {
		return nil, mount.ErrNotSet
	}
	return **at, nil
}

func (d *Translated) setTarget(at **float64, x, from, to float64) error {
	if !(x >= from && x <= to) {
		return fmt.Errorf("%w: %g, give %g to %g", mount.ErrValue, x, from, to)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	*at = &x
	return nil
}

// put sends a command.
func (d *Translated) put(ctx context.Context, c alpaca.Call) error {
	switch c.Member {
	case "targetrightascension":
		return d.setTarget(&d.ra, c.Float("TargetRightAscension"), 0, 24)
	case "targetdeclination":
		return d.setTarget(&d.dec, c.Float("TargetDeclination"), -90, 90)
	case "trackingrate":
		if c.Int("TrackingRate") != 0 {
			return mount.ErrValue
		}
		return nil
	case "abortslew":
		return d.tel.Abort(ctx)
	case "tracking":
		return d.tel.SetTracking(ctx, c.Bool("Tracking"))
	case "moveaxis":
		if c.Float("Rate") != 0 {
			return fmt.Errorf("%w: motion by hand", mount.ErrLacks)
		}
		return d.tel.ZeroRates(ctx)
	case "connect":
		return d.tel.Connect(ctx)
	case "connected": // off does not come this far
		return d.tel.Connect(ctx)
	case "park":
		return d.began(d.tel.Park(ctx))
	case "unpark":
		return d.tel.Unpark(ctx)
	case "slewtocoordinates", "slewtocoordinatesasync":
		return d.slew(ctx, c)
	}
	return fmt.Errorf("%w: %s", mount.ErrLacks, c.Member)
}

// began notes that the mount moves, until a look says otherwise.
func (d *Translated) began(err error) error {
	if err == nil {
		d.mu.Lock()
		d.sent = time.Now()
		d.mu.Unlock()
	}
	return err
}

func (d *Translated) slew(ctx context.Context, c alpaca.Call) error {
	ra, dec := c.Float("RightAscension"), c.Float("Declination")
	if err := d.setTarget(&d.ra, ra, 0, 24); err != nil {
		return err
	}
	if err := d.setTarget(&d.dec, dec, -90, 90); err != nil {
		return err
	}
	to := d.w.Status().Desc.Equinox.ToDate(axes.FromHours(ra), axes.Rad(dec), time.Now())
	if err := d.began(d.tel.Slew(ctx, to, nil)); err != nil || c.Member == "slewtocoordinatesasync" {
		return err
	}
	for {
		select {
		case <-ctx.Done():
			return fmt.Errorf("%w: %w", mount.ErrLink, ctx.Err())
		case <-time.After(50 * time.Millisecond):
		}
		if moves, err := d.state("slewing"); err != nil || moves == false {
			return err
		}
	}
}
