package room

import (
	"context"
	"errors"
	"math"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// far is a part that nothing reaches, so that a rig has a pair at all.
func far() rig.Part { return ball("far", rig.Ground, 10, 5000, 0, 0) }

// What is not a number is never free, and ends every question.
func TestNotANumberIsNotFree(t *testing.T) {
	g := gaugeFor(t, made(t, 40, tail(), far()))
	m := mapOf(t, g, 5)
	s := g.NewScratch()
	if !m.FreeRect(Rect{0, 0.1, 0, 0.1}) || !g.Free(axes.Angles{}, s) {
		t.Fatal("this rig has room")
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for _, a := range []axes.Angles{{RA: x}, {Dec: x}, {RA: x, Dec: x}} {
			if m.State(a) == Free {
				t.Errorf("state at %v", a)
			}
			if g.Free(a, s) {
				t.Errorf("free at %v", a)
			}
			if gap := g.Gap(a, s); gap.Lower >= g.MarginMM {
				t.Errorf("gap at %v: %+v", a, gap)
			}
			if m.FreeRect(Rect{a.RA, a.RA, a.Dec, a.Dec}) {
				t.Errorf("rectangle at %v is free", a)
			}
			if r, err := m.Slew(a, axes.Angles{}); err == nil && r.Safe {
				t.Errorf("slew from %v is safe", a)
			}
			if c := g.FirstContact(a.RA, 1, a.Dec, a.Dec); !c.Found {
				t.Errorf("track from %v is free", a)
			}
			if bad := g.NotFree(a.RA, 1, a.Dec, a.Dec); len(bad) == 0 {
				t.Errorf("track from %v has nothing that is not free", a)
			}
			if bad := m.NotFree(a.RA, 1, a.Dec, a.Dec); len(bad) == 0 {
				t.Errorf("track from %v has nothing that is not free on the map", a)
			}
			if _, err := m.Route(context.Background(), a, axes.Angles{}); err == nil {
				t.Errorf("a route from %v", a)
			}
		}
	}
	if mine := m.Mine(math.NaN(), 1, LimitOptions{}); mine.Safe {
		t.Error("a limit that is not a number is safe")
	}
	if mine := m.Mine(1, math.NaN(), LimitOptions{}); mine.Safe {
		t.Error("a limit that is not a number is safe")
	}
	if row, ever := m.Target(math.NaN(), 0.1); ever && (len(row.West)+len(row.East)+len(row.Flip) > 0) {
		t.Errorf("no declination, and a row: %+v", row)
	}
}

// An interval given the wrong way round is the interval, and proves no more than it does the right way round.
func TestReversedIntervalsProveNothingMore(t *testing.T) {
	at := axes.Pose{Side: axes.West, HourAngle: axes.FromHours(1), Dec: axes.Rad(20)}
	m := made(t, 40, tail(), post(t, 40, at, 40))
	a := m.Head.Angles(at)
	g := gaugeFor(t, m)
	mp := mapOf(t, g, 1)
	const w = 0.3
	if mp.FreeRect(Rect{a.RA + w, a.RA - w, a.Dec + w, a.Dec - w}) {
		t.Error("a rectangle around contact is free when its borders are swapped")
	}
	if c := g.FirstContact(a.RA-w, a.RA+w, a.Dec+w, a.Dec-w); !c.Found {
		t.Error("no contact over a band given from high to low")
	}
	right, wrong := g.NotFree(a.RA-w, a.RA+w, a.Dec-0.02, a.Dec+0.02), g.NotFree(a.RA+w, a.RA-w, a.Dec+0.02, a.Dec-0.02)
	if len(right) == 0 || length(wrong) < length(right)-1e-9 {
		t.Errorf("not free: %v, and reversed %v", right, wrong)
	}
	if bad := mp.NotFree(a.RA+w, a.RA-w, a.Dec, a.Dec); length(bad) < axes.Rad(5) {
		t.Errorf("the map's, reversed: %v", bad)
	}
}

// A rig with no pairs at all has room everywhere, and no question fails on it.
func TestNothingToKeepApart(t *testing.T) {
	for _, parts := range [][]rig.Part{nil, {tail()}} {
		g := gaugeFor(t, made(t, 40, parts...))
		s := g.NewScratch()
		if gap := g.Gap(axes.Angles{RA: 1}, s); !math.IsInf(gap.Lower, 1) || !g.Free(axes.Angles{RA: 1}, s) {
			t.Errorf("gap %+v", gap)
		}
		if c := g.FirstContact(0, 1, 0, 1); c.Found {
			t.Errorf("contact %+v", c)
		}
		m := mapOf(t, g, 10)
		l := limitsOf(t, m)
		if l.Room.Either < 0.999 || !l.Two.Safe || len(m.Costs()) != 0 || len(g.Joints()) != 0 || len(g.Nearest(axes.Angles{}, 3)) != 0 {
			t.Errorf("limits %+v", l)
		}
	}
}

// A map that was cut short is not handed out.
func TestNoMapWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	g := gaugeFor(t, made(t, 40, tail(), far()))
	if m, err := NewMap(ctx, g, MapOptions{CellDeg: 1}); m != nil || !errors.Is(err, context.Canceled) {
		t.Errorf("a map %p comes with %v", m, err)
	}
	m := mapOf(t, g, 5)
	if f, err := m.Refine(ctx, MapOptions{CellDeg: 1}); f != nil || !errors.Is(err, context.Canceled) {
		t.Errorf("a finer map %p comes with %v", f, err)
	}
	for _, cell := range []float64{math.NaN(), -1, 1e-9} {
		if _, err := m.Refine(context.Background(), MapOptions{CellDeg: cell}); err == nil {
			t.Errorf("refined to %v°", cell)
		}
	}
}

// Bands of a height that makes no sense are refused.
func TestRowsNeedAHeight(t *testing.T) {
	m := mapOf(t, gaugeFor(t, made(t, 40, tail(), far())), 5)
	for _, o := range []LimitOptions{{RowDeg: -5}, {RowDeg: math.NaN()}, {RowDeg: 1e-12}, {DecFromDeg: math.NaN(), DecToDeg: 5}, {DecFromDeg: 20, DecToDeg: math.Inf(1)}} {
		if _, err := m.Limits(context.Background(), o); err == nil {
			t.Errorf("limits for %+v", o)
		}
	}
}

// Limits of one's own that go past 180° meet the contact that lies there, on either end.
func TestMineBeyondHalfATurn(t *testing.T) {
	for _, deg := range []float64{195, -195} {
		model := made(t, 40, tail(), far())
		model.Travel.RAFrom, model.Travel.RATo = axes.Rad(-270), axes.Rad(270)
		w := model.Head.TubeFrame(axes.Angles{RA: axes.Rad(deg), Dec: axes.Rad(30)}).Apply(vec3(250, 0, -700))
		model2 := made(t, 40, tail(), ball("post", rig.Ground, 40, w.X, w.Y, w.Z))
		model2.Travel = model.Travel
		m := mapOf(t, gaugeFor(t, model2), 0.5)
		west, east := axes.Rad(210), axes.Rad(20)
		if deg < 0 {
			west, east = east, west
		}
		j := newJudge(model2, 30, rig.None)
		if s, _ := j.slack(axes.Angles{RA: axes.Rad(deg), Dec: axes.Rad(30)}); s > 0 {
			t.Fatal("the post does not stand in the way")
		}
		mine := m.Mine(west, east, LimitOptions{})
		if mine.Safe || len(mine.Contacts) == 0 {
			t.Errorf("contact at %v°, yet west %.0f° east %.0f°: %+v", deg, axes.Deg(west), axes.Deg(east), mine)
		}
	}
}

// A joint that gets deeper where only a travel past 180° leads is seen.
func TestJointOverAnUnevenTravel(t *testing.T) {
	// An arm ball 300 mm from the polar axis and a small polar one: they meet at θ = 225°.
	x, y := 300*math.Cos(axes.Rad(225)), -300*math.Sin(axes.Rad(225)) // the frame's y points east
	for _, c := range []struct {
		from, to float64
		holds    bool
	}{{-90, 270, false}, {-180, 180, false}, {-90, 180, true}, {-200, 200, false}, {-95, 95, true}, {-340, -100, false}} {
		m := made(t, 40, ball("arm knob", rig.Arm, 60, 300, 0, 0), ball("stop", rig.Polar, 60, x, y, 0))
		m.Travel.RAFrom, m.Travel.RATo = axes.Rad(c.from), axes.Rad(c.to)
		m.Assembly.Joined = [][2]int{{0, 1}}
		if j := gaugeFor(t, m).Joints(); len(j) != 1 || j[0].Holds != c.holds {
			t.Errorf("travel %v…%v: %+v, want holds %v", c.from, c.to, j, c.holds)
		}
	}
}

// A flip by the far pole takes longest where the declination axis has the longest way, at either end of a band, in both
// hemispheres.
func TestFlipDurationIsTheLongest(t *testing.T) {
	for _, lat := range []float64{40, -40, 0, 90} {
		for _, way := range []rig.FlipWay{rig.ThroughPole, rig.AwayFromPole, rig.UnknownWay} {
			model := made(t, lat, tail(), far())
			model.Rig.Mount.Travel.Flip = way
			model.Rig.Mount.Slew.RADegPerS, model.Rig.Mount.Slew.DecDegPerS = 0.3, 0.3
			m := mapOf(t, gaugeFor(t, model), 10)
			for _, band := range [][2]float64{{20, 60}, {-60, -20}, {-30, 30}, {-90, 90}} {
				whole := m.FlipDuration(axes.Rad(band[0]), axes.Rad(band[1]))
				for d := band[0]; d <= band[1]; d += 5 {
					if one := m.FlipDuration(axes.Rad(d), axes.Rad(d)); one > whole+1e-12 {
						t.Errorf("latitude %v, %v: %.0f s at δ %v°, but %.0f s over %v", lat, way, one/sidereal, d, whole/sidereal, band)
						break
					}
				}
			}
			// Both at once, one rate as slow against the other as the spread allows, coming to rest and settling included, cannot take longer.
			p := 90 - axes.Hemisphere(axes.Rad(lat))*20
			swing := 2 * p
			if way != rig.ThroughPole {
				swing = math.Max(swing, 360-2*p)
			}
			if way == rig.AwayFromPole {
				swing = 360 - 2*p
			}
			if least := math.Max(180, swing)/(0.3*0.7) + 10 + Rest - 1e-6; m.FlipDuration(axes.Rad(20), axes.Rad(20))/sidereal < least {
				t.Errorf("latitude %v, %v: the flip takes less than %v s", lat, way, least)
			}
		}
	}
}

// A flip whose way leads past the declination axis' travel is not in any window: the mount would go another way than the one that
// was proven.
func TestFlipStaysInsideTheTravel(t *testing.T) {
	for _, c := range []struct {
		way      rig.FlipWay
		from, to float64
		any      bool
	}{
		{rig.ThroughPole, -180, 180, true},
		{rig.ThroughPole, -10, 190, false},
		{rig.ThroughPole, 0, 360, false},
		{rig.AwayFromPole, 0, 360, true},
		{rig.AwayFromPole, -360, 0, true},
		{rig.AwayFromPole, -180, 180, false},
		{rig.AwayFromPole, -360, 360, true},
		{rig.UnknownWay, -180, 180, true},
		{rig.UnknownWay, 0, 360, true},
		{rig.UnknownWay, -10, 190, false},
	} {
		model := made(t, 40, tail(), far())
		model.Rig.Mount.Travel.Flip = c.way
		model.Travel.DecFrom, model.Travel.DecTo = axes.Rad(c.from), axes.Rad(c.to)
		row, _ := mapOf(t, gaugeFor(t, model), 5).Target(axes.Rad(20), axes.Rad(0.1))
		if (len(row.Flip) > 0) != c.any {
			t.Errorf("%v, travel %v…%v: flip window %v", c.way, c.from, c.to, row.Flip)
		}
	}
}

// The free hour angles of a head that is off the pole stay within the travel of the axes.
func TestTiltedHeadStaysInsideTheTravel(t *testing.T) {
	rnd := seeded(t)
	for _, lat := range []float64{40, -40, 3} {
		for _, tr := range []axes.Travel{
			{RAFrom: axes.Rad(-95), RATo: axes.Rad(95), DecFrom: -math.Pi, DecTo: math.Pi},
			{RAFrom: axes.Rad(-90), RATo: axes.Rad(270), DecFrom: axes.Rad(-10), DecTo: axes.Rad(190)},
		} {
			model := tilted(t, lat, 2, -3, tail(), far())
			model.Travel = tr
			m := mapOf(t, gaugeFor(t, model), 5)
			for _, dec := range []float64{-20, 0, 45, 60, -60, 86, -87} {
				row, ever := m.Target(axes.Rad(dec), axes.Rad(0.1))
				if !ever {
					continue
				}
				for side, runs := range map[axes.Side][]Interval{axes.West: row.West, axes.East: row.East} {
					for _, run := range runs {
						for range 300 {
							f := rnd.Float64()
							if rnd.IntN(3) == 0 {
								f = math.Round(f)
							}
							a := model.Head.Angles(axes.Pose{Side: side, HourAngle: run.From + f*(run.To-run.From), Dec: axes.Rad(dec)})
							if !reaches(tr, a) {
								t.Fatalf("latitude %v, δ %v° side %v: %v is outside %v…%v, %v…%v", lat, dec, side, a,
									axes.Deg(tr.RAFrom), axes.Deg(tr.RATo), axes.Deg(tr.DecFrom), axes.Deg(tr.DecTo))
							}
						}
					}
				}
			}
		}
	}
}

// reaches tells whether the axes get to a within their travel, by whole turns too: near its own pole a head's hour angle jumps.
func reaches(t axes.Travel, a axes.Angles) bool {
	for _, k := range []float64{-1, 0, 1} {
		for _, l := range []float64{-1, 0, 1} {
			b := axes.Angles{RA: a.RA + l*turn, Dec: a.Dec + k*turn}
			if b.RA >= t.RAFrom-1e-9 && b.RA <= t.RATo+1e-9 && b.Dec >= t.DecFrom-1e-9 && b.Dec <= t.DecTo+1e-9 {
				return true
			}
		}
	}
	return false
}

// A slew between two regions that overlap along an axis may go either way along it, overshoot included.
func TestSlewOfRegionsCoversBothSenses(t *testing.T) {
	rnd := seeded(t)
	for range 2000 {
		s := slewing{ra: 1, dec: 0.3 + 2*rnd.Float64(), spread: 0.3, overshoot: axes.Rad(1)}
		box := func() Rect {
			x, y := rnd.Float64()*0.3, rnd.Float64()*0.3
			return Rect{x, x + 0.2*rnd.Float64(), y, y + 0.2*rnd.Float64()}
		}
		start, end := box(), box()
		over := overshot(start, end, s.overshoot)
		hull := start.hull(over)
		f := newFan(start, end, s)
		in := func(a, b float64) float64 { return a + rnd.Float64()*(b-a) }
		a := axes.Angles{RA: in(start.RAFrom, start.RATo), Dec: in(start.DecFrom, start.DecTo)}
		b := axes.Angles{RA: in(end.RAFrom, end.RATo), Dec: in(end.DecFrom, end.DecTo)}
		o := axes.Angles{RA: b.RA + math.Copysign(rnd.Float64()*s.overshoot, b.RA-a.RA), Dec: b.Dec + math.Copysign(rnd.Float64()*s.overshoot, b.Dec-a.Dec)}
		ratio := s.ra / s.dec * (1 + s.spread*(2*rnd.Float64()-1))
		x, y := math.Abs(o.RA-a.RA), math.Abs(o.Dec-a.Dec)
		mid := o
		if x > ratio*y {
			mid.RA = a.RA + math.Copysign(ratio*y, o.RA-a.RA)
		} else {
			mid.Dec = a.Dec + math.Copysign(x/ratio, o.Dec-a.Dec)
		}
		for _, leg := range [][2]axes.Angles{{a, mid}, {mid, o}, {o, b}} {
			for k := 0.0; k <= 1; k += 0.1 {
				p := axes.Angles{RA: leg[0].RA + k*(leg[1].RA-leg[0].RA), Dec: leg[0].Dec + k*(leg[1].Dec-leg[0].Dec)}
				const e = 1e-12
				if p.RA < hull.RAFrom-e || p.RA > hull.RATo+e || p.Dec < hull.DecFrom-e || p.Dec > hull.DecTo+e {
					t.Fatalf("a path from %v to %v leaves %v: %v", start, end, hull, p)
				}
				if f.misses(Rect{p.RA - 1e-9, p.RA + 1e-9, p.Dec - 1e-9, p.Dec + 1e-9}) {
					t.Fatalf("a path from %v to %v meets %v, which the fan misses", start, end, p)
				}
			}
		}
	}
}

// Both axes speed up and come to rest evenly, in the same time of up to Rest: no such slew leaves the fan, wherever in the start and the
// end it begins and ends.
func TestSlewThatBrakesStaysInItsFan(t *testing.T) {
	rnd := seeded(t)
	// way is how far an axis of a top rate has come at a time, of so much to go, with acc of its own.
	way := func(all, top, acc, at float64) float64 {
		up := math.Min(top/acc, math.Sqrt(all/acc)) // how long it speeds up
		v := acc * up
		whole := all/v + up
		switch {
		case at <= up:
			return acc * at * at / 2
		case at >= whole:
			return all
		case at >= whole-up:
			return all - acc*(whole-at)*(whole-at)/2
		}
		return acc*up*up/2 + v*(at-up)
	}
	for range 5000 {
		s := slewing{ra: axes.Rad(0.1 + 8*rnd.Float64()), dec: axes.Rad(0.1 + 8*rnd.Float64()), spread: 0.9 * rnd.Float64()}
		centre := axes.Angles{RA: 3 * (rnd.Float64() - 0.5) * rnd.Float64(), Dec: 3 * (rnd.Float64() - 0.5) * rnd.Float64()}
		around := func(c axes.Angles) (Rect, axes.Angles) {
			wide := [2]float64{axes.Rad(6) * rnd.Float64() * rnd.Float64(), axes.Rad(6) * rnd.Float64() * rnd.Float64()}
			at := [2]float64{2*rnd.Float64() - 1, 2*rnd.Float64() - 1}
			for i := range at {
				if rnd.IntN(2) == 0 {
					at[i] = math.Copysign(1, at[i]) // its border
				}
			}
			return Rect{c.RA - wide[0], c.RA + wide[0], c.Dec - wide[1], c.Dec + wide[1]}, axes.Angles{RA: c.RA + at[0]*wide[0], Dec: c.Dec + at[1]*wide[1]}
		}
		from, begin := around(axes.Angles{})
		to, end := around(centre)
		f := newFan(from, to, s)
		top := [2]float64{s.ra * (1 + s.spread*(2*rnd.Float64()-1)), s.dec}
		rest := Rest * rnd.Float64() / (1 + s.spread) // of the rate as it is, Rest at most
		x, y := math.Abs(end.RA-begin.RA), math.Abs(end.Dec-begin.Dec)
		last := x/top[0] + y/top[1] + 2*Rest
		for k := range 400 {
			at := last * float64(k) / 400
			p := axes.Angles{RA: begin.RA + math.Copysign(way(x, top[0], s.ra/rest, at), end.RA-begin.RA),
				Dec: begin.Dec + math.Copysign(way(y, top[1], s.dec/rest, at), end.Dec-begin.Dec)}
			const e = 1e-9
			if f.misses(Rect{p.RA - e, p.RA + e, p.Dec - e, p.Dec + e}) {
				t.Fatalf("%+v from %v in %v to %v in %v at rates %v, at rest in %.2f s: %v is outside of the fan", s, begin, from, end, to, top, rest, p)
			}
		}
	}
}

// Pairs that only one axis moves take room too, and their tolerances count.
func TestCostsOfOneAxisPairs(t *testing.T) {
	r, err := rig.Load(terrace)
	if err != nil {
		t.Fatal(err)
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := NewGauge(m, Options{Mode: rig.RSS})
	if err != nil {
		t.Fatal(err)
	}
	var kept []pair
	for _, p := range g.pairs {
		if !p.byDec && p.allowance > 0 {
			p.need += 200 // so that it is in the way somewhere
			kept = append(kept, p)
		}
	}
	g.pairs = kept
	mp := mapOf(t, g, 1)
	if mp.ra.share(Edge)+mp.ra.share(Blocked) == 0 {
		t.Skip("nothing is in the way")
	}
	if len(mp.Costs()) == 0 {
		t.Error("an arm pair takes room, and no tolerance is named")
	}
}

// Rounding leaves no run of no length where the last box of sky or the last cell ends.
func TestNoSliverIsFree(t *testing.T) {
	if out := complement([]Interval{{0, 1}}, -1e-15, math.Nextafter(1, 2)); len(out) != 0 {
		t.Errorf("slivers %v", out)
	}
	for _, to := range []float64{200, 95, 9, 180} {
		model := tilted(t, -32.4, 1, 2, tail(), ball("cage", rig.Ground, 3000, 0, 0, 1500))
		model.Travel = axes.Travel{RAFrom: axes.Rad(-170), RATo: axes.Rad(to), DecFrom: -math.Pi, DecTo: math.Pi}
		for _, dec := range []float64{-82, -20, 0, 30} {
			if row, _ := mapOf(t, gaugeFor(t, model), 10).Target(axes.Rad(dec), axes.Rad(0.1)); len(row.West)+len(row.East) > 0 {
				t.Errorf("travel to %v°: caged, yet %+v", to, row)
			}
		}
	}
}
