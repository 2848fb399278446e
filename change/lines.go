package change

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
)

// How far lower goes: lines along the dearest variable, by how many values of each other one (for two variables, for three), rounds
// around the best with halved steps, and points in all.
var lines = [...]struct{ values, rounds, points int }{{}, {13, 4, 90}, {5, 3, 80}}

// coarsely is the share of the dearest variable's bounds that a line has to win at first, and a quarter of it in each round after.
const coarsely = 1. / 32

// lower looks for points cheaper than best, nil for none yet, that meet an aim of no idle time with their flips proven: climbing
// follows idle time alone, and where flips decide, the cheapest may lie far from where it ends. On each line along the dearest variable
// one point tells, that which would be cheaper by just what counts; where it does, the line is halved down to the cheapest one.
func (s *search) lower(ctx context.Context, best *Point) (*Point, error) {
	h := s.dearest()
	if h < 0 || len(s.vars) < 2 {
		return best, nil
	}
	most := lines[len(s.vars)-1]
	l := &lineSearch{search: s, h: h, best: best, short: map[string]float64{}, left: most.points * max(s.budget, usualWork[len(s.vars)-1]) / usualWork[len(s.vars)-1]}
	l.wins = s.vars[h].Price * (s.vars[h].To - s.vars[h].From) * coarsely
	grid := s.grid(most.values, h)
	// In no order, though always the same one: so the lines that win become ever fewer.
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(grid), func(i, j int) { grid[i], grid[j] = grid[j], grid[i] })
	for _, x := range grid {
		if err := l.along(ctx, x); err != nil {
			return nil, err
		}
	}
	for k := 1; k <= most.rounds && l.best != nil; k++ {
		if l.wins = math.Max(l.wins/4, s.within); k == most.rounds {
			l.wins = s.within
		}
		if err := l.along(ctx, l.best.X); err != nil {
			return nil, err
		}
		for i := range s.vars {
			if v := &s.vars[i]; i != h && len(v.Only) == 0 {
				step := (v.To - v.From) / float64(most.values-1) / math.Pow(2, float64(k))
				for _, by := range []float64{-step, step} {
					x := slices.Clone(l.best.X)
					x[i] += by
					if err := l.along(ctx, s.tidy(x)); err != nil {
						return nil, err
					}
				}
			}
		}
	}
	return l.best, nil
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

// lineSearch looks on lines along one variable for a point cheaper than the best.
type lineSearch struct {
	*search
	h    int     // the variable
	best *Point  // nil: none yet
	wins float64 // what a line has to win, in price
	left int     // how many points may be looked at yet

	short map[string]float64 // by line and side: how far was too short
}

// along looks on the line through x, to both sides of what the variable is now.
func (l *lineSearch) along(ctx context.Context, x []float64) error {
	v := &l.vars[l.h]
	at := func(d float64) []float64 {
		y := slices.Clone(x)
		y[l.h] = v.present + d
		return l.tidy(y)
	}
	for _, sign := range []float64{1, -1} {
		reach := math.Max(sign*(v.To-v.present), sign*(v.From-v.present))
		if l.best != nil {
			reach = math.Min(reach, (l.best.Price-l.wins-l.price(at(0)))/v.Price)
		}
		if reach <= 0 {
			continue
		}
		line := key(append(at(0), sign))
		if reach <= l.short[line] {
			continue
		}
		wins, err := l.take(ctx, at(sign*reach))
		if err != nil {
			return err
		}
		if !wins {
			l.short[line] = reach
		}
		for wins && (reach-l.short[line])*v.Price > l.wins {
			mid := (l.short[line] + reach) / 2
			switch better, err := l.take(ctx, at(sign*mid)); {
			case err != nil:
				return err
			case better:
				reach = mid
			default:
				l.short[line] = mid
			}
		}
	}
	return nil
}

// take makes a point the best if it is cheaper and meets the aim with its flips proven.
func (l *lineSearch) take(ctx context.Context, x []float64) (bool, error) {
	if l.left--; l.left < 0 {
		return false, nil
	}
	p, err := l.look(ctx, [][]float64{x}, finest)
	if err != nil || !l.inside(p[0].X) || !p[0].Meets() || l.best != nil && p[0].Price >= l.best.Price {
		return false, err
	}
	ok, err := l.flips(ctx, p[0])
	if ok {
		l.best = p[0]
	}
	return ok, err
}
