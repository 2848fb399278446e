package room

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// Every pose inside the free hour angles of the table, the two-number limit and the flip windows is free by brute force, on every
// example rig.
func TestLimitsAreFree(t *testing.T) {
	for _, file := range examples(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			rnd := seeded(t)
			g := exampleGauge(t, file, rig.RSS)
			m := mapOf(t, g, 0.25)
			l := limitsOf(t, m)
			j := newJudge(g.Model, g.MarginMM, g.Mode)
			h := &g.Model.Head
			check := func(what string, p axes.Pose) {
				if s, who := j.slack(h.Angles(p)); s < -1e-3 {
					t.Fatalf("%s: side %v H %.4f h δ %.3f°: %s to %s %v mm below", what, p.Side, axes.Hours(p.HourAngle), axes.Deg(p.Dec),
						g.Model.Parts[who.a].Name, g.Model.Parts[who.b].Name, s)
				}
			}
			crossings := 0
			perRow := max(10, *poses/len(l.Rows)/4)
			for _, row := range l.Rows {
				for side, runs := range map[axes.Side][]Interval{axes.West: row.West, axes.East: row.East} {
					for _, run := range runs {
						for range perRow {
							check("row", axes.Pose{Side: side, HourAngle: run.From + rnd.Float64()*(run.To-run.From), Dec: row.DecFrom + rnd.Float64()*(row.DecTo-row.DecFrom)})
						}
					}
				}
				if len(row.Flip) > 0 {
					checkFlips(t, m, row, rnd)
				}
				if row.CrossProven {
					crossings++
					checkCross(t, m, row, rnd)
				}
			}
			// The two numbers: random poses between them above the horizon.
			sky := newSky(g.Model)
			tried := 0
			inIsland := func(g axes.Angles, p axes.Pose) bool {
				for _, i := range l.Two.Unprotected {
					if i.Side == p.Side && g.RA >= i.RAFrom && g.RA <= i.RATo && p.Dec >= i.DecFrom && p.Dec <= i.DecTo {
						return true
					}
				}
				return false
			}
			for range *poses {
				ax := axes.Angles{RA: -l.Two.East + rnd.Float64()*(l.Two.East+l.Two.West), Dec: (rnd.Float64()*2 - 1) * math.Pi}
				p := h.Pose(ax)
				if !sky.isUp(p.HourAngle, p.Dec) || inIsland(ax, p) {
					continue
				}
				tried++
				if s, who := j.slack(ax); s < -1e-3 {
					t.Fatalf("two numbers: θ %.3f° β %.3f°: %s to %s %v mm below", axes.Deg(ax.RA), axes.Deg(ax.Dec),
						g.Model.Parts[who.a].Name, g.Model.Parts[who.b].Name, s)
				}
			}
			if tried == 0 {
				t.Error("no pose between the two numbers was tried")
			}
			t.Logf("%d rows cross from a stop", crossings)
			t.Logf("two numbers %.2f° west, %.2f° east, safe %v, cost %.2f%%; room %.1f%% west %.1f%% east %.1f%% either",
				axes.Deg(l.Two.West), axes.Deg(l.Two.East), l.Two.Safe, 100*l.Two.RoomCost, 100*l.Room.West, 100*l.Room.East, 100*l.Room.Either)
		})
	}
}

// The other runs of a side are in its free hour angles, above the horizon, and not the run of its stop or start.
func TestOtherRuns(t *testing.T) {
	found := 0
	for _, file := range examples(t) {
		g := exampleGauge(t, file, rig.RSS)
		m := mapOf(t, g, 0.5)
		sky := newSky(g.Model)
		for _, row := range limitsOf(t, m).Rows {
			for _, side := range []struct {
				runs, others []Interval
				end          RunEnd
			}{{row.West, row.WestOther, row.Stop}, {row.East, row.EastOther, row.Resume}} {
				for _, o := range side.others {
					found++
					if !slices.ContainsFunc(side.runs, func(r Interval) bool { return r.From <= o.From && o.To <= r.To }) {
						t.Errorf("%s, from %.0f°: %v is none of %v", file, axes.Deg(row.DecFrom), o, side.runs)
					}
					if h := side.end.HourAngle; side.end.Reason != NeverUsable && o.From <= h && h <= o.To {
						t.Errorf("%s, from %.0f°: %v holds the end %v of the run itself", file, axes.Deg(row.DecFrom), o, h)
					}
					for _, h := range []float64{o.From + 2*skySlop, (o.From + o.To) / 2, o.To - 2*skySlop} {
						if !sky.isUp(h, row.DecFrom) && !sky.isUp(h, (row.DecFrom+row.DecTo)/2) && !sky.isUp(h, row.DecTo) {
							t.Errorf("%s, from %.0f°: %v is below the horizon at %v", file, axes.Deg(row.DecFrom), o, h)
						}
					}
				}
			}
		}
	}
	if found == 0 {
		t.Error("no example has any")
	}
}

// A mount that may come back to the first side has no proven way across once that side is not free, and none begins before it
// changes sides by itself.
func TestCrossKeepsToTheMountsOwnRules(t *testing.T) {
	r, err := rig.Load("../examples/terrace-long-refractor.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		side, earliest string
		first          float64 // minutes; +Inf: never
	}{
		{"as_told", "null", math.Inf(-1)},
		{"by_hour_angle", "null", 0},
		{"by_hour_angle", "60", 60},
		{"unknown", "null", math.Inf(1)},
		{"unknown", "-20", math.Inf(1)},
	} {
		q, err := r.With("mount.own_rules.side_choice", c.side)
		if err == nil {
			q, err = q.With("mount.own_rules.earliest_flip_min", c.earliest)
		}
		if err != nil {
			t.Fatal(err)
		}
		m, err := axes.NewModel(q, nil)
		if err != nil {
			t.Fatal(err)
		}
		rows := 0
		for _, row := range limitsOf(t, mapOf(t, gaugeFor(t, m), 0.25)).Rows {
			if row.CrossProven {
				rows++
				if axes.Minutes(row.Cross) < c.first {
					t.Errorf("side %s, earliest flip %s: crosses at %.1f min", c.side, c.earliest, axes.Minutes(row.Cross))
				}
			}
		}
		if (rows > 0) == math.IsInf(c.first, 1) {
			t.Errorf("side %s, earliest flip %s: %d rows cross", c.side, c.earliest, rows)
		}
	}
}

// checkCross drives slews from where the first run stopped to the second side, begun from Cross on, and judges every pose.
func checkCross(t *testing.T, m *Map, row Row, rnd *rand.Rand) {
	t.Helper()
	g := m.gauge
	j := newJudge(g.Model, g.MarginMM, g.Mode)
	h := &g.Model.Head
	for range 10 {
		dec := row.DecFrom + rnd.Float64()*(row.DecTo-row.DecFrom)
		a := h.Angles(axes.Pose{Side: axes.West, HourAngle: row.Stop.HourAngle, Dec: dec})
		late := rnd.Float64() * m.FlipDuration(row.DecFrom, row.DecTo)
		b := h.Angles(axes.Pose{Side: axes.East, HourAngle: row.Cross + late, Dec: dec})
		if slack, who := j.worstOnPath(a, b, g.slew(), g.Model.Rig.Mount.Slew.Order, rnd); slack < -1e-3 {
			t.Fatalf("from the stop at %.3f h to %.3f h, δ %.2f°: %s to %s %v mm below", axes.Hours(row.Stop.HourAngle), axes.Hours(row.Cross), axes.Deg(dec),
				g.Model.Parts[who.a].Name, g.Model.Parts[who.b].Name, slack)
		}
	}
}

// A track's contact against a dense brute-force scan, tolerances off: never later, and within 0.001° (and so within 0.01°).
func TestTrackAgainstBruteForce(t *testing.T) {
	for _, file := range examples(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			rnd := seeded(t)
			g := exampleGauge(t, file, rig.None)
			j := newJudge(g.Model, g.MarginMM, g.Mode)
			found := 0
			for range max(30, *poses/10000) {
				β := (rnd.Float64()*2 - 1) * math.Pi
				from := (rnd.Float64()*2 - 1) * 0.3
				to := from + math.Pi*float64(1-2*rnd.IntN(2))
				if !g.Free(axes.Angles{RA: from, Dec: β}, g.NewScratch()) {
					continue
				}
				c := g.FirstContact(from, to, β, β)
				// Brute force: steps of 0.05° and then bisection of the first that is below.
				truth, hit := to, false
				step := math.Copysign(axes.Rad(0.05), to-from)
				for x := from; (to-x)*step > 0; x += step {
					if s, _ := j.slack(axes.Angles{RA: x, Dec: β}); s < 0 {
						a, b := x-step, x
						for range 30 {
							mid := (a + b) / 2
							if s, _ := j.slack(axes.Angles{RA: mid, Dec: β}); s < 0 {
								b = mid
							} else {
								a = mid
							}
						}
						truth, hit = b, true
						break
					}
				}
				if hit && !c.Found {
					t.Fatalf("β %.4f° from %.3f°: contact at %.4f° not found", axes.Deg(β), axes.Deg(from), axes.Deg(truth))
				}
				if !c.Found {
					continue
				}
				early := (truth - c.RA) * math.Copysign(1, step)
				if early < -axes.Rad(1e-4) { // the judge's own 1e-3 mm
					t.Errorf("β %.4f°: contact %.5f° is later than the truth %.5f°", axes.Deg(β), axes.Deg(c.RA), axes.Deg(truth))
				}
				if c.Sure {
					found++
					if early > axes.Rad(0.0012) {
						t.Errorf("β %.4f°: contact %.5f° is %.5f° early", axes.Deg(β), axes.Deg(c.RA), axes.Deg(early))
					}
				}
			}
			t.Logf("%d contacts", found)
		})
	}
}

// Slews and routes that are called safe are free at every pose of random paths.
func TestSlewsAreFree(t *testing.T) {
	for _, file := range examples(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			rnd := seeded(t)
			g := exampleGauge(t, file, rig.RSS)
			m := mapOf(t, g, 0.25)
			j := newJudge(g.Model, g.MarginMM, g.Mode)
			s := g.slew()
			tr := g.Model.Travel
			random := func() axes.Angles {
				for {
					x := axes.Angles{RA: tr.RAFrom + rnd.Float64()*(tr.RATo-tr.RAFrom), Dec: tr.DecFrom + rnd.Float64()*(tr.DecTo-tr.DecFrom)}
					if m.State(x) == Free {
						return x
					}
				}
			}
			try := func(a, b axes.Angles, o rig.Order) {
				if slack, who := j.worstOnPath(a, b, s, o, rnd); slack < -1e-3 {
					t.Fatalf("slew %v to %v by %q: %s to %s %v mm below", a, b, o, g.Model.Parts[who.a].Name, g.Model.Parts[who.b].Name, slack)
				}
			}
			safe, unsafe, routed := 0, 0, 0
			for range max(80, *poses/1000) {
				a, b := random(), random()
				r, err := m.Slew(a, b)
				if err != nil {
					t.Fatal(err)
				}
				for o, ok := range map[rig.Order]bool{anyOrder: r.AnyOrder, rig.BothAtOnce: r.Both, rig.RAFirst: r.RAFirst, rig.DecFirst: r.DecFirst} {
					if ok {
						safe++
						try(a, b, o)
					} else {
						unsafe++
					}
				}
				if !r.Safe && r.Obstruction == nil {
					t.Fatalf("slew is not safe and nothing is in the way: %+v", r)
				}
				if !r.AnyOrder && routed < max(5, *poses/25000) {
					way, err := m.Route(context.Background(), a, b)
					if errors.Is(err, ErrNoRoute) {
						continue
					}
					if err != nil {
						t.Fatal(err)
					}
					routed++
					if n := len(way.Waypoints); way.Waypoints[0] != a || way.Waypoints[n-1] != b {
						t.Fatal("the route goes elsewhere")
					}
					for i := 1; i < len(way.Waypoints); i++ {
						for range 5 {
							try(way.Waypoints[i-1], way.Waypoints[i], anyOrder)
						}
					}
				}
			}
			t.Logf("%d safe, %d not, %d routes", safe, unsafe, routed)
			if safe == 0 {
				t.Error("no slew was safe")
			}
		})
	}
}

// Random draws of all lengths within tolerance at poses that count as free: with worst none may fall below the margin; with rss,
// drawn so that 95 of 100 lie within the tolerance, at most 5% may, and none may touch.
func TestTolerancesHold(t *testing.T) {
	for _, file := range examples(t) {
		for _, mode := range []rig.ToleranceMode{rig.Worst, rig.RSS} {
			t.Run(filepath.Base(file)+"/"+string(mode), func(t *testing.T) {
				t.Parallel()
				rnd := seeded(t)
				g := exampleGauge(t, file, mode)
				m := mapOf(t, g, 0.25)
				s := newSampler(rnd, m)
				r := g.Model.Rig.Clone()
				nominal := make([]float64, len(r.Quantities))
				for i, q := range r.Quantities {
					nominal[i] = q.Value
				}
				below, touching, tried := 0, 0, 0
				for range *poses / 20 {
					for i, q := range r.Quantities {
						if mode == rig.Worst {
							q.Value = nominal[i] + q.Tol*(2*rnd.Float64()-1)
							if rnd.IntN(2) == 0 {
								q.Value = nominal[i] + math.Copysign(q.Tol, rnd.Float64()-0.5)
							}
						} else {
							q.Value = nominal[i] + rnd.NormFloat64()*q.Tol/1.959964
						}
					}
					j := drawn(t, r, g)
					if j == nil {
						continue
					}
					for range 2 {
						ax := s.tight(t, m)
						tried++
						slack, who := j.slack(ax)
						if slack < -1e-3 {
							below++
							if mode == rig.Worst {
								t.Fatalf("worst: θ %.3f° β %.3f°: %s to %s %v mm below", axes.Deg(ax.RA), axes.Deg(ax.Dec),
									g.Model.Parts[who.a].Name, g.Model.Parts[who.b].Name, slack)
							}
						}
						if slack <= -g.MarginMM {
							touching++
						}
					}
				}
				t.Logf("%d poses, %d below the margin, %d touching", tried, below, touching)
				if touching > 0 || below > tried/20 {
					t.Errorf("%d of %d below the margin, %d touching", below, tried, touching)
				}
			})
		}
	}
}

// tight draws a free pose within a cell or two of what is not free, where a tolerance matters.
func (s *sampler) tight(t *testing.T, m *Map) axes.Angles {
	t.Helper()
	for range 1000000 {
		c := s.leaves[s.rnd.IntN(len(s.leaves))]
		x := axes.Angles{RA: c.RAFrom + s.rnd.Float64()*(c.RATo-c.RAFrom), Dec: c.DecFrom + s.rnd.Float64()*(c.DecTo-c.DecFrom)}
		if m.State(x) == Free {
			return x
		}
	}
	t.Fatal("nothing is free")
	return axes.Angles{}
}

// drawn returns a judge of the drawn rig with no tolerances; nil when the draw gives an impossible rig.
func drawn(t *testing.T, r *rig.Rig, g *Gauge) *judge {
	asm, err := r.Assemble(nil)
	if err != nil {
		return nil
	}
	m, err := axes.FromAssembly(r, asm)
	if err != nil {
		t.Fatal(err)
	}
	return newJudge(m, g.MarginMM, rig.None)
}

// With care taken in measuring, the tolerances leave at least two thirds of the room.
func TestCareKeepsTheRoom(t *testing.T) {
	for _, file := range examples(t) {
		with := limitsOf(t, mapOf(t, exampleGauge(t, file, rig.RSS), 0.5)).Room
		without := limitsOf(t, mapOf(t, exampleGauge(t, file, rig.None), 0.5)).Room
		t.Logf("%s: either %.1f%% of %.1f%%, west %.1f%% of %.1f%%, east %.1f%% of %.1f%%", filepath.Base(file),
			100*with.Either, 100*without.Either, 100*with.West, 100*without.West, 100*with.East, 100*without.East)
		if with.Either < without.Either*2/3 || with.West < without.West*2/3 || with.East < without.East*2/3 {
			t.Errorf("%s keeps too little room: %+v of %+v", file, with, without)
		}
	}
}
