package sim

import (
	"context"
	"errors"
	"math"
	"net"
	"net/url"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/mount/indi"
	"legroom/sky"
)

// virtual is a clock on which calls spend their time at once.
type virtual struct{ hand }

func (v *virtual) Spend(ctx context.Context, d time.Duration) bool {
	if end, ok := ctx.Deadline(); ok && d > end.Sub(v.Now()) {
		v.pass(max(0, end.Sub(v.Now())))
		return false
	}
	v.pass(d)
	return true
}

// told is a context with a deadline on a virtual clock.
type told struct {
	context.Context
	end time.Time
}

func (t told) Deadline() (time.Time, bool) { return t.end, true }

// rigged is a mount behind one of its links.
type rigged struct {
	*Mount
	tel     mount.Telescope
	open    func() (mount.Telescope, error) // another client
	now     func() time.Time                // the mount's clock, which goes on only by pass
	pass    func(time.Duration)
	wall    func() time.Time // the clock of the link: its deadlines and delays
	limit   func(t testing.TB, d time.Duration) context.Context
	network bool
}

func serve(t testing.TB, f func(ctx context.Context, l net.Listener) error) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- f(ctx, l) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	return l.Addr().String()
}

// eachLink runs a test over every link to a mount at a pose.
func eachLink(t *testing.T, f func(t *testing.T, r *rigged)) {
	doc := load(t, karoo)
	pose := at(axes.West, -2, -30)
	t.Run("in the process", func(t *testing.T) {
		v := &virtual{hand{at: evening}}
		m, _ := place(t, doc, 7, pose)
		m.now = v.Now
		r := &rigged{Mount: m, now: v.Now, pass: v.pass, wall: v.Now,
			limit: func(_ testing.TB, d time.Duration) context.Context { return told{context.Background(), v.Now().Add(d)} },
			open:  func() (mount.Telescope, error) { return NewLink(m, v, 5*time.Millisecond), nil }}
		r.tel, _ = r.open()
		f(t, r)
	})
	network := func(t *testing.T, begin func(m *Mount, clock *Clock) func() (mount.Telescope, error)) {
		m, h := place(t, doc, 7, pose)
		r := &rigged{Mount: m, now: h.Now, pass: h.pass, wall: time.Now, open: begin(m, NewClock(evening, 1)), network: true,
			limit: func(t testing.TB, d time.Duration) context.Context {
				ctx, cancel := context.WithTimeout(context.Background(), d)
				t.Cleanup(cancel)
				return ctx
			}}
		tel, err := r.open()
		if err != nil {
			t.Fatal(err)
		}
		r.tel = tel
		f(t, r)
	}
	t.Run("alpaca", func(t *testing.T) {
		network(t, func(m *Mount, clock *Clock) func() (mount.Telescope, error) {
			h, err := Alpaca(m, clock)
			if err != nil {
				t.Fatal(err)
			}
			address := serve(t, func(ctx context.Context, l net.Listener) error { return alpaca.Serve(ctx, l, h) })
			return func() (mount.Telescope, error) {
				tel, err := alpaca.Open(context.Background(), "alpaca://"+address+"/0")
				if err == nil {
					t.Cleanup(func() { tel.Close() })
				}
				return tel, err
			}
		})
	})
	t.Run("indi", func(t *testing.T) {
		network(t, func(m *Mount, clock *Clock) func() (mount.Telescope, error) {
			address := serve(t, func(ctx context.Context, l net.Listener) error { return ServeINDI(ctx, m, clock, l) })
			return func() (mount.Telescope, error) {
				tel, err := indi.Open(context.Background(), "indi://"+address+"/"+url.PathEscape(Name))
				if err == nil {
					t.Cleanup(func() { tel.Close() })
				}
				return tel, err
			}
		})
	})
}

func (r *rigged) read(t testing.TB) mount.Reading {
	t.Helper()
	s, err := r.tel.Read(r.limit(t, 5*time.Second))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// warm reads until the clocks are seen to run.
func (r *rigged) warm(t testing.TB) mount.Reading {
	t.Helper()
	for range 10 {
		r.read(t)
		r.pass(5 * time.Millisecond)
	}
	return r.read(t)
}

func (r *rigged) fault(t testing.TB, f Faults) {
	t.Helper()
	if err := r.SetFaults(f); err != nil {
		t.Fatal(err)
	}
}

// hourAngle is what a reading says of the RA axis, by the mount's own sidereal time.
func hourAngle(r mount.Reading) float64 { return axes.Wrap(r.Sidereal - r.Place.RA) }

// What is read is where the mount is, and commands do what they say.
func TestLinks(t *testing.T) {
	eachLink(t, func(t *testing.T, r *rigged) {
		s := r.warm(t)
		p := r.model.Head.Pose(r.State().True)
		if s.Side != axes.West || !s.SideSaid || math.Abs(hourAngle(s)-p.HourAngle) > 1e-4 || math.Abs(s.Place.Dec-p.Dec) > 1e-6 {
			t.Errorf("read %+v, the axes are at %+v", s, p)
		}
		if s.Tracking != mount.Yes || s.Slewing != mount.No || s.Parked != mount.No || s.Equinox != mount.OfDate {
			t.Errorf("read %+v", s)
		}
		site, lst := r.site, r.site.SiderealTime(r.now())
		if !s.SiderealSaid || math.Abs(axes.Wrap(s.Sidereal-lst)) > 1e-3 || !s.UTCSaid || s.UTC.Sub(r.now()).Abs() > 5*time.Second ||
			!s.SiteSaid || math.Abs(s.Lat-site.Lat) > 1e-9 || math.Abs(s.Lon-site.Lon) > 1e-9 {
			t.Errorf("read %+v; sidereal time %v, site %+v", s, lst, site)
		}
		if !s.RatesSaid || math.Abs(s.RARate) > 1e-9 || s.DecRate != 0 {
			t.Errorf("rates %v, %v, %v", s.RARate, s.DecRate, s.RatesSaid)
		}
		d := r.tel.Describe()
		if !d.Can.SetTracking || !d.Can.Slew || !d.Can.Park || !d.Can.Unpark || !d.Can.TellSide || !d.Can.SetSide || d.Can.MoveAxis != [2]bool{true, true} {
			t.Errorf("described as %+v", d)
		}

		ctx := r.limit(t, 10*time.Second)
		to := sky.Equatorial{RA: s.Place.RA, Dec: s.Place.Dec + axes.Rad(2)}
		if err := r.tel.Slew(ctx, to, nil); err != nil {
			t.Fatal(err)
		}
		r.pass(300 * time.Millisecond)
		if s := r.read(t); s.Slewing != mount.Yes || !r.State().Slewing {
			t.Errorf("not slewing: %+v", s)
		}
		for _, f := range []func(context.Context) error{r.tel.Abort, r.tel.ZeroRates} {
			if err := f(ctx); err != nil {
				t.Error(err)
			}
		}
		if err := r.tel.SetTracking(ctx, false); err != nil {
			t.Error(err)
		}
		r.pass(1100 * time.Millisecond)
		if s, w := r.read(t), r.State(); s.Slewing != mount.No || s.Tracking != mount.No || w.Rates != [2]float64{} || w.Slewing || w.Tracking {
			t.Errorf("after a stop: %+v; truly %+v", s, w)
		}
		if err := r.tel.SetTracking(ctx, true); err != nil {
			t.Error(err)
		}
		if s := r.read(t); s.Tracking != mount.Yes {
			t.Errorf("tracking %v", s.Tracking)
		}
		if err := r.tel.Park(ctx); err != nil {
			t.Error(err)
		}
		if s := r.read(t); s.Slewing != mount.Yes || s.Parked != mount.No {
			t.Errorf("on its way to the park place: %+v", s)
		}
		r.pass(5 * time.Minute)
		if s := r.read(t); s.Slewing != mount.No || s.Parked != mount.Yes || s.Tracking != mount.No {
			t.Errorf("parked: %+v", s)
		}
		if err := r.tel.Slew(r.limit(t, 5*time.Second), to, nil); !errors.Is(err, mount.ErrParked) {
			t.Errorf("a slew of a parked mount: %v", err)
		}
		if err := r.tel.Unpark(r.limit(t, 5*time.Second)); err != nil {
			t.Error(err)
		}
		if s := r.read(t); s.Parked != mount.No {
			t.Errorf("parked %v", s.Parked)
		}
	})
}

// Faults of what is said are seen by every client.
func TestFaultsOfWhatIsSaid(t *testing.T) {
	eachLink(t, func(t *testing.T, r *rigged) {
		good := r.warm(t)
		r.fault(t, Faults{WrongSide: true})
		if s := r.read(t); s.Side != axes.East || !s.SideSaid || sky.Separation(s.Place, good.Place) > 1e-6 {
			t.Errorf("wrong side: %+v", s)
		}
		r.fault(t, Faults{UnknownSide: true})
		if s := r.read(t); s.SideSaid || len(s.Missing) == 0 {
			t.Errorf("unknown side: %+v", s)
		}
		r.fault(t, Faults{UnknownTracking: true})
		if s := r.read(t); s.Tracking != mount.Unsaid {
			t.Errorf("unknown tracking: %+v", s)
		}
		r.fault(t, Faults{SideByHourAngle: true})
		if s := r.read(t); s.Side != axes.West {
			t.Errorf("side by hour angle, before the meridian: %+v", s)
		}
		r.move(axes.Rad(45)) // an hour past the meridian, on the same side
		if s := r.read(t); s.Side != axes.East || r.trueSide() != axes.West || hourAngle(s) < 0 {
			t.Errorf("side by hour angle, past the meridian: %+v", s)
		}
		r.move(axes.Rad(-45))

		r.fault(t, Faults{ClockS: 3600})
		s := r.read(t)
		if d := s.UTC.Sub(r.now()); (d-time.Hour).Abs() > 5*time.Second || math.Abs(axes.Deg(axes.Wrap(s.Sidereal-good.Sidereal))-15.04) > 0.1 {
			t.Errorf("a clock that is an hour fast is %v fast, its sidereal time %.3f°", d, axes.Deg(axes.Wrap(s.Sidereal-good.Sidereal)))
		}
		if d := axes.Deg(math.Abs(hourAngle(s) - hourAngle(good))); d > 0.1 {
			t.Errorf("the axes seem to have turned by %.3f°", d)
		}
		r.fault(t, Faults{LongitudeDeg: 5})
		if s := r.warm(t); r.network && !s.SiteSaid || math.Abs(axes.Deg(axes.Wrap(s.Lon-r.site.Lon))-5) > 1e-6 ||
			math.Abs(axes.Deg(axes.Wrap(s.Sidereal-good.Sidereal))-5) > 0.1 {
			t.Errorf("wrong longitude: %+v after %+v", s, good)
		}
		r.fault(t, Faults{})
		if d := axes.Deg(sky.Separation(r.read(t).Place, good.Place)); d > 0.001 {
			t.Errorf("with the faults off it is %.4f° off", d)
		}

		r.fault(t, Faults{Frozen: true})
		a := r.read(t)
		r.move(axes.Rad(3))
		r.pass(100 * time.Millisecond)
		b := r.read(t)
		if !a.UTC.Equal(b.UTC) || a.Place != b.Place || a.Sidereal != b.Sidereal || !b.Got.After(a.Got) {
			t.Errorf("frozen: %+v, then %+v", a, b)
		}
		r.fault(t, Faults{})
		if c := r.read(t); c.Place == b.Place {
			t.Errorf("thawed: %+v", c)
		}

		// A clutch that slips is not seen.
		before, w := r.read(t), r.State()
		if err := r.Slip(axes.Angles{Dec: axes.Rad(4)}); err != nil {
			t.Fatal(err)
		}
		if s := r.read(t); sky.Separation(s.Place, before.Place) > 1e-6 || math.Abs(axes.Deg(r.State().True.Dec-w.True.Dec)-4) > 1e-9 {
			t.Errorf("a clutch slipped from %+v to %+v", before, s)
		}
	})
}

// move puts the RA axis elsewhere, as if it had gone there.
func (m *Mount) move(by float64) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	m.d.axes[0].at += by
}

// Faults of what is done are seen in what is read afterwards.
func TestFaultsOfWhatIsDone(t *testing.T) {
	eachLink(t, func(t *testing.T, r *rigged) {
		r.read(t)
		r.fault(t, Faults{IgnoreStop: true})
		s := r.read(t)
		if err := r.tel.Slew(r.limit(t, 5*time.Second), sky.Equatorial{RA: s.Place.RA, Dec: s.Place.Dec + axes.Rad(10)}, nil); err != nil {
			t.Fatal(err)
		}
		r.pass(100 * time.Millisecond)
		for _, f := range []func(context.Context) error{r.tel.Abort, r.tel.ZeroRates,
			func(ctx context.Context) error { return r.tel.SetTracking(ctx, false) }} {
			if err := f(r.limit(t, 5*time.Second)); err != nil {
				t.Errorf("a stop that is ignored is accepted: %v", err)
			}
		}
		if s, w := r.read(t), r.State(); s.Slewing != mount.Yes || s.Tracking != mount.Yes || !w.Slewing || !w.Tracking {
			t.Errorf("stops are ignored: %+v, truly %+v", s, w)
		}

		r.fault(t, Faults{})
		stop := func() {
			t.Helper()
			if err := r.tel.Abort(r.limit(t, 5*time.Second)); err != nil {
				t.Error(err)
			}
			if err := r.tel.SetTracking(r.limit(t, 5*time.Second), false); err != nil {
				t.Error(err)
			}
		}
		r.fault(t, Faults{SlowStopS: 0.5})
		stop()
		if s := r.read(t); s.Tracking != mount.Yes || !r.State().Slewing {
			t.Errorf("a slow stop is done at once: %+v", s)
		}
		r.pass(550 * time.Millisecond)
		if s := r.read(t); s.Tracking != mount.No || s.Slewing != mount.No || r.State().Slewing {
			t.Errorf("a slow stop is not done: %+v", s)
		}

		r.fault(t, Faults{RestoreTrackingS: 0.5})
		stop()
		if s := r.read(t); s.Tracking != mount.No {
			t.Errorf("tracking right after a stop: %+v", s)
		}
		r.pass(550 * time.Millisecond)
		if s := r.read(t); s.Tracking != mount.Yes {
			t.Errorf("tracking is not restored: %+v", s)
		}
		// Tracking off alone does not bring it back.
		if err := r.tel.SetTracking(r.limit(t, 5*time.Second), false); err != nil {
			t.Error(err)
		}
		r.pass(550 * time.Millisecond)
		if s := r.read(t); s.Tracking != mount.No {
			t.Errorf("tracking is restored again: %+v", s)
		}
	})
}

// Faults of the link end in time and by their kind, and are over when they are switched off.
func TestFaultsOfTheLink(t *testing.T) {
	t.Parallel()
	eachLink(t, func(t *testing.T, r *rigged) {
		r.read(t)
		good := func() {
			t.Helper()
			r.fault(t, Faults{})
			var err error
			for range 4 { // a client may tell of a lost connection once more
				if _, err = r.tel.Read(r.limit(t, 5*time.Second)); err == nil {
					return
				}
			}
			t.Errorf("with the faults off: %v", err)
		}
		r.fault(t, Faults{DelayS: 0.2})
		from := r.wall()
		s, err := r.tel.Read(r.limit(t, 20*time.Second))
		if err != nil || s.Got.Sub(s.Asked) < 200*time.Millisecond || r.wall().Sub(from) < 200*time.Millisecond {
			t.Errorf("late by 200 ms: %v, %v", s.Got.Sub(s.Asked), err)
		}
		if _, err := r.tel.Read(r.limit(t, 50*time.Millisecond)); !errors.Is(err, mount.ErrLink) {
			t.Errorf("later than the deadline: %v", err)
		}
		good()

		for name, f := range map[string]Faults{"loss": {Loss: 1}, "half open": {HalfOpen: true}} {
			r.fault(t, f)
			from := r.wall()
			if _, err := r.tel.Read(r.limit(t, 300*time.Millisecond)); !errors.Is(err, mount.ErrLink) {
				t.Errorf("%s: %v", name, err)
			}
			if d := r.wall().Sub(from); d > 2*time.Second {
				t.Errorf("%s: took %v", name, d)
			}
			if err := r.tel.SetTracking(r.limit(t, 300*time.Millisecond), true); !errors.Is(err, mount.ErrLink) {
				t.Errorf("%s, a command: %v", name, err)
			}
			good()
		}
		for range 8 { // of several kinds
			r.fault(t, Faults{Garbage: true})
			if _, err := r.tel.Read(r.limit(t, 300*time.Millisecond)); !errors.Is(err, mount.ErrAnswer) && !errors.Is(err, mount.ErrLink) {
				t.Errorf("garbage: %v", err)
			}
			good()
		}
		// Some of the calls are lost, some of those after they were carried out.
		if r.network {
			return
		}
		r.fault(t, Faults{Loss: 0.3})
		lost, done := 0, 0
		for k := range 400 {
			on := k%2 == 0
			if err := r.tel.SetTracking(r.limit(t, time.Second), on); err != nil {
				lost++
				if r.State().Tracking == on {
					done++
				}
			}
		}
		if lost < 80 || lost > 160 || done < 20 || done > lost-20 {
			t.Errorf("%d of 400 calls are lost, %d of them after they were carried out", lost, done)
		}
	})
}

func TestFaultsAreChecked(t *testing.T) {
	m, _ := place(t, load(t, karoo), 1, nil)
	for text, f := range map[string]Faults{
		"loss 2: give a number from 0 to 1":       {Loss: 2},
		"delay_s NaN":                             {DelayS: math.NaN()},
		"longitude_deg -400":                      {LongitudeDeg: -400},
		"one at a time":                           {WrongSide: true, UnknownSide: true},
		"slow_stop_s -1: give a number from 0 to": {SlowStopS: -1},
	} {
		if err := m.SetFaults(f); err == nil || !strings.Contains(err.Error(), text) {
			t.Errorf("%+v: %v", f, err)
		}
	}
	if m.Faults() != (Faults{}) {
		t.Errorf("faults that were refused are on: %+v", m.Faults())
	}
}
