package change

import (
	"context"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// what may change in the examples, for bounds.
func variablesOf(file string) []string {
	switch name := filepath.Base(file); {
	case strings.HasPrefix(name, "karoo"):
		return []string{"slide=-60..60", "rotator=-90..90", "tube.train.side_angle_deg=0..180", "support.obstacles[0].at_mm[0]=600..1000", "saddle-riser=0..60"}
	case strings.HasPrefix(name, "balcony"):
		return []string{"riser=0..200", "leg-azimuth=120..240", "leg-spread=300..500", "support.legs.hip_height_mm=280..380", "slide=-60..60", "rotator=-90..90"}
	}
	return []string{"riser=0..300", "leg-azimuth=-60..60", "leg-spread=450..800", "support.legs.hip_radius_mm=60..120", "slide=-80..80", "rotator=0..180", "saddle-riser=0..60"}
}

// drawn is a space of up to three of a rig's variables, and a box in it.
func drawn(t *testing.T, rnd *rand.Rand, file, aim string, mode rig.ToleranceMode, share float64) (*space, *box) {
	t.Helper()
	list := variablesOf(file)
	rnd.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	p := problem(t, file, aim, list[:1+rnd.IntN(3)]...)
	p.Ask.Mode = mode
	s, err := newSpace(&p)
	if err != nil {
		t.Fatal(err)
	}
	b := &box{killer: -1}
	for i := range s.vars {
		v := &s.vars[i]
		h := (v.To - v.From) / 2 * share * rnd.Float64()
		c := v.From + h + (v.To-v.From-2*h)*rnd.Float64()
		b.lo, b.hi = append(b.lo, c-h), append(b.hi, c+h)
	}
	return s, b
}

func (b *box) draw(rnd *rand.Rand) []float64 {
	x := make([]float64, len(b.lo))
	for i := range x {
		u := rnd.Float64()
		if rnd.IntN(3) == 0 {
			u = float64(rnd.IntN(2)) // a corner
		}
		x[i] = b.lo[i] + (b.hi[i]-b.lo[i])*u
	}
	return x
}

// No gap of a pair that is too near changes within a box by more than the bound of its motion, and no allowance falls by more than creep
// says, in every mode.
func TestMotion(t *testing.T) {
	rnd := seeded(t)
	near := 0
	for _, file := range examples(t) {
		for _, mode := range []rig.ToleranceMode{rig.RSS, rig.Worst} {
			for range 2 {
				s, b := drawn(t, rnd, file, "most-room", mode, 0.3)
				g, err := s.gaugeAt(b.centre())
				if err != nil {
					t.Fatal(err)
				}
				m, err := s.motion(b, g)
				if err != nil {
					continue // a box so wide that a leg may have no length: nothing is claimed
				}
				for range 12 {
					x := b.draw(rnd)
					gx, err := s.gaugeAt(x)
					if err != nil {
						t.Fatal(err)
					}
					ax := axes.Angles{RA: (rnd.Float64()*2 - 1) * math.Pi, Dec: (rnd.Float64()*2 - 1) * math.Pi}
					now := map[[2]int]float64{}
					allow := map[[2]int]float64{}
					for _, q := range gx.Nearest(ax, gx.Pairs()) {
						now[[2]int{q.A, q.B}], allow[[2]int{q.A, q.B}] = q.Gap, q.Allowance
					}
					for _, q := range g.Nearest(ax, g.Pairs()) {
						k := [2]int{q.A, q.B}
						moves := m.of(q.A, q.B)
						by, falls := moves.sum, moves.falls
						if least := q.Allowance - falls - 1e-9; allow[k] < least {
							t.Errorf("%s %v from %v to %v: the allowance of %s and %s falls from %v to %v, at least %v expected",
								file, s.p.Variables, b.centre(), x, g.Model.Parts[q.A].Name, g.Model.Parts[q.B].Name, q.Allowance, allow[k], least)
						}
						if math.Min(q.Gap, now[k]) > g.MarginMM+q.Allowance {
							continue
						}
						near++
						if d := math.Abs(now[k] - q.Gap); d > by+2e-3 {
							t.Errorf("%s %v from %v to %v: the gap of %s and %s goes from %v to %v, at most %v expected",
								file, s.p.Variables, b.centre(), x, g.Model.Parts[q.A].Name, g.Model.Parts[q.B].Name, q.Gap, now[k], by)
						}
					}
				}
			}
		}
	}
	if near < 100 {
		t.Errorf("only %d pairs were near enough to tell", near)
	}
}

// The bound of a box holds for points in it, for every aim.
func TestBoxBound(t *testing.T) {
	rnd := seeded(t)
	told := 0
	for _, file := range examples(t) {
		for _, aim := range []string{"most-room", "least-idle", "no-idle above 30", "past=20"} {
			s, b := drawn(t, rnd, file, aim, rig.RSS, 0.04)
			if _, err := s.bind(context.Background(), b); err != nil {
				t.Fatal(err)
			}
			if b.bound > 0 {
				told++
			}
			for range 2 {
				x := b.draw(rnd)
				miss, _, _, err := s.at(context.Background(), x, 0.25, 0)
				if err != nil {
					t.Fatal(err)
				}
				if miss < b.bound {
					t.Errorf("%s %s %v: box %v to %v misses it by at least %v, but %v by %v", file, aim, s.p.Variables, b.lo, b.hi, b.bound, x, miss)
				}
			}
		}
	}
	t.Logf("%d of %d bounds tell something", told, 4*len(examples(t)))
	if told < 4 {
		t.Errorf("only %d bounds tell anything", told)
	}
}

// A run on side east that is possible from before the one on side west starts may in truth start after it.
func TestLeastOfPossibleRuns(t *testing.T) {
	run := func(from, to float64) []room.Interval {
		return []room.Interval{{From: axes.Rad(from), To: axes.Rad(to)}}
	}
	b := &band{up: run(-90, 90), high: run(-60, 60)}
	possible := runs{west: run(-90, 5.1), east: run(-95, 90)}
	sure := runs{west: run(-90, 5), east: run(-89, 90)}
	for _, aim := range []Aim{{Kind: NoIdle}, {Kind: Past, Minutes: 20}} {
		if least := aim.missesAtLeast(sure, possible, b); least != 0 {
			t.Errorf("%v: %v min, and the sure runs miss it by none", aim, least)
		}
	}
}
