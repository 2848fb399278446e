package proof

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

var cases = flag.Int("cases", 12, "random rigs that readings are fitted to, of each example; 1000 for the long run")

// morning is when the walks of the tests begin: the Sun is up at every example.
var morning = time.Date(2026, 11, 26, 9, 0, 0, 0, time.UTC)

var rigFiles = []string{"terrace-long-refractor", "karoo-newtonian", "balcony-strain-wave"}

func load(t testing.TB, name string) *rig.Rig {
	t.Helper()
	r, err := rig.Load("../../examples/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func safeMap(t testing.TB, r *rig.Rig) *room.Map {
	t.Helper()
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := Safe(m, rig.RSS)
	if err != nil {
		t.Fatal(err)
	}
	out, err := room.NewMap(context.Background(), g, room.MapOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// scene is an example rig with its walk, made once for all tests.
type scene struct {
	rig    *rig.Rig
	m      *room.Map
	walk   *Walk
	fitter *Fitter
}

var scenes sync.Map

func sceneOf(t testing.TB, name string) *scene {
	t.Helper()
	made, _ := scenes.LoadOrStore(name, sync.OnceValue(func() *scene {
		s := &scene{rig: load(t, name)}
		s.m = safeMap(t, s.rig)
		var err error
		if s.walk, err = NewWalk(context.Background(), s.m, Options{Time: morning}); err != nil {
			t.Fatal(err)
		}
		if s.fitter, err = NewFitter(s.rig, nil); err != nil {
			t.Fatal(err)
		}
		return s
	}))
	return made.(func() *scene)()
}

// truth draws lengths from what their tolerances say: the rig as it really is, in standard deviations.
func (s *scene) truth(rng *rand.Rand) []float64 {
	x := make([]float64, len(s.fitter.l.list))
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	return x
}

// readings are what a ruler says of the rig with lengths x, each off by noise standard deviations of its own.
func (s *scene) readings(t testing.TB, x []float64, noise func() float64) []Reading {
	t.Helper()
	g, err := measured(s.fitter.l.moved(s.rig, x), nil)
	if err != nil {
		t.Fatal(err)
	}
	at, err := s.fitter.rates.At(g)
	if err != nil {
		t.Fatal(err)
	}
	var out []Reading
	scratch := g.NewScratch()
	for i, st := range s.walk.Steps {
		d, ok := at.Between(st.Axes, s.fitter.part[st.A], s.fitter.part[st.B], scratch)
		if !ok {
			t.Fatalf("step %d: no gap of %s and %s", i+1, st.A, st.B)
		}
		out = append(out, Reading{Step: i + 1, Axes: st.Axes, A: st.A, B: st.B, MM: math.Max(0, d.Gap+noise()*UsualRulerMM/two95), TolMM: UsualRulerMM})
	}
	return out
}

func silent() float64 { return 0 }
