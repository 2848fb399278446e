package watch

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/sky"
)

// A run past the meridian ends on the watch's stop, not later than the truth, and not before what the formula takes.
func TestStopsATrackInTime(t *testing.T) {
	b := ready(t, deg(95, 45), nil) // 20 minutes past the meridian on side west
	s := b.w.Status()
	if s.LeftS == nil || *s.LeftS < 20*60 || *s.LeftS > 40*60 {
		t.Fatalf("time left %v: the limits say a stop 52 min past the meridian, which is about half an hour away", s.LeftS)
	}
	due := b.clk.Now().Add(time.Duration(*s.LeftS * float64(time.Second)))
	if !b.until(time.Hour, func() bool { return b.w.Status().Rung == Stopping }) {
		t.Fatal("no stop")
	}
	if late := b.clk.Now().Sub(due); late < -3*time.Second || late > 30*time.Second {
		t.Errorf("the stop came %v after the time left said", late)
	}
	if !b.until(10*time.Second, func() bool { return b.w.Status().Rung == Stopped }) {
		t.Fatalf("not seen to stand still: %+v", b.w.Status())
	}
	margin := b.w.p.g.MarginMM
	tol := b.w.p.g.MaxAllowance()
	if b.least < margin {
		t.Errorf("true gap down to %.2f mm, margin %v", b.least, margin)
	}
	if b.least > margin+tol+b.w.p.trackZone(trackRates)+0.1 {
		t.Errorf("stopped at %.2f mm, which is early: margin %v, tolerance %.1f, zone %.2f", b.least, margin, tol, b.w.p.trackZone(trackRates))
	}
	st := b.w.Status()
	if st.Counts.Stops != 1 || st.Counts.Warnings != 0 && st.Counts.Warnings != 1 || b.tracking || b.hooks != 0 {
		t.Errorf("counts %+v, tracking %v, hooks %d", st.Counts, b.tracking, b.hooks)
	}
	if st.Safe(b.clk.Now(), time.Second) {
		t.Error("safe though stopped at the limit")
	}
}

// The rates that a driver tells count in the time left: it is never later than the truth at them, nor much earlier, and what stopping takes
// counts them too. Guiding to and fro changes nothing.
func TestTimeLeftAtToldRates(t *testing.T) {
	for _, c := range []struct {
		name    string
		ra, dec float64 // of the axes among the stars, of the sidereal rate
		from    float64
		early   time.Duration // at most
		guiding bool
	}{
		{"RA axis faster by half", 0.5, 0, 85, 40 * time.Second, false},
		{"RA axis twice as fast", 1, 0, 85, 40 * time.Second, false},
		{"as the Moon", -0.035, 0, 95, 3 * time.Minute, false},
		{"declination axis up", 0, 0.3, 85, 5 * time.Minute, false},
		{"declination axis down", 0, -0.5, 85, 5 * time.Minute, false},
		{"both", 0.3, 0.3, 85, 5 * time.Minute, false},
		{"guiding", 0, 0, 95, 40 * time.Second, true},
	} {
		b := ready(t, deg(c.from, 45), nil)
		last, i := b.clk.Now(), 0
		b.change = func(r *mount.Reading) {
			dt := b.clk.Now().Sub(last).Seconds()
			last = b.clk.Now()
			i++
			if b.tracking {
				b.at.RA += c.ra * sky.SiderealRate * dt
				b.at.Dec += c.dec * sky.SiderealRate * dt
			}
			if b.tracking && c.guiding {
				b.at.RA += float64(1-2*(i%2)) * 0.4 * sky.SiderealRate
			}
			r.RARate, r.DecRate, r.RatesSaid = -c.ra*sky.SiderealRate, -c.dec*sky.SiderealRate, !c.guiding // on side west the axis goes from the pole
		}
		b.steps(5)
		s := b.w.Status()
		if s.LeftS == nil {
			t.Fatalf("%s: no time left: no end %v", c.name, s.NoEnd)
		}
		due := b.clk.Now().Add(time.Duration(*s.LeftS * float64(time.Second)))
		for b.w.Status().Counts.Stops == 0 { // a minute at a time, so that what is told on the way is tried too
			if now := b.clk.Now(); now.Sub(due) > 6*time.Hour {
				t.Fatalf("%s: no stop", c.name)
			}
			if b.until(time.Minute, func() bool { return b.w.Status().Counts.Stops > 0 }) {
				break
			}
			if s := b.w.Status(); s.LeftS != nil {
				if next := b.clk.Now().Add(time.Duration(*s.LeftS * float64(time.Second))); next.Before(due.Add(-3 * time.Second)) {
					t.Errorf("%s: %v less than had been told", c.name, due.Sub(next))
					due = next
				}
			}
		}
		if late := b.clk.Now().Sub(due); late < -3*time.Second || late > c.early {
			t.Errorf("%s: the stop came %v after the time left said (%s)", c.name, late.Round(time.Second), b.w.Status().Why)
		}
		if m := b.w.p.g.MarginMM; b.least < m {
			t.Errorf("%s: true gap down to %.2f mm, margin %v", c.name, b.least, m)
		}
	}
}

// The closing speed against its closed form: a point at ρ from an axis moves at ρ·ω.
func TestClosingSpeed(t *testing.T) {
	m := theMap(t).Gauge().Model
	index := map[string]int{}
	for i, p := range m.Parts {
		index[p.Name] = i
	}
	camera, pier, arm := index["camera"], index["pier"], index["declination housing"]
	// The camera ends 600 mm behind the saddle; its far corner is at 180+100+45 mm out, 45 mm to the side. [calc]
	ρa := math.Hypot(600, 45) // from the declination axis, in the tube's y and z
	ρp := math.Hypot(math.Hypot(600, 45), 280+45)
	ω := axes.Rad(4)
	within := func(name string, got, lo float64) {
		t.Helper()
		if got < lo || got > lo*1.13 { // an outer capsule rounds the ends off: up to a radius longer
			t.Errorf("%s: %.2f mm/s, at least %.2f and little more", name, got, lo)
		}
	}
	within("camera by declination", closing(m, arm, camera, rates{ω, ω}), ρa*ω)
	within("camera by both", closing(m, pier, camera, rates{ω, ω}), math.Hypot(600, 0)*ω*2)
	within("camera by RA", closing(m, pier, camera, rates{ω, 0}), ρp*ω*0.95)
	if v := closing(m, pier, arm, rates{0, ω}); v != 0 {
		t.Errorf("the declination axis does not move the arm: %v", v)
	}
	// DESIGN 11: at 4°/s a camera 0.9 m out moves 63 mm/s.
	if v := 900 * ω; math.Abs(v-63) > 0.2 {
		t.Errorf("%v", v)
	}
	// Even braking from v to nothing in t takes v·t/2; before that v·T. [calc]
	if got := stopping(63, 2*time.Second, time.Second); got != 63*2+31.5 {
		t.Errorf("stopping takes %v mm", got)
	}
}

// The highest protected rate is the one at which a slew that begins unseen eats up the margin exactly.
func TestProtectedRate(t *testing.T) {
	g := theMap(t).Gauge()
	o := Options{}.Defaults()
	p := Protects(g, o)
	v := fastest(g.Model, rates{axes.Rad(p.RADegPerS), axes.Rad(p.DecDegPerS)})
	if take := v * (1 + 1 + 1 + 1); math.Abs(take-g.MarginMM) > 1e-9 { // period, reading, command, half of 2 s braking
		t.Errorf("at the protected rate stopping takes %v mm of the margin's %v", take, g.MarginMM)
	}
	if p.All || p.Share >= 1 {
		t.Errorf("3°/s with a spread cannot be protected with these deadlines: %+v", p)
	}
	o.Period, o.ReadDeadline, o.CommandDeadline, o.BrakeTime = 100*time.Millisecond, 50*time.Millisecond, 50*time.Millisecond, 100*time.Millisecond
	if q := Protects(g, o); !q.All {
		t.Errorf("with 0.25 s in all 3.6°/s take %.1f mm: %+v", q.ClosingMMS*0.25, q)
	}
}

// What is said to be protected is never more than what is.
func TestProtectedRateIsSaidRoundedDown(t *testing.T) {
	said := Protected{RADegPerS: 0.2089, DecDegPerS: 0.1999}.words()
	if want := "a slew that is not proven beforehand is protected up to 0.20°/s (RA) and 0.19°/s (declination); this mount slews faster"; said != want {
		t.Errorf("%s\nwant %s", said, want)
	}
}

// Each guard of New: a setting that is refused, and its neighbour that is not.
func TestRefusals(t *testing.T) {
	m := theMap(t)
	for name, c := range map[string]struct{ bad, good func(*Options, *toy) }{
		"tracking cannot be switched": {func(_ *Options, y *toy) { y.can.SetTracking = false },
			func(o *Options, y *toy) { y.can.SetTracking, o.TrySwitch = false, true }},
		"tracking goes on": {func(o *Options, y *toy) { y.can.SetTracking, o.TrySwitch, y.ignoreStops = false, true, true },
			func(o *Options, y *toy) { y.can.SetTracking, o.TrySwitch = false, true }},
		"tracking not said": {func(o *Options, y *toy) {
			y.can.SetTracking, o.TrySwitch, y.ignoreStops = false, true, true
			y.change = func(r *mount.Reading) { r.Tracking = mount.Unsaid }
		}, func(o *Options, y *toy) { y.can.SetTracking, o.TrySwitch = false, true }},
		"set-up": {func(o *Options, _ *toy) { o.Setup = func(time.Time) rig.Setup { return rig.Setup{Reason: "x"} } }, nil},
		"stale":  {func(o *Options, _ *toy) { o.Fingerprint = func() (string, error) { return "other", nil } }, nil},
		"power":  {func(o *Options, _ *toy) { o.Hooks[0].CutsPower = true }, func(o *Options, _ *toy) { o.Hooks[0].CutsPower, o.AxesHold = true, true }},
		"period": {func(o *Options, _ *toy) { o.Period = time.Minute }, func(o *Options, _ *toy) { o.Period = 2 * time.Second }},
		"angle":  {func(o *Options, _ *toy) { o.SunAngleDeg = math.NaN() }, func(o *Options, _ *toy) { o.SunAngleDeg = 45 }},
	} {
		try := func(f func(*Options, *toy)) error {
			clk := NewVirtual(evening)
			y := newToy(t, m, deg(80, 45), clk)
			print := m.Gauge().Model.Rig.Fingerprint()
			o := Options{Clock: clk, LockDir: t.TempDir(), Setup: confirmed, Fingerprint: func() (string, error) { return print, nil }, Hooks: []Hook{{Name: "h", Do: nil}}}
			b := &bench{}
			o.Hooks[0].Do = b.do
			if f != nil {
				f(&o, y)
			}
			w, err := New(t.Context(), m, y, o)
			if err == nil {
				w.Close()
			}
			return err
		}
		if err := try(c.bad); err == nil {
			t.Errorf("%s: not refused", name)
		}
		if err := try(c.good); err != nil {
			t.Errorf("%s: refused though right: %v", name, err)
		}
	}
}

// One watch a mount.
func TestOneWatchAMount(t *testing.T) {
	dir := t.TempDir()
	f, err := lockMount(dir, "alpaca://127.0.0.1:1/0")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := lockMount(dir, "ALPACA://127.0.0.1:1/0"); err == nil {
		t.Error("two watches of one mount")
	}
	if g, err := lockMount(dir, "alpaca://127.0.0.1:1/1"); err != nil {
		t.Error(err)
	} else {
		g.Close()
	}
	f.Close()
	if f, err = lockMount(dir, "alpaca://127.0.0.1:1/0"); err != nil {
		t.Errorf("still locked: %v", err)
	}
	f.Close()
}

// The place that the toy says and what the watch makes of it agree with the axes.
func TestToyAgrees(t *testing.T) {
	for _, at := range []axes.Angles{deg(80, 45), deg(-70, -60), deg(100, 120), deg(-100, -20)} {
		b := ready(t, at, nil)
		f := b.w.now.res.fixes[0]
		if d := math.Hypot(f.at.RA-b.at.RA, f.at.Dec-b.at.Dec); d > 3*sky.SiderealRate {
			t.Errorf("%v: seen at %v", b.at, f.at)
		}
		if b.w.now.r.Tracking != mount.Yes || b.w.now.motion != Tracks {
			t.Errorf("%v", b.w.now.motion)
		}
	}
}

// The zone is DESIGN 11's formula, term by term: margin + closing speed × (age + call deadline + period) + braking distance.
func TestZone(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	p := b.w.p
	p.o.ReadDeadline, p.o.CommandDeadline, p.o.BrakeTime = 400*time.Millisecond, 300*time.Millisecond, 1600*time.Millisecond
	r := rates{0.02, 0.03}
	l := p.see(deg(60, 45), Moves, r, heading{}, 100*time.Millisecond, 250*time.Millisecond)
	// 0.1 s old, 0.7 s of calls, 0.25 s to the next look, and half of the 1.6 s of braking. [calc]
	if want := p.g.MarginMM + fastest(p.g.Model, r)*(0.1+0.7+0.25+0.8); math.Abs(l.zone-want) > 1e-9 || l.due {
		t.Errorf("zone %v mm, want %v", l.zone, want)
	}
	// With its own closing speed the deciding pair stands at the edge: a little more time, and a stop is due, when no pose around is free.
	at := deg(102, 45)
	l = p.see(at, Moves, r, heading{}, 0, 0)
	edge := (l.lower - p.g.MarginMM) / l.v
	for _, more := range []float64{-0.01, 0.01} {
		age := time.Duration((edge - 0.7 - 0.8 + more) * float64(time.Second))
		k := look{at: at, gap: p.g.Gap(at, p.s)}
		if clear := p.pairsClear(&k, r, age+700*time.Millisecond); clear != (more < 0) {
			t.Errorf("%v s from the edge: clear %v", more, clear)
		}
	}
	// Standing still, the margin alone decides.
	if l := p.see(at, Still, rates{}, heading{}, time.Hour, time.Hour); l.due || l.zone != p.g.MarginMM {
		t.Errorf("%+v", l)
	}
	if l := p.see(deg(104.5, 45), Still, rates{}, heading{}, 0, 0); !l.due {
		t.Errorf("less than the margin, standing: %+v", l)
	}
	// What is no number is not free.
	if l := p.see(axes.Angles{RA: math.NaN()}, Moves, r, heading{}, 0, 0); !l.due {
		t.Errorf("%+v", l)
	}
}

// The tightest pair, with what it needs by its own closing speed, against all pairs one by one.
func TestPairsOneByOne(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	rnd := rand.New(rand.NewPCG(seed, 1))
	t.Logf("seed %d", seed)
	o := Options{}.Defaults()
	p, err := newPredictor(theMap(t), &o)
	if err != nil {
		t.Fatal(err)
	}
	others := 0
	for range 2000 {
		at := axes.Angles{RA: 2 * math.Pi * (rnd.Float64() - 0.5), Dec: 2 * math.Pi * (rnd.Float64() - 0.5)}
		r := rates{0.1 * rnd.Float64(), 0.1 * rnd.Float64()}
		exposed := time.Duration(rnd.IntN(5e9))
		want := math.Inf(1)
		for _, d := range p.g.Nearest(at, p.g.Pairs()) {
			want = math.Min(want, d.Lower-d.Allowance-p.g.MarginMM-stopping(closing(p.g.Model, d.A, d.B, r), exposed, o.BrakeTime))
		}
		l := look{at: at, gap: p.g.Gap(at, p.s), zone: p.g.MarginMM + stopping(fastest(p.g.Model, r), exposed, o.BrakeTime)}
		whole := l.gap
		if clear := p.pairsClear(&l, r, exposed); clear != (want > 0) || math.Abs(l.lower-l.zone-want) > 1e-2 {
			t.Fatalf("%v at %v: %v, %.4f mm, one by one %.4f mm", at, r, clear, l.lower-l.zone, want)
		}
		// What is told of the room is of the whole rig, whichever pair decides.
		if l.gap != whole || l.gap.Lower > l.lower || (l.gap.Lower > l.zoneOfAll()) != (l.lower > l.zone) {
			t.Fatalf("%v at %v: %+v of %+v", at, r, l, whole)
		}
		if l.pair != l.gap.LowerPair {
			others++
		}
	}
	if others < 100 {
		t.Errorf("in %d of 2000 poses another pair decides than the nearest: too few to tell", others)
	}
}

// A length or an angle that nobody measured is refused; a mass moves no gap.
func TestRefusesUnmeasured(t *testing.T) {
	m := theMap(t)
	r := m.Gauge().Model.Rig
	for unit, refused := range map[string]bool{"mm": true, "deg": true, "kg": false} {
		was, print := r.Quantities, r.Fingerprint()
		r.Quantities = append(slices.Clone(was), &rig.Quantity{Value: 7, Unit: unit, Source: rig.Unmeasured, Path: "tube.parts[0]." + unit})
		clk := NewVirtual(evening)
		w, err := New(t.Context(), m, newToy(t, m, deg(80, 45), clk),
			Options{Clock: clk, LockDir: t.TempDir(), Setup: confirmed, Fingerprint: func() (string, error) { return print, nil }})
		r.Quantities = was
		if err == nil {
			w.Close()
		}
		if refused && (!errors.Is(err, ErrRefused) || !strings.Contains(err.Error(), "tube.parts[0]."+unit+" was never measured")) || !refused && err != nil {
			t.Errorf("a quantity in %s that nobody measured: %v", unit, err)
		}
	}
}
