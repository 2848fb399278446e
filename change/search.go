package change

import (
	"context"
	"math"
	"slices"
	"strconv"

	"legroom/room"
)

// search is one run of the solver.
type search struct {
	*space
	show   func(Progress)
	budget int
	work   int
	boxes  int
	queue  boxes
	best   *Point
	seen   map[string]*Point
	leaves []*box // bounded and not looked into any more

	unproven int // the band whose flip was last not proven

	last    *Point // looked at alone last, with usual cells, and its map
	lastMap *room.Map
}

func newSearch(s *space, show func(Progress)) *search {
	budget := s.p.Work
	if budget == 0 {
		budget = usualWork[len(s.vars)-1]
	}
	return &search{space: s, show: show, budget: budget, seen: map[string]*Point{}, queue: boxes{cheapest: s.p.Aim.Cheapest()}}
}

// usualWork is the work for one variable, for two, for three.
var usualWork = [...]int{400, 640, 420}

// climbing is the work after which climbing ends: of three variables it finds less than lines do.
func (s *search) climbing() int { return s.budget * [...]int{14, 14, 10}[len(s.vars)-1] / 35 }

// better tells whether a is a better point than b, which may be nil.
func (s *search) better(a, b *Point) bool {
	switch {
	case a.Breaks != "":
		return false
	case b == nil:
		return true
	case s.p.Aim.Cheapest() && a.Meets() != b.Meets():
		return a.Meets()
	case s.p.Aim.Cheapest() && a.Meets():
		return a.Price < b.Price
	case math.Abs(a.Miss-b.Miss) <= meets:
		return a.Price < b.Price
	}
	return a.Miss < b.Miss
}

// run searches: the present rig and a coarse grid first, then around the best of these, then box by box, the most promising first,
// until none is left that can be better, or the work is done.
func (s *search) run(ctx context.Context) (*Solution, error) {
	out := &Solution{Aim: s.p.Aim, Assumed: s.assumed, Proven: s.aligned}
	out.Within = s.within
	for i := range s.vars {
		v := &s.vars[i]
		out.Variables, out.Units, out.Price = append(out.Variables, v.Variable), append(out.Units, v.unit), append(out.Price, v.Price)
	}
	present := make([]float64, len(s.vars))
	for i := range present {
		present[i] = s.vars[i].present
	}
	points, err := s.look(ctx, [][]float64{present}, finest)
	if err != nil {
		return nil, err
	}
	out.Present = *points[0]
	if !s.inside(present) {
		s.best = nil
	}
	seeds, err := s.seed(ctx)
	if err != nil {
		return nil, err
	}
	for i, p := range seeds {
		if err := s.climb(ctx, p, s.work+(s.climbing()-s.work)/(len(seeds)-i)); err != nil {
			return nil, err
		}
	}
	if s.aligned {
		if err := s.branch(ctx, out); err != nil {
			return nil, err
		}
	}
	if err := s.refine(ctx, s.best); err != nil {
		return nil, err
	}
	out.Best, out.Boxes = s.best, s.boxes
	s.certify(out)
	if err := s.settle(ctx, out); err != nil {
		return nil, err
	}
	if s.p.Aim.Cheapest() && out.Best != nil && !out.Best.Meets() && out.Impossible {
		out.Done = true
	}
	for _, p := range s.seen {
		out.Points = append(out.Points, *p)
	}
	slices.SortFunc(out.Points, func(a, b Point) int { return slices.Compare(a.X, b.X) })
	out.Front, err = s.front(ctx, out.Points)
	return out, err
}

// refine measures a point with the finest cells, as its document will be, so that one figure of it stands everywhere. One that meets
// the aim with coarser cells meets it with finer ones.
func (s *search) refine(ctx context.Context, p *Point) error {
	if p == nil || p.CellDeg <= finest || p.Miss <= meets {
		return nil
	}
	g, err := s.gaugeAt(p.X)
	if err != nil {
		return err
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{CellDeg: finest})
	if err != nil {
		return err
	}
	p.Miss, p.CellDeg = s.valueOf(m), finest
	return nil
}

// finest are the cells that a point is looked at with in the end, degrees.
const finest = 0.0625

// inside tells whether a point lies within the bounds, and is one that each variable may take.
func (s *search) inside(x []float64) bool {
	for i := range x {
		v := &s.vars[i]
		if x[i] < v.From || x[i] > v.To || len(v.Only) > 0 && !slices.Contains(v.Only, x[i]) {
			return false
		}
	}
	return true
}

// tidy rounds a point to hundredths, within the bounds, and to what its variables may take.
func (s *search) tidy(x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		v := &s.vars[i]
		out[i] = math.Max(v.From, math.Min(v.To, math.Round(x[i]*100)/100))
		if len(v.Only) > 0 {
			out[i] = slices.MinFunc(v.Only, func(a, b float64) int {
				if math.Abs(a-x[i]) < math.Abs(b-x[i]) {
					return -1
				}
				return 1
			})
		}
	}
	return out
}

func key(x []float64) string {
	var b []byte
	for _, v := range x {
		b = append(strconv.AppendFloat(b, v, 'g', -1, 64), ' ')
	}
	return string(b)
}

// look evaluates points with cells of a size, those that are known so finely already aside, and keeps the best.
func (s *search) look(ctx context.Context, xs [][]float64, cell float64) ([]*Point, error) {
	out := make([]*Point, len(xs))
	errs := make([]error, len(xs))
	workers := 1
	if len(xs) == 1 {
		workers = 0
	}
	room.InParallel(len(xs), func(i int) {
		if p := s.seen[key(xs[i])]; p != nil && p.asked <= cell {
			out[i] = p
			return
		}
		v, used, m, err := s.at(ctx, xs[i], cell, workers)
		out[i], errs[i] = &Point{X: xs[i], Price: s.price(xs[i]), Miss: v, CellDeg: used, asked: cell}, err
		if len(xs) == 1 && used == usual {
			s.last, s.lastMap = out[i], m
		}
	})
	var fresh []*Point
	for i, p := range out {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if errs[i] != nil { // no rig: such as a leg shorter than nothing
			p.Miss, p.Breaks = math.Inf(1), errs[i].Error()
		}
		if s.seen[key(p.X)] == p {
			continue
		}
		s.seen[key(p.X)] = p
		s.work += cellWork(p.CellDeg)
		fresh = append(fresh, p)
	}
	s.rank(fresh) // the side constraints take longest to look at: of the best alone, if they hold
	for _, p := range fresh {
		if s.inside(p.X) && s.better(p, s.best) {
			if err := s.hold(ctx, p); err != nil {
				return nil, err
			}
			if s.better(p, s.best) {
				s.best = p
			}
		}
	}
	s.tell()
	return out, nil
}

// rank sorts points, the best first.
func (s *search) rank(points []*Point) {
	slices.SortStableFunc(points, func(a, b *Point) int {
		switch {
		case s.better(a, b):
			return -1
		case s.better(b, a):
			return 1
		}
		return 0
	})
}

// hold looks whether a point that would be the best holds the side constraints.
func (s *search) hold(ctx context.Context, p *Point) error {
	if p.held || !s.p.Limits.Asks() {
		return nil
	}
	p.held = true
	g, err := s.gaugeAt(p.X)
	if err != nil {
		return err
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{CellDeg: 1})
	if err != nil {
		return err
	}
	x, err := s.p.Limits.load(ctx, m, s.p.Ask)
	p.Breaks = s.p.Limits.broken(&x, s.decNm)
	return err
}

// cellWork is the work of a map with cells of some size.
func cellWork(cell float64) int { return int(math.Ceil(math.Pow(cell, -0.75))) }

// seed looks at a coarse grid over the space, and gives the best few points.
func (s *search) seed(ctx context.Context) ([]*Point, error) {
	points, err := s.look(ctx, s.grid([...]int{17, 7, 3}[len(s.vars)-1], -1), 1)
	if err != nil {
		return nil, err
	}
	points = slices.Clone(points)
	s.rank(points)
	return points[:min(3, len(points))], nil
}

// grid is n values of each variable between its bounds, or those that it may take, with all of the others; but one, −1 for none, stays as it
// is now.
func (s *search) grid(n, but int) [][]float64 {
	xs := [][]float64{{}}
	for i := range s.vars {
		v := &s.vars[i]
		values := v.Only
		switch {
		case i == but:
			values = []float64{v.present}
		case len(values) == 0:
			for k := range n {
				values = append(values, v.From+(v.To-v.From)*float64(k)/float64(n-1))
			}
		}
		var more [][]float64
		for _, x := range xs {
			for _, y := range values {
				more = append(more, append(slices.Clone(x), y))
			}
		}
		xs = more
	}
	for i := range xs {
		xs[i] = s.tidy(xs[i])
	}
	return xs
}

// climb improves a point by steps along each variable, and towards the present rig, halved when none helps, until so much work is done.
func (s *search) climb(ctx context.Context, p *Point, until int) error {
	n := [...]float64{16, 6, 3}[len(s.vars)-1]
	step := make([]float64, len(s.vars))
	for i := range step {
		step[i] = (s.vars[i].To - s.vars[i].From) / n
	}
	for s.work < until {
		moves := 0.0
		b := &box{lo: slices.Clone(p.X), hi: slices.Clone(p.X)}
		for i := range step {
			b.hi[i] += step[i]
		}
		if g, err := s.gaugeAt(p.X); err == nil {
			if m, err := s.motion(b, g); err == nil {
				moves = m.most()
			}
		}
		cell := math.Min(cellFor(moves), 0.5)
		now, err := s.look(ctx, [][]float64{p.X}, cell)
		if err != nil {
			return err
		}
		p = now[0]
		var xs [][]float64
		for i := range step {
			for _, by := range []float64{-step[i], step[i]} {
				x := slices.Clone(p.X)
				x[i] += by
				xs = append(xs, s.tidy(x))
			}
		}
		if s.p.Aim.Cheapest() {
			x := slices.Clone(p.X)
			for i := range x {
				x[i] = (x[i] + s.vars[i].present) / 2
			}
			xs = append(xs, s.tidy(x))
		}
		points, err := s.look(ctx, xs, cell)
		if err != nil {
			return err
		}
		next := p
		for _, q := range points {
			if s.inside(q.X) && s.better(q, next) {
				next = q
			}
		}
		if next != p {
			p = next
			continue
		}
		least := true
		for i := range step {
			step[i] /= 2
			least = least && step[i] < math.Max(0.02, (s.vars[i].To-s.vars[i].From)/4000)
		}
		if least {
			return nil
		}
	}
	return nil
}
