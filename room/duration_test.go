package room

import (
	"math"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// No slew takes longer than is said: both axes at rates as slow as the spread allows, speeding up and coming to rest evenly in up to
// Rest, together or one after the other, on ways long and too short to come to the rate; and what is said is no more than what the
// slowest of them takes on a long way.
func TestLongestHoldsSpeedingUpAndComingToRest(t *testing.T) {
	rnd := seeded(t)
	takes := func(way, top, acc float64) float64 {
		if way == 0 {
			return 0
		}
		up := math.Min(top/acc, math.Sqrt(way/acc)) // how long it speeds up
		return way/(acc*up) + up
	}
	for range 20000 {
		s := slewing{ra: axes.Rad(0.1 + 8*rnd.Float64()), dec: axes.Rad(0.1 + 8*rnd.Float64()), spread: 0.9 * rnd.Float64(), settle: 10 * rnd.Float64()}
		ra, dec := math.Pi*math.Pow(rnd.Float64(), 4), math.Pi*math.Pow(rnd.Float64(), 4)
		if rnd.IntN(5) == 0 {
			dec = 0
		}
		slow, rest := 1-s.spread*rnd.Float64(), Rest*math.Sqrt(rnd.Float64())
		x, y := takes(ra, s.ra*slow, s.ra/rest), takes(dec, s.dec*slow, s.dec/rest)
		for _, o := range []rig.Order{rig.BothAtOnce, rig.RAFirst, rig.DecFirst, rig.UnknownOrder} {
			took := x + y
			if o == rig.BothAtOnce {
				took = math.Max(x, y)
			}
			if said := s.longest(ra, -dec, o); took+s.settle > said+1e-9 {
				t.Fatalf("%+v, %v° and %v°, %s, at rest in %.2f s: %v s, said are %v", s, axes.Deg(ra), axes.Deg(dec), o, rest, took+s.settle, said)
			}
		}
	}
	s := slewing{ra: 0.1, dec: 0.1}
	for o, most := range map[rig.Order]float64{rig.BothAtOnce: 20 + Rest, rig.RAFirst: 30 + 2*Rest} {
		if said := s.longest(2, 1, o); math.Abs(said-most) > 1e-9 {
			t.Errorf("%s: %v s, want %v", o, said, most)
		}
	}
}
