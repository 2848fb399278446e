package room

import (
	"path/filepath"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// What a pair is said to cost is what it costs as it is entered: asked for as the owner's own, the numbers entered cost as much.
func TestCostIsOfThePairEntered(t *testing.T) {
	for _, file := range examples(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			m := mapOf(t, exampleGauge(t, file, rig.RSS), 0.5)
			step := m.gauge.Model.Rig.Mount.EntryStepDeg
			entered := func(rad float64) float64 { return axes.Rad(Entry(rad, step)) }
			two := limitsOf(t, m).Two
			mine := m.Mine(entered(two.West), entered(two.East), LimitOptions{})
			if mine.RoomCost != two.RoomCost || mine.Best.RoomCost != two.RoomCost {
				t.Errorf("the pair costs %v; entered and asked for it costs %v beside %v", two.RoomCost, mine.RoomCost, mine.Best.RoomCost)
			}
			strict := m.Mine(entered(two.StrictWest), entered(two.StrictEast), LimitOptions{})
			if strict.RoomCost != two.StrictRoomCost || !strict.Safe {
				t.Errorf("the strict pair costs %v; entered and asked for it costs %v, safe %v", two.StrictRoomCost, strict.RoomCost, strict.Safe)
			}
			if whole := m.Mine(two.West, two.East, LimitOptions{}).RoomCost; whole > two.RoomCost {
				t.Errorf("the pair as it is costs %v, more than rounded down: %v", whole, two.RoomCost)
			}
		})
	}
}

// A limit is entered rounded down, by less than a step, and one that is a whole number of steps stays.
func TestEntry(t *testing.T) {
	for k := range 2000 {
		x := (float64(k)-1000)*0.0031415 + 1e-7*float64(k)
		for _, step := range []float64{1, 0.5, 0.1, 0} {
			by := step
			if step == 0 {
				by = 1
			}
			if e, deg := Entry(x, step), axes.Deg(x); e > deg+1e-9 || e < deg-by-1e-9 {
				t.Errorf("Entry(%v°, %v) = %v", deg, step, e)
			}
		}
	}
	for _, deg := range []float64{95, 92, 180, 0.1, 7.3} {
		if e := Entry(axes.Rad(deg), 0.1); e != deg {
			t.Errorf("entry of %v° by 0.1° is %v", deg, e)
		}
	}
}

// A pair for some declinations says for which, and so does the answer for the owner's own; without any asked for it is the whole sky.
func TestPairNamesItsDeclinations(t *testing.T) {
	m := mapOf(t, exampleGauge(t, examples(t)[0], rig.RSS), 1)
	for _, o := range []LimitOptions{{}, {DecFromDeg: -20, DecToDeg: 20.5}} {
		from, to := axes.Rad(o.DecFromDeg), axes.Rad(o.DecToDeg)
		if o == (LimitOptions{}) {
			from, to = axes.Rad(-90), axes.Rad(90)
		}
		l, err := m.Limits(t.Context(), o)
		if err != nil {
			t.Fatal(err)
		}
		if l.Two.DecFrom != from || l.Two.DecTo != to {
			t.Errorf("%+v: the pair is for declinations %v to %v", o, l.Two.DecFrom, l.Two.DecTo)
		}
		for _, west := range []float64{1, -9} { // −9: nothing between
			if best := m.Mine(west, 1, o).Best; best.DecFrom != from || best.DecTo != to {
				t.Errorf("%+v: the owner's pair, west %v, is answered for declinations %v to %v", o, west, best.DecFrom, best.DecTo)
			}
		}
	}
}
