// Package guard lets other programs reach a watched mount by way of the watch: a telescope and a safety monitor of the Alpaca
// device API, both of them alpaca.Devices.
//
// Every member of the standard goes on to the real mount, but for what would set it in motion without proof. A command that the
// watch does not let through is answered with the standard's "invalid operation", with the parts and the time in the message.
// Commands that end a motion are never held up: they wait for nothing, and go on when the client that sent them has hung up.
package guard

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"sync"
	"time"

	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/rig"
	"legroom/sky"
	"legroom/watch"
)

// Options is what the owner chooses.
type Options struct {
	Period  time.Duration // of the watch; 1 s when 0
	Equinox mount.Equinox // what coordinates of an unknown equinox refer to, as the watch was told
	// Around lets a slew or a park go over waypoints where the straight one is refused and a proven way round is found.
	Around bool
}

// Telescope is the guarded telescope.
type Telescope struct {
	w    *watch.Watch
	to   alpaca.Device
	site sky.Site
	own  *rig.Mount
	o    Options

	gate chan struct{} // bounds what the mount is asked at a time
	turn chan struct{} // held by the one command that sets something in motion

	clients clients

	mu    sync.Mutex
	has   string    // the command that has the turn, or had it last
	since time.Time // it has it
	under *sending  // nil: nothing is on its way
	stops stops

	looked time.Time            // when the watch was last asked to look at a stop
	looks  bool                 // it will be
	told   map[string]time.Time // when the owner last heard of something that clients do again and again
}

var _ alpaca.Device = (*Telescope)(nil)

const (
	// atOnce is how many calls the mount works on at a time, those that end a motion not counted.
	atOnce = 8
	// waitTurn is how long a command waits for another's end, and for a look after it.
	waitTurn = 3 * time.Second
	// longest is how long the mount may work on a command that is answered at its end, and short on any other.
	longest = 10 * time.Minute
	short   = 15 * time.Second
)

// New guards a mount. to is the real mount as a device (Translate makes one of a mount of another protocol); w watches it with
// rig r.
func New(w *watch.Watch, to alpaca.Device, r *rig.Rig, o Options) (*Telescope, error) {
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return nil, err
	}
	if o.Period == 0 {
		o.Period = time.Second
	}
	w.Tell("guard", watch.Note, "the guard is open; ways over waypoints (--around): "+mount.Say(o.Around).String())
	t := &Telescope{w: w, to: to, site: site, own: &r.Mount, o: o, gate: make(chan struct{}, atOnce), turn: make(chan struct{}, 1),
		told: map[string]time.Time{}}
	t.stops.raise()
	return t, nil
}

// command carries out one PUT. Its context ends when a client's stop comes, and not before.
type command func(t *Telescope, ctx context.Context, c alpaca.Call) (any, error)

// commands lists those that do not simply go on to the mount.
var commands = map[string]command{
	"abortslew": (*Telescope).abort,
	"tracking":  (*Telescope).tracking,
	"moveaxis":  (*Telescope).moveAxis,

	"slewtocoordinates": (*Telescope).slew, "slewtocoordinatesasync": (*Telescope).slew,
	"slewtotarget": (*Telescope).slewTarget, "slewtotargetasync": (*Telescope).slewTarget,
	"slewtoaltaz": (*Telescope).slewAltAz, "slewtoaltazasync": (*Telescope).slewAltAz,
	"sideofpier": (*Telescope).flip,
	"park":       (*Telescope).goPark,
	"findhome":   (*Telescope).goHome,
	"unpark":     (*Telescope).unpark,

	"synctocoordinates": (*Telescope).sync, "synctotarget": (*Telescope).syncTarget, "synctoaltaz": (*Telescope).syncAltAz,
	"setpark": (*Telescope).setPark,
	"utcdate": (*Telescope).setClock, "sitelatitude": (*Telescope).setSite, "sitelongitude": (*Telescope).setSite,
	"siteelevation": (*Telescope).set, "doesrefraction": (*Telescope).set, "trackingrate": (*Telescope).set, "slewsettletime": (*Telescope).set,

	"pulseguide":         (*Telescope).guide,
	"rightascensionrate": (*Telescope).setRate, "declinationrate": (*Telescope).setRate,
	"guideraterightascension": (*Telescope).setRate, "guideratedeclination": (*Telescope).setRate,

	"connected": (*Telescope).connect, "disconnect": (*Telescope).connect, "connect": (*Telescope).connect,
	"action": (*Telescope).unchecked, "commandblind": (*Telescope).unchecked, "commandbool": (*Telescope).unchecked,
	"commandstring": (*Telescope).unchecked,
}

// Call implements alpaca.Device.
func (t *Telescope) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if err := inRange(c); err != nil {
		return nil, err
	}
	if !c.Put {
		return t.get(ctx, c)
	}
	do, ok := commands[c.Member]
	if !ok {
		return t.pass(context.WithoutCancel(ctx), c)
	}
	// Whoever hangs up takes nothing back: least of all a stop.
	ctx = t.order()
	v, err := do(t, ctx, c)
	if errors.Is(err, context.Canceled) && ctx.Err() != nil { // before it was sent: that goes on
		err = t.overtaken()
	}
	if no := (*notLet)(nil); errors.As(err, &no) {
		t.tell(c, no)
	}
	return v, err
}

// pass hands a call on, a few at a time, so that many clients are no load for the mount.
func (t *Telescope) pass(ctx context.Context, c alpaca.Call) (any, error) {
	select {
	case t.gate <- struct{}{}:
		defer func() { <-t.gate }()
	case <-ctx.Done():
		return nil, fmt.Errorf("%w: %w", mount.ErrLink, ctx.Err())
	case <-time.After(waitTurn):
		return nil, fmt.Errorf("%w: too many calls at a time", mount.ErrLink)
	}
	return t.to.Call(ctx, c)
}

func (t *Telescope) get(ctx context.Context, c alpaca.Call) (any, error) {
	switch c.Member {
	case "sideofpier":
		return t.sideOfPier(ctx, c)
	case "destinationsideofpier":
		return t.destination(ctx, c)
	case "devicestate":
		return t.deviceState(ctx, c)
	case "supportedactions":
		return []string{}, nil // none of them could be checked
	}
	v, err := t.pass(ctx, c)
	switch {
	case err != nil:
	case c.Member == "slewing" && t.w.Status().OnWay:
		v = true // between two waypoints the mount says that it is there
	case c.Member == "connected" && t.clients.gone(c.ClientID):
		v = false
	}
	return v, err
}

// connect keeps the driver connected: the watch needs it, and other clients. A client that disconnects is told that it has.
func (t *Telescope) connect(ctx context.Context, c alpaca.Call) (any, error) {
	on := c.Member == "connect" || c.Member == "connected" && c.Bool("Connected")
	var v any
	var err error
	if on {
		v, err = t.pass(context.WithoutCancel(ctx), c)
	}
	if err == nil {
		t.clients.say(c.ClientID, on)
	}
	return v, err
}

// unchecked is what could do anything.
func (t *Telescope) unchecked(_ context.Context, c alpaca.Call) (any, error) {
	return nil, t.refuse("%s: what a driver's own commands do cannot be checked", c.Member)
}

// invalidOperation is the standard's number for what is not possible now.
const invalidOperation = 0x40B

// notLet is a refusal of the guard's own, for clients the standard's error.
type notLet struct{ refused *mount.Refused }

func (n *notLet) Error() string { return n.refused.Message }
func (n *notLet) Unwrap() error { return n.refused }

// refuse is that error, with the time.
func (t *Telescope) refuse(format string, a ...any) error {
	return &notLet{&mount.Refused{Number: invalidOperation, Kind: mount.ErrState,
		Message: fmt.Sprintf("not let through at %s: %s", time.Now().In(t.site.Zone).Format("15:04:05 MST"), fmt.Sprintf(format, a...))}}
}

// once tells whether the owner may hear of something of a kind, once a second at most: clients ask again and again.
func (t *Telescope) once(kind string) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if last, ok := t.told[kind]; ok && time.Since(last) < time.Second {
		return false
	}
	t.told[kind] = time.Now()
	return true
}

// tell tells the owner what was not let through. A park that is refused leaves the mount outside at dawn.
func (t *Telescope) tell(c alpaca.Call, no *notLet) {
	switch {
	case c.Member == "park":
		if t.once("park") {
			t.w.Tell("guard", watch.Alarm, "park: "+no.Error())
		}
	case t.once("refusal"):
		t.w.Tell("guard", watch.Note, c.Member+": "+no.Error())
	}
}

// tellLet tells of a command that was let through, and of the mount's answer, so that the journal says what set the mount in motion.
// Motions by hand come many a second, and those that went well are not told each; pulses come all night, and are not told.
func (t *Telescope) tellLet(c alpaca.Call, err error) {
	if err == nil && (c.Member == "pulseguide" || c.Member == "moveaxis" && !t.once("by hand")) {
		return
	}
	t.tellOf("let through", c, err)
}

// tellStop tells of a command that ends a motion, once a second at most for each: clients repeat it. One that failed is told each
// time.
func (t *Telescope) tellStop(c alpaca.Call, err error) {
	if t.once("stop "+c.Member) || err != nil {
		t.tellOf("passed on", c, err)
	}
}

func (t *Telescope) tellOf(what string, c alpaca.Call, err error) {
	text := what + ": " + c.Member
	for _, name := range slices.Sorted(maps.Keys(c.Args)) {
		v := c.Args[name]
		if x, ok := v.(float64); ok {
			v = math.Round(x*1e4) / 1e4
		}
		text += fmt.Sprintf(" %s=%v", name, v)
	}
	if err != nil {
		text += fmt.Sprintf("; the mount answered: %v", err)
	}
	t.w.Tell("guard", watch.Note, text)
}

// refused turns the watch's no into the standard's error.
func (t *Telescope) refused(err error) error {
	var no *watch.Refusal
	if errors.As(err, &no) {
		return t.refuse("%s", no.Text)
	}
	return err
}

// fresh is the watch's last sample, nil when it is old.
func (t *Telescope) fresh(s *watch.Status) *watch.Sample {
	if s.Sample == nil || s.AgeS == nil || *s.AgeS > 3*t.o.Period.Seconds() {
		return nil
	}
	return s.Sample
}

// ask reads a number from the mount.
func (t *Telescope) ask(ctx context.Context, member string) (float64, error) {
	v, err := t.pass(ctx, alpaca.Get(member))
	if err != nil {
		return 0, err
	}
	x, ok := v.(float64)
	if !ok {
		return 0, fmt.Errorf("%w: %s is no number", mount.ErrAnswer, member)
	}
	return x, nil
}

// deviceState corrects in the mount's state what the guard answers otherwise.
func (t *Telescope) deviceState(ctx context.Context, c alpaca.Call) (any, error) {
	v, err := t.pass(ctx, c)
	if err != nil {
		return nil, err
	}
	text, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("%w: devicestate: %w", mount.ErrAnswer, err)
	}
	var list []struct {
		Name  string
		Value json.RawMessage
	}
	if err := json.Unmarshal(text, &list); err != nil {
		return nil, fmt.Errorf("%w: devicestate: %w", mount.ErrAnswer, err)
	}
	s := t.w.Status()
	for i := range list {
		switch e := &list[i]; {
		case e.Name == "SideOfPier":
			e.Value = json.RawMessage(fmt.Sprint(pier(t.side(&s))))
		case e.Name == "Slewing" && s.OnWay:
			e.Value = json.RawMessage("true")
		}
	}
	return list, nil
}
