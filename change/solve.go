package change

import (
	"container/heap"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"
	"sync"

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
	Breaks  string // the side constraint that it does not hold; "" when it holds all
	asked   float64
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
	// Side constraints are left out of it, so that it holds with them too. Impossible: no point meets the aim.
	Bound      float64
	Impossible bool
	Done       bool    // the search ended by itself: Best is within Within of what can be
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

// tolerance is when a search ends: percent of the sky or minutes; and price.
const (
	missTolerance  = 0.02
	priceTolerance = 0.25
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
	out, err := s.run(ctx)
	if err != nil {
		return nil, err
	}
	if err := s.prove(ctx, out); err != nil {
		return nil, err
	}
	out.Turning, err = turning(ctx, &p, space)
	return out, err
}

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
}

func newSearch(s *space, show func(Progress)) *search {
	budget := s.p.Work
	if budget == 0 {
		budget = [...]int{400, 800, 900}[len(s.vars)-1]
	}
	return &search{space: s, show: show, budget: budget, seen: map[string]*Point{}, queue: boxes{cheapest: s.p.Aim.Cheapest()}}
}

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
	out.Within = missTolerance
	if s.p.Aim.Cheapest() {
		out.Within = priceTolerance
	}
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
		if err := s.climb(ctx, p, s.work+(s.budget*2/5-s.work)/(len(seeds)-i)); err != nil {
			return nil, err
		}
	}
	if s.aligned {
		if err := s.branch(ctx, out); err != nil {
			return nil, err
		}
	}
	out.Best, out.Boxes = s.best, s.boxes
	s.certify(out)
	if s.p.Aim.Cheapest() && out.Best != nil && !out.Best.Meets() && out.Impossible {
		out.Done = true
	}
	for _, p := range s.seen {
		out.Points = append(out.Points, *p)
	}
	slices.SortFunc(out.Points, func(a, b Point) int { return slices.Compare(a.X, b.X) })
	out.Front = s.front(out.Points)
	return out, nil
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
	each(len(xs), func(i int) {
		if p := s.seen[key(xs[i])]; p != nil && p.asked <= cell {
			out[i] = p
			return
		}
		v, used, err := s.at(ctx, xs[i], cell)
		out[i], errs[i] = &Point{X: xs[i], Price: s.price(xs[i]), Miss: v, CellDeg: used, asked: cell}, err
	})
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

// hold looks whether a point that would be the best holds the side constraints.
func (s *search) hold(ctx context.Context, p *Point) error {
	if !s.p.Limits.Asks() {
		return nil
	}
	g, err := s.gaugeAt(p.X)
	if err != nil {
		return err
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{CellDeg: 1})
	if err != nil {
		return err
	}
	x, err := loadOf(ctx, m, s.p.Ask)
	p.Breaks = s.p.Limits.broken(&x, s.decNm)
	return err
}

// cellWork is the work of a map with cells of some size.
func cellWork(cell float64) int { return int(math.Ceil(math.Pow(cell, -0.75))) }

// each calls f for 0 to n−1 on all processors.
func each(n int, f func(i int)) {
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

// seed looks at a coarse grid over the space, and gives the best few points.
func (s *search) seed(ctx context.Context) ([]*Point, error) {
	n := [...]int{17, 7, 4}[len(s.vars)-1]
	xs := [][]float64{{}}
	for i := range s.vars {
		v := &s.vars[i]
		values := v.Only
		if len(values) == 0 {
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
	points, err := s.look(ctx, xs, 1)
	if err != nil {
		return nil, err
	}
	points = slices.Clone(points)
	slices.SortStableFunc(points, func(a, b *Point) int {
		switch {
		case s.better(a, b):
			return -1
		case s.better(b, a):
			return 1
		}
		return 0
	})
	return points[:min(3, len(points))], nil
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

// worthLooking is the motion within a box, mm, below which its centre may tell of a cheaper point than climbing found.
const worthLooking = 20

// branch bounds boxes, the most promising first.
func (s *search) branch(ctx context.Context, out *Solution) error {
	root := &box{killer: -1}
	for i := range s.vars {
		root.lo, root.hi = append(root.lo, s.vars[i].From), append(root.hi, s.vars[i].To)
		if only := s.vars[i].Only; len(only) > 0 {
			root.lo[i], root.hi[i] = only[0], only[len(only)-1]
		}
	}
	root.price = s.leastPrice(root)
	heap.Push(&s.queue, root)
	const batch = 4 // the same on every machine, so that the same answer comes
	for s.queue.Len() > 0 && s.work < s.budget {
		var some []*box
		for s.queue.Len() > 0 && len(some) < batch {
			b := heap.Pop(&s.queue).(*box)
			if s.hopeless(b) {
				s.leaves = append(s.leaves, b)
				continue
			}
			some = append(some, b)
		}
		if len(some) == 0 {
			break
		}
		work, errs := make([]int, len(some)), make([]error, len(some))
		each(len(some), func(i int) { work[i], errs[i] = s.bind(ctx, some[i]) })
		var centres [][]float64
		cell := 1.0
		for i, b := range some {
			if errs[i] != nil {
				return errs[i]
			}
			s.boxes++
			s.work += work[i]
			if b.bound > meets && b.killer >= 0 { // to the front
				s.killers = slices.DeleteFunc(s.killers, func(k int) bool { return k == b.killer })
				s.killers = slices.Insert(s.killers, 0, b.killer)
			}
			if s.hopeless(b) {
				s.leaves = append(s.leaves, b)
				continue
			}
			if !s.p.Aim.Cheapest() {
				cell = math.Min(cell, cellFor(b.moves))
			}
			if !s.p.Aim.Cheapest() || b.moves < worthLooking {
				centres = append(centres, s.tidy(b.centre()))
			}
			halves := s.halves(b)
			if len(halves) == 0 || b.moves < 0.05 {
				s.leaves = append(s.leaves, b)
				continue
			}
			for _, h := range halves {
				heap.Push(&s.queue, h)
			}
		}
		if _, err := s.look(ctx, centres, cell); err != nil {
			return err
		}
	}
	out.Done = s.queue.Len() == 0
	s.leaves = append(s.leaves, s.queue.list...)
	return nil
}

// hopeless tells that no point of a box can be better than the best by more than the tolerance.
func (s *search) hopeless(b *box) bool {
	if s.p.Aim.Cheapest() {
		return b.bound > meets || s.best != nil && s.best.Meets() && b.price >= s.best.Price-priceTolerance
	}
	return s.best != nil && b.bound >= s.best.Miss-missTolerance
}

// certify takes the bound of the whole space from the boxes that cover it.
func (s *search) certify(out *Solution) {
	if !s.aligned {
		return
	}
	if !s.p.Aim.Cheapest() {
		out.Bound = math.Inf(1)
		for _, b := range s.leaves {
			out.Bound = math.Min(out.Bound, b.bound)
		}
		out.Done = out.Best != nil && out.Bound >= out.Best.Miss-missTolerance-1e-9
		return
	}
	out.Bound, out.Impossible = math.Inf(1), true
	for _, b := range s.leaves {
		if b.bound <= meets {
			out.Bound, out.Impossible = math.Min(out.Bound, b.price), false
		}
	}
	if out.Best != nil && out.Best.Meets() {
		out.Bound = math.Min(out.Bound, out.Best.Price)
		out.Done = out.Bound >= out.Best.Price-priceTolerance-1e-9
	}
}

func (s *search) tell() {
	if s.show != nil {
		s.show(Progress{Done: math.Min(1, float64(s.work)/float64(s.budget)), Best: s.best})
	}
}

// boxes is a heap of boxes, the most promising first: the cheapest, or that with the least bound.
type boxes struct {
	list     []*box
	cheapest bool
}

func (q *boxes) Len() int { return len(q.list) }
func (q *boxes) Less(i, j int) bool {
	a, b := q.list[i], q.list[j]
	if q.cheapest && a.price != b.price {
		return a.price < b.price
	}
	return a.bound < b.bound
}
func (q *boxes) Swap(i, j int) { q.list[i], q.list[j] = q.list[j], q.list[i] }
func (q *boxes) Push(x any)    { q.list = append(q.list, x.(*box)) }
func (q *boxes) Pop() any {
	x := q.list[len(q.list)-1]
	q.list = q.list[:len(q.list)-1]
	return x
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
