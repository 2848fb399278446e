package change

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"legroom/rig"
	"legroom/room"
)

// Point is a rig that the solver looked at.
type Point struct {
	X     []float64 // in the order of the variables, in their units
	Price float64
	// Miss is by how much it misses the aim: percent of the sky without room, or minutes, the mean over the targets or over the
	// declinations above the aim's altitude; with cells of CellDeg, and with finer ones never more.
	Miss    float64
	CellDeg float64
	Breaks  string  // the side constraint that it does not hold; "" when it holds all
	asked   float64 // the size of cells that was asked for
	held    bool    // whether the side constraints have been looked at
}

// meets is below what counts as nothing missed, minutes: rounding of sums of angles.
const meets = 1e-6

// Meets tells whether the point meets an aim of no idle time or of minutes past the meridian.
func (p *Point) Meets() bool { return p.Miss <= meets && p.Breaks == "" }

// Progress is how far the solver has come.
type Progress struct {
	Done  float64 // of the work that it may do, 0…1
	Best  *Point  // nil: none found yet
	Bound float64 // as Solution.Bound, so far
}

// Solution is what the solver found.
type Solution struct {
	Aim       Aim
	Variables []Variable
	Units     []string
	Price     []float64 // of a unit of each variable
	Assumed   []string
	Present   Point
	Best      *Point  // nil: nothing that holds the side constraints, or meets the aim at all, was found
	Result    *Result // of the changed document, proven anew
	// Bound is proven: no point of the space misses the aim by less or, when the aim is to be met at the least price, meets it for less.
	// Side constraints and flips are left out of it, so that it holds with them too. Impossible: no point meets the aim.
	Bound      float64
	Impossible bool
	Done       bool    // the search ended by itself: Best is within Within of what can be, or would be if flips need no proof
	Within     float64 // of the aim's unit or price
	Proven     bool    // whether there is a bound at all: not for a head that is off the pole
	Points     []Point // all that were looked at, in the order of their first variable
	Front      []FrontPoint
	Boxes      int // boxes bounded
	Turning    *Turning
}

// Off is how far the best may be from the optimum, in Bound's unit.
func (s *Solution) Off() float64 {
	switch {
	case s.Best == nil:
		return math.Inf(1)
	case s.Aim.Cheapest():
		return math.Max(0, s.Best.Price-s.Bound)
	}
	return math.Max(0, s.Best.Miss-s.Bound)
}

// A search ends when the best is so near to what can be: percent of the sky or minutes; or the price of so much of the dearest variable's
// unit.
const (
	missTolerance = 0.02
	unitTolerance = 0.25
)

// Solve looks for the best point of a problem's space, for a certificate of how far it can be from the optimum, and for what turning
// the tripod does in the place of a riser. It ends early with ctx's error when ctx ends. Progress, when given, is called now and then,
// from one goroutine at a time.
func Solve(ctx context.Context, p Problem, progress func(Progress)) (*Solution, error) {
	space, err := newSpace(&p)
	if err != nil {
		return nil, err
	}
	s := newSearch(space, progress)
	var out *Solution
	var t *Turning
	err = together(ctx, func(ctx context.Context) (err error) {
		if out, err = s.run(ctx); err != nil {
			return err
		}
		return s.prove(ctx, out)
	}, func(ctx context.Context) (err error) {
		t, err = turning(ctx, &p, space)
		return err
	})
	if err != nil {
		return nil, err
	}
	out.Turning = t
	return out, nil
}

// together runs pieces of work at once, for one search alone leaves processors idle, and returns the first error, which ends the others.
func together(ctx context.Context, work ...func(context.Context) error) error {
	ctx, end := context.WithCancelCause(ctx)
	defer end(nil)
	room.InParallel(len(work), func(i int) {
		if err := work[i](ctx); err != nil {
			end(err)
		}
	})
	return context.Cause(ctx)
}

// edits are the changes of the document that lead to a point.
func (s *space) edits(x []float64) []Edit {
	var out []Edit
	for i := range s.vars {
		v := &s.vars[i]
		if x[i] != v.present {
			out = append(out, Edit{Path: v.name, Value: strconv.FormatFloat(x[i], 'f', -1, 64)})
		}
	}
	return out
}

// prove measures the best point's document, from its text on, at full accuracy.
func (s *search) prove(ctx context.Context, out *Solution) error {
	if out.Best == nil {
		return nil
	}
	v := Variant{Name: "best", Edits: s.edits(out.Best.X)}
	ask := s.p.Ask
	ask.CellDeg = finest
	r, err := MeasureVariant(ctx, s.p.Document, v, ask, nil)
	if err != nil {
		return fmt.Errorf("the best that was found, %v, cannot be proven: %w", out.Best.X, err)
	}
	now := s.valueOf(r.Map)
	out.Best.Miss, out.Best.CellDeg = now, finest
	out.Result = r
	return nil
}

// MeasureVariant changes a copy of a document and measures it.
func MeasureVariant(ctx context.Context, d *rig.Document, v Variant, a Ask, progress func(float64)) (*Result, error) {
	c, err := copyOf(d)
	if err != nil {
		return nil, err
	}
	r, assumed, err := v.Apply(c)
	if err != nil {
		return nil, err
	}
	out, err := Measure(ctx, r, a, progress)
	if err != nil {
		return nil, err
	}
	out.Name, out.Edits, out.Assumed, out.Document = v.Name, v.Edits, assumed, c.Bytes()
	return out, nil
}
