package room

import (
	"context"
	"math/rand/v2"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// Every cell of the raster says of any pose in it what the map says, or edge where the lines cut through it.
func TestRaster(t *testing.T) {
	for _, name := range []string{"terrace-long-refractor", "karoo-newtonian", "balcony-strain-wave"} {
		r, err := rig.Load("../examples/" + name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		model, err := axes.NewModel(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := NewGauge(model, Options{})
		if err != nil {
			t.Fatal(err)
		}
		m, err := NewMap(context.Background(), g, MapOptions{CellDeg: 1})
		if err != nil {
			t.Fatal(err)
		}
		n, states := m.Raster()
		if float64(n)*m.CellDeg() != 360 || len(states) != n*n {
			t.Fatalf("%s: %d cells of %v°", name, n, m.CellDeg())
		}
		size := turn / float64(n)
		count := map[State]int{}
		const seed = 5
		rnd := rand.New(rand.NewPCG(seed, 0))
		for range 100_000 {
			i, j := rnd.IntN(n), rnd.IntN(n)
			at := axes.Angles{RA: (float64(i)+0.01+0.98*rnd.Float64())*size - turn/2, Dec: (float64(j)+0.01+0.98*rnd.Float64())*size - turn/2}
			got, want := states[j*n+i], m.State(at)
			count[got]++
			if got != want && got != Edge {
				t.Fatalf("%s, seed %d: cell %d, %d is %v, but the map says %v at RA axis %v°, declination axis %v°", name, seed, i, j, got, want, axes.Deg(at.RA), axes.Deg(at.Dec))
			}
			c := Rect{float64(i)*size - turn/2 + joinSlop, float64(i+1)*size - turn/2 - joinSlop, float64(j)*size - turn/2 + joinSlop, float64(j+1)*size - turn/2 - joinSlop}
			if got == Free && !m.FreeRect(c) {
				t.Fatalf("%s, seed %d: cell %d, %d is free, but not as a rectangle", name, seed, i, j)
			}
		}
		if count[Free] == 0 || count[Blocked] == 0 || count[Edge] == 0 || count[Edge] > 20_000 {
			t.Errorf("%s: %v", name, count)
		}
	}
}
