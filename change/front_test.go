package change

import (
	"math"
	"slices"
	"testing"
)

// The best stands in the trade-off, marked, once, in its order: where it is of the front, and where it is not.
func TestFrontHasTheBest(t *testing.T) {
	at := func(x, miss float64) FrontPoint {
		return FrontPoint{Height: x, Takes: x, Point: Point{X: []float64{x, 0}, Miss: miss}}
	}
	for _, c := range []struct {
		best Point
		want []float64
		mark int
	}{
		{Point{X: []float64{20, 0}, Miss: 4}, []float64{10, 20, 30}, 1},
		{Point{X: []float64{20, 7}, Miss: 4}, []float64{10, 20, 30}, 1},        // as good: in its place
		{Point{X: []float64{20, 5}, Miss: 3.99}, []float64{10, 20, 20, 30}, 2}, // as high, and turned too
		{Point{X: []float64{5, 0}, Miss: 9}, []float64{5, 10, 20, 30}, 0},
		{Point{X: []float64{40, 0}, Miss: 0.99}, []float64{10, 20, 30, 40}, 3},
	} {
		s := &search{space: &space{vars: []variable{{path: riserPath}}}, best: &c.best}
		var got []float64
		for i, f := range s.withBest([]FrontPoint{at(10, 8), at(20, 4), at(30, 1)}) {
			got = append(got, f.Height)
			if f.Best != (i == c.mark) || f.Best && !slices.Equal(f.Point.X, c.best.X) {
				t.Errorf("best %v: %d of the front is %+v", c.best.X, i, f)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("best %v: %v", c.best.X, got)
		}
	}
	if got := (&search{}).withBest(nil); got != nil {
		t.Errorf("no best: %v", got)
	}
}

// A best that is not of the front does not bend it: a riser as good as turning lies between the front's own points.
func TestFirstAsGoodIsOfTheFront(t *testing.T) {
	front := []FrontPoint{{Height: 0, Point: Point{Miss: 8}}, {Height: 10, Point: Point{Miss: 4}}, {Height: 15, Point: Point{Miss: 6}, Best: true}, {Height: 20, Point: Point{Miss: 2}}}
	got := (&Solution{Front: front}).firstAsGood(3)
	if got == nil || math.Abs(*got-15) > 1e-12 { // half way from 4 to 2
		t.Errorf("%v", got)
	}
	if got := (&Solution{Front: front}).firstAsGood(1); got != nil {
		t.Errorf("as good as none: %v", *got)
	}
}

// A bearing is no more than another for its number: the trade-off goes by how far the first leg is turned from where it stands, either
// way, and begins there.
func TestFrontGoesByHowFarIsTurned(t *testing.T) {
	at := func(x, miss float64) Point { return Point{X: []float64{x}, Miss: miss} }
	v := variable{Variable: Variable{From: 120, To: 240}, path: azimuth, present: 183}
	s := &search{space: &space{p: &Problem{Aim: Aim{Kind: LeastIdle}}, vars: []variable{v}}}
	s.leaves = []*box{{lo: []float64{120}, hi: []float64{150}, bound: 14}, {lo: []float64{150}, hi: []float64{180}, bound: 17}, {lo: []float64{180}, hi: []float64{240}, bound: 22}}
	best := at(162, 24.8)
	s.best = &best
	got, err := s.front(t.Context(), []Point{at(120, 60.7), at(150, 40), at(162, 24.8), at(170, 31), at(183, 35.6), at(190, 33), at(240, 20)})
	if err != nil {
		t.Fatal(err)
	}
	var first, takes, proven []float64
	for _, f := range got {
		first, takes, proven = append(first, f.Height), append(takes, f.Takes), append(proven, f.AtBest)
		if f.Best != (f.Height == 162) {
			t.Errorf("%+v", f)
		}
	}
	if !slices.Equal(first, []float64{183, 190, 170, 162, 240}) || !slices.Equal(takes, []float64{0, 7, 13, 21, 57}) || !slices.Equal(proven, []float64{22, 17, 17, 17, 14}) {
		t.Errorf("%v takes %v, proven %v", first, takes, proven)
	}
}
