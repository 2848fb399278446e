package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/report"
	"legroom/room"
	"legroom/sky"
	"legroom/watch"
	"legroom/watch/guard"
	"legroom/watch/journal"
	"legroom/watch/mqtt"
	"legroom/web"
)

// patrol is one run of the watch with everything about it.
type patrol struct {
	s       *watching
	c       *cobra.Command
	m       *room.Map
	tel     mount.Telescope
	address string

	w       *watch.Watch
	book    *journal.Journal // nil without one
	site    sky.Site
	equinox mount.Equinox
	begun   report.WatchBegun
	all     sync.WaitGroup // what has to end before the watch is closed
}

// run watches until ctx ends.
func (p *patrol) run(ctx context.Context, o watch.Options) (err error) {
	ctx, end := context.WithCancel(ctx)
	defer end()
	if p.site, err = sky.NewSite(p.m.Gauge().Model.Rig.Site); err != nil {
		return err
	}
	tells, err := hooksOf("tell", p.s.tells, p.s.webTells, false)
	if err != nil {
		return err
	}
	broker, err := p.s.broker(context.WithoutCancel(ctx)) // it tells the end, too
	if err != nil {
		return err
	}
	if broker != nil {
		defer hangUp(broker)
		if p.s.mqttHook {
			o.Hooks = append(o.Hooks, broker.Hook(p.s.cutsPower))
		}
	}
	o.Also = append(o.Also, "MQTT: "+mount.Say(broker != nil).String())
	book, err := p.journal(ctx, &o)
	if err != nil {
		return err
	}
	if book != nil {
		p.book = book
		defer func() { err = errors.Join(err, book.Close()) }()
	}
	if p.w, err = watch.New(ctx, p.m, p.tel, o); err != nil {
		if errors.Is(err, watch.ErrRefused) || errors.Is(err, watch.ErrWatched) {
			return p.s.refused(p.c, err)
		}
		return err
	}
	defer p.w.Close()
	defer p.all.Wait() // whatever comes, before the lock is given back
	defer end()
	p.equinox = o.Equinox
	v := newViewer(p)
	v.open()
	defer v.close()
	if err := p.serve(ctx); err != nil {
		return err
	}
	shown := make(chan struct{})
	go func() { defer close(shown); v.show(ctx) }()
	go p.listen(ctx, end, v) // it may wait for the keyboard for ever
	p.start(ctx, tells, broker)
	<-ctx.Done()
	p.all.Wait()
	select {
	case <-shown:
		v.events()
	case <-time.After(time.Second): // nobody reads what is written
	}
	return p.ended()
}

// start begins the loop, and tells owner and broker of it.
func (p *patrol) start(ctx context.Context, tells []watch.Hook, broker *mqtt.Publisher) {
	p.all.Go(func() { p.w.Run(ctx) })
	if len(tells) > 0 {
		p.all.Go(func() { p.tell(ctx, tells) })
	}
	if broker != nil {
		p.all.Go(func() { p.publish(ctx, broker) })
	}
}

// ended is the exit code, and a word when something is wrong.
func (p *patrol) ended() error {
	s := p.w.Status()
	if s.Safe(time.Now(), 2*time.Second) {
		return nil
	}
	v := report.WatchView{Status: &s, Zone: p.site.Zone, Now: time.Now()}
	fmt.Fprintf(p.c.ErrOrStderr(), "legroom: the watch has ended, and when it did the mount was not safe: %s\n", v.Title())
	return errNo
}

// journal opens the journal, and finds in it where an earlier watch of this rig and mount left off.
func (p *patrol) journal(ctx context.Context, o *watch.Options) (*journal.Journal, error) {
	path := p.s.journal
	if path == "" {
		return nil, nil
	}
	r := p.m.Gauge().Model.Rig
	if _, err := os.Stat(path); err == nil {
		if old, err := journal.OpenReader(path); err == nil {
			o.Resume, _ = old.LastSample(ctx, p.address, r.Fingerprint()) // without it the owner confirms anew
			_ = old.Close()
		}
	}
	j := journal.Open(path, journal.Options{Session: journal.Session{Program: "legroom " + report.Version().Version, Rig: r.Name, Print: r.Fingerprint(),
		Mount: p.address, Document: string(r.Whole())}})
	if err := j.Ready(); err != nil {
		return nil, errors.Join(fmt.Errorf("watch: --journal %q: %w; give another file, or mend this one's folder", path, err), j.Close())
	}
	o.Record, p.begun.Journal = j.Record, path
	return j, nil
}

// serve opens what others reach the watch by, and says where that is.
func (p *patrol) serve(ctx context.Context) error {
	p.begun.Mount = p.address
	if p.s.guard != "" {
		if err := p.serveGuard(ctx); err != nil {
			return err
		}
	}
	var key *web.Key
	if p.s.listen != "" {
		var err error
		if key, err = p.servePage(ctx); err != nil {
			return err
		}
	}
	return p.announce(key)
}

// open listens on an address of this machine.
func (p *patrol) open(ctx context.Context, flag, address string) (net.Listener, error) {
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", address)
	if err != nil {
		return nil, fmt.Errorf("watch: --%s %q: %w; another program may have it: end that, or give another port", flag, address, err)
	}
	return l, nil
}

// serving runs a server. That it fails later ends no watch.
func (p *patrol) serving(name string, f func() error) {
	p.all.Go(func() {
		if err := f(); err != nil {
			p.w.Tell(name, watch.Alarm, fmt.Sprintf("the %s is no longer served: %v", name, err))
		}
	})
}

func (p *patrol) serveGuard(ctx context.Context) error {
	l, err := p.open(ctx, "guard", p.s.guard)
	if err != nil {
		return err
	}
	h, err := p.guard()
	if err != nil {
		return errors.Join(err, l.Close())
	}
	p.serving("guard", func() error { return alpaca.Serve(ctx, l, h) })
	p.begun.Guard = fmt.Sprintf("alpaca://%s/0", l.Addr())
	if err := guard.Announce(ctx, l.Addr(), alpaca.DiscoveryPort); err != nil {
		fmt.Fprintf(p.c.ErrOrStderr(), "watch: the guard cannot be discovered, only named: %v\n", err)
	} else {
		p.begun.Found = true
	}
	if !web.Loopback(l.Addr().String()) {
		fmt.Fprintln(p.c.ErrOrStderr(), "watch: whoever is in this network can move the mount through the guard: the standard has no password")
	}
	return nil
}

// guard is the guarded telescope over the mount, whatever it speaks.
func (p *patrol) guard() (http.Handler, error) {
	var device alpaca.Device = guard.Translate(p.w, p.tel, p.site)
	if t, ok := p.tel.(*alpaca.Telescope); ok {
		device = t.Device()
	}
	t, err := guard.New(p.w, device, p.m.Gauge().Model.Rig, guard.Options{Equinox: p.equinox, Around: p.s.around})
	if err != nil {
		return nil, err
	}
	return guard.Handler(t, guard.NewSafetyMonitor(p.w, 0))
}

func (p *patrol) servePage(ctx context.Context) (*web.Key, error) {
	l, err := p.open(ctx, "listen", p.s.listen)
	if err != nil {
		return nil, err
	}
	o := web.Options{Folder: filepath.Dir(p.m.Gauge().Model.Rig.Path), Page: web.Page(), Listen: l.Addr().String(),
		Watch: &web.Watched{Watch: p.w, Gauge: p.m.Gauge()}, Journal: p.s.journal}
	if p.book != nil {
		o.Watch.Journal = p.book.Stats
	}
	if !web.Loopback(o.Listen) {
		o.Key = web.NewKey()
	}
	h, err := web.New(ctx, o)
	if err != nil {
		return nil, errors.Join(err, l.Close())
	}
	p.serving("page", func() error { return web.Serve(ctx, l, h) })
	p.begun.Page = "http://" + o.Listen + "/"
	return o.Key, nil
}

// tell runs the owner's programs at every alarm that begins. One that takes longer than alarms come holds nobody up: it hears of each one
// later, and of those that the watch remembers no more, that they were missed.
func (p *patrol) tell(ctx context.Context, tells []watch.Hook) {
	wake, end := p.w.Subscribe()
	defer end()
	last := int64(0)
	missed := ""
	for {
		for _, e := range p.w.Events(last) {
			if n := e.ID - last - 1; n > 0 {
				missed = fmt.Sprintf("; before it %d events were missed, alarms among them perhaps: see the watch", n)
				p.w.Tell("tell", watch.Warning,
					fmt.Sprintf("%d events were missed by the programs of --tell, which take longer than alarms come", n))
			}
			last = e.ID
			if e.Level == watch.Alarm && !e.Over && ctx.Err() == nil {
				p.tellOne(ctx, tells, e, missed)
				missed = ""
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-wake:
		}
	}
}

// tellOne runs them for one alarm.
func (p *patrol) tellOne(ctx context.Context, tells []watch.Hook, e watch.Event, missed string) {
	s := p.w.Status()
	call := watch.Call{At: e.At, Rung: s.Rung, Cause: s.Cause, Why: e.Text + missed, Mount: s.Mount, Rig: s.Rig, GapMM: s.Proven(), LeftS: s.LeftS}
	for _, h := range tells {
		c, cancel := context.WithTimeout(ctx, 10*time.Second)
		if err := h.Do(c, call); err != nil {
			p.w.Tell("tell", watch.Warning, fmt.Sprintf("telling by %s failed: %v", h.Name, err))
		}
		cancel()
	}
}

// publish tells the broker: every step of the loop, so that it hears when the loop no longer comes round, and every event.
func (p *patrol) publish(ctx context.Context, broker *mqtt.Publisher) {
	events, end := p.w.Subscribe()
	defer end()
	tick := time.NewTicker(100 * time.Millisecond)
	defer tick.Stop()
	var last time.Time
	told := true
	for {
		select {
		case <-ctx.Done():
			return
		case e := <-events:
			broker.Event(e)
		case <-tick.C:
			err := broker.Trouble()
			switch {
			case errors.Is(err, mqtt.ErrLost) && told:
				p.w.Tell("broker", watch.Warning, err.Error())
			case err != nil && told:
				p.w.Tell("broker", watch.Warning, fmt.Sprintf("the broker hears nothing: %v; it is tried again and again", err))
			case err == nil && !told:
				p.w.Tell("broker", watch.Note, "the broker hears again")
			}
			told = err == nil
			if s := p.w.Status(); !s.At.Equal(last) {
				last = s.At
				broker.Feed(s)
			}
		}
	}
}

// hangUp tells the broker the end, if it is there.
func hangUp(broker *mqtt.Publisher) {
	c, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	_ = broker.Close(c)
}
