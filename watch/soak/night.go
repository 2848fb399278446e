package soak

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/sim"
	"legroom/rig"
	"legroom/room"
	"legroom/watch"
)

// world is what a night happens in: its clock, and how a mount is set up and reached in it.
type world struct {
	clock watch.Clock
	busy  func(within time.Duration) bool // the computer was too busy to be in time
	open  func(m *sim.Mount, rnd *rand.Rand) (tel mount.Telescope, shut func(), err error)
}

// virtualWorld is virtual time, with the mount in the process.
func virtualWorld(from time.Time) world {
	clock := watch.NewVirtual(from)
	return world{clock, func(time.Duration) bool { return false }, func(m *sim.Mount, rnd *rand.Rand) (mount.Telescope, func(), error) {
		return sim.NewLink(m, clock, time.Duration(2+rnd.IntN(150))*time.Millisecond), func() {}, nil
	}}
}

// night is one night with one rig: set-ups one after the other, each a mount and a watch of its own.
type night struct {
	ctx context.Context
	o   *Options
	s   *subject
	world
	rnd     *rand.Rand
	scratch *room.Scratch
	rep     *Report
	line    *RigReport
	dir     string
	book    *book
	end     time.Time

	health // what fails in this night
	agenda []due
	life
}

// life is one set-up, from when the owner has set the mount up until it has to be set up anew.
type life struct {
	m           *sim.Mount
	w           *watch.Watch
	shut        func()
	brake       time.Duration
	blindToSide bool      // the watch is told to ignore the side that the mount tells
	cut         bool      // the hook has cut the power
	patient     time.Time // until then the software lets the mount track
	judge
}

// due is something that happens at a moment.
type due struct {
	at time.Time
	do func()
}

// after puts something on the agenda.
func (n *night) after(d time.Duration, do func()) {
	at := n.clock.Now().Add(d)
	i := len(n.agenda)
	for i > 0 && n.agenda[i-1].at.After(at) {
		i--
	}
	n.agenda = slices.Insert(n.agenda, i, due{at, do})
}

// between draws a time, of which the short ones are as likely as the long ones: even in its logarithm.
func (n *night) between(lo, hi time.Duration) time.Duration {
	return time.Duration(float64(lo) * math.Pow(float64(hi)/float64(lo), n.rnd.Float64()))
}

func (n *night) chance(p float64) bool { return n.rnd.Float64() < p }

// changeTries bounds how often a rig is drawn that cannot be watched.
const changeTries = 30

// night lives through night i, whatever happens in it.
func (s *stable) night(ctx context.Context, o *Options, i int, dir string) (rep *Report) {
	rep = newReport(o)
	rep.index = i
	var n *night
	defer func() {
		if what := recover(); what != nil {
			f := Finding{Night: i + 1, Kind: "broken", Text: fmt.Sprintf("panic: %v\n%s", what, debug.Stack())}
			if n != nil && n.s != nil {
				f.Rig, f.At = n.s.name, n.clock.Now()
			}
			rep.Findings = append(rep.Findings, f)
			rep.Broken++
		}
	}()
	rnd := rand.New(rand.NewPCG(o.Seed, uint64(i)+1))
	which := i / 2 % len(s.rigs)
	n = &night{ctx: ctx, o: o, rnd: rnd, rep: rep, dir: dir}
	begin := func(x *subject) error {
		n.s, n.scratch = x, x.g.NewScratch()
		from := evening(x, rnd)
		n.end = from.Add(o.Night)
		n.world = virtualWorld(from)
		if o.Sockets > 0 {
			n.world = socketWorld(from, o.Sockets, i)
		}
		return n.setUp()
	}
	var err error
	if i%2 == 0 {
		var x *subject
		if x, err = s.written(ctx, which); err == nil {
			err = begin(x)
		}
	}
	for try := 0; i%2 == 1; try++ {
		r, as := change(s.rigs[which], rnd)
		var x *subject
		if x, err = prepare(ctx, r); err == nil {
			x.name, x.as = s.rigs[which].Name+", changed at random", as
			err = begin(x)
		}
		if err == nil || ctx.Err() != nil || try == changeTries {
			break
		}
		rep.Skipped[reasonOf(err)]++
	}
	if err != nil {
		if ctx.Err() == nil {
			rep.Findings = append(rep.Findings, Finding{Night: i + 1, Rig: s.rigs[which].Name, Kind: "broken", Text: err.Error()})
			rep.Broken++
		}
		return rep
	}
	rep.Rigs = append(rep.Rigs, RigReport{Rig: n.s.name})
	n.line = &rep.Rigs[0]
	n.draw()
	if n.book, err = openBook(n); err != nil {
		n.found("broken", "%v", err)
		return rep
	}
	from := n.clock.Now()
	for ctx.Err() == nil && n.clock.Now().Before(n.end) {
		n.step()
	}
	rep.SimulatedH = n.clock.Now().Sub(from).Hours()
	if ctx.Err() == nil { // one that was broken off is no night, whatever was found in it
		rep.Nights, n.line.Nights = 1, 1
	}
	n.over()
	n.book.close(n)
	n.line.Contacts, n.line.ContactsUnprotected, n.line.Stops = rep.Contacts, rep.ContactsUnprotected, rep.Stops
	n.line.FalseStops, n.line.Hooks, n.line.LateHooks = rep.FalseStops, rep.Hooks, rep.LateHooks
	return rep
}

// reasonOf groups why a rig cannot be watched.
func reasonOf(err error) string {
	text := err.Error()
	if errors.Is(err, watch.ErrRefused) {
		return "not watched"
	}
	for _, k := range []string{"join", "touch", "could be drawn", "travel", "room at park"} {
		if strings.Contains(text, k) {
			return map[string]string{"join": "a joint does not hold", "touch": "parts touch at rest", "could be drawn": "no true rig can be drawn",
				"travel": "park is outside the travel", "room at park": "no room at park"}[k]
		}
	}
	return "no rig"
}

// evening draws when a night begins: half past seven by the Sun, on any day of two years.
func evening(s *subject, rnd *rand.Rand) time.Time {
	day := time.Date(2026, 1, 1, 19, 30, 0, 0, time.UTC).AddDate(0, 0, rnd.IntN(730))
	return day.Add(-time.Duration(axes.Hours(s.site.Lon) * float64(time.Hour)))
}

// watchable tells whether the rigs, as they are written, can be watched at all.
func (s *stable) watchable(ctx context.Context, dir string) error {
	for i := range s.rigs {
		x, err := s.written(ctx, i)
		if err != nil {
			return err
		}
		n := &night{ctx: ctx, o: &Options{}, s: x, rnd: rand.New(rand.NewPCG(1, 1)), rep: newReport(&Options{}), dir: dir}
		n.world = virtualWorld(evening(x, n.rnd))
		if err := n.setUp(); err != nil {
			return fmt.Errorf("%s: %w", s.rigs[i].Path, err)
		}
		n.over()
	}
	return nil
}

// setUp is the owner setting the mount up: parked, the true rig drawn anew, the reference pose confirmed.
func (n *night) setUp() error {
	n.over()
	n.agenda = nil
	n.life = life{shut: func() {}, brake: 2 * time.Second, blindToSide: n.chance(0.2)}
	if n.chance(0.3) {
		n.brake = 4 * time.Second
	}
	var err error
	if n.m, err = sim.New(n.s.rig, sim.Options{Seed: n.rnd.Uint64(), Now: n.clock.Now, Parked: true}); err != nil {
		return err
	}
	tel, shut, err := n.open(n.m, n.rnd)
	if err != nil {
		return err
	}
	n.shut = shut
	up := n.s.site.SunAltitude(n.clock.Now()) > -0.05 || n.s.site.SunAltitude(n.end) > -0.05
	n.w, err = watch.New(n.ctx, n.s.m, tel, watch.Options{Clock: n.clock, LockDir: n.dir, BrakeTime: n.brake, IgnoreSide: n.blindToSide, Covered: up,
		Setup:       func(time.Time) rig.Setup { return rig.Setup{Confirmed: true} },
		Fingerprint: func() (string, error) { return n.s.print, nil },
		Hooks:       []watch.Hook{{Name: "relay", CutsPower: true, Do: n.relay}}, AxesHold: true,
		Record: n.record})
	if err != nil {
		shut()
		return err
	}
	n.w.Plant(n.o.Plant)
	for range 4 {
		n.look()
	}
	if err := n.confirm(); err != nil {
		return fmt.Errorf("the reference pose of a mount that was just set up cannot be confirmed: %w", err)
	}
	n.look()
	if s := n.w.Status(); len(s.Blind) > 0 && n.o.Sockets == 0 {
		return fmt.Errorf("blind after it was set up and confirmed: %v", s.BlindWhy)
	}
	n.begin()
	n.after(n.between(10*time.Second, 5*time.Minute), n.act)
	n.fail()
	return nil
}

// confirm is the owner confirming the reference pose. Over sockets a computer that is too busy may lose the reading that there was to
// confirm: the owner looks again, for up to two minutes. In virtual time nothing excuses that.
func (n *night) confirm() error {
	err := n.w.ConfirmReference(n.sideNow())
	if n.o.Sockets == 0 {
		return err
	}
	for end := n.clock.Now().Add(2 * time.Minute); err != nil && n.ctx.Err() == nil && n.clock.Now().Before(end); {
		n.look()
		err = n.w.ConfirmReference(n.sideNow())
	}
	return err
}

// sideNow is the side that the mount is on by what it believes: what an owner sees, unless it believes wrongly.
func (n *night) sideNow() axes.Side { return n.s.g.Model.Head.Pose(n.m.State().Believed).Side }

// over ends a life.
func (n *night) over() {
	if n.w == nil {
		return
	}
	n.settle()
	c := n.w.Status().Counts
	n.rep.Slews += int(c.Slews)
	n.rep.UnprotectedSlews += int(c.Unprotected)
	n.rep.Stops += int(c.Stops)
	n.rep.Steps += int(c.Steps)
	_ = n.w.Close()
	n.shut()
	n.w = nil
}

// anew sets up again; a mount that cannot be is the end of the night.
func (n *night) anew(why string) {
	n.rep.Acts["set up anew: "+why]++
	if err := n.setUp(); err != nil && n.ctx.Err() == nil {
		n.found("broken", "%v", err)
		n.end = n.clock.Now()
	}
}

// relay is the owner's hook. It takes the power away, a little later.
func (n *night) relay(ctx context.Context, c watch.Call) error {
	n.clock.Sleep(ctx, time.Duration(n.rnd.IntN(300))*time.Millisecond, nil)
	if !n.cut { // else the power is gone, and nobody has come yet
		n.cut = true
		n.hooked(c)
		n.m.CutPower()
		n.after(n.between(20*time.Second, 3*time.Minute), func() { n.anew("after the hook") })
	}
	return nil
}

// look is the loop coming round once, and waiting.
func (n *night) look() { n.clock.Sleep(n.ctx, n.w.Step(n.ctx), nil) }

// step is the loop coming round once, the verdict on it, and what happens until it comes round again.
func (n *night) step() {
	d := n.w.Step(n.ctx)
	n.watched()
	next := n.clock.Now().Add(d)
	for w := n.w; len(n.agenda) > 0 && !n.agenda[0].at.After(next) && w == n.w; {
		if wait := n.agenda[0].at.Sub(n.clock.Now()); wait > 0 {
			n.clock.Sleep(n.ctx, wait, nil)
		}
		do := n.agenda[0].do
		n.agenda = n.agenda[1:]
		do()
	}
	if d := next.Sub(n.clock.Now()); d > 0 {
		n.clock.Sleep(n.ctx, d, nil)
	}
}
