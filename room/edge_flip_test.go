package room

import (
	"fmt"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// Flips by the far pole and by either way, in both hemispheres, close to the equator and to the poles, slow and fast.
func TestFlipsOfEveryWay(t *testing.T) {
	rnd := seeded(t)
	windows := 0
	for k, lat := range []byte{0, 1, 2, 3, 4, 5, 6, 8} {
		for way := range byte(3) {
			// dec travel ±360, the way, and every other one with slow axes or a head off the pole.
			data := []byte{0, lat, 3, 4, 4, 4, 5, way, 13, byte(k) % 2, 14, byte(k) % 3, 7, byte(k) % 2}
			model := mutated(t, k, data)
			if model == nil {
				continue
			}
			t.Run(fmt.Sprintf("%d/%d", k, way), func(t *testing.T) {
				g, err := NewGauge(model, Options{Mode: rig.RSS})
				if err != nil {
					t.Fatal(err)
				}
				m := mapOf(t, g, 1)
				j := newJudge(model, g.MarginMM, g.Mode)
				for range 6 {
					row, ever := m.Target(axes.Rad(rnd.Float64()*180-90), axes.Rad(0.1))
					if ever && len(row.Flip) > 0 {
						windows++
						tryFlips(t, m, j, row, rnd)
					}
				}
			})
		}
	}
	t.Logf("%d rows with flip windows", windows)
	if windows == 0 {
		t.Error("no flip was tried")
	}
}
