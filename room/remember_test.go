package room

import (
	"math"
	"slices"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// The bands that are looked at only where the map is undecided hold what the gaps alone say, and Remember changes no answer.
func TestBandsByTheMapAndByTheGapsAlone(t *testing.T) {
	rnd := seeded(t)
	for _, file := range examples(t) {
		g := exampleGauge(t, file, rig.RSS)
		travel := g.Model.Travel
		for _, cell := range []float64{0.25, 4} {
			m := mapOf(t, g, cell)
			kept := m.Remember()
			s := g.NewScratch()
			for range 12 {
				a := travel.DecFrom + (travel.DecTo-travel.DecFrom)*rnd.Float64()
				b := math.Min(a+axes.Rad(0.4)*rnd.Float64(), travel.DecTo)
				by, alone := m.notFreeFine(travel.RAFrom, travel.RATo, a, b), g.NotFree(travel.RAFrom, travel.RATo, a, b)
				if math.Abs(length(by)-length(alone)) > axes.Rad(0.03)*float64(1+len(alone)) {
					t.Errorf("%s, %g° cells, %.4f…%.4f°: not free over %.4f° by the map, %.4f° by the gaps", file, cell,
						axes.Deg(a), axes.Deg(b), axes.Deg(length(by)), axes.Deg(length(alone)))
				}
				if again := kept.notFreeKept(travel.RAFrom, travel.RATo, a, b); !slices.Equal(by, again) {
					t.Errorf("%s: %v, and from memory %v", file, by, again)
				}
				for range 200 {
					at := axes.Angles{RA: travel.RAFrom + (travel.RATo-travel.RAFrom)*rnd.Float64(), Dec: a + (b-a)*rnd.Float64()}
					bad := slices.ContainsFunc(by, func(i Interval) bool { return i.From <= at.RA && at.RA <= i.To })
					if !bad && g.Gap(at, s).Lower < g.MarginMM {
						t.Errorf("%s: %v counts as free, and its gap is %v", file, at, g.Gap(at, s))
					}
				}
			}
		}
	}
}

// The pair alone is the two-number limit's, for any declinations.
func TestPairIsTheTwoNumbers(t *testing.T) {
	rnd := seeded(t)
	for _, file := range examples(t) {
		m := mapOf(t, exampleGauge(t, file, rig.RSS), 0.5)
		s := newSky(m.gauge.Model)
		sky := m.slices(s)
		for range 20 {
			a, b := rnd.Float64()*180-90, rnd.Float64()*180-90
			a, b = axes.Rad(math.Min(a, b)), axes.Rad(math.Max(a, b))
			two := m.twoNumber(s, sky, a, b)
			west, east := m.Pair(a, b)
			if off := two.West - west; off < 0 || off > 1e-7 {
				t.Errorf("%s, %.3f…%.3f°: west %v, alone %v", file, axes.Deg(a), axes.Deg(b), two.West, west)
			}
			if off := two.East - east; off < 0 || off > 1e-7 {
				t.Errorf("%s, %.3f…%.3f°: east %v, alone %v", file, axes.Deg(a), axes.Deg(b), two.East, east)
			}
		}
	}
}
