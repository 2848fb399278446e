// Package watch keeps a rig from hitting itself while it runs: once a second it reads the mount, places the rig, proves how much
// room is left, and stops the mount while stopping still fits.
//
// It is a supervision aid, not a safety function: what it knows comes from the mount's own word, so that a slipped clutch cannot be
// seen, and a stop that is sent over a network is at best a controlled stop with power kept. The mount's own limits stay set, and
// a hand on the power switch for every first run.
package watch

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// ErrRefused says that the watch does not start: what it would show would not be true.
var ErrRefused = errors.New("not watching")

// Watch watches one mount. Its methods may be called from several goroutines; Step and Run from one alone.
type Watch struct {
	o    Options
	tel  mount.Telescope
	rig  *rig.Rig
	site sky.Site
	lock *os.File
	wake chan struct{}

	hooks sync.WaitGroup // those that are being called

	mu     sync.Mutex // held while deciding, never while the mount, a hook or the journal is waited for
	m      *room.Map
	p      *predictor
	f      follower
	ob     observer
	c      checker
	sun    sunWatch
	l      ladder
	alarms alarms
	pass   *Pass
	hand   *handMotion
	syncs  syncs
	legs   []leg // of a way over waypoints that is being gone
	onWay  bool  // until its last leg has ended
	// abandoned counts how often somebody has let go of the watch's own slews and parks, and errand is one that is on its way.
	abandoned uint64
	errand    *errand
	// followed tells that at the last look a slew was on its proven path.
	followed bool
	now      current
	status   Status
	records  []Record

	reference string // why a reference pose has to be confirmed; "" when it is
	started   time.Time
	lastStep  time.Time
	lookedAt  time.Time // when the last look at the files of the rig began
	looking   bool      // it has not ended
	setup     rig.Setup
	print     string // fingerprint of the map's rig
	stale     string // how the document has changed since
	fed       time.Time
	feeding   bool
	connected time.Time // when Connect was last tried
	snoozed   time.Time
	cautioned time.Time // when a mount that stood was last told to stop, blind
	fault     Fault
}

// current is what the loop knows at one step.
type current struct {
	res    resolved
	read   bool // a usable reading has been had at some time
	fresh  bool // by this step
	r      mount.Reading
	motion Motion
	rates  rates
	to     heading
	before axes.Angles // where the axes were at the reading before
	looks  []look      // one for each side that may be, the tightest first
	age    time.Duration
	left   *time.Duration
	noEnd  bool
	blind  map[Reason]string
	err    error  // of the last look
	odd    Reason // when it came and cannot be used: why
}

// Fault is a guard of the watch taken away on purpose, so that a soak can show that it would be missed. Nothing but tests sets one.
type Fault uint8

const (
	NoFault Fault = iota
	IgnoreMargin
	AcceptOld
	BelieveSide
	IgnoreRestored
)

// Plant takes a guard away, for tests and the soak alone.
func (w *Watch) Plant(f Fault) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.fault = f
	w.f.believe = f == BelieveSide
}

// New looks whether a rig can be watched on a mount, and takes the mount's lock. The map is the rig's, with the owner's tolerance
// mode and margin. The error is ErrRefused with the reason, or ErrWatched.
func New(ctx context.Context, m *room.Map, tel mount.Telescope, o Options) (*Watch, error) {
	o = o.Defaults()
	if err := o.Validate(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	g := m.Gauge()
	r := g.Model.Rig
	if o.Setup == nil {
		o.Setup = func(now time.Time) rig.Setup { return r.SetupTonight(o.Without, now) }
	}
	if o.Fingerprint == nil {
		o.Fingerprint = func() (string, error) {
			again, err := rig.Load(r.Path)
			if err != nil {
				return "", err
			}
			return again.Fingerprint(), nil
		}
	}
	if err := fit(g, &o); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	if err := canSwitch(ctx, tel, &o); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	d := tel.Describe()
	lock, err := lockMount(o.LockDir, d.Address)
	if err != nil {
		return nil, err
	}
	w := &Watch{o: o, tel: tel, rig: r, site: site, lock: lock, wake: make(chan struct{}, 1), m: m, print: r.Fingerprint()}
	if w.p, err = newPredictor(m, &w.o); err != nil {
		lock.Close()
		return nil, fmt.Errorf("%w: %w", ErrRefused, err)
	}
	now := o.Clock.Now()
	w.f = follower{model: g.Model, site: site, slew: w.p.slew, over: m.Overshoot(), explains: func(c *fix) bool { return w.hand != nil || w.pass.holds(c) }}
	w.c = checker{site: site, equinox: o.Equinox}
	w.sun = sunWatch{site: site, head: &g.Model.Head, angle: axes.Rad(o.SunAngleDeg), covered: o.Covered}
	w.l.rung = Watching
	w.alarms = alarms{now: o.Clock.Now, hear: map[int]chan Event{}, records: &w.records}
	w.setup.Confirmed = true // as fit has just seen
	w.started, w.reference = now, "nobody has confirmed since the start that the rig stands as the mount says"
	w.status = Status{Started: now, Mount: d.Address, Rig: r.Name, Print: w.print, Rung: Watching, Protect: Protects(g, o), Desc: d}
	w.alarms.note("start", "watching %s with rig %q (fingerprint %s)", d.Address, r.Name, w.print)
	w.alarms.note("settings", "%s", settings(g, &w.o))
	if !w.status.Protect.All {
		w.alarms.note("protect", "%s", w.status.Protect.words())
	}
	return w, nil
}

// fit tells whether the rig is one that may be watched.
func fit(g *room.Gauge, o *Options) error {
	r := g.Model.Rig
	if g.Mode == rig.None {
		return errors.New("tolerances are left out: give rss or worst")
	}
	if !(g.MarginMM > 0) {
		return errors.New("the margin is 0 mm: nothing is left for stopping")
	}
	if lengths, _ := r.Unmeasured(); len(lengths) > 0 {
		return fmt.Errorf("%s was never measured: measure it, and all other lengths and angles that are marked so, and write them into the document", lengths[0].Path)
	}
	if s := o.Setup(o.Clock.Now()); !s.Confirmed {
		return fmt.Errorf("the set-up is not confirmed for tonight: %s", s.Reason)
	}
	print, err := o.Fingerprint()
	if err != nil {
		return fmt.Errorf("the rig cannot be read any more: %w", err)
	}
	if print != r.Fingerprint() {
		return errors.New("the rig has changed since its map was made: load it again")
	}
	return g.JointsHold()
}

// canSwitch tells whether tracking can be switched off: by the driver's word, or by doing it, with the owner's yes.
func canSwitch(ctx context.Context, tel mount.Telescope, o *Options) error {
	if tel.Describe().Can.SetTracking {
		return nil
	}
	if !o.TrySwitch {
		return errors.New("the driver does not say that tracking can be switched off, and without that there is no stop: say that it may be tried, once, now")
	}
	c, cancel := o.Clock.Timeout(ctx, o.CommandDeadline)
	defer cancel()
	if err := tel.SetTracking(c, false); err != nil {
		return fmt.Errorf("tracking cannot be switched off: %w", err)
	}
	c, cancel = o.Clock.Timeout(ctx, o.ReadDeadline)
	defer cancel()
	r, err := tel.Read(c)
	if err != nil {
		return fmt.Errorf("tracking was switched off, and cannot be read back: %w", err)
	}
	switch r.Tracking {
	case mount.Yes:
		return errors.New("tracking was switched off, and the mount goes on tracking: there is no stop")
	case mount.Unsaid:
		return errors.New("tracking was switched off, and the driver does not say whether the mount still tracks: nothing shows that there is a stop")
	}
	return nil
}

// Close gives the mount free for another watch. It stops nothing.
func (w *Watch) Close() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.lock.Close()
}

// Run watches until ctx ends. A stop that is then under way it still sees to, until the axes stand, or should; and a hook that was
// called is waited for.
func (w *Watch) Run(ctx context.Context) {
	for ctx.Err() == nil {
		d := w.Step(ctx)
		w.o.Clock.Sleep(ctx, d, w.wake)
	}
	last := context.WithoutCancel(ctx)
	for end := w.o.Clock.Now().Add(w.o.BrakeTime + stillFor + 5*w.o.Period); w.stopping() && w.o.Clock.Now().Before(end); {
		d := w.Step(last)
		w.o.Clock.Sleep(last, d, nil)
	}
	w.hooks.Wait()
	w.mu.Lock()
	w.alarms.note("end", "the watch has ended; nothing stops this mount now")
	w.mu.Unlock()
	w.write()
}

// stopping tells whether a stop is under way.
func (w *Watch) stopping() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.l.rung == Stopping || w.l.rung == Hooked
}

// Look makes the loop come round at once, such as when the mount has been told something.
func (w *Watch) Look() {
	select {
	case w.wake <- struct{}{}:
	default:
	}
}
