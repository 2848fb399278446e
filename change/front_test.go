package change

import (
	"math"
	"slices"
	"testing"
)

// The best stands in the trade-off, marked, once, in its order: where it is of the front, and where it is not.
func TestFrontHasTheBest(t *testing.T) {
	at := func(x, miss float64) FrontPoint {
		return FrontPoint{Height: x, Point: Point{X: []float64{x, 0}, Miss: miss}}
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
		s := &search{best: &c.best}
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
