package fcl

import (
	"math"
	"testing"
)

// place stands upright at x, y, z.
func place(x, y, z float64) [12]float64 { return [12]float64{1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z} }

// Closed forms: the program reads and writes what the format says, and each shape has its axis along z.
func TestPairs(t *testing.T) {
	p := Open(t)
	at := func(kind string, place [12]float64, size ...float64) Part {
		return Part{Kind: kind, Size: size, Place: place}
	}
	for _, c := range []struct {
		a, b Part
		want float64
	}{
		{at("box", place(0, 0, 0), 2, 4, 6), at("sphere", place(0, 0, 13), 10), 5},
		{at("cylinder", place(0, 0, 0), 2, 6), at("sphere", place(0, 0, 13), 10), 5},
		{at("capsule", place(0, 0, 0), 2, 6), at("sphere", place(0, 0, 13), 10), 4},
		{at("cone", place(0, 0, 0), 2, 1, 6), at("sphere", place(0, 0, 13), 10), 5},
		{at("cone", place(0, 0, 0), 8, 0, 6), at("box", place(0, 0, -7), 2, 2, 4), 2},
		{at("cone", place(0, 0, 0), 0, 8, 6), at("box", place(6, 0, 3), 2, 2, 2), 1},
		{at("box", place(0, 0, 0), 2, 2, 2), at("box", place(1, 1, 1), 2, 2, 2), -1},
	} {
		got, err := p.Pairs([]Pair{{c.a, c.b}, {c.b, c.a}})
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range got {
			if math.Abs(g.Distance-c.want) > 1e-6 {
				t.Errorf("%v %v: %v, want %v", c.a, c.b, g.Distance, c.want)
			}
		}
	}
}

func TestScene(t *testing.T) {
	p := Open(t)
	s := Scene{
		Parts: []Part{
			{Group: 0, Kind: "box", Size: []float64{2, 2, 2}, Place: place(0, 0, 0)},
			{Group: 1, Kind: "cone", Size: []float64{4, 2, 2}},
			{Group: 2, Kind: "cylinder", Size: []float64{2, 2}},
		},
		Poses: [][][12]float64{{place(10, 0, 0), place(0, 7, 0)}, {place(10, 0, 0), place(10, 0, 5)}, {place(1, 0, 0), place(0, 7, 0)}},
	}
	check := func(want ...SceneAnswer) {
		t.Helper()
		got, seconds, err := p.Scene(s)
		if err != nil {
			t.Fatal(err)
		}
		if !(seconds > 0) {
			t.Errorf("%v s", seconds)
		}
		for i, w := range want {
			if g := got[i]; math.Abs(g.Distance-w.Distance) > 1e-6 || g.I != w.I || g.J != w.J {
				t.Errorf("pose %d: %+v, want %+v", i, g, w)
			}
		}
	}
	check(SceneAnswer{Answer{Distance: 5}, 0, 2}, SceneAnswer{Answer{Distance: 3}, 1, 2}, SceneAnswer{Answer{Distance: -1}, 0, 1})
	s.Skip = [][2]int{{0, 2}, {2, 1}}
	check(SceneAnswer{Answer{Distance: 7}, 0, 1}, SceneAnswer{Answer{Distance: 7}, 0, 1})
}

func TestBadInput(t *testing.T) {
	p := Open(t)
	if _, err := p.Pairs([]Pair{{A: Part{Kind: "torus", Size: []float64{1}}}}); err == nil {
		t.Error("a torus was taken")
	}
}
