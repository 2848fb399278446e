package watch

import (
	"context"
	"math"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// evening is a moonless evening for the tests, one hour into the dark at the test rig's site.
var evening = time.Date(2026, 11, 25, 19, 0, 0, 0, time.UTC)

var testRig = sync.OnceValues(func() (*room.Map, error) {
	r, err := rig.Load(filepath.Join("testdata", "pier.yaml"))
	if err != nil {
		return nil, err
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

// toy is a mount in virtual time with axes of its own: what it says is made from where they are, unless a fault is on. It counts
// how near its parts come, with no tolerance and no margin.
type toy struct {
	t     testing.TB
	clk   *Virtual
	model *axes.Model
	site  sky.Site
	truth *room.Gauge
	s     *room.Scratch

	at       axes.Angles
	when     time.Time
	v        rates // signed axis speeds while slewing
	goal     *axes.Angles
	rate     rates   // top speed, rad/s
	accel    float64 // rad/s²
	brake    float64
	tracking bool
	slewing  bool
	braking  bool
	least    float64 // mm, the least true gap so far

	// What it does wrong.
	delay        time.Duration // of every answer
	ignoreStops  bool
	restoreAfter time.Duration // tracking comes back this long after an abort
	restoreAt    time.Time
	silent       bool
	broken       error // answer of Read
	change       func(r *mount.Reading)
	frozen       *mount.Reading
	cut          bool // no power
	sync         axes.Angles
	can          mount.Can
	raw          mount.Equinox // of what it takes and says, without saying so
	aborts, offs int
	began        []axes.Angles // where its slews were to end
}

func newToy(t testing.TB, m *room.Map, at axes.Angles, clk *Virtual) *toy {
	t.Helper()
	truth, err := room.NewGauge(m.Gauge().Model, room.Options{Mode: rig.None, MarginMM: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	site, err := sky.NewSite(m.Gauge().Model.Rig.Site)
	if err != nil {
		t.Fatal(err)
	}
	return &toy{t: t, clk: clk, model: m.Gauge().Model, site: site, truth: truth, s: truth.NewScratch(), at: at, when: clk.Now(), tracking: true,
		rate: rates{axes.Rad(3), axes.Rad(3)}, accel: axes.Rad(3), brake: axes.Rad(3), least: math.Inf(1), delay: 30 * time.Millisecond,
		can: mount.Can{SetTracking: true, Slew: true, Park: true, TellSide: true}}
}

// run walks the axes on to now.
func (y *toy) run() {
	now := y.clk.Now()
	for y.when.Before(now) {
		dt := 50 * time.Millisecond
		if !y.slewing {
			dt = time.Second
		}
		if left := now.Sub(y.when); left < dt {
			dt = left
		}
		y.walk(dt.Seconds())
		y.when = y.when.Add(dt)
		if !y.restoreAt.IsZero() && !y.when.Before(y.restoreAt) {
			y.tracking, y.restoreAt = true, time.Time{}
		}
		if y.tracking || y.slewing {
			y.least = math.Min(y.least, y.truth.Gap(y.at, y.s).Nearest.Gap)
		}
	}
}

func (y *toy) walk(dt float64) {
	if y.cut {
		return
	}
	if !y.slewing {
		if y.tracking {
			y.at.RA += sky.SiderealRate * dt
		}
		return
	}
	goal := y.at
	if y.goal != nil {
		goal = *y.goal
	}
	a := y.accel
	if y.braking {
		a = y.brake
	}
	done := axisStep(&y.at.RA, &y.v.ra, goal.RA, y.rate.ra, a, dt, y.braking)
	done = axisStep(&y.at.Dec, &y.v.dec, goal.Dec, y.rate.dec, a, dt, y.braking) && done
	if done {
		y.slewing, y.braking, y.goal = false, false, nil
	}
}

// axisStep moves one axis towards its goal, or brakes it.
func axisStep(x, v *float64, goal, top, a, dt float64, brake bool) bool {
	left := goal - *x
	want := 0.0
	if !brake {
		want = math.Copysign(math.Min(top, math.Sqrt(2*a*math.Abs(left))), left)
	}
	*v += math.Max(-a*dt, math.Min(a*dt, want-*v))
	if !brake && math.Abs(left) < math.Abs(*v)*dt+1e-6 && math.Abs(*v) <= 2*a*dt {
		*x, *v = goal, 0
		return true
	}
	*x += *v * dt
	return brake && *v == 0
}

func (y *toy) say() mount.Reading {
	p := y.model.Head.Pose(axes.Angles{RA: y.at.RA, Dec: y.at.Dec})
	lst := y.site.SiderealTime(y.when)
	e := sky.Equatorial{RA: math.Mod(lst-p.HourAngle-y.sync.RA+6*math.Pi, 2*math.Pi), Dec: p.Dec + y.sync.Dec}
	r := mount.Reading{RA: e.RA, Dec: e.Dec, Equinox: mount.OfDate, Place: e, Side: p.Side, SideSaid: true, Sidereal: lst, SiderealSaid: true,
		UTC: y.when, UTCSaid: true, Tracking: mount.Say(y.tracking), Slewing: mount.Say(y.slewing), Parked: mount.No, AtHome: mount.No,
		Lat: y.site.Lat, Lon: y.site.Lon, SiteSaid: true}
	if y.raw != mount.UnknownEquinox {
		r.Equinox = mount.UnknownEquinox
		r.RA, r.Dec = y.raw.FromDate(e, y.when)
		r.Place = sky.Equatorial{RA: r.RA, Dec: r.Dec}
	}
	return r
}

func (y *toy) call(ctx context.Context) error {
	if ctx.Err() != nil {
		return mount.ErrLink
	}
	y.run()
	if y.silent || y.cut {
		y.clk.Spend(ctx, time.Hour)
		return mount.ErrLink
	}
	if !y.clk.Spend(ctx, y.delay) {
		return mount.ErrLink
	}
	return nil
}

func (y *toy) Read(ctx context.Context) (mount.Reading, error) {
	asked := y.clk.Now()
	y.run()
	r := y.say() // as it was when it was asked: as old as can be
	if err := y.call(ctx); err != nil {
		return mount.Reading{}, err
	}
	if y.broken != nil {
		return mount.Reading{}, y.broken
	}
	if y.frozen != nil {
		r = *y.frozen
	}
	r.Asked, r.Got = asked, y.clk.Now()
	if y.change != nil {
		y.change(&r)
	}
	return r, nil
}

func (y *toy) Connect(ctx context.Context) error { return y.call(ctx) }

func (y *toy) SetTracking(ctx context.Context, on bool) error {
	err := y.call(ctx)
	y.run()
	if !on {
		y.offs++
	}
	if err == nil && (on || !y.ignoreStops) {
		y.tracking = on
	}
	return err
}

func (y *toy) Abort(ctx context.Context) error {
	err := y.call(ctx)
	y.run()
	y.aborts++
	if err == nil && !y.ignoreStops {
		if y.slewing {
			y.braking, y.goal = true, nil
		}
		if y.restoreAfter > 0 {
			y.restoreAt = y.clk.Now().Add(y.restoreAfter)
		}
	}
	return err
}

func (y *toy) ZeroRates(ctx context.Context) error { return y.call(ctx) }

func (y *toy) Park(ctx context.Context) error {
	err := y.call(ctx)
	y.begin(axes.Angles{})
	return err
}

func (y *toy) Unpark(ctx context.Context) error { return y.call(ctx) }

func (y *toy) Slew(ctx context.Context, to sky.Equatorial, side *axes.Side) error {
	err := y.call(ctx)
	to = y.raw.ToDate(to.RA, to.Dec, y.clk.Now())
	h := y.site.HourAngle(y.clk.Now(), to)
	s := axes.West
	if h >= 0 {
		s = axes.East
	}
	if side != nil {
		s = *side
	}
	g, e := y.model.Reach(y.model.Head.Angles(axes.Pose{Side: s, HourAngle: h, Dec: to.Dec}))
	if e != nil {
		return mount.ErrValue
	}
	y.begin(g)
	return err
}

// begin starts a slew; the declination axis goes through the pole.
func (y *toy) begin(to axes.Angles) {
	y.run()
	y.goal, y.slewing, y.braking, y.tracking = &to, true, false, true
	y.began = append(y.began, to)
}

func (y *toy) Describe() mount.Description {
	q := mount.OfDate
	if y.raw != mount.UnknownEquinox {
		q = mount.UnknownEquinox
	}
	return mount.Description{Protocol: "toy", Address: "toy://" + y.t.Name(), Equinox: q, Can: y.can}
}

func (y *toy) Close() error { return nil }

// place is the true place of date.
func (y *toy) placeOf(at axes.Angles) sky.Equatorial {
	p := y.model.Head.Pose(at)
	return sky.Equatorial{RA: math.Mod(y.site.SiderealTime(y.clk.Now())-p.HourAngle+6*math.Pi, 2*math.Pi), Dec: p.Dec}
}

// bench is a watch on a toy mount.
type bench struct {
	*toy
	w       *Watch
	records []Record
	hooks   int
}

func confirmed(time.Time) rig.Setup { return rig.Setup{Confirmed: true} }

// newBench starts a watch with the toy's axes at a pose, the reference confirmed, after a few steps. Options are changed by f.
func newBench(t testing.TB, at axes.Angles, f func(*Options, *toy)) *bench {
	t.Helper()
	m := theMap(t)
	clk := NewVirtual(evening)
	b := &bench{toy: newToy(t, m, at, clk)}
	print := m.Gauge().Model.Rig.Fingerprint()
	o := Options{Clock: clk, LockDir: t.TempDir(), Setup: confirmed, Fingerprint: func() (string, error) { return print, nil },
		Record: func(rs []Record) error { b.records = append(b.records, rs...); return nil },
		Hooks:  []Hook{{Name: "relay", Do: func(context.Context, Call) error { b.hooks++; return nil }}}}
	if f != nil {
		f(&o, b.toy)
	}
	w, err := New(context.Background(), m, b.toy, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.Close() })
	b.w = w
	return b
}

// ready is newBench with the reference confirmed.
func ready(t testing.TB, at axes.Angles, f func(*Options, *toy)) *bench {
	t.Helper()
	b := newBench(t, at, func(o *Options, y *toy) {
		o.Blind = AlarmBlind
		if f != nil {
			f(o, y)
		}
	})
	b.steps(3)
	side := axes.West
	if at.Dec < 0 {
		side = axes.East
	}
	if err := b.w.ConfirmReference(side); err != nil {
		t.Fatal(err)
	}
	b.w.o.Blind = StopBlind
	b.steps(2)
	if s := b.w.Status(); len(s.Blind) > 0 {
		t.Fatalf("blind from the start: %v", s.BlindWhy)
	}
	return b
}

func (b *bench) steps(n int) {
	for range n {
		d := b.w.Step(context.Background())
		b.clk.Sleep(context.Background(), d, b.w.wake)
	}
	b.run()
}

// until steps until done, or for d of virtual time; it tells whether done came.
func (b *bench) until(d time.Duration, done func() bool) bool {
	for end := b.clk.Now().Add(d); b.clk.Now().Before(end); {
		if done() {
			return true
		}
		b.steps(1)
	}
	return done()
}

func deg(ra, dec float64) axes.Angles { return axes.Angles{RA: axes.Rad(ra), Dec: axes.Rad(dec)} }

func (b *bench) do(context.Context, Call) error { b.hooks++; return nil }
