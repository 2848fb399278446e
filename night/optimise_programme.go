package night

import (
	"math"
	"slices"
)

// programme is the backward dynamic programme over stretches and minutes. In it a cap holds only within a block, what is above
// it costs a price per sub-exposure, and moves that nobody has proven are taken at their bound; so the value of its best chain,
// and the prices of all that is wanted, bound every plan.
type programme struct {
	c        *course
	greatest float64 // worth of a minute
	shapes   []shape // by target
	capped   []int   // the targets whose cap may bind
	prices   []int64 // by target, ticks per sub-exposure
	steep    []int64 // by target: n sub-exposures that need more than L−1 minutes cost steep·(L−1) or more
	from, to []int   // by stretch; to < from where nothing fits
	chunks   int     // of optChunk minutes each, in the grid

	// By state, which is a stretch and a minute inside it: at(b, t) is base[b] + t.
	base  []int
	leave []link  // the best that can follow when the stretch is left at this minute
	begin []start // the best that can follow when exposures begin at this minute
	reach []reach // by state left, then by stretch entered

	// By minute, then by stretch: the best of begin from this minute on, and where it is; zero is none.
	top   []int64
	topAt []int32
	peak  []int64 // by stretch, then by chunk: no less than any slope·sum + leave − steep·t in the chunk, see ceiling

	first  link    // the first move, from the parked mount
	park   []reach // by stretch entered
	failed []int   // by stretch left, then entered: moves whose proof said later than move
	// By stretch left: the last minute at which a move was learnt to arrive later since the last sweep; −1 is none.
	later []int

	kept   []block // the best plan so far, its moves proven and its caps kept
	value  int64   // its worth
	bound  int64   // no plan is worth more
	effort int     // what is left of it
}

// link is the best way on: the next stretch and the minute of arrival, and what follows from there. next is −1 at the end.
type link struct {
	value  int64
	next   int32
	arrive int32
}

// start is the best block from a state, an index in few or −1, and what it and all after it are worth.
type start struct {
	value int64
	take  int32
}

// reach is what is known of one move: nothing (0), or the minute of arrival or never, bounded or proven.
type reach uint16

const (
	reachProven reach = 1
	reachNever  reach = 2 * (optLongest + 2)
)

// arrival keeps an answer.
func arrival(minute int, ok bool) reach {
	if !ok || minute > optLongest {
		return reachNever
	}
	return reach(2 * (minute + 1))
}

// minute is the minute of arrival, past the end of any grid for never.
func (r reach) minute() int { return int(r/2) - 1 }

// optChunk is how many minutes share one entry of peak.
const optChunk = 16

// optSlack is more than all roundings in a bound of a block's worth, ticks.
const optSlack = 256

func newProgramme(c *course, effort int) *programme {
	nb := len(c.stretches)
	p := &programme{
		c: c, effort: effort, chunks: c.minutes/optChunk + 1,
		prices: make([]int64, len(c.targets)), steep: make([]int64, len(c.targets)),
		from: make([]int, nb), to: make([]int, nb), base: make([]int, nb),
		top: make([]int64, (c.minutes+1)*nb), topAt: make([]int32, (c.minutes+1)*nb),
		park: make([]reach, nb), failed: make([]int, nb*nb), later: slices.Repeat([]int{-1}, nb),
	}
	longest := make([]int, len(c.targets))
	for _, s := range c.stretches {
		longest[s.target] = max(longest[s.target], s.to-s.from)
	}
	for _, w := range c.targets {
		for t := range c.minutes {
			p.greatest = math.Max(p.greatest, w.worth[t])
		}
	}
	for k, w := range c.targets {
		p.shapes = append(p.shapes, newShape(w, c.minutes, longest[k], c.minBlock, p.greatest))
	}
	states := 0
	for b, s := range c.stretches {
		few := &p.shapes[s.target].few
		p.to[b] = -1
		if len(few.list) > 0 && s.to-s.from >= few.shortest() {
			p.from[b], p.to[b] = s.from, s.to
		}
		p.base[b] = states - p.from[b]
		states += p.to[b] - p.from[b] + 1
	}
	p.leave, p.begin = make([]link, states), make([]start, states)
	p.reach = make([]reach, states*nb)
	p.peak = make([]int64, nb*p.chunks)
	for k, w := range c.targets {
		if w.most >= 0 && p.fit(k)[0] > w.most {
			p.capped = append(p.capped, k)
		}
	}
	return p
}

// fit returns, by minute, no less than how many sub-exposures of a target can be taken from then on.
func (p *programme) fit(k int) []int {
	open := make([]bool, p.c.minutes+1)
	for b, s := range p.c.stretches {
		for t := p.from[b]; s.target == k && t < p.to[b]; t++ {
			open[t] = true
		}
	}
	most := make([]int, p.c.minutes+1)
	minutes := 0
	for t := p.c.minutes; t >= 0; t-- {
		if open[t] {
			minutes++
		}
		most[t] = int(float64(minutes) / p.shapes[k].sub * (1 + 1e-12))
	}
	return most
}

// at is the index of a state.
func (p *programme) at(b, t int) int { return p.base[b] + t }

// moves is what is known of the moves from stretch a left at minute t, or from the parked mount, by stretch entered.
func (p *programme) moves(a, t int) []reach {
	if a < 0 {
		return p.park
	}
	nb := len(p.from)
	return p.reach[p.at(a, t)*nb:][:nb]
}

// arrive is what is known of a move, asked of move at least.
func (p *programme) arrive(a, t, b int) *reach {
	r := &p.moves(a, t)[b]
	if *r == 0 {
		m, ok := p.c.move(a, t, b)
		*r = arrival(max(m, t, p.from[b]), ok)
	}
	return r
}

// sweep works the whole programme out backward from its last minute, at its present prices.
func (p *programme) sweep() {
	for i := range p.peak {
		p.peak[i] = math.MinInt64 / 2
	}
	for k, w := range p.c.targets {
		p.steep[k] = int64(float64(p.prices[k]) / (w.sub + w.between).Minutes() * (1 - 1e-12))
	}
	nb := len(p.from)
	for t := p.c.minutes; t >= 0; t-- {
		for b := range nb {
			if p.has(b, t) {
				p.begin[p.at(b, t)] = p.bestStart(b, t)
			}
			p.crown(b, t)
		}
		for a := range nb {
			if !p.has(a, t) {
				continue
			}
			l := p.bestLink(a, t)
			p.leave[p.at(a, t)] = l
			k := p.c.stretches[a].target
			s := &p.shapes[k]
			v := int64(s.slope*float64(s.sum[t])) + l.value - p.steep[k]*int64(t)
			peak := &p.peak[a*p.chunks+t/optChunk]
			*peak = max(*peak, v)
		}
	}
	p.swept(32)
}

// mend works the programme out again where moves were learnt to arrive later since the last sweep. Values can only have fallen:
// what still stands on the same best way is left as it is, and what stands on nothing that fell is not looked at.
func (p *programme) mend() {
	nb := len(p.from)
	leaveFell, topFell := make([]bool, nb), make([]bool, nb)
	for t := slices.Max(p.later); t >= 0; t-- {
		for b := range nb {
			if leaveFell[b] && p.has(b, t) {
				if s := &p.begin[p.at(b, t)]; !p.beginStands(b, t, s) {
					before := s.value
					*s = p.bestStart(b, t)
					topFell[b] = topFell[b] || s.value != before
				}
			}
			if topFell[b] {
				p.crown(b, t)
			}
		}
		for a := range nb {
			if !p.has(a, t) {
				continue
			}
			l := &p.leave[p.at(a, t)]
			if l.next >= 0 && (t <= p.later[a] || topFell[l.next]) && !p.linkStands(a, t, l) {
				before := l.value
				*l = p.bestLink(a, t)
				leaveFell[a] = leaveFell[a] || l.value != before
			}
		}
	}
	p.swept(2)
}

// has tells whether a stretch reaches over a minute.
func (p *programme) has(b, t int) bool { return p.from[b] <= t && t <= p.to[b] }

// crown finds the best start of a stretch from a minute on: of equal ones the first.
func (p *programme) crown(b, t int) {
	nb := len(p.from)
	i := t*nb + b
	p.top[i], p.topAt[i] = 0, 0
	if t < p.c.minutes {
		p.top[i], p.topAt[i] = p.top[i+nb], p.topAt[i+nb]
	}
	if !p.has(b, t) {
		return
	}
	if v := p.begin[p.at(b, t)].value; v > 0 && v >= p.top[i] {
		p.top[i], p.topAt[i] = v, int32(t)
	}
}

// swept ends a sweep, whose effort is counted by state.
func (p *programme) swept(each int) {
	p.first = p.bestLink(-1, 0)
	p.effort -= each * len(p.leave)
	for a := range p.later {
		p.later[a] = -1
	}
}

// beginStands says whether the best start of a state is still worth the same.
func (p *programme) beginStands(b, t int, s *start) bool {
	if s.take < 0 {
		return true
	}
	k := p.c.stretches[b].target
	l := &p.shapes[k].few.list[s.take]
	return s.value == p.priced(k, t, l)+p.leave[p.at(b, t+int(l.minutes))].value
}

// linkStands says whether the best way on from a state is still worth the same.
func (p *programme) linkStands(a, t int, l *link) bool {
	return l.next < 0 ||
		p.arrive(a, t, int(l.next)).minute() == int(l.arrive) && p.top[int(l.arrive)*len(p.from)+int(l.next)] == l.value
}

// priced is what a block is worth when the price of its sub-exposures is paid.
func (p *programme) priced(k, t int, l *length) int64 {
	return p.shapes[k].worth(t, l) - p.prices[k]*int64(l.subs)
}

// bestLink is the best way on from stretch a left at minute t, or from the parked mount: of equal ones that which begins first.
// It looks first at the stretch that is best from the next minute, so that few others need be asked for.
func (p *programme) bestLink(a, t int) link {
	nb := len(p.from)
	best := link{next: -1}
	known, top := p.moves(a, t), p.top[t*nb:][:nb]
	hint := int32(-1)
	if a >= 0 && t < p.to[a] {
		hint = p.leave[p.at(a, t+1)].next
	}
	for i := -1; i < nb; i++ {
		b := i
		if i < 0 {
			if b = int(hint); b < 0 {
				continue
			}
		}
		if v := top[b]; v < best.value || v <= 0 || b == a {
			continue
		}
		r := known[b]
		if r == 0 {
			r = *p.arrive(a, t, b)
		}
		m := r.minute()
		if m > p.to[b] {
			continue
		}
		v := p.top[m*nb+b]
		if v > best.value || v > 0 && v == best.value && p.topAt[m*nb+b] < p.topAt[int(best.arrive)*nb+int(best.next)] {
			best = link{value: v, next: int32(b), arrive: int32(m)}
		}
	}
	return best
}

// bestStart is the best block that begins on a stretch at a minute. It looks first where the block of the next minute ended, and
// then passes over the chunks of ends whose ceiling is no better than the best.
func (p *programme) bestStart(b, t int) start {
	k := p.c.stretches[b].target
	s := &p.shapes[k]
	low := t + s.few.shortest()
	high := min(p.to[b], t+s.few.longest())
	best := start{take: -1}
	hint := -1
	if t < p.to[b] {
		if next := p.begin[p.at(b, t+1)]; next.take >= 0 {
			hint = (t + 1 + int(s.few.list[next.take].minutes)) / optChunk
			p.bestIn(b, t, hint, high, &best)
		}
	}
	ceiling := p.ceiling(b, t)
	for chunk := low / optChunk; chunk*optChunk <= high; chunk++ {
		if p.peak[b*p.chunks+chunk]+ceiling > best.value && chunk != hint {
			p.bestIn(b, t, chunk, high, &best)
		}
	}
	return best
}

// ceiling is what is to be added to a chunk's peak to bound, for blocks on a stretch from minute t that end in the chunk, what
// they and all after them are worth, prices paid.
func (p *programme) ceiling(b, t int) int64 {
	k := p.c.stretches[b].target
	s := &p.shapes[k]
	return s.flat - int64(s.slope*float64(s.sum[t])) + p.steep[k]*int64(t+1) - optCharge + optSlack
}

// bestIn betters a start by the blocks that end in a chunk, at minute high at the latest.
func (p *programme) bestIn(b, t, chunk, high int, best *start) {
	k := p.c.stretches[b].target
	s := &p.shapes[k]
	leave := p.leave[p.at(b, t):]
	last := min(high, chunk*optChunk+optChunk-1) - t
	for i := s.few.from(chunk*optChunk - t); i < len(s.few.list) && int(s.few.list[i].minutes) <= last; i++ {
		l := &s.few.list[i]
		if v := p.priced(k, t, l) + leave[l.minutes].value; v > best.value {
			*best = start{value: v, take: int32(i)}
		}
	}
}

// chain is the programme's best chain of blocks.
func (p *programme) chain() []block {
	var chain []block
	for l := p.first; l.next >= 0; {
		b := int(l.next)
		t := int(p.topAt[int(l.arrive)*len(p.from)+b])
		few := p.shapes[p.c.stretches[b].target].few.list[p.begin[p.at(b, t)].take]
		end := t + int(few.minutes)
		chain = append(chain, block{stretch: b, from: t, to: end, subs: int(few.subs)})
		l = p.leave[p.at(b, end)]
	}
	return chain
}

// ransom is the price of all the sub-exposures that are wanted of capped targets: no plan pays more.
func (p *programme) ransom() int64 {
	var sum int64
	for _, k := range p.capped {
		sum += p.prices[k] * int64(p.c.targets[k].most)
	}
	return sum
}
