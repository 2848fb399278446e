package sim

import (
	"context"
	"fmt"
	"math"
	"net"
	"reflect"
	"sync"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/indi"
	"legroom/sky"
)

// tellEvery is how often the clients are told what has changed, by the computer's clock.
const tellEvery = 500 * time.Millisecond

// properties is the mount as a device of the INDI protocol. CONNECTION is there always, all else while it is connected. The names
// are the protocol's [mem].
type properties struct {
	m *Mount
	s *indi.Server

	mu        sync.Mutex
	connected bool
	restart   int                    // of the mount, when it was connected
	told      map[string]indi.Vector // what the clients know
	onPlace   string                 // what a new place does: TRACK, SLEW, SYNC
}

func newProperties(m *Mount) *properties {
	p := &properties{m: m, told: map[string]indi.Vector{}, onPlace: "TRACK"}
	p.s = &indi.Server{New: p.wish, Asked: func(string, string) { p.tell() }}
	return p
}

func (p *properties) serve(ctx context.Context, l net.Listener) error {
	p.tell()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var ticking sync.WaitGroup
	ticking.Go(func() {
		t := time.NewTicker(tellEvery)
		defer t.Stop()
		for {
			select {
			case <-t.C:
				p.tell()
			case <-ctx.Done():
				return
			}
		}
	})
	err := p.s.Serve(ctx, l)
	cancel()
	ticking.Wait()
	return err
}

// tell brings what the clients know up to date: every now and then, and before one is answered that asks.
func (p *properties) tell() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.refresh()
}

// refresh is tell with p.mu held. Defining and setting fail only for a mistake in this file, which the tests would see.
func (p *properties) refresh() {
	s, err := p.m.saying()
	if p.connected && (err != nil || p.restart != p.m.restarts()) {
		p.connected = false
		p.s.Say(Name, "the mount does not answer any more")
	}
	p.show(p.connection())
	if !p.connected {
		for name := range p.told {
			if name != "CONNECTION" {
				p.s.Delete(Name, name)
				delete(p.told, name)
			}
		}
		return
	}
	for _, v := range p.all(s) {
		p.show(v)
	}
}

// show defines a property, or sets it if it has changed.
func (p *properties) show(v indi.Vector) {
	v.Device = Name
	last, there := p.told[v.Name]
	switch {
	case !there:
		_ = p.s.Define(v)
	case !reflect.DeepEqual(last, v):
		_ = p.s.Set(v)
	}
	p.told[v.Name] = v
}

func (p *properties) connection() indi.Vector {
	return choice("CONNECTION", indi.Ok, map[bool]string{true: "CONNECT", false: "DISCONNECT"}[p.connected], "CONNECT", "DISCONNECT")
}

// choice is a vector of switches of which one is on, or none.
func choice(name string, state indi.State, on string, members ...string) indi.Vector {
	v := indi.Vector{Name: name, Kind: indi.Switch, State: state, Perm: "rw", Rule: "OneOfMany"}
	for _, m := range members {
		v.Members = append(v.Members, indi.Member{Name: m, On: m == on})
	}
	return v
}

func freely(v indi.Vector) indi.Vector {
	v.Rule = "AtMostOne"
	return v
}

func readOnly(v indi.Vector) indi.Vector {
	v.Perm = "ro"
	return v
}

func numbers(name string, state indi.State, members ...indi.Member) indi.Vector {
	for i := range members {
		members[i].Format = "%.8f"
	}
	return indi.Vector{Name: name, Kind: indi.Number, State: state, Perm: "rw", Members: members}
}

// all are the properties of a mount that is connected.
func (p *properties) all(s said) []indi.Vector {
	place, parking := indi.Idle, indi.Ok
	switch {
	case s.errand != noErrand:
		place = indi.Busy
	case s.Tracking == mount.Yes:
		place = indi.Ok
	}
	park := "UNPARK"
	if s.Parked == mount.Yes || s.errand == toPark {
		park = "PARK"
	}
	if s.errand == toPark {
		parking = indi.Busy
	}
	side := ""
	if s.SideSaid {
		side = map[axes.Side]string{axes.West: "PIER_WEST", axes.East: "PIER_EAST"}[s.Side]
	}
	sides := choice("TELESCOPE_PIER_SIDE", indi.Ok, side, "PIER_WEST", "PIER_EAST")
	if p.m.Habits().SideChoice != "as_told" {
		sides = readOnly(sides)
	}
	track, tracking := map[bool]string{true: "TRACK_ON", false: "TRACK_OFF"}[s.Tracking == mount.Yes], indi.Ok
	if s.Tracking == mount.Unsaid {
		tracking = indi.Alert
	}
	homing := indi.Idle
	if s.errand == toHome {
		homing = indi.Busy
	}
	we, ns := p.hands(s)
	return []indi.Vector{
		readOnly(indi.Vector{Name: "DRIVER_INFO", Kind: indi.Text, State: indi.Idle, Members: []indi.Member{
			{Name: "DRIVER_NAME", Text: driver}, {Name: "DRIVER_VERSION", Text: "1"}}}),
		numbers("EQUATORIAL_EOD_COORD", place, indi.Member{Name: "RA", Number: axes.Hours(s.RA), Max: 24},
			indi.Member{Name: "DEC", Number: axes.Deg(s.Dec), Min: -90, Max: 90}),
		choice("ON_COORD_SET", indi.Ok, p.onPlace, "TRACK", "SLEW", "SYNC"),
		sides,
		freely(choice("TELESCOPE_ABORT_MOTION", indi.Idle, "", "ABORT")),
		choice("TELESCOPE_TRACK_STATE", tracking, track, "TRACK_ON", "TRACK_OFF"),
		choice("TELESCOPE_TRACK_MODE", indi.Ok, "TRACK_SIDEREAL", "TRACK_SIDEREAL"),
		choice("TELESCOPE_PARK", parking, park, "PARK", "UNPARK"),
		freely(choice("TELESCOPE_HOME", homing, "", "FIND")),
		freely(choice("TELESCOPE_MOTION_WE", moving(we), we, "MOTION_WEST", "MOTION_EAST")),
		freely(choice("TELESCOPE_MOTION_NS", moving(ns), ns, "MOTION_NORTH", "MOTION_SOUTH")),
		readOnly(indi.Vector{Name: "TIME_UTC", Kind: indi.Text, State: indi.Ok, Members: []indi.Member{
			{Name: "UTC", Text: s.UTC.Format("2006-01-02T15:04:05.000")}, {Name: "OFFSET", Text: "0"}}}),
		readOnly(numbers("TIME_LST", indi.Ok, indi.Member{Name: "LST", Number: axes.Hours(s.Sidereal), Max: 24})),
		readOnly(numbers("GEOGRAPHIC_COORD", indi.Ok, indi.Member{Name: "LAT", Number: axes.Deg(s.Lat), Min: -90, Max: 90},
			indi.Member{Name: "LONG", Number: math.Mod(axes.Deg(s.Lon)+360, 360), Max: 360},
			indi.Member{Name: "ELEV", Number: p.m.rig.Site.ElevationM, Min: -500, Max: 9000})),
	}
}

func moving(on string) indi.State {
	if on != "" {
		return indi.Busy
	}
	return indi.Idle
}

// north is the sense of the declination axis that raises declination.
func (p *properties) north(side axes.Side) float64 {
	n := -axes.Hemisphere(p.m.site.Lat)
	if side == axes.East {
		n = -n
	}
	return n
}

// hands names the switches of motion by hand that are on.
func (p *properties) hands(s said) (we, ns string) {
	switch {
	case s.hand[0] > 0:
		we = "MOTION_WEST"
	case s.hand[0] < 0:
		we = "MOTION_EAST"
	}
	if s.hand[1] != 0 {
		ns = "MOTION_SOUTH"
		if s.hand[1]*p.north(p.m.trueSide()) > 0 {
			ns = "MOTION_NORTH"
		}
	}
	return we, ns
}

// trueSide is the side that the mount believes to be on, whatever it says.
func (m *Mount) trueSide() axes.Side { return m.model.Head.Pose(m.State().Believed).Side }

// wish does what a client wishes for, and answers also where nothing has changed.
func (p *properties) wish(v indi.Vector) {
	p.mu.Lock()
	defer p.mu.Unlock()
	err := p.do(v)
	before := p.told[v.Name]
	p.refresh()
	now, ok := p.told[v.Name]
	switch {
	case !ok:
		return
	case err != nil:
		now.State, now.Message = indi.Alert, err.Error()
		p.show(now)
	case reflect.DeepEqual(before, now):
		_ = p.s.Set(now)
	}
}

func (p *properties) do(v indi.Vector) error {
	on := ""
	if list := v.On(); len(list) > 0 {
		on = list[0]
	}
	m := p.m
	switch v.Name {
	case "CONNECTION":
		if on == "CONNECT" && !m.State().Power {
			return fmt.Errorf("%w: it has no power", mount.ErrNotConnected)
		}
		p.connected, p.restart = on == "CONNECT", m.restarts()
	case "EQUATORIAL_EOD_COORD":
		return p.point(v)
	case "ON_COORD_SET":
		p.onPlace = on
	case "TELESCOPE_PIER_SIDE":
		return m.SetSide(map[string]axes.Side{"PIER_WEST": axes.West, "PIER_EAST": axes.East}[on])
	case "TELESCOPE_ABORT_MOTION":
		return p.echo(v, m.Abort())
	case "TELESCOPE_TRACK_STATE":
		return p.echo(v, m.SetTracking(on == "TRACK_ON"))
	case "TELESCOPE_PARK":
		if on == "PARK" {
			return m.Park()
		}
		return m.Unpark()
	case "TELESCOPE_HOME":
		if on == "" {
			return nil
		}
		return m.FindHome()
	case "TELESCOPE_MOTION_WE":
		return p.echo(v, p.byHand(0, map[string]float64{"MOTION_WEST": 1, "MOTION_EAST": -1}[on]))
	case "TELESCOPE_MOTION_NS":
		return p.echo(v, p.byHand(1, map[string]float64{"MOTION_NORTH": 1, "MOTION_SOUTH": -1}[on]*p.north(m.trueSide())))
	}
	return nil
}

// byHand turns an axis at the document's rate.
func (p *properties) byHand(axis int, way float64) error {
	return p.m.MoveAxis(axis, way*p.m.rates()[axis])
}

// echo tells that a command was accepted, as drivers do before they look whether it was done.
func (p *properties) echo(v indi.Vector, err error) error {
	last, ok := p.told[v.Name]
	if err != nil || !ok {
		return err
	}
	on := v.On()
	now := choice(v.Name, indi.Ok, "")
	now.Rule = last.Rule
	for _, m := range last.Members {
		now.Members = append(now.Members, indi.Member{Name: m.Name, On: len(on) > 0 && on[0] == m.Name && v.Name != "TELESCOPE_ABORT_MOTION"})
	}
	p.show(now)
	return nil
}

// point slews or syncs to a place; what a client leaves out of it stays.
func (p *properties) point(v indi.Vector) error {
	last := p.told[v.Name]
	var x [2]float64
	for i, name := range []string{"RA", "DEC"} {
		m, ok := v.Member(name)
		if !ok {
			m, _ = last.Member(name)
		}
		x[i] = m.Number
	}
	to := sky.Equatorial{RA: axes.FromHours(x[0]), Dec: axes.Rad(x[1])}
	if p.onPlace == "SYNC" {
		return p.m.Sync(to)
	}
	return p.m.Slew(to, nil)
}
