package night

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// seasonMap proves an example rig, changed before if need be, and returns it with its site.
func seasonMap(t testing.TB, name string, change func(*rig.Rig)) (*room.Map, sky.Site) {
	t.Helper()
	r, err := rig.Load("../examples/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(r)
	}
	known, err := r.Known(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	model, err := axes.NewModel(r, known)
	if err != nil {
		t.Fatal(err)
	}
	g, err := room.NewGauge(model, room.Options{Mode: rig.RSS})
	if err != nil {
		t.Fatal(err)
	}
	m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	site, err := sky.NewSite(r.Site)
	if err != nil {
		t.Fatal(err)
	}
	return m, site
}

func seasonTargets(rnd *rand.Rand, n int) []sky.Target {
	out := make([]sky.Target, n)
	for i := range out {
		out[i] = sky.Target{Name: fmt.Sprintf("target %d", i), Place: sky.J2000{RA: rnd.Float64() * 2 * math.Pi, Dec: math.Asin(2*rnd.Float64() - 1)}}
	}
	return out
}

func BenchmarkSeason(b *testing.B) {
	for _, moon := range []float64{0, 40} {
		for _, name := range []string{"terrace-long-refractor", "karoo-newtonian"} {
			m, site := seasonMap(b, name, nil)
			targets := seasonTargets(rand.New(rand.NewPCG(1, 2)), 100)
			o := Options{MinAltitude: axes.Rad(25), MoonApart: axes.Rad(moon)}
			b.Run(fmt.Sprintf("%s/targets=100/moon=%v", name, moon), func(b *testing.B) {
				for b.Loop() {
					if _, err := NewSeason(context.Background(), m, site, 2026, time.November, 12, targets, o, nil); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
