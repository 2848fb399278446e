package night

import (
	"context"
	"math"
	"slices"
	"sync"
	"time"

	"legroom/axes"
	"legroom/room"
)

// grid is the night in whole minutes.
type grid struct {
	zero    time.Time
	minutes int
}

// gridOver returns the whole minutes of all stays.
func gridOver(stays []stay) grid {
	var g grid
	for i, s := range stays {
		if i == 0 || s.expose.From.Before(g.zero) {
			g.zero = s.expose.From
		}
	}
	g.zero = g.zero.Truncate(time.Minute)
	for i := range stays {
		s := &stays[i]
		s.from, s.to = g.up(s.expose.From), g.down(s.expose.To)
		g.minutes = max(g.minutes, s.to)
	}
	return g
}

func (g grid) at(minute int) time.Time { return g.zero.Add(time.Duration(minute) * time.Minute) }
func (g grid) up(t time.Time) int      { return -g.down(g.zero.Add(g.zero.Sub(t))) }
func (g grid) down(t time.Time) int {
	return int(math.Floor(float64(t.Sub(g.zero)) / float64(time.Minute)))
}

// mover answers for the moves between the stays of one night, and keeps what it has proven.
type mover struct {
	p     *planner
	grid  grid
	stays []stay
	rows  []Target
	// The least minutes that a move takes: before[a+1][b] from a stay that still tracks (a = −1: from the parked mount), rested[a+1][b]
	// from one that stands still.
	before, rested [][]int

	mu    sync.Mutex
	known map[[3]int]passed
}

// passed is a proven move.
type passed struct {
	begin, end time.Time
	by         *way
	ok         bool
}

func newMover(p *planner, g grid, stays []stay, rows []Target) *mover {
	m := &mover{p: p, grid: g, stays: stays, rows: rows, known: map[[3]int]passed{}}
	spots := m.spots()
	for a := -1; a < len(stays); a++ {
		before, rested := make([]int, len(stays)), make([]int, len(stays))
		for b := range stays {
			var full, part least
			for _, at := range spots {
				from, to := p.parked().spot(), at[b]
				if a >= 0 {
					from = at[a]
				}
				// What stands still is at any RA axis angle from what tracks.
				flat, goal := level(from), level(to)
				stood, by := withDrift(p.lasts(flat, goal)), withDrift(p.lasts(from, to))
				for _, w := range p.ways {
					way := level(w.spot())
					round := p.lasts(flat, way) + withDrift(p.lasts(way, goal))
					stood, by = min(stood, round), min(by, round)
				}
				part.add(stood)
				full.add(by)
			}
			// One begins at a whole minute, the other at any time.
			before[b] = int(math.Ceil(full.below().Minutes()))
			rested[b] = int(part.below().Minutes())
		}
		m.before, m.rested = append(m.before, before), append(m.rested, rested)
	}
	return m
}

// spots is where the stays have the mount at moments of the night: with the head on the pole one is as good as all, as the RA axis
// angles of two targets keep their distance.
func (m *mover) spots() [][]spot {
	n := 1
	if !m.p.m.Gauge().Model.Head.Aligned {
		n = 2 + m.grid.minutes/10
	}
	out := make([][]spot, n)
	for i := range out {
		t := m.grid.at(10 * i)
		for k := range m.stays {
			out[i] = append(out[i], m.stays[k].at(m.p, t, t))
		}
	}
	return out
}

// level is a spot with its RA axis left out.
func level(s spot) spot {
	out := slices.Clone(s)
	for i := range out {
		out[i].RAFrom, out[i].RATo = 0, 0
	}
	return out
}

// least keeps the least of what is smooth and was looked at now and then, and how far it goes from one look to the next.
type least struct {
	n                  int
	value, last, jumps time.Duration
}

func (l *least) add(d time.Duration) {
	if l.n == 0 {
		l.value, l.last = d, d
	}
	l.n++
	l.value, l.jumps, l.last = min(l.value, d), max(l.jumps, (d-l.last).Abs()), d
}

// below is less than it is at any time.
func (l *least) below() time.Duration { return max(0, l.value-l.jumps-time.Second/2) }

// leave is where the mount is when a stay is left at a moment, or where it is parked.
func (m *mover) leave(a int, t time.Time) spot {
	if a < 0 {
		return m.p.parked().spot()
	}
	return m.stays[a].at(m.p, t, t)
}

// move is the optimiser's lower bound.
func (m *mover) move(a, t, b int) (int, bool) {
	s := &m.stays[b]
	begin := m.grid.up(s.arrive.From)
	arrive := begin + m.rested[a+1][b]
	switch {
	case a < 0:
		arrive = max(arrive, s.from)
	case begin <= t:
		arrive = t + m.before[a+1][b]
	}
	return arrive, arrive <= m.grid.down(s.arrive.To)
}

// delays are how much later than at once a move is tried, minutes.
var delays = []int{0, 1, 2, 3, 4, 5, 7, 10, 15, 20, 30, 45, 60, 90, 120}

// parkedStep is in which steps a slew from the parked mount is tried later than that, minutes.
const parkedStep = 5

// prove is the optimiser's true answer.
func (m *mover) prove(a, t, b int) (int, bool) {
	least, ok := m.move(a, t, b)
	if !ok {
		return 0, false
	}
	f := m.found(a, t, b)
	return max(least, m.grid.up(f.end)), f.ok
}

// found returns the earliest proven move.
func (m *mover) found(a, t, b int) passed {
	key := [3]int{a, t, b}
	m.mu.Lock()
	f, seen := m.known[key]
	m.mu.Unlock()
	if !seen {
		f = m.find(a, t, b)
		m.mu.Lock()
		m.known[key] = f
		m.mu.Unlock()
	}
	return f
}

func (m *mover) find(a, t, b int) passed {
	s := &m.stays[b]
	at := m.grid.at(t)
	from := m.leave(a, at)
	if a < 0 {
		at = s.expose.From.Add(-m.p.lasts(from, s.at(m.p, s.expose.From, s.expose.From))).Truncate(time.Minute)
	}
	first := later(at, s.arrive.From)
	// Poses to go by, unless the way to them is not proven.
	by := []*way{nil}
	for i := range m.p.ways {
		if a >= 0 && m.p.passage(from, m.p.ways[i].spot()) {
			by = append(by, &m.p.ways[i])
		}
	}
	waits := delays
	if a < 0 { // the parked mount may wait as long as it takes
		waits = slices.Clone(delays)
		for d := parkedStep + delays[len(delays)-1]; d <= m.grid.minutes; d += parkedStep {
			waits = append(waits, d)
		}
	}
	var begins []time.Time
	for _, d := range waits {
		begins = append(begins, first.Add(time.Duration(d)*time.Minute))
	}
	if at, ok := m.advised(a, s); ok && at.After(first) {
		begins = append(begins, at)
		slices.SortFunc(begins, time.Time.Compare)
	}
	for _, begin := range begins {
		for _, w := range by {
			if a >= 0 && w == nil && begin.Equal(at) {
				if _, ok := flips(&m.stays[a], s, &m.rows[s.target], begin); !ok {
					continue
				}
			}
			if end, ok := m.p.come(from, w, s, begin); ok {
				return passed{begin, end, w, true}
			}
		}
	}
	return passed{}
}

// advised returns when the advice of a target has it flip after its idle time, for a move from its stay a on side west to stay s on side
// east: what is proven of one slew in steps of a minute is not to be passed over by the waits.
func (m *mover) advised(a int, s *stay) (time.Time, bool) {
	if a < 0 || len(s.runs) != 1 || m.stays[a].target != s.target || s.runs[0].Side != axes.East || m.stays[a].runs[0].Side != axes.West {
		return time.Time{}, false
	}
	g := &m.rows[s.target]
	if g.Advice.Flip == nil || g.Advice.Late != nil {
		return time.Time{}, false
	}
	return s.hand.when(minute(*g.Advice.Flip) + s.runs[0].turns), true
}

// late returns the move that a block needs: as late as its start allows when that is proven, else as found.
func (m *mover) late(a, t, b, start int) Move {
	f := m.found(a, t, b)
	s := &m.stays[b]
	from := m.leave(a, m.grid.at(t))
	if wait := m.grid.at(start).Sub(f.end).Truncate(time.Minute); wait > 0 {
		begin := f.begin.Add(wait)
		if end, ok := m.p.come(from, f.by, s, begin); ok && !end.After(m.grid.at(start)) {
			f.begin, f.end = begin, end
		}
	}
	out := Move{Begin: f.begin, End: f.end, Path: []axes.Angles{from[0].Centre()}}
	if a < 0 {
		out.From = m.p.parked().name
	} else {
		out.Flip, _ = flips(&m.stays[a], s, &m.rows[s.target], f.begin)
	}
	if f.by != nil {
		out.Via = f.by.name
		out.Path = append(out.Path, f.by.at)
	}
	out.Path = append(out.Path, s.at(m.p, f.end, f.end)[0].Centre())
	return out
}

// park is the proven slew to the park position from where a stay was left.
func (m *mover) park(a, t int) *Move {
	p := m.p
	if len(p.ways) == 0 || p.ways[0].name != "park" {
		return nil
	}
	begin := m.grid.at(t)
	from, park := m.leave(a, begin), p.ways[0]
	if p.passage(from, park.spot()) {
		return &Move{Begin: begin, End: begin.Add(p.lasts(from, park.spot())), To: park.name, Path: []axes.Angles{from[0].Centre(), park.at}}
	}
	for _, w := range p.ways[1:] {
		if p.passage(from, w.spot()) && p.passage(w.spot(), park.spot()) {
			end := begin.Add(p.lasts(from, w.spot()) + p.lasts(w.spot(), park.spot()))
			return &Move{Begin: begin, End: end, Via: w.name, To: park.name, Path: []axes.Angles{from[0].Centre(), w.at, park.at}}
		}
	}
	return nil
}

// fill puts the blocks of each target alone and the schedule into a plan.
func (p *planner) fill(ctx context.Context, plan *Plan) error {
	var stays []stay
	first := make([]int, len(plan.Targets)+1)
	for i := range plan.Targets {
		stays = append(stays, p.stays(i, &plan.Targets[i])...)
		first[i+1] = len(stays)
	}
	g := gridOver(stays)
	m := newMover(p, g, stays, plan.Targets)
	var failed sync.Map
	room.InParallel(len(plan.Targets), func(i int) {
		t := &plan.Targets[i]
		blocks, err := m.alone(ctx, i, first[i], first[i+1])
		if err != nil {
			failed.Store(i, err)
			return
		}
		t.Blocks = blocks
		for _, b := range blocks {
			t.Subs += b.Subs
		}
		if len(blocks) > 0 {
			t.First = blocks[0].Side
		}
		t.Lost = p.lost(t)
	})
	for i := range plan.Targets {
		if err, bad := failed.Load(i); bad {
			return err.(error)
		}
	}
	return m.schedule(ctx, plan)
}

// wish is what the optimiser knows of a target.
func (m *mover) wish(t *Target, worth []float64, most int) wish {
	o := &m.p.options
	return wish{sub: o.SubOf(t.Target) + o.Download, between: o.Dither, worth: worth, most: most}
}

// alone plans a night for one target: as many sub-exposures as fit.
func (m *mover) alone(ctx context.Context, target, first, last int) ([]Block, error) {
	if first == last {
		return nil, nil
	}
	worth := make([]float64, m.grid.minutes+1)
	for i := range worth {
		worth[i] = 1
	}
	c := course{
		minutes: m.grid.minutes, minBlock: 1,
		targets: []wish{m.wish(&m.rows[target], worth, -1)},
		move:    func(a, t, b int) (int, bool) { return m.move(shift(a, first), t, b+first) },
		prove:   func(a, t, b int) (int, bool) { return m.prove(shift(a, first), t, b+first) },
	}
	for _, s := range m.stays[first:last] {
		c.stretches = append(c.stretches, stretch{target: 0, from: s.from, to: s.to})
	}
	best, err := c.best(ctx)
	if err != nil {
		return nil, err
	}
	return m.blocks(best.blocks, first), nil
}

func shift(a, first int) int {
	if a < 0 {
		return a
	}
	return a + first
}

// blocks writes the optimiser's blocks out, the first stay being the optimiser's 0.
func (m *mover) blocks(bs []block, first int) []Block {
	var out []Block
	a, t := -1, 0
	for _, b := range bs {
		s := &m.stays[b.stretch+first]
		side, either := s.side(m.grid.at(b.from))
		out = append(out, Block{
			Target: s.target, Side: side, Either: either, From: m.grid.at(b.from), To: m.grid.at(b.to), Subs: b.subs,
			Come: m.late(a, t, b.stretch+first, b.from),
		})
		a, t = b.stretch+first, b.to
	}
	return out
}

// schedule plans the night for all targets.
func (m *mover) schedule(ctx context.Context, plan *Plan) error {
	c := course{minutes: m.grid.minutes, minBlock: int(math.Ceil(m.p.options.MinBlock.Minutes())), move: m.move, prove: m.prove}
	weights := weights(plan.Targets)
	c.targets = make([]wish, len(plan.Targets))
	room.InParallel(len(plan.Targets), func(i int) {
		t := &plan.Targets[i]
		most := -1
		if t.Wanted > 0 {
			most = int(math.Ceil(float64(t.Wanted) / float64(m.p.options.SubOf(t.Target))))
		}
		c.targets[i] = m.wish(t, m.worth(t, weights[i]), most)
	})
	for _, s := range m.stays {
		c.stretches = append(c.stretches, stretch{target: s.target, from: s.from, to: s.to})
	}
	best, err := c.best(ctx)
	if err != nil {
		return err
	}
	plan.Schedule = Schedule{Blocks: m.blocks(best.blocks, 0), Worth: best.value, Bound: best.bound, Exact: best.proven}
	if n := len(best.blocks); n > 0 {
		plan.Schedule.Park = m.park(best.blocks[n-1].stretch, best.blocks[n-1].to)
	}
	m.explain(plan, best.blocks)
	return nil
}

// nextPriority is what an hour of one priority is worth in hours of the next.
const nextPriority = 4

// weights is what a minute of each target is worth under the best sky: 1 for the first of tonight's priorities, a quarter for the
// next; targets without one come last.
func weights(targets []Target) []float64 {
	rank := func(t *Target) int {
		if t.Priority == 0 {
			return math.MaxInt
		}
		return t.Priority
	}
	var ranks []int
	for i := range targets {
		ranks = append(ranks, rank(&targets[i]))
	}
	slices.Sort(ranks)
	ranks = slices.Compact(ranks)
	out := make([]float64, len(targets))
	for i := range targets {
		k, _ := slices.BinarySearch(ranks, rank(&targets[i]))
		out[i] = math.Pow(nextPriority, -float64(k))
	}
	return out
}

// worth is what exposing a target in each minute of the grid is worth: its share of the best sky's time.
func (m *mover) worth(t *Target, weight float64) []float64 {
	out := make([]float64, m.grid.minutes+1)
	from := int(m.grid.zero.Sub(m.p.first()) / time.Minute)
	for i := range out {
		if k := from + i; k >= 0 && k < len(t.seen.light) {
			out[i] = weight * t.seen.light[k]
		}
	}
	return out
}
