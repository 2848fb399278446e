package night

import (
	"cmp"
	"context"
	"slices"
)

// label is a plan up to the end of a block. It is met twice: where its last stretch is left, and, once for each stretch that it
// may go on to, where it is ready there for a block to begin.
type label struct {
	value    int64 // of the plan so far, ticks
	key      int64 // value and the ransom of what it has left, at the minute it is looked at
	parent   int32 // −1 for the parked mount
	next     int32 // in the queue of the same stretch and minute
	stretch  int32 // of its last block, as are:
	from, to int32
	subs     int32
}

// waiter is a label that is ready on a stretch.
type waiter struct {
	label int32
	next  int32 // in the queue
}

// beginning is what may be begun from a label: a move to a stretch and the minute of arrival, or a block and the minute of its
// end.
type beginning struct {
	stretch int
	at      int
	subs    int32
	value   int64 // of the label made by a block
	bound   int64 // no plan that goes on so is worth more
}

// labelling is a search by labels, in the order of minutes. A label says how many sub-exposures of each capped target it has
// left; one with no less value and no less left than another of the same stretch and minute makes the other needless
// (dominance), and so does a plan that is worth more than the programme's bound on what can follow.
type labelling struct {
	p       *programme
	fit     [][]int // by capped target, see programme.fit
	index   []int   // by target, of capped; −1
	all     []label
	left    []int32 // by label, then by capped target
	waiters []waiter
	leaving []int32 // by state, first of a queue; −1
	ready   []int32 // by minute, then by stretch: first of a queue; −1
	batch   []int32 // labels of one queue
	begun   []beginning

	floor   int64 // only what is worth more is looked for
	dropped int64 // no plan that was dropped for width is worth more
}

// optNarrow is how many labels the first round keeps for each stretch and minute, and optTries how many plans are proven after
// a round, one after the other, until one stands.
const (
	optNarrow = 2
	optTries  = 16
)

// ransom is the price of what a plan with so many sub-exposures left can still take from minute t on.
func (s *labelling) ransom(left []int32, t int) int64 {
	var sum int64
	for i, k := range s.p.capped {
		sum += s.p.prices[k] * int64(min(int(left[i]), s.fit[i][t]))
	}
	return sum
}

// of is what a label has left.
func (s *labelling) of(l int32) []int32 {
	n := len(s.p.capped)
	return s.left[int(l)*n:][:n]
}

func newLabelling(p *programme) *labelling {
	s := &labelling{
		p: p, index: make([]int, len(p.shapes)),
		leaving: make([]int32, len(p.leave)), ready: make([]int32, len(p.top)),
	}
	for k := range s.index {
		s.index[k] = slices.Index(p.capped, k)
	}
	for _, k := range p.capped {
		s.fit = append(s.fit, p.fit(k))
	}
	return s
}

// widen searches in rounds, with more labels for each stretch and minute after each that had to drop some, until the best plan
// and the bound meet or the effort runs out.
func (s *labelling) widen(ctx context.Context, width int) error {
	p := s.p
	for p.value < p.bound && p.effort > 0 {
		if err := s.round(ctx, width); err != nil {
			return err
		}
		if s.dropped > p.value {
			width *= 2
		}
	}
	return nil
}

// round searches for plans that are worth more than the best known, again until the best found stands in proof, and lowers the
// bound to what it found and what it dropped. It keeps the best plan that stands.
func (s *labelling) round(ctx context.Context, width int) error {
	p := s.p
	for {
		over, err := s.run(ctx, width)
		if err != nil {
			return err
		}
		if over {
			p.bound = min(p.bound, max(s.floor, s.dropped))
		}
		failed := false
		for _, l := range s.better() {
			chain := s.chain(l)
			stands, err := p.proveChain(ctx, chain)
			if err != nil {
				return err
			}
			if stands {
				p.keep(chain)
				break
			}
			failed = true
		}
		if !failed {
			return nil
		}
		p.mend()
		if p.bound = min(p.bound, p.first.value+p.ransom()); p.bound <= p.value || p.effort <= 0 {
			return nil
		}
	}
}

// better lists the labels that are worth more than the best plan known, the best first, no more than optTries.
func (s *labelling) better() []int32 {
	var list []int32
	for l := range s.all {
		if s.all[l].value > s.p.value {
			list = append(list, int32(l))
		}
	}
	slices.SortFunc(list, func(l, m int32) int {
		return cmp.Or(cmp.Compare(s.all[m].value, s.all[l].value), cmp.Compare(l, m))
	})
	return list[:min(len(list), optTries)]
}

// chain is a label's plan.
func (s *labelling) chain(l int32) []block {
	var chain []block
	for ; s.all[l].parent >= 0; l = s.all[l].parent {
		b := s.all[l]
		chain = append(chain, block{stretch: int(b.stretch), from: int(b.from), to: int(b.to), subs: int(b.subs)})
	}
	slices.Reverse(chain)
	return chain
}

// run searches once, with a number of labels for each stretch and minute. over says that it came to its end.
func (s *labelling) run(ctx context.Context, width int) (over bool, err error) {
	p := s.p
	nb := len(p.from)
	s.all, s.left, s.waiters = s.all[:0], s.left[:0], s.waiters[:0]
	for i := range s.leaving {
		s.leaving[i] = -1
	}
	for i := range s.ready {
		s.ready[i] = -1
	}
	s.floor, s.dropped = p.value, 0
	for _, k := range p.capped {
		s.left = append(s.left, int32(p.c.targets[k].most))
	}
	s.all = append(s.all, label{parent: -1, stretch: -1})
	s.goOn(0, -1, 0, width)
	for t := range p.c.minutes + 1 {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		for a := range nb {
			if t < p.from[a] || t > p.to[a] {
				continue
			}
			i := p.at(a, t)
			s.batch = s.batch[:0]
			for l := s.leaving[i]; l >= 0; l = s.all[l].next {
				s.batch = append(s.batch, l)
			}
			s.thin(t, p.leave[i].value, width)
			for _, l := range s.batch {
				s.goOn(l, a, t, width)
			}
		}
		for b := range nb {
			if w := s.ready[t*nb+b]; w >= 0 {
				s.wait(w, b, t, width)
			}
		}
		if p.effort <= 0 {
			return false, nil
		}
	}
	return true, nil
}

// goOn makes a label that leaves stretch a at minute t ready on the others from which it can still be worth more than floor: on
// the most promising of them, no more than a few for each of width.
func (s *labelling) goOn(l int32, a, t, width int) {
	p := s.p
	nb := len(p.from)
	p.effort -= nb/4 + len(p.capped)
	value, left := s.all[l].value, s.of(l)
	key := value + s.ransom(left, t)
	s.begun = s.begun[:0]
	for b, v := range p.top[t*nb:][:nb] {
		// At the programme's prices nothing may be worth taking any more (zero), and still be for what the label has left.
		if key+v <= s.floor || b == a || t > p.to[b] {
			continue
		}
		m := p.arrive(a, t, b).minute()
		if m > p.to[b] {
			continue
		}
		if bound := key + p.top[m*nb+b]; bound > s.floor {
			s.begun = append(s.begun, beginning{stretch: b, at: m, bound: bound})
		}
	}
	s.narrow(4 * width)
	for _, n := range s.begun {
		at := n.at*nb + n.stretch
		s.waiters = append(s.waiters, waiter{label: l, next: s.ready[at]})
		s.ready[at] = int32(len(s.waiters) - 1)
	}
}

// narrow leaves the n most promising of what may be begun, and sets down what is dropped.
func (s *labelling) narrow(n int) {
	if len(s.begun) <= n {
		return
	}
	slices.SortStableFunc(s.begun, func(x, y beginning) int { return cmp.Compare(y.bound, x.bound) })
	s.dropped = max(s.dropped, s.begun[n].bound)
	s.begun = s.begun[:n]
}

// wait lets the labels of a queue begin a block on stretch b at minute t, and wait for the next minute.
func (s *labelling) wait(w int32, b, t, width int) {
	p := s.p
	nb := len(p.from)
	s.batch = s.batch[:0]
	queue := w
	for ; w >= 0; w = s.waiters[w].next {
		s.batch = append(s.batch, s.waiters[w].label)
	}
	s.thin(t, p.top[t*nb+b], width)
	for _, l := range s.batch {
		if s.all[l].key+p.begin[p.at(b, t)].value > s.floor {
			s.beginBlocks(l, b, t, width)
		}
		// The queue's own waiters, no fewer than the labels that are left, go on to the next minute.
		if t < p.to[b] && s.value(l, t+1)+p.top[(t+1)*nb+b] > s.floor {
			w, queue = queue, s.waiters[queue].next
			s.waiters[w] = waiter{label: l, next: s.ready[(t+1)*nb+b]}
			s.ready[(t+1)*nb+b] = w
		}
	}
}

// value is a label's value and the ransom of what it has left, at a minute.
func (s *labelling) value(l int32, t int) int64 { return s.all[l].value + s.ransom(s.of(l), t) }

// beginBlocks makes a label for the blocks that begin on stretch b at minute t and may still be worth more than floor: the most
// promising of them, no more than width.
func (s *labelling) beginBlocks(l int32, b, t, width int) {
	p := s.p
	k := p.c.stretches[b].target
	sh := &p.shapes[k]
	i := s.index[k]
	most := int32(sh.most)
	if i >= 0 {
		most = min(most, s.of(l)[i])
	}
	value, key := s.all[l].value, s.all[l].key
	ceiling := key + p.ceiling(b, t)
	s.begun = s.begun[:0]
	for chunk := (t + sh.all.shortest()) / optChunk; chunk*optChunk <= p.to[b]; chunk++ {
		p.effort--
		if p.peak[b*p.chunks+chunk]+ceiling <= s.floor {
			continue
		}
		last := min(p.to[b], chunk*optChunk+optChunk-1) - t
		for j := sh.all.from(chunk*optChunk - t); j < len(sh.all.list); j++ {
			n := &sh.all.list[j]
			if int(n.minutes) > last || n.subs > most {
				break
			}
			p.effort--
			end := t + int(n.minutes)
			// What is left can only lose ransom by the minute of the end, so its ransom now bounds it.
			if bound := key + p.priced(k, t, n) + p.leave[p.at(b, end)].value; bound > s.floor {
				s.begun = append(s.begun, beginning{at: end, subs: n.subs, value: value + sh.worth(t, n), bound: bound})
			}
		}
	}
	s.narrow(width)
	for _, n := range s.begun {
		s.add(l, b, t, n.at, i, n.subs, n.value)
	}
}

// add keeps a label for one more block, of a target that is capped if i is not negative.
func (s *labelling) add(parent int32, b, from, end, i int, subs int32, value int64) {
	p := s.p
	n := int32(len(s.all))
	s.left = append(s.left, s.of(parent)...)
	if i >= 0 {
		s.of(n)[i] -= subs
	}
	p.effort -= 40 + 2*len(p.capped)
	at := p.at(b, end)
	s.all = append(s.all, label{
		value: value, parent: parent, next: s.leaving[at], stretch: int32(b), from: int32(from), to: int32(end), subs: subs,
	})
	s.leaving[at] = n
	s.floor = max(s.floor, value)
}

// thin leaves of the batch, labels of one place at minute t after which no more than rest is worth having, those that can still
// beat floor and that no other makes needless, and of those no more than width: the most promising.
func (s *labelling) thin(t int, rest int64, width int) {
	p := s.p
	p.effort -= len(s.batch) * (10 + len(p.capped))
	kept := s.batch[:0]
	for _, l := range s.batch {
		// A label is looked at in many places: its key is for this one.
		if s.all[l].key = s.value(l, t); s.all[l].key+rest > s.floor {
			kept = append(kept, l)
		}
	}
	if len(kept) > 1 {
		slices.SortFunc(kept, func(l, m int32) int {
			return cmp.Or(cmp.Compare(s.all[m].key, s.all[l].key), cmp.Compare(l, m))
		})
	}
	batch := kept
	kept = kept[:0]
	for i, l := range batch {
		if len(kept) == width {
			s.dropped = max(s.dropped, s.all[batch[i]].key+rest)
			break
		}
		if !slices.ContainsFunc(kept, func(m int32) bool { return s.dominates(m, l, t) }) {
			kept = append(kept, l)
		}
		p.effort -= len(kept) * (1 + len(p.capped)/8)
	}
	s.batch = kept
}

// dominates says whether label l has no less value, and no less left that can be taken from minute t on, than label m.
func (s *labelling) dominates(l, m int32, t int) bool {
	if s.all[l].value < s.all[m].value {
		return false
	}
	of, from := s.of(l), s.of(m)
	for i, n := range of {
		if n < from[i] && int(n) < s.fit[i][t] {
			return false
		}
	}
	return true
}
