package change

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// How far lower goes: lines along the dearest variable, by how many values of each other one (for two variables, for three), rounds
// around the best with halved steps, and points in all.
var lines = [...]struct{ values, rounds, points int }{{}, {13, 4, 90}, {5, 3, 45}}

// lower looks for points cheaper than best, nil for none yet, that meet an aim of no idle time with their flips proven: climbing
// follows idle time alone, and where flips decide, the cheapest may lie far from where it ends. On each line along the dearest variable
// one point tells, that which would be cheaper by just what counts; where it does, the line is halved down to the cheapest one.
func (s *search) lower(ctx context.Context, best *Point) (*Point, error) {
	h := s.dearest()
	if h < 0 || len(s.vars) < 2 {
		return best, nil
	}
	most := lines[len(s.vars)-1]
	left := most.points
	along := func(x []float64) (err error) {
		best, err = s.along(ctx, x, h, best, &left)
		return err
	}
	grid := s.grid(most.values, h)
	slices.SortStableFunc(grid, func(a, b []float64) int { return cmp.Compare(s.price(a), s.price(b)) })
	for _, x := range grid {
		if err := along(x); err != nil {
			return nil, err
		}
	}
	for k := 1; k <= most.rounds && best != nil; k++ {
		for i := range s.vars {
			if v := &s.vars[i]; i != h && len(v.Only) == 0 {
				step := (v.To - v.From) / float64(most.values-1) / math.Pow(2, float64(k))
				for _, by := range []float64{-step, step} {
					x := slices.Clone(best.X)
					x[i] += by
					if err := along(s.tidy(x)); err != nil {
						return nil, err
					}
				}
			}
		}
	}
	return best, nil
}

// dearest is the variable whose way across its bounds costs most, −1 when none costs anything.
func (s *search) dearest() int {
	at, most := -1, 0.0
	for i := range s.vars {
		if v := &s.vars[i]; len(v.Only) == 0 && v.Price*(v.To-v.From) > most {
			at, most = i, v.Price*(v.To-v.From)
		}
	}
	return at
}

// along looks on the line through x along variable h, to both sides of what it is now, for a point cheaper than best. left is how many
// points may be looked at yet.
func (s *search) along(ctx context.Context, x []float64, h int, best *Point, left *int) (*Point, error) {
	v := &s.vars[h]
	at := func(d float64) []float64 {
		y := slices.Clone(x)
		y[h] = v.present + d
		return s.tidy(y)
	}
	does := func(d float64) (*Point, error) {
		if *left--; *left < 0 {
			return nil, nil
		}
		p, err := s.look(ctx, [][]float64{at(d)}, finest)
		if err != nil || !s.inside(p[0].X) || !p[0].Meets() || best != nil && p[0].Price >= best.Price {
			return nil, err
		}
		if ok, err := s.flips(ctx, p[0]); err != nil || !ok {
			return nil, err
		}
		return p[0], nil
	}
	for _, sign := range []float64{1, -1} {
		reach := math.Max(sign*(v.To-v.present), sign*(v.From-v.present))
		if best != nil {
			y := slices.Clone(x)
			y[h] = v.present
			reach = math.Min(reach, (best.Price-s.within-s.price(y))/v.Price)
		}
		if reach <= 0 {
			continue
		}
		p, err := does(sign * reach)
		if err != nil {
			return nil, err
		}
		if p == nil {
			continue
		}
		best = p
		for low := 0.0; (reach-low)*v.Price > s.within; {
			mid := (low + reach) / 2
			switch p, err := does(sign * mid); {
			case err != nil:
				return nil, err
			case p != nil:
				best, reach = p, mid
			default:
				low = mid
			}
		}
	}
	return best, nil
}
