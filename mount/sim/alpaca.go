package sim

import (
	"context"
	"fmt"
	"net/http"
	"sync"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/sky"
)

// Alpaca serves the mount as telescope 0 by the Alpaca device API, with the faults of the link.
func Alpaca(m *Mount, clock *Clock) (http.Handler, error) {
	d := &device{m: m, clock: clock, clients: map[uint32]uint64{}}
	listed := alpaca.Listed{DeviceName: Name, DeviceType: "Telescope", DeviceNumber: 0, UniqueID: fmt.Sprintf("legroom-sim-%d", m.Seed())}
	s, err := alpaca.NewServer(alpaca.Info{ServerName: "Legroom sim", Manufacturer: "Legroom", ManufacturerVersion: "1", Location: m.rig.Name},
		alpaca.Served{Listed: listed, Device: d})
	if err != nil {
		return nil, err
	}
	return &faulty{m: m, clock: clock, next: s}, nil
}

// maxClients bounds how many clients may be connected at a time; one more takes the place of the most silent.
const maxClients = 64

// device is the mount as the standard's telescope.
type device struct {
	m     *Mount
	clock *Clock // of the computer that its driver runs on

	mu        sync.Mutex
	clients   map[uint32]uint64 // those that are connected, by ClientID: their last call
	calls     uint64
	restart   int     // of the mount, when they were
	ra, dec   float64 // the target, hours and degrees
	raS, decS bool    // that it is set
}

var _ alpaca.Device = (*device)(nil)

// Call implements alpaca.Device.
func (d *device) Call(ctx context.Context, c alpaca.Call) (any, error) {
	switch c.Member {
	case "connected", "connect", "disconnect", "connecting":
		return d.connection(c)
	}
	if v, ok := always[c.Member]; ok {
		return v, nil
	}
	if !d.connected(c.ClientID) {
		return nil, mount.ErrNotConnected
	}
	if c.Put {
		return nil, d.put(ctx, c)
	}
	if v, ok := fixed[c.Member]; ok {
		return v, nil
	}
	return d.get(c)
}

// always is what needs no connection.
var always = map[string]any{
	"name": Name, "description": "A simulated German equatorial mount", "driverinfo": driver, "driverversion": "1",
	"interfaceversion": 4, "supportedactions": []string{},
}

// fixed is what is so for every simulated mount. German equatorial is alignment mode 2 [mem].
var fixed = map[string]any{
	"canfindhome": true, "canpark": true, "canpulseguide": false, "cansetdeclinationrate": false, "cansetguiderates": false,
	"cansetpark": false, "cansetrightascensionrate": false, "cansettracking": true, "canslew": true, "canslewaltaz": true,
	"canslewaltazasync": true, "canslewasync": true, "cansync": true, "cansyncaltaz": false, "canunpark": true,
	"alignmentmode": 2, "equatorialsystem": 1, "doesrefraction": false,
	"trackingrate": 0, "trackingrates": []int{0}, "rightascensionrate": 0.0, "declinationrate": 0.0,
}

// connected tells whether a client is; after a loss of power none is.
func (d *device) connected(client uint32) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if n := d.m.restarts(); n != d.restart {
		d.restart = n
		clear(d.clients)
	}
	_, is := d.clients[client]
	if is {
		d.heard(client)
	}
	return is
}

func (d *device) heard(client uint32) {
	d.calls++
	d.clients[client] = d.calls
}

// forget drops the client that has been silent for the most calls: many never say that they disconnect.
func (d *device) forget() {
	var silent uint32
	least := d.calls + 1
	for c, last := range d.clients {
		if last < least {
			silent, least = c, last
		}
	}
	delete(d.clients, silent)
}

func (d *device) connection(c alpaca.Call) (any, error) {
	is := d.connected(c.ClientID)
	on := c.Member == "connect"
	switch {
	case c.Member == "connecting":
		return false, nil
	case !c.Put:
		return is, nil
	case c.Member == "connected":
		on = c.Bool("Connected")
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	switch {
	case !on:
		delete(d.clients, c.ClientID)
	case !d.m.State().Power:
		return nil, fmt.Errorf("%w: it has no power", mount.ErrNotConnected)
	case !is:
		if len(d.clients) >= maxClients {
			d.forget()
		}
		d.heard(c.ClientID)
	}
	return nil, nil
}

func (d *device) get(c alpaca.Call) (any, error) {
	r, err := d.m.Say()
	if err != nil {
		return nil, err
	}
	switch c.Member {
	case "cansetpierside":
		return d.m.Habits().SideChoice == "as_told", nil
	case "canmoveaxis":
		axis := c.Int("Axis")
		if axis < 0 || axis > 2 {
			return nil, mount.ErrValue
		}
		return axis < 2, nil
	case "axisrates":
		return d.axisRates(c.Int("Axis"))
	case "slewsettletime":
		return int(d.m.rig.Mount.Slew.SettleS), nil
	case "sitelatitude":
		return axes.Deg(r.Lat), nil
	case "sitelongitude":
		return axes.Deg(r.Lon), nil
	case "siteelevation":
		return d.m.rig.Site.ElevationM, nil
	case "destinationsideofpier":
		side, err := d.m.SideOf(placeOf(c))
		return pier(side, true), err
	case "targetrightascension":
		return d.aim(func() (float64, bool) { return d.ra, d.raS })
	case "targetdeclination":
		return d.aim(func() (float64, bool) { return d.dec, d.decS })
	case "devicestate":
		return d.state(r), nil
	}
	for _, s := range d.state(r) {
		if members[s.Name] == c.Member {
			return s.Value, nil
		}
	}
	return nil, mount.ErrLacks
}

// axisRates are the rates by hand: any up to the document's.
func (d *device) axisRates(axis int) (any, error) {
	type rates struct{ Maximum, Minimum float64 }
	switch axis {
	case 0, 1:
		return []rates{{Maximum: axes.Deg(d.m.rates()[axis])}}, nil
	case 2:
		return []rates{}, nil
	}
	return nil, mount.ErrValue
}

func (d *device) aim(get func() (float64, bool)) (any, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	x, set := get()
	if !set {
		return nil, mount.ErrNotSet
	}
	return x, nil
}

// stated is one entry of devicestate.
type stated struct {
	Name  string
	Value any
}

// members are the names of devicestate [mem] as the names of members.
var members = map[string]string{
	"Altitude": "altitude", "AtHome": "athome", "AtPark": "atpark", "Azimuth": "azimuth", "Declination": "declination",
	"RightAscension": "rightascension", "SideOfPier": "sideofpier", "SiderealTime": "siderealtime", "Slewing": "slewing",
	"Tracking": "tracking", "UTCDate": "utcdate",
}

// state is what changes from second to second.
func (d *device) state(r mount.Reading) []stated {
	alt, az := axes.AltAz(axes.Direction(d.m.site.Lat, r.Sidereal-r.RA, r.Dec))
	utc := r.UTC.Format("2006-01-02T15:04:05.0000000Z")
	all := []stated{{"Altitude", axes.Deg(alt)}, {"AtHome", r.AtHome == mount.Yes}, {"AtPark", r.Parked == mount.Yes},
		{"Azimuth", axes.Deg(az)}, {"Declination", axes.Deg(r.Dec)}, {"RightAscension", axes.Hours(r.RA)},
		{"SideOfPier", pier(r.Side, r.SideSaid)}, {"SiderealTime", axes.Hours(r.Sidereal)}, {"Slewing", r.Slewing == mount.Yes},
		{"UTCDate", utc}, {"TimeStamp", d.clock.Now().UTC().Format(time.RFC3339Nano)}}
	if r.Tracking != mount.Unsaid {
		all = append(all, stated{"Tracking", r.Tracking == mount.Yes})
	}
	return all
}

// pier is the standard's sideofpier: 1 for side west, 0 for east, −1 for a mount that does not know.
func pier(s axes.Side, said bool) int {
	switch {
	case !said:
		return -1
	case s == axes.West:
		return 1
	}
	return 0
}

// placeOf is the place of date in a call.
func placeOf(c alpaca.Call) sky.Equatorial {
	return sky.Equatorial{RA: axes.FromHours(c.Float("RightAscension")), Dec: axes.Rad(c.Float("Declination"))}
}

func (d *device) put(ctx context.Context, c alpaca.Call) error {
	m := d.m
	switch c.Member {
	case "tracking":
		return m.SetTracking(c.Bool("Tracking"))
	case "abortslew":
		return m.Abort()
	case "park":
		return m.Park()
	case "unpark":
		return m.Unpark()
	case "findhome":
		return m.FindHome()
	case "moveaxis":
		return m.MoveAxis(c.Int("Axis"), axes.Rad(c.Float("Rate")))
	case "sideofpier":
		switch c.Int("SideOfPier") {
		case 0:
			return m.SetSide(axes.East)
		case 1:
			return m.SetSide(axes.West)
		}
		return mount.ErrValue
	case "trackingrate":
		if c.Int("TrackingRate") != 0 {
			return mount.ErrValue
		}
		return nil
	case "targetrightascension":
		return d.setAim(c.Float("TargetRightAscension"), 0, 24, &d.ra, &d.raS)
	case "targetdeclination":
		return d.setAim(c.Float("TargetDeclination"), -90, 90, &d.dec, &d.decS)
	}
	return d.point(ctx, c)
}

func (d *device) setAim(x, from, to float64, at *float64, set *bool) error {
	if !(x >= from && x <= to) {
		return mount.ErrValue
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	*at, *set = x, true
	return nil
}

// point is what slews and syncs to a place. By the standard a slew to a place among the stars needs tracking on, one to an altitude
// and azimuth needs it off [mem].
func (d *device) point(ctx context.Context, c alpaca.Call) error {
	begin := func(to func() error) error { return to() }
	switch c.Member {
	case "slewtocoordinates", "slewtotarget", "slewtoaltaz": // answered at their end
		begin = func(to func() error) error {
			if err := to(); err != nil {
				return err
			}
			return d.arrived(ctx)
		}
	}
	switch c.Member {
	case "slewtocoordinates", "slewtocoordinatesasync", "synctocoordinates":
		if err := d.setAim(c.Float("RightAscension"), 0, 24, &d.ra, &d.raS); err != nil {
			return err
		}
		if err := d.setAim(c.Float("Declination"), -90, 90, &d.dec, &d.decS); err != nil {
			return err
		}
	case "slewtotarget", "slewtotargetasync", "synctotarget":
	case "slewtoaltaz", "slewtoaltazasync":
		if err := d.tracks(false); err != nil {
			return err
		}
		return begin(func() error { return d.m.SlewAltAz(axes.Rad(c.Float("Altitude")), axes.Rad(c.Float("Azimuth"))) })
	default:
		return mount.ErrLacks
	}
	d.mu.Lock()
	to, set := sky.Equatorial{RA: axes.FromHours(d.ra), Dec: axes.Rad(d.dec)}, d.raS && d.decS
	d.mu.Unlock()
	if !set {
		return mount.ErrNotSet
	}
	if err := d.tracks(true); err != nil {
		return err
	}
	if c.Member == "synctocoordinates" || c.Member == "synctotarget" {
		return d.m.Sync(to)
	}
	return begin(func() error { return d.m.Slew(to, nil) })
}

// tracks fails unless tracking is as it has to be.
func (d *device) tracks(on bool) error {
	switch s := d.m.State(); {
	case s.Parked:
		return mount.ErrParked
	case s.Tracking != on:
		return fmt.Errorf("%w: tracking is %s", mount.ErrState, map[bool]string{true: "on", false: "off"}[s.Tracking])
	}
	return nil
}

// arrived waits for the end of a slew.
func (d *device) arrived(ctx context.Context) error {
	t := time.NewTicker(20 * time.Millisecond)
	defer t.Stop()
	for d.m.State().Slewing {
		select {
		case <-t.C:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}
