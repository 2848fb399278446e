package sky

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
)

func seeded(t *testing.T) *rand.Rand {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	return rand.New(rand.NewPCG(seed, 0))
}

// brute lists the windows by looking at every step.
func brute(holds func(time.Time) bool, from, to time.Time, step time.Duration) []Window {
	var out []Window
	var start time.Time
	was := false
	for t := from; t.Before(to); t = t.Add(step) {
		if now := holds(t); now != was {
			if was {
				out = append(out, Window{start, t})
			}
			start, was = t, now
		}
	}
	if was {
		out = append(out, Window{start, to})
	}
	return out
}

// same holds got to want: they differ nowhere for longer than Resolution and twice the slack of want's own steps, and every
// end of a window that want's steps cannot miss is one of want's, to the slack.
func same(t *testing.T, what string, got, want []Window, slack time.Duration) bool {
	t.Helper()
	ends := func(ws []Window) []time.Time {
		var out []time.Time
		for _, w := range ws {
			out = append(out, w.From, w.To)
		}
		return out
	}
	g, w := ends(got), ends(want)
	for i, a := range g {
		if got[i/2].Length() < 2*slack {
			continue // want's steps may have missed it
		}
		if !slices.ContainsFunc(w, func(b time.Time) bool { return a.Sub(b).Abs() <= slack }) {
			t.Errorf("%s: nothing begins or ends at %v:\n%v\n%v", what, a, got, want)
			return false
		}
	}
	all := append(slices.Clone(g), w...)
	slices.SortFunc(all, time.Time.Compare)
	inside := func(ws []Window, at time.Time) bool {
		return slices.ContainsFunc(ws, func(w Window) bool { return !at.Before(w.From) && at.Before(w.To) })
	}
	for i := 1; i < len(all); i++ {
		a, b := all[i-1], all[i]
		if m := a.Add(b.Sub(a) / 2); b.Sub(a) > Resolution+2*slack && inside(got, m) != inside(want, m) {
			t.Errorf("%s: they differ from %v to %v:\n%v\n%v", what, a, b, got, want)
			return false
		}
	}
	return true
}

var start2026 = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

// Sums of sines with a known greatest slope, many of whose windows last seconds only, against every tenth of a second.
func TestWindowsMissNothing(t *testing.T) {
	rnd := seeded(t)
	short := 0
	for range 60 {
		type wave struct{ a, w, p float64 }
		waves := make([]wave, 1+rnd.IntN(5))
		rate := 0.0
		for i := range waves {
			waves[i] = wave{rnd.Float64(), 2 * math.Pi / (60 + 3000*rnd.Float64()), 7 * rnd.Float64()}
			rate += waves[i].a * waves[i].w
		}
		f := func(at time.Time) float64 {
			sum, x := 0.0, at.Sub(start2026).Seconds()
			for _, v := range waves {
				sum += v.a * math.Sin(v.w*x+v.p)
			}
			return sum
		}
		end := start2026.Add(time.Hour)
		// A level close to the highest value that is met makes short windows.
		most := math.Inf(-1)
		for at := start2026; at.Before(end); at = at.Add(time.Second) {
			most = math.Max(most, f(at))
		}
		level := most - math.Pow(10, -5*rnd.Float64())
		want := brute(func(at time.Time) bool { return f(at) >= level }, start2026, end, 100*time.Millisecond)
		for _, w := range want {
			if w.Length() < 20*time.Second {
				short++
			}
		}
		if !same(t, "waves", Windows(AtLeast(f, level, rate), start2026, end), want, 150*time.Millisecond) {
			return
		}
		same(t, "waves upside down", Windows(Not(AtLeast(f, level, rate)), start2026, end),
			brute(func(at time.Time) bool { return f(at) < level }, start2026, end, 100*time.Millisecond), 150*time.Millisecond)
	}
	if t.Logf("%d windows shorter than 20 s", short); short < 5 {
		t.Error("the levels make no short windows: the test tests nothing")
	}
}

// A star that culminates a hair above the level: the window's length is a closed form, cos H = (sin h − sinφ sinδ)/(cosφ cosδ).
func TestGrazingCulmination(t *testing.T) {
	s := place(36.9, -3)
	k := s.Track(start2026, Equatorial{2, axes.Rad(-20)})
	top := k.Transits(start2026, start2026.Add(24*time.Hour))[0]
	for _, length := range []float64{1.5, 3, 10, 60, 600, 7200} {
		level := math.Asin(math.Sin(s.Lat)*math.Sin(k.Place.Dec) + math.Cos(s.Lat)*math.Cos(k.Place.Dec)*math.Cos(SiderealRate*length/2))
		ws := Windows(k.Above(level), start2026, start2026.Add(24*time.Hour))
		if len(ws) != 1 {
			t.Fatalf("%g s: %v", length, ws)
		}
		// Near the top the altitude itself is known to 1e-15: the shorter, the worse the ends.
		near(t, "length, s", ws[0].Length().Seconds(), length, 0.03)
		near(t, "middle, s", ws[0].From.Add(ws[0].Length()/2).Sub(top).Seconds(), 0, 0.03)
	}
}

func TestNeverUpNeverSetsUnderThePole(t *testing.T) {
	s, day := place(51, 0), start2026.Add(24*time.Hour)
	whole := Window{start2026, day}
	for _, c := range []struct {
		what  string
		dec   float64
		level float64
		want  int // 0 never, 1 always, 2 crosses
	}{
		{"never up", -60, 0, 0},
		{"never sets", 60, 0, 1},
		{"under the pole, above 20°", 60, 20, 1},
		{"under the pole, dips below 22°", 60, 22, 2},
		{"culminates below 30°", -10, 30, 0},
		{"a touch above the horizon", -38.9, 0, 2},
	} {
		ws := Windows(s.Track(start2026, degrees(100, c.dec)).Above(axes.Rad(c.level)), start2026, day)
		got := 2
		if len(ws) == 0 {
			got = 0
		} else if len(ws) == 1 && ws[0] == whole {
			got = 1
		}
		if got != c.want {
			t.Errorf("%s: %v", c.what, ws)
		}
	}
	// At a pole nothing rises or sets; H is what the longitude makes it.
	for _, lat := range []float64{90, -90} {
		k := place(lat, 0).Track(start2026, degrees(100, math.Copysign(10, lat)))
		if ws := Windows(k.Above(axes.Rad(9.9)), start2026, day); len(ws) != 1 || ws[0] != whole {
			t.Errorf("latitude %g: %v", lat, ws)
		}
		if ws := Windows(k.Above(axes.Rad(10.1)), start2026, day); len(ws) != 0 {
			t.Errorf("latitude %g: %v", lat, ws)
		}
	}
}

// A target that passes within 0.1° of the zenith is up there only for a minute; its azimuth swings through half a turn.
func TestThroughTheZenith(t *testing.T) {
	s := place(36.9, -3)
	for _, off := range []float64{0, 0.02, -0.05, 0.1} {
		k := s.Track(start2026, degrees(150, 36.9+off))
		tr := k.Transits(start2026, start2026.Add(24*time.Hour))
		alt, _ := k.AltAz(tr[0])
		near(t, "altitude at transit", axes.Deg(alt), 90-math.Abs(off), 1e-4)
		_, before := k.AltAz(tr[0].Add(-10 * time.Minute))
		_, after := k.AltAz(tr[0].Add(10 * time.Minute))
		if !(before < math.Pi && after > math.Pi) {
			t.Errorf("off %g: azimuth from %g to %g", off, axes.Deg(before), axes.Deg(after))
		}
		ws := Windows(k.Above(axes.Rad(89.8)), start2026, start2026.Add(24*time.Hour))
		if len(ws) != 1 || ws[0].Length() > 3*time.Minute || !ws[0].From.Before(tr[0]) || !tr[0].Before(ws[0].To) {
			t.Errorf("off %g: %v", off, ws)
		}
	}
}

// Every bound that Windows relies on, by differences: none exceeded, none far too wide to be useful.
func TestRatesAreBounds(t *testing.T) {
	rnd := seeded(t)
	const dt = 20 * time.Second
	worst := map[string]float64{}
	for range 20000 {
		s := place([]float64{rnd.Float64()*180 - 90, 90, -90, 0}[max(0, rnd.IntN(20)-16)], rnd.Float64()*360-180)
		at := time.Date(2020, 1, 1, 0, 0, rnd.IntN(21*365*86400), 0, time.UTC)
		e := Equatorial{rnd.Float64() * 2 * math.Pi, math.Asin(2*rnd.Float64() - 1)}
		k := s.Track(at, e)
		for name, q := range map[string]struct {
			f    func(time.Time) float64
			rate float64
		}{
			"Sun":                          {s.SunAltitude, s.altitudeRate(sunRate)},
			"Moon":                         {s.MoonAltitude, s.altitudeRate(moonRate) * (1 + 1./50)},
			"star":                         {func(t time.Time) float64 { h, _ := k.AltAz(t); return h }, s.altitudeRate(0) + 1e-3*arcsec},
			"Moon's distance from a place": {func(t time.Time) float64 { return s.MoonSeparation(t, e) }, moonRate + SiderealRate/50},
		} {
			worst[name] = max(worst[name], math.Abs(q.f(at.Add(dt))-q.f(at))/dt.Seconds()/q.rate)
		}
	}
	for name, w := range worst {
		if t.Logf("%s: %.4f of the bound", name, w); w > 1 || w < 0.7 {
			t.Errorf("%s reaches %.4f of its bound", name, w)
		}
	}
}

// Horizon profiles, smooth ones and walls, against every second of a day.
func TestAboveHorizon(t *testing.T) {
	rnd := seeded(t)
	end := start2026.Add(24 * time.Hour)
	check := func(what string, s Site, e Equatorial) bool {
		k := s.Track(start2026, e)
		looked := 0
		c := k.AboveHorizon()
		counted := func(t time.Time) (bool, time.Duration) { looked++; return c(t) }
		got := Windows(counted, start2026, end)
		holds := func(at time.Time) bool {
			alt, az := k.AltAz(at)
			return alt >= axes.Rad(s.Horizon.Altitude(axes.Deg(az)))
		}
		if looked > 20000 {
			t.Logf("%s: looked %d times", what, looked)
		}
		return same(t, what, got, brute(holds, start2026, end, time.Second), 1100*time.Millisecond)
	}
	for range 60 {
		s := place(rnd.Float64()*160-80, 0)
		n := rnd.IntN(40)
		for i := range n {
			s.Horizon = append(s.Horizon, [2]float64{(float64(i) + 0.98*rnd.Float64()) * 360 / float64(n), 40 * rnd.Float64() * rnd.Float64()})
		}
		if !check("random", s, Equatorial{rnd.Float64() * 2 * math.Pi, math.Asin(2*rnd.Float64() - 1)}) {
			t.Logf("%+v", s)
			return
		}
	}
	wall := rig.Horizon{{0, 5}, {89.9, 5}, {90, 60}, {91, 60}, {91.1, 5}, {180, -2}, {300, 89}, {300.01, 10}}
	for _, lat := range []float64{36.9, -32.4, 51, 90, 0} {
		for _, dec := range []float64{0, 36.9, 51, -30, 80, -89, 10} {
			s := place(lat, 0)
			s.Horizon = wall
			check("walls", s, degrees(100, dec))
		}
	}
}

func TestAllAnyNotWithin(t *testing.T) {
	m := func(minutes float64) time.Time { return start2026.Add(seconds(minutes * 60)) }
	a := []Window{{m(10), m(20)}, {m(30), m(50)}}
	b := []Window{{m(15), m(35)}, {m(49), m(70)}}
	c := func(c Condition) []Window { return Windows(c, m(0), m(60)) }
	for _, x := range []struct {
		what string
		got  []Window
		want []Window
	}{
		{"all", c(All(Within(a), Within(b))), []Window{{m(15), m(20)}, {m(30), m(35)}, {m(49), m(50)}}},
		{"any", c(Any(Within(a), Within(b))), []Window{{m(10), m(60)}}},
		{"not", c(Not(Within(a))), []Window{{m(0), m(10)}, {m(20), m(30)}, {m(50), m(60)}}},
		{"all of nothing", c(All()), []Window{{m(0), m(60)}}},
		{"any of nothing", c(Any()), nil},
	} {
		same(t, x.what, x.got, x.want, 10*time.Millisecond)
	}
	if holds, certain := AtLeast(func(time.Time) float64 { return math.NaN() }, 0, 1)(m(0)); holds || certain != 0 {
		t.Errorf("no number is certain for %v: %v", certain, holds)
	}
	if Windows(All(), m(1), m(1)) != nil || Windows(All(), m(2), m(1)) != nil {
		t.Error("an empty time has a window")
	}
}

// Transits of a track are a sidereal day apart, those of the Sun and the Moon are on the meridian, each is found once.
func TestTransits(t *testing.T) {
	rnd := seeded(t)
	for range 50 {
		s := place(rnd.Float64()*180-90, rnd.Float64()*360-180)
		from := time.Date(2026, 1, 1, 0, 0, rnd.IntN(365*86400), 0, time.UTC)
		k := s.Track(from, Equatorial{rnd.Float64() * 2 * math.Pi, 0.3})
		tr := k.Transits(from, from.Add(seconds(5*86164.0905)))
		if len(tr) != 5 {
			t.Fatalf("%d transits in five sidereal days", len(tr))
		}
		for i := range tr {
			near(t, "track", k.HourAngle(tr[i])/arcsec, 0, 0.1)
			near(t, "apart, s", tr[i].Sub(tr[0]).Seconds(), float64(i)*86164.0905, 0.01)
		}
		suns, moons := s.SunTransits(from, from.Add(30*24*time.Hour)), s.MoonTransits(from, from.Add(30*24*time.Hour))
		if len(suns) < 29 || len(suns) > 31 || len(moons) < 28 || len(moons) > 30 {
			t.Fatalf("%d noons, %d transits of the Moon in 30 days", len(suns), len(moons))
		}
		for i, at := range suns {
			near(t, "Sun", s.HourAngle(at, Sun(at))/arcsec, 0, 0.1)
			if i > 0 {
				near(t, "noons apart, s", at.Sub(suns[i-1]).Seconds(), 86400, 31)
			}
		}
		for i, at := range moons {
			e, _ := Moon(at)
			near(t, "Moon", s.HourAngle(at, e)/arcsec, 0, 0.1)
			if i > 0 {
				near(t, "Moon's transits apart, min", at.Sub(moons[i-1]).Minutes(), 24*60+52, 18)
			}
		}
	}
}

// The linear hour angle against the full one, through the day that it is made for.
func TestTrackIsTheSky(t *testing.T) {
	rnd := seeded(t)
	most := 0.0
	for range 500 {
		s := place(rnd.Float64()*180-90, rnd.Float64()*360-180)
		from := time.Date(2020, 1, 1, 0, 0, rnd.IntN(21*365*86400), 0, time.UTC)
		k := s.Track(from, Equatorial{rnd.Float64() * 2 * math.Pi, 0})
		at := from.Add(time.Duration((2*rnd.Float64() - 1) * float64(24*time.Hour)))
		most = math.Max(most, math.Abs(axes.Wrap(k.HourAngle(at)-s.HourAngle(at, k.Place)))/arcsec)
	}
	if t.Logf("worst %.3f″", most); most > 0.3 || most == 0 {
		t.Errorf("off by %.3f″", most)
	}
}

// What a horizon is certain of, asked outright: nothing changes in that time. Half the moments lie just beside a change.
func TestHorizonIsCertain(t *testing.T) {
	rnd := seeded(t)
	long := 0
	for range 300 {
		s := place(math.Asin(2*rnd.Float64()-1)*180/math.Pi, 0)
		n := 2 + rnd.IntN(30)
		for i := range n {
			s.Horizon = append(s.Horizon, [2]float64{(float64(i) + 0.98*rnd.Float64()) * 360 / float64(n), 60*rnd.Float64()*rnd.Float64() - 2})
		}
		k := s.Track(start2026, Equatorial{rnd.Float64() * 2 * math.Pi, math.Asin(2*rnd.Float64() - 1)})
		c := k.AboveHorizon()
		end := start2026.Add(24 * time.Hour)
		var moments []time.Time
		for range 20 {
			moments = append(moments, start2026.Add(time.Duration(rnd.Float64()*float64(24*time.Hour))))
		}
		for _, w := range Windows(c, start2026, end) {
			for range 10 {
				before := time.Duration(rnd.ExpFloat64() * float64(10*time.Minute))
				moments = append(moments, w.From.Add(-before), w.To.Add(-before))
			}
		}
		for _, at := range moments {
			holds, certain := c(at)
			if certain > time.Minute {
				long++
			}
			for i := range 33 {
				later := at.Add(time.Duration(float64(certain) * 0.9999 * float64(i) / 32))
				if now, _ := c(later); now != holds {
					t.Fatalf("latitude %g, %+v, horizon %v: certain of %v for %v from %v, but not after %v",
						axes.Deg(s.Lat), k.Place, s.Horizon, holds, certain, at, later.Sub(at))
				}
			}
		}
	}
	if t.Logf("%d answers held for more than a minute", long); long < 1000 {
		t.Error("nothing is ever certain: the test tests nothing")
	}
}
