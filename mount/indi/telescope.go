package indi

import (
	"context"
	"fmt"
	"math"
	"net"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

const (
	// connectTime is how long Connect waits when its context has no deadline: a driver may search a serial line for its mount.
	connectTime = 30 * time.Second
	// commandTime is how long a command waits for its answer when its context has no deadline.
	commandTime = 2 * time.Second
)

// Telescope is a device of a server as mount.Telescope. It listens to that one device only, and connects again when a call
// finds the connection lost.
type Telescope struct {
	link *link

	mu    sync.Mutex
	notes []string
	noted map[string]bool
}

var _ mount.Telescope = (*Telescope)(nil)

// Open opens a telescope by its address, such as indi://192.0.2.7:7624/My%20Mount, and connects the driver if it is not.
func Open(ctx context.Context, address string) (*Telescope, error) {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "indi" || u.Port() == "" || u.Hostname() == "" || u.User != nil ||
		u.RawQuery != "" || u.Fragment != "" || len(u.Path) < 2 {
		return nil, fmt.Errorf("%q: give the mount as indi://HOST:PORT/DEVICE, such as indi://127.0.0.1:7624/My%%20Mount", address)
	}
	t := &Telescope{link: newLink(net.JoinHostPort(u.Hostname(), u.Port()), u.Path[1:]), noted: map[string]bool{}}
	if err := t.Connect(ctx); err != nil {
		t.link.close()
		return nil, err
	}
	return t, nil
}

// Close implements mount.Telescope.
func (t *Telescope) Close() error {
	t.link.close()
	return nil
}

// Connect implements mount.Telescope. It ends when the driver has told a place.
func (t *Telescope) Connect(ctx context.Context) error {
	ctx, cancel := timed(ctx, connectTime)
	defer cancel()
	s, err := t.link.up(ctx)
	if err != nil {
		return err
	}
	if offline(s.snapshot()) != nil {
		connect := []Member{{Name: "CONNECT", On: true}, {Name: "DISCONNECT"}}
		if err := t.command(ctx, connection, connect, turnedTo("CONNECT")); err != nil {
			return err
		}
	}
	err = s.wait(ctx, func() (bool, error) {
		name, _ := placeOf(s.known)
		return s.known[name].defs > 0, nil
	})
	if late(ctx, err) {
		return fmt.Errorf("%w: the driver tells no place (%s, %s)", mount.ErrLacks, placeOfDate, placeJ2000)
	}
	if err != nil {
		return err
	}
	name, _ := placeOf(s.snapshot())
	if err := s.ask(ctx, name); err != nil { // so that what it defined besides has come too
		return err
	}
	s.mu.Lock()
	s.dropped = false
	s.mu.Unlock()
	_ = t.link.loss(nil) // whoever connects knows
	if !t.Describe().Can.SetTracking {
		t.note(trackState, "tracking cannot be switched: the mount cannot be stopped")
	}
	return nil
}

// SetTracking implements mount.Telescope.
func (t *Telescope) SetTracking(ctx context.Context, on bool) error {
	judge := turnedTo("TRACK_OFF")
	if on {
		judge = begun(turnedTo("TRACK_ON"))
	}
	return t.command(ctx, trackState, []Member{{Name: "TRACK_ON", On: on}, {Name: "TRACK_OFF", On: !on}}, judge)
}

// Abort implements mount.Telescope.
func (t *Telescope) Abort(ctx context.Context) error {
	return t.command(ctx, abort, []Member{{Name: "ABORT", On: true}}, func(v told) outcome {
		if v.State == Busy {
			return busy
		}
		return done // the switch springs back
	})
}

// ZeroRates implements mount.Telescope: it turns the switches of motion by hand off. Both axes are told at once.
func (t *Telescope) ZeroRates(ctx context.Context) error {
	var errs [2]error
	var both sync.WaitGroup
	for i, stop := range []struct{ name, one, other string }{
		{motionWE, "MOTION_WEST", "MOTION_EAST"},
		{motionNS, "MOTION_NORTH", "MOTION_SOUTH"},
	} {
		both.Go(func() { errs[i] = t.command(ctx, stop.name, []Member{{Name: stop.one}, {Name: stop.other}}, allOff) })
	}
	both.Wait()
	return joined(errs)
}

func joined(errs [2]error) error {
	if errs[0] == nil {
		return errs[1]
	}
	if errs[1] == nil {
		return errs[0]
	}
	return fmt.Errorf("%w; %w", errs[0], errs[1])
}

// Park implements mount.Telescope.
func (t *Telescope) Park(ctx context.Context) error {
	return t.command(ctx, park, []Member{{Name: "PARK", On: true}, {Name: "UNPARK"}}, begun(turnedTo("PARK")))
}

// Unpark implements mount.Telescope.
func (t *Telescope) Unpark(ctx context.Context) error {
	return t.command(ctx, park, []Member{{Name: "PARK"}, {Name: "UNPARK", On: true}}, begun(turnedTo("UNPARK")))
}

// Slew implements mount.Telescope. The protocol does not tell on which side a slew would end, so one with a side is ErrLacks. A
// new place slews, moves or syncs as ON_COORD_SET says, which every client of the device shares: the driver confirms TRACK
// before the place is sent.
func (t *Telescope) Slew(ctx context.Context, to sky.Equatorial, side *axes.Side) error {
	if side != nil {
		return fmt.Errorf("%w: on which side a slew would end", mount.ErrLacks)
	}
	ctx, cancel := timed(ctx, commandTime)
	defer cancel()
	s, err := t.link.up(ctx)
	if err != nil {
		return err
	}
	known := s.snapshot()
	mode := "TRACK"
	if p := known[onPlace]; p.defs > 0 && !p.has(mode) {
		mode = "SLEW"
	}
	if err := t.command(ctx, onPlace, []Member{{Name: mode, On: true}}, turnedTo(mode)); err != nil {
		return err
	}
	name, equinox := placeOf(known)
	ra, dec := equinox.FromDate(to, time.Now())
	raHours, decDeg := hoursOf(ra), axes.Deg(dec)
	return t.command(ctx, name, []Member{{Name: "RA", Number: raHours}, {Name: "DEC", Number: decDeg}}, func(v told) outcome {
		// Where a mount stands is told again and again: only Busy, or being there, answers.
		if v.State == Busy || v.near(raHours, decDeg) {
			return done
		}
		return waiting
	})
}

// hoursOf turns a right ascension into hours in [0, 24).
func hoursOf(ra float64) float64 {
	h := math.Mod(axes.Hours(ra), 24)
	if h < 0 {
		h += 24
	}
	if h >= 24 { // a tiny negative angle
		h = 0
	}
	return h
}

// Describe implements mount.Telescope. While the connection is lost it is what was last known.
func (t *Telescope) Describe() mount.Description {
	known := t.link.last()
	address := url.URL{Scheme: "indi", Host: t.link.address, Path: "/" + t.link.device}
	d := mount.Description{Protocol: "indi", Address: address.String(), Name: t.link.device}
	info := known[driverInfo]
	for member, text := range map[string]*string{"DRIVER_NAME": &d.Driver, "DRIVER_VERSION": &d.Version} {
		m, _ := info.Member(member)
		*text = clipped(m.Text)
	}
	name, equinox := placeOf(known)
	d.Equinox = equinox
	settable := func(name string, members ...string) bool {
		return known[name].has(members...) && strings.Contains(known[name].Perm, "w")
	}
	d.Can = mount.Can{
		SetTracking: settable(trackState, "TRACK_ON", "TRACK_OFF"),
		Slew:        settable(name, "RA", "DEC") && (settable(onPlace, "TRACK") || settable(onPlace, "SLEW")),
		Park:        settable(park, "PARK"),
		Unpark:      settable(park, "UNPARK"),
		MoveAxis:    [2]bool{settable(motionWE), settable(motionNS)},
		SetSide:     settable(pierSide, "PIER_WEST", "PIER_EAST"),
		TellSide:    known[pierSide].has("PIER_WEST", "PIER_EAST"),
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	d.Notes = slices.Clone(t.notes)
	return d
}

// note adds a line to the description, once for each subject, of which there are as many as properties.
func (t *Telescope) note(subject, why string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if !t.noted[subject] {
		t.noted[subject] = true
		t.notes = append(t.notes, subject+": "+why)
	}
}
