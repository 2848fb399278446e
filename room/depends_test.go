package room

import (
	"math"
	"testing"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// The gap of an arm part and a ground or polar part depends on the RA axis alone, that of a tube part and an arm part on the
// declination axis alone, that of a pair that is left out for turning on neither; and the gauge knows of each pair which axes move it.
func TestGapsDependOnTheirAxes(t *testing.T) {
	rnd := seeded(t)
	angle := func() float64 { return (rnd.Float64()*2 - 1) * math.Pi }
	var counts, moved [3]int // arm–ground, tube–arm, tube–ground
	turning := 0
	for _, file := range examples(t) {
		g := exampleGauge(t, file, rig.None)
		m := g.Model
		known := map[[2]int]pair{}
		for _, p := range g.pairs {
			known[[2]int{min(p.fixed, p.moving), max(p.fixed, p.moving)}] = p
		}
		at, byRA, byDec := make([]solid.Placed, len(m.Parts)), make([]solid.Placed, len(m.Parts)), make([]solid.Placed, len(m.Parts))
		for range 60 {
			ax := axes.Angles{RA: angle(), Dec: angle()}
			m.Place(ax, at)
			m.Place(axes.Angles{RA: angle(), Dec: ax.Dec}, byRA)
			m.Place(axes.Angles{RA: ax.RA, Dec: angle()}, byDec)
			for _, p := range newJudge(m, 0, rig.None).pairs {
				a, b := m.Parts[p.a].Frame, m.Parts[p.b].Frame
				tube, arm := a == rig.TubeFrame || b == rig.TubeFrame, a == rig.Arm || b == rig.Arm
				kind := 2
				switch {
				case arm && !tube:
					kind = 0
				case arm && tube:
					kind = 1
				}
				k, ok := known[[2]int{min(p.a, p.b), max(p.a, p.b)}]
				if !ok || k.byRA != (kind != 1) || k.byDec != (kind != 0) {
					t.Fatalf("%s: %s, %s: the gauge has %+v", file, m.Parts[p.a].Name, m.Parts[p.b].Name, k)
				}
				d := solid.Distance(&at[p.a], &at[p.b])
				other := func(at []solid.Placed) bool { return differ(d, solid.Distance(&at[p.a], &at[p.b])) }
				movedByRA, movedByDec := other(byRA), other(byDec)
				if kind == 0 && movedByDec || kind == 1 && movedByRA {
					t.Fatalf("%s: %s, %s: the gap changes with the wrong axis from RA %v, Dec %v rad", file, m.Parts[p.a].Name, m.Parts[p.b].Name, ax.RA, ax.Dec)
				}
				counts[kind]++
				if (kind == 1 || movedByRA) && (kind == 0 || movedByDec) {
					moved[kind]++
				}
			}
			for _, p := range m.Assembly.Turning {
				d := solid.Distance(&at[p[0]], &at[p[1]])
				for _, at := range [][]solid.Placed{byRA, byDec} {
					if differ(d, solid.Distance(&at[p[0]], &at[p[1]])) {
						t.Fatalf("%s: %s, %s: the gap of a pair that turns changes from RA %v, Dec %v rad", file, m.Parts[p[0]].Name, m.Parts[p[1]].Name, ax.RA, ax.Dec)
					}
				}
				turning++
			}
		}
	}
	t.Logf("gaps arm–ground, tube–arm, tube–ground: %v; of them %v change with the axes that they should; %d of pairs that turn stay", counts, moved, turning)
	for k := range counts {
		if moved[k] < counts[k]/2 || moved[k] < 1000 {
			t.Errorf("kind %d: %d gaps, %d change: the check says nothing", k, counts[k], moved[k])
		}
	}
	if turning < 1000 {
		t.Errorf("%d gaps of pairs that turn: the check says nothing", turning)
	}
}

// differ tells whether two brackets of a gap are of different gaps: apart by more than 1e-6 mm, which is far above what placing
// rounds.
func differ(a, b solid.Gap) bool {
	return a.Lower > b.Upper+1e-6 || b.Lower > a.Upper+1e-6
}
