package change

import (
	"container/heap"
	"context"
	"math"
	"slices"

	"legroom/room"
)

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
		room.InParallel(len(some), func(i int) { work[i], errs[i] = s.bind(ctx, some[i]) })
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
			if !s.p.Aim.Cheapest() || b.moves < worthLooking {
				cell = math.Min(cell, cellFor(b.moves))
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
		return b.bound > meets || s.best != nil && s.best.Meets() && b.price >= s.best.Price-s.within
	}
	return s.best != nil && b.bound >= s.best.Miss-s.within
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
		out.Done = out.Best != nil && out.Bound >= out.Best.Miss-s.within-1e-9
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
		out.Done = out.Bound >= out.Best.Price-s.within-1e-9
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
