package room

import (
	"context"
	"math"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// Where a slew comes through its way says so, in each order and by both ways that the declination axis may take; far off it does not.
func TestWaysOfAPassage(t *testing.T) {
	rnd := seeded(t)
	model := made(t, 40, ball("wall", rig.Ground, 3000, 0, 0, 50), ball("camera", rig.TubeFrame, 100, 0, -400, 50))
	g, err := NewGauge(model, Options{Mode: rig.None})
	if err != nil {
		t.Fatal(err)
	}
	m, err := NewMap(context.Background(), g, MapOptions{CellDeg: 30, Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	mount := &model.Rig.Mount
	point := func(ra, dec float64) Rect { return Rect{ra, ra, dec, dec} }
	meets := func(ways []Way, r Rect) bool {
		for _, w := range ways {
			if w.Meets(r) {
				return true
			}
		}
		return false
	}
	for range 500 {
		a := axes.Angles{RA: 2 * rnd.Float64(), Dec: 0.2 + 2*rnd.Float64()}
		b := axes.Angles{RA: -2 * rnd.Float64(), Dec: -0.2 - 2*rnd.Float64()}
		for _, way := range []rig.FlipWay{rig.ThroughPole, rig.AwayFromPole, "unknown"} {
			mount.Travel.Flip = way
			end := b
			if way == rig.AwayFromPole {
				end.Dec += 2 * math.Pi
			}
			k := rnd.Float64()
			for order, mid := range map[rig.Order]axes.Angles{rig.RAFirst: {RA: end.RA, Dec: a.Dec}, rig.DecFirst: {RA: a.RA, Dec: end.Dec}} {
				for _, said := range []rig.Order{order, rig.UnknownOrder} {
					mount.Slew.Order = said
					ways := m.Ways(At(a), At(b), true)
					for _, leg := range [][2]axes.Angles{{a, mid}, {mid, end}} {
						p := axes.Angles{RA: leg[0].RA + k*(leg[1].RA-leg[0].RA), Dec: leg[0].Dec + k*(leg[1].Dec-leg[0].Dec)}
						if !meets(ways, point(p.RA, p.Dec)) {
							t.Fatalf("%s, %s: from %v to %v not at %v", way, said, a, end, p)
						}
					}
				}
				mount.Slew.Order = order
				if centre := point((a.RA+end.RA)/2, (a.Dec+end.Dec)/2); meets(m.Ways(At(a), At(b), true), centre) {
					t.Fatalf("%s, %s: from %v to %v through the middle", way, order, a, end)
				}
			}
			mount.Slew.Order = rig.UnknownOrder
			if ways := m.Ways(At(a), At(b), true); meets(ways, point(a.RA+0.1, a.Dec)) || way != "unknown" && len(ways) != 1 || way == "unknown" && len(ways) != 2 {
				t.Fatalf("%s: %d ways, or behind the start", way, len(ways))
			}
		}
		if ways := m.Ways(At(a), At(a), false); len(ways) != 1 || !meets(ways, point(a.RA, a.Dec)) {
			t.Fatal("where it stands")
		}
	}
}
