package sim

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/sky"
)

// evening is dark at the examples' sites.
var evening = time.Date(2026, 11, 25, 21, 0, 0, 0, time.UTC)

const terrace, karoo, balcony = "terrace-long-refractor.yaml", "karoo-newtonian.yaml", "balcony-strain-wave.yaml"

// load reads an example with some of its text changed.
func load(t testing.TB, name string, changes ...string) *rig.Rig {
	t.Helper()
	path := filepath.Join("..", "..", "examples", name)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s := string(text)
	for i := 0; i < len(changes); i += 2 {
		if !strings.Contains(s, changes[i]) {
			t.Fatalf("%s has no %q", name, changes[i])
		}
		s = strings.ReplaceAll(s, changes[i], changes[i+1])
	}
	r, err := rig.Parse([]byte(s), path)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// hand is a clock that a test turns.
type hand struct {
	mu sync.Mutex
	at time.Time
}

func (h *hand) Now() time.Time {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.at
}

func (h *hand) pass(d time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.at = h.at.Add(d)
}

func at(side axes.Side, hourH, decDeg float64) *axes.Pose {
	return &axes.Pose{Side: side, HourAngle: axes.FromHours(hourH), Dec: axes.Rad(decDeg)}
}

// place sets a mount up at a pose, tracking; counterweight-down at the pole, parked, without one.
func place(t testing.TB, r *rig.Rig, seed uint64, p *axes.Pose) (*Mount, *hand) {
	t.Helper()
	clk := &hand{at: evening}
	o := Options{Seed: seed, Now: clk.Now, Parked: p == nil}
	if p != nil {
		model, err := axes.NewModel(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := model.Reach(model.Head.Angles(*p))
		if err != nil {
			t.Fatal(err)
		}
		o.At = &g
	}
	m, err := New(r, o)
	if err != nil {
		t.Fatal(err)
	}
	return m, clk
}

func (m *Mount) mustSay(t testing.TB) mount.Reading {
	t.Helper()
	r, err := m.Say()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// target is the place of date of an hour angle now.
func target(m *Mount, hourH, decDeg float64) sky.Equatorial {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	return sky.Equatorial{RA: math.Mod(m.sidereal()-axes.FromHours(hourH)+4*math.Pi, 2*math.Pi), Dec: axes.Rad(decDeg)}
}

// An hour of tracking turns the RA axis by 15.0410686° (a turn in 86164.0905 s, IERS), and the place among the stars stays.
func TestTracksAnHour(t *testing.T) {
	for _, name := range []string{terrace, karoo} {
		m, clk := place(t, load(t, name), 1, at(axes.West, -3, 10))
		a, r := m.State(), m.mustSay(t)
		for range 36 {
			clk.pass(100 * time.Second)
			m.State()
		}
		b, q := m.State(), m.mustSay(t)
		if d := axes.Deg(b.True.RA - a.True.RA); math.Abs(d-15.0410686) > 1e-6 || b.True.Dec != a.True.Dec {
			t.Errorf("%s: turned by %.7f°, %.7f°", name, d, axes.Deg(b.True.Dec-a.True.Dec))
		}
		if d := sky.Separation(r.Place, q.Place); axes.Deg(d)*3600 > 0.5 {
			t.Errorf("%s: the place moved by %.2f″", name, axes.Deg(d)*3600)
		}
		if q.Side != axes.West || q.Tracking != mount.Yes || q.Slewing != mount.No {
			t.Errorf("%s: says %+v", name, q)
		}
	}
}

// A slew takes what mechanics says of its legs, arrives where it was told within a second of arc, and settles.
func TestSlewTime(t *testing.T) {
	rnd := seeded(t)
	for _, order := range []rig.Order{rig.BothAtOnce, rig.RAFirst, rig.DecFirst} {
		r := load(t, karoo, "axis_order: both_at_once", "axis_order: "+string(order))
		for range 20 {
			m, clk := place(t, r, rnd.Uint64(), at(axes.West, -1-3*rnd.Float64(), -60*rnd.Float64()))
			to := target(m, -0.6-3*rnd.Float64(), -60*rnd.Float64())
			if err := m.Slew(to, nil); err != nil {
				t.Fatal(err)
			}
			limit := axes.Rad(2.5)
			if r := m.d.tops[0] / limit; r < 0.7 || r > 1.3 || m.d.tops[1] != limit {
				t.Fatalf("rates %v, the document has 2.5°/s within 30%%", m.d.tops)
			}
			from, need := [2]float64{m.d.axes[0].at, m.d.axes[1].at}, 0.0
			for _, leg := range m.d.legs {
				ra, dec := closedTime(leg[0]-from[0], m.d.tops[0], limit), closedTime(leg[1]-from[1], limit, limit)
				need += math.Max(ra, dec)
				from = leg
			}
			need += 20 // the document's settling
			clk.pass(time.Duration((need - 0.001) * 1e9))
			if m.mustSay(t).Slewing != mount.Yes {
				t.Fatalf("%s: not slewing any more just before %.3f s", order, need)
			}
			clk.pass(2 * time.Millisecond)
			s := m.mustSay(t)
			if s.Slewing != mount.No {
				t.Fatalf("%s: still slewing just after %.3f s", order, need)
			}
			if d := axes.Deg(sky.Separation(s.Place, to)) * 3600; d > 1 || s.Tracking != mount.Yes {
				t.Fatalf("%s: %.2f″ off, tracking %v", order, d, s.Tracking)
			}
		}
	}
}

// What a slew may sweep is the rectangle of its ends with the overshoot; the order of the axes is the document's.
func TestSlewPath(t *testing.T) {
	for _, order := range []rig.Order{rig.BothAtOnce, rig.RAFirst, rig.DecFirst} {
		r := load(t, karoo, "axis_order: both_at_once", "axis_order: "+string(order))
		for seed := range uint64(10) {
			m, clk := place(t, r, seed, at(axes.West, -4, 10))
			from := m.State().True
			if err := m.Slew(target(m, -1, -50), nil); err != nil {
				t.Fatal(err)
			}
			end := m.d.legs[len(m.d.legs)-1]
			over := axes.Rad(1)
			together := false
			for m.State().Slewing {
				clk.pass(50 * time.Millisecond)
				s := m.State()
				if s.True.RA < from.RA-1e-9 || s.True.RA > end[0]+over+1e-9 || s.True.Dec < math.Min(from.Dec, end[1])-over-1e-9 ||
					s.True.Dec > math.Max(from.Dec, end[1])+over+1e-9 {
					t.Fatalf("%s, seed %d: at %v on the way from %v to %v", order, seed, s.True, from, end)
				}
				together = together || math.Abs(s.Rates[0]) > 0.01 && math.Abs(s.Rates[1]) > 0.01
				raFar, decFar := math.Abs(s.True.RA-end[0]) > over+1e-9, math.Abs(s.True.Dec-end[1]) > over+1e-9
				if order == rig.RAFirst && raFar && s.True.Dec != from.Dec || order == rig.DecFirst && decFar && s.True.RA != from.RA {
					t.Fatalf("%s, seed %d: the second axis moves already, at %v", order, seed, s.True)
				}
			}
			if together != (order == rig.BothAtOnce) {
				t.Errorf("%s: both axes at once: %v", order, together)
			}
		}
	}
}

// A flip changes the side at one place, counterweight-down in the middle, past the pole that the document names.
func TestFlip(t *testing.T) {
	for _, way := range []rig.FlipWay{rig.ThroughPole, rig.AwayFromPole} {
		r := load(t, karoo, "declination_flip: through_pole", "declination_flip: "+string(way),
			"dec_from_deg: -180, dec_to_deg: 180", "dec_from_deg: -330, dec_to_deg: 330")
		m, clk := place(t, r, 3, at(axes.West, 0.5, -30))
		before := m.mustSay(t)
		if err := m.SetSide(axes.East); err != nil {
			t.Fatal(err)
		}
		down, least, most := false, math.Inf(1), math.Inf(-1)
		for m.State().Slewing {
			clk.pass(100 * time.Millisecond)
			s := m.State()
			down = down || math.Abs(s.True.RA) < axes.Rad(1)
			least, most = math.Min(least, s.True.Dec), math.Max(most, s.True.Dec)
		}
		after := m.mustSay(t)
		if d := axes.Deg(sky.Separation(before.Place, after.Place)) * 3600; d > 1 || after.Side != axes.East || !down {
			t.Errorf("%s: %.2f″ off, on side %v, counterweight-down on the way: %v", way, d, after.Side, down)
		}
		if pole, far := least < 0, most > math.Pi; pole != (way == rig.ThroughPole) || far != (way == rig.AwayFromPole) {
			t.Errorf("%s: the declination axis went from %.0f° to %.0f°", way, axes.Deg(least), axes.Deg(most))
		}
	}
}

// The side is chosen as the document says: by hour angle from the earliest flip on, or as it is told, and not east before that.
func TestSides(t *testing.T) {
	byHour := load(t, balcony) // earliest flip 60 min before the meridian
	m, _ := place(t, byHour, 1, at(axes.West, -3, 40))
	for hour, side := range map[float64]axes.Side{-3: axes.West, -1.1: axes.West, -0.9: axes.East, 2: axes.East} {
		if got, err := m.SideOf(target(m, hour, 40)); err != nil || got != side {
			t.Errorf("by hour angle, %g h: %v, %v", hour, got, err)
		}
	}
	east := axes.East
	if err := m.Slew(target(m, -3, 40), &east); !errors.Is(err, mount.ErrSide) {
		t.Errorf("the other side than by hour angle: %v", err)
	}
	if err := m.SetSide(east); !errors.Is(err, mount.ErrLacks) {
		t.Errorf("a side that cannot be told: %v", err)
	}

	told := load(t, karoo) // 30 min
	m, clk := place(t, told, 1, at(axes.West, -3, -40))
	if got, err := m.SideOf(target(m, 2, -40)); err != nil || got != axes.West {
		t.Errorf("as told: from west, %v, %v", got, err)
	}
	if err := m.Slew(target(m, -0.6, -40), &east); !errors.Is(err, mount.ErrSide) {
		t.Errorf("east before the earliest flip: %v", err)
	}
	if err := m.Slew(target(m, -0.4, -40), &east); err != nil {
		t.Fatal(err)
	}
	clk.pass(5 * time.Minute)
	if s := m.mustSay(t); s.Side != axes.East {
		t.Errorf("on side %v", s.Side)
	}
	if got, err := m.SideOf(target(m, 1, -40)); err != nil || got != axes.East {
		t.Errorf("as told: from east, %v, %v", got, err)
	}
	if _, err := m.SideOf(sky.Equatorial{RA: math.NaN()}); !errors.Is(err, mount.ErrValue) {
		t.Errorf("no place: %v", err)
	}
}

// Where the travel ends the mount stops, flips or runs on, as the document says.
func TestOwnLimit(t *testing.T) {
	for rule, check := range map[string]func(s State, r mount.Reading) bool{
		"stops": func(s State, r mount.Reading) bool {
			return !s.Tracking && math.Abs(axes.Deg(s.True.RA)-100) < 0.06 && s.Rates[0] == 0
		},
		"flips": func(s State, r mount.Reading) bool { return s.Tracking && r.Side == axes.East && s.True.RA < 0 },
		"runs_on": func(s State, r mount.Reading) bool {
			return s.Tracking && r.Side == axes.West && axes.Deg(s.True.RA) > 102
		},
	} {
		m, clk := place(t, load(t, karoo, "at_limit: stops", "at_limit: "+rule, "ra_from_deg: -170, ra_to_deg: 170", "ra_from_deg: -100, ra_to_deg: 100"),
			5, at(axes.West, 0.6, -30))
		clk.pass(20 * time.Minute)
		if s, r := m.State(), m.mustSay(t); !check(s, r) {
			t.Errorf("%s: %+v, on side %v", rule, s, r.Side)
		}
	}
	// By hand it goes no further than its travel.
	m, clk := place(t, load(t, karoo), 5, at(axes.West, -2, -30))
	if err := m.MoveAxis(1, axes.Rad(2)); err != nil {
		t.Fatal(err)
	}
	clk.pass(5 * time.Minute)
	if s := m.State(); s.ByHand || s.Rates[1] != 0 || math.Abs(axes.Deg(s.True.Dec)-180) > 2 {
		t.Errorf("by hand: %+v", s)
	}
}

func TestMoveAxisAndAbort(t *testing.T) {
	m, clk := place(t, load(t, karoo), 5, at(axes.West, -3, -30))
	a := m.State()
	if err := m.MoveAxis(1, axes.Rad(-1)); err != nil {
		t.Fatal(err)
	}
	clk.pass(10 * time.Second)
	// Up to 1°/s at 2.5°/s² it takes 0.4 s, in which it turns by 0.2°; then 9.6 s at 1°/s.
	b := m.State()
	if d := axes.Deg(b.True.Dec - a.True.Dec); math.Abs(d+9.8) > 1e-6 || m.mustSay(t).Slewing != mount.Yes {
		t.Errorf("turned by %.6f°", d)
	}
	if d := b.True.RA - a.True.RA; math.Abs(d-10*sky.SiderealRate) > 1e-9 {
		t.Errorf("tracking went on by %g", d)
	}
	if err := m.Abort(); err != nil {
		t.Fatal(err)
	}
	clk.pass(10 * time.Second)
	c := m.State()
	if d := axes.Deg(c.True.Dec - b.True.Dec); math.Abs(d+0.2) > 1e-6 || c.Rates[1] != 0 || !c.Tracking || c.ByHand {
		t.Errorf("braked by %.6f°: %+v", d, c)
	}
	for _, bad := range []float64{math.NaN(), axes.Rad(3), math.Inf(1)} {
		if err := m.MoveAxis(0, bad); !errors.Is(err, mount.ErrValue) {
			t.Errorf("rate %g: %v", bad, err)
		}
	}
	// Abort in a slew: the axes brake at once, and tracking goes on.
	if err := m.Slew(target(m, -1, 10), nil); err != nil {
		t.Fatal(err)
	}
	clk.pass(5 * time.Second)
	d := m.State()
	if err := m.Abort(); err != nil {
		t.Fatal(err)
	}
	clk.pass(3 * time.Second)
	e := m.State()
	for i, way := range []float64{e.True.RA - d.True.RA, e.True.Dec - d.True.Dec} {
		brake := d.Rates[i] * d.Rates[i] / (2 * m.d.accels[i])
		if math.Abs(math.Abs(way)-brake) > 5*sky.SiderealRate || math.Abs(e.Rates[i]) > 1.1*sky.SiderealRate {
			t.Errorf("axis %d: braked over %.4f°, by mechanics %.4f°", i, axes.Deg(way), axes.Deg(brake))
		}
	}
	if e.Slewing || !e.Tracking {
		t.Errorf("after an abort: %+v", e)
	}
}

func TestParkAndHome(t *testing.T) {
	m, clk := place(t, load(t, karoo), 5, nil)
	if err := m.Slew(target(m, -1, -20), nil); !errors.Is(err, mount.ErrParked) {
		t.Errorf("a slew of a parked mount: %v", err)
	}
	if s := m.mustSay(t); s.Parked != mount.Yes || s.Tracking != mount.No {
		t.Errorf("parked: %+v", s)
	}
	if err := m.Unpark(); err != nil {
		t.Fatal(err)
	}
	if err := m.Slew(target(m, -1, -20), nil); err != nil {
		t.Fatal(err)
	}
	clk.pass(5 * time.Minute)
	if err := m.Park(); err != nil {
		t.Fatal(err)
	}
	clk.pass(5 * time.Minute)
	if s := m.State(); !s.Parked || s.Tracking || math.Hypot(s.True.RA, s.True.Dec) > 2*near {
		t.Errorf("parked: %+v", s)
	}

	// A clutch that slips is not seen; home puts it right.
	m, clk = place(t, load(t, karoo), 5, at(axes.West, -2, -30))
	before := m.mustSay(t)
	if err := m.Slip(axes.Angles{RA: axes.Rad(5), Dec: axes.Rad(-3)}); err != nil {
		t.Fatal(err)
	}
	s := m.State()
	if d := axes.Deg(s.True.RA - s.Believed.RA); math.Abs(d-5) > 1e-9 || sky.Separation(before.Place, m.mustSay(t).Place) > 1e-9 {
		t.Errorf("slipped by %g, said %v after %v", d, m.mustSay(t).Place, before.Place)
	}
	if err := m.FindHome(); err != nil {
		t.Fatal(err)
	}
	clk.pass(5 * time.Minute)
	if s, r := m.State(), m.mustSay(t); s.True != s.Believed || math.Hypot(s.True.RA, s.True.Dec) > 2*near || r.AtHome != mount.Yes {
		t.Errorf("home: %+v, %v", s, r.AtHome)
	}
	if m.Slip(axes.Angles{RA: 4}) == nil {
		t.Error("a slip by more than half a turn")
	}
}

// A sync changes what is said, not where the axes are; and the next slew goes by it.
func TestSync(t *testing.T) {
	m, clk := place(t, load(t, karoo), 5, at(axes.West, -2, -30))
	a := m.State()
	to := target(m, -2.1, -32)
	if err := m.Sync(to); err != nil {
		t.Fatal(err)
	}
	b := m.State()
	if d := sky.Separation(m.mustSay(t).Place, to); d > 1e-9 || a.True != b.True {
		t.Errorf("said %g off, turned from %v to %v", d, a.True, b.True)
	}
	if err := m.Slew(to, nil); err != nil {
		t.Fatal(err)
	}
	clk.pass(2 * time.Minute)
	if d := axes.Deg(sky.Separation(m.mustSay(t).Place, to)) * 3600; d > 1 {
		t.Errorf("%.2f″ off after a slew", d)
	}
	if d := math.Abs(m.State().True.Dec - a.True.Dec); axes.Deg(d) > 0.001 {
		t.Errorf("the declination axis turned by %.4f° in a slew to where it was", axes.Deg(d))
	}
}

// Every length and angle of the true rig is within its tolerance, 95 of 100 in the distribution that is cut there.
func TestTrueRig(t *testing.T) {
	r := load(t, terrace)
	n, beyond := 0, 0
	for seed := range uint64(20) {
		m, _ := place(t, r, seed, nil)
		for i, q := range m.TrueRig().Quantities {
			d, tol := math.Abs(q.Value-r.Quantities[i].Value), r.Quantities[i].Tol
			if d > tol || q.Unit == "kg" && d > 0 {
				t.Fatalf("seed %d: %s is %v, the document says %s", seed, q.Path, q.Value, r.Quantities[i])
			}
			if tol > 0 && q.Unit != "kg" {
				n++
				if d > tol/2 {
					beyond++
				}
			}
		}
		again, _ := place(t, r, seed, nil)
		for i, q := range again.TrueRig().Quantities {
			if q.Value != m.TrueRig().Quantities[i].Value {
				t.Fatalf("seed %d draws %s twice, differently", seed, q.Path)
			}
		}
	}
	// Of a normal distribution with 95 of 100 within the tolerance, cut there, 29 of 100 lie beyond half of it:
	// (0.95 − erf(0.98/√2))/0.95.
	want := (0.95 - math.Erf(0.979982/math.Sqrt2)) / 0.95
	if got := float64(beyond) / float64(n); math.Abs(got-want) > 0.03 {
		t.Errorf("%.3f of %d lie beyond half the tolerance, not %.3f", got, n, want)
	}
}

func TestHabits(t *testing.T) {
	open := load(t, balcony)
	open.Mount.Rules, open.Mount.Travel.Flip = rig.OwnRules{}, rig.UnknownWay
	seen := map[string]bool{}
	for seed := range uint64(100) {
		h := drawHabits(open, stream(seed, streamHabits))
		if len(h.Drawn) != 5 || math.Abs(axes.Minutes(h.EarliestFlip)) > 60.001 {
			t.Fatalf("seed %d: %s", seed, h)
		}
		seen[string(h.Order)], seen[string(h.Flip)], seen[h.SideChoice], seen[h.AtLimit] = true, true, true, true
	}
	if len(seen) != 10 {
		t.Errorf("drawn: %v", seen)
	}
	h := drawHabits(load(t, karoo), stream(1, streamHabits))
	if s := h.String(); s != "axis_order both_at_once, declination_flip through_pole, side_choice as_told, earliest_flip_min -30, at_limit stops" {
		t.Error(s)
	}
}
