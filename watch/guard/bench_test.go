package guard

import (
	"context"
	"errors"
	"math"
	"net"
	"net/http/httptest"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/mount/sim"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
	"legroom/watch"
)

// testRig is the watch's own made-up rig with a faster mount that stays on side west until two hours past the meridian: there the
// camera meets the pier.
var testRig = sync.OnceValues(func() (*room.Map, error) {
	r, err := rig.Load(filepath.Join("..", "testdata", "pier.yaml"))
	if err != nil {
		return nil, err
	}
	for _, change := range [][2]string{{"mount.slew.ra_deg_per_s", "20"}, {"mount.slew.dec_deg_per_s", "20"}, {"mount.own_rules.earliest_flip_min", "120"}} {
		if r, err = r.With(change[0], change[1]); err != nil {
			return nil, err
		}
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		return nil, err
	}
	g, err := room.NewGauge(m, room.Options{})
	if err != nil {
		return nil, err
	}
	return room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 1, Workers: 1})
})

func theMap(t testing.TB) *room.Map {
	t.Helper()
	m, err := testRig()
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// bench is a simulated mount behind a server, a watch on it, and the guard behind another server.
type bench struct {
	t     testing.TB
	sim   *sim.Mount
	site  sky.Site
	w     *watch.Watch
	far   string         // the simulated mount's host and port
	real  *alpaca.Remote // as the guard sees it
	guard *Telescope
	url   string         // of the guard
	tel   *alpaca.Remote // as clients of the guard see it
	safe  *alpaca.Remote
}

func deg(ra, dec float64) axes.Angles { return axes.Angles{RA: axes.Rad(ra), Dec: axes.Rad(dec)} }

// newBench starts all that with the axes at a pose, tracking; the watch runs on the computer's clock, on the mount by itself or
// by what f makes of it.
func newBench(t testing.TB, at axes.Angles, o Options, f func(*watch.Options)) *bench {
	t.Helper()
	return newBenchBehind(t, at, o, f, func(_ *bench, tel mount.Telescope) mount.Telescope { return tel })
}

// newBenchBehind is newBench with something between the watch itself and the mount.
func newBenchBehind(t testing.TB, at axes.Angles, o Options, f func(*watch.Options),
	between func(*bench, mount.Telescope) mount.Telescope) *bench {
	t.Helper()
	b := &bench{t: t}
	m := theMap(t)
	r := m.Gauge().Model.Rig
	clock := sim.NewClock(time.Now(), 1)
	var err error
	if b.sim, err = sim.New(r, sim.Options{Seed: 1, Now: clock.Now, At: &at}); err != nil {
		t.Fatal(err)
	}
	if b.site, err = sky.NewSite(r.Site); err != nil {
		t.Fatal(err)
	}
	h, err := sim.Alpaca(b.sim, clock)
	if err != nil {
		t.Fatal(err)
	}
	far := httptest.NewServer(h)
	t.Cleanup(far.Close)
	b.far = far.Listener.Addr().String()
	host := alpaca.NewHost(b.far)
	t.Cleanup(host.Close)
	tel, err := alpaca.OpenTelescope(t.Context(), host, 0)
	if err != nil {
		t.Fatal(err)
	}
	b.real = host.Device("telescope", 0)
	b.watch(m, between(b, tel), f)
	if b.guard, err = New(b.w, b.real, r, o); err != nil {
		t.Fatal(err)
	}
	b.serve()
	return b
}

// watch starts the loop, and confirms the reference pose.
func (b *bench) watch(m *room.Map, tel mount.Telescope, f func(*watch.Options)) {
	b.t.Helper()
	print := m.Gauge().Model.Rig.Fingerprint()
	o := watch.Options{LockDir: b.t.TempDir(), Blind: watch.AlarmBlind, Covered: true, Period: 300 * time.Millisecond, FastPeriod: 50 * time.Millisecond,
		Setup: func(time.Time) rig.Setup { return rig.Setup{Confirmed: true} }, Fingerprint: func() (string, error) { return print, nil }}
	if f != nil {
		f(&o)
	}
	w, err := watch.New(b.t.Context(), m, tel, o)
	if err != nil {
		b.t.Fatal(err)
	}
	b.w = w
	ctx, stop := context.WithCancel(context.Background())
	var all sync.WaitGroup
	all.Go(func() { w.Run(ctx) })
	b.t.Cleanup(func() { stop(); all.Wait(); w.Close() })
	side := axes.West
	if b.sim.State().Believed.Dec < 0 {
		side = axes.East
	}
	if !b.until(5*time.Second, func() bool { return w.ConfirmReference(side) == nil }) {
		b.t.Fatal(w.ConfirmReference(side))
	}
	if !b.until(5*time.Second, func() bool { s := w.Status(); return s.Sample != nil && len(s.Blind) == 0 }) {
		b.t.Fatal(w.Status().BlindWhy)
	}
}

func (b *bench) serve() {
	b.t.Helper()
	h, err := Handler(b.guard, NewSafetyMonitor(b.w, b.guard.o.Period))
	if err != nil {
		b.t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	var all sync.WaitGroup
	all.Go(func() { _ = alpaca.Serve(ctx, l, h) })
	b.t.Cleanup(func() { stop(); all.Wait() })
	b.url = "http://" + l.Addr().String()
	host := alpaca.NewHost(l.Addr().String())
	host.Deadline = 30 * time.Second
	b.t.Cleanup(host.Close)
	b.tel, b.safe = host.Device("telescope", 0), host.Device("safetymonitor", 0)
}

func (b *bench) until(d time.Duration, done func() bool) bool {
	for end := time.Now().Add(d); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if done() {
			return true
		}
	}
	return done()
}

func (b *bench) put(member string, args alpaca.Args) error {
	_, err := b.tel.Call(b.t.Context(), alpaca.Put(member, args))
	return err
}

func (b *bench) get(member string) any {
	b.t.Helper()
	v, err := b.tel.Call(b.t.Context(), alpaca.Get(member))
	if err != nil {
		b.t.Errorf("%s: %v", member, err)
	}
	return v
}

// place is where axis angles point now, as the standard's arguments.
func (b *bench) place(at axes.Angles) alpaca.Args {
	q := theMap(b.t).Gauge().Model.Head.Pose(at)
	ra := math.Mod(b.site.SiderealTime(time.Now())-q.HourAngle+6*math.Pi, 2*math.Pi)
	return alpaca.Args{"RightAscension": axes.Hours(ra), "Declination": axes.Deg(q.Dec)}
}

// level is the same by altitude and azimuth.
func (b *bench) level(at axes.Angles) alpaca.Args {
	p := theMap(b.t).Gauge().Model.Head.Pose(at)
	alt, az := axes.AltAz(axes.Direction(b.site.Lat, p.HourAngle, p.Dec))
	return alpaca.Args{"Altitude": axes.Deg(alt), "Azimuth": axes.Deg(az)}
}

// stands waits until nothing slews.
func (b *bench) stands() {
	b.t.Helper()
	if !b.until(30*time.Second, func() bool {
		s := b.w.Status()
		return !s.OnWay && s.Sample.Slewing == "no" && s.Sample.Motion != watch.Moves && !b.sim.State().Slewing
	}) {
		b.t.Fatalf("still on the way: %+v", b.w.Status().Sample)
	}
}

// no gives the message of the standard's "invalid operation", or says what came instead.
func no(err error) (string, bool) {
	var r *mount.Refused
	if errors.As(err, &r) && r.Number == 0x40B {
		return r.Message, true
	}
	if err == nil {
		return "it was let through", false
	}
	return err.Error(), false
}
