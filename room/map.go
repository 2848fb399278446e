package room

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"legroom/axes"
	"legroom/rig"
)

const turn = 2 * math.Pi

// MapOptions says how fine a map is.
type MapOptions struct {
	CellDeg  float64            // smallest cell, degrees; 0.25 when 0
	Workers  int                // goroutines; as many as processors when 0
	Progress func(done float64) // called now and then with the share done, 0…1, from one goroutine at a time
}

// Map is the certified room map: the torus of both axis angles in cells, each free, blocked or edge. It is immutable.
//
// Pairs that one axis alone moves stand in lines over that axis, the others in a quadtree over both; a pose is free when all three
// say so.
type Map struct {
	gauge   *Gauge
	ra, dec *line
	roots   []quad // roots of n × n equal cells from (−π, −π), RA the faster index
	n       int
	depth   int       // of the smallest cells
	fine    bool      // slews look inside edge cells
	enough  float64   // how long a flip window has to be for no more to be looked for, radians; 0: all are
	memory  *memory   // nil: nothing is kept
	taken   rig.Order // the order of the axes that slews are proven in; "": the document's
}

// quad is one quadtree. Children of a node stand together, in the order (low RA, low Dec), (high, low), (low, high), (high, high).
type quad struct{ nodes []node }

type node struct {
	first int32 // of the four children; 0 for a leaf
	state State // of a leaf; else the worst of all leaves below
}

// check fills in the cell's size and says when it is not possible.
func (o *MapOptions) check() error {
	if o.CellDeg == 0 {
		o.CellDeg = 0.25
	}
	if !(o.CellDeg >= 0.01 && o.CellDeg <= 30) {
		return fmt.Errorf("cell of %v°: give 0.01 to 30", o.CellDeg)
	}
	return nil
}

// NewMap proves the torus down to the smallest cell. It stops early with ctx's error when ctx ends.
func NewMap(ctx context.Context, g *Gauge, o MapOptions) (*Map, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	m := &Map{gauge: g}
	m.n, m.depth = layout(o.CellDeg)
	m.roots = make([]quad, m.n*m.n)
	fine := m.fineness()
	v := newProver(g)
	m.ra = newLine(v, g.all(true, false), fine/8, func(x float64) axes.Angles { return axes.Angles{RA: x} })
	m.dec = newLine(v, g.all(false, true), fine/8, func(x float64) axes.Angles { return axes.Angles{Dec: x} })
	err := m.grow(ctx, o, func(b *builder, root int) {
		b.build(root, m.cell(root))
	})
	if err != nil {
		return nil, err
	}
	return m, nil
}

// fineness is the size of the smallest cells, radians.
func (m *Map) fineness() float64 { return turn / float64(m.n) / float64(int(1)<<m.depth) }

// layout returns the number of root cells along an axis, 4 to 7, and the depth at which cells are no larger than cell degrees.
func layout(cell float64) (n, depth int) {
	count := math.Ceil(360/cell - 1e-9)
	for count > 7 {
		count /= 2
		depth++
	}
	return int(math.Ceil(count - 1e-9)), depth
}

// Refine returns a finer map that keeps what m has proven and looks again only at its edge cells.
func (m *Map) Refine(ctx context.Context, o MapOptions) (*Map, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	size := 360 / float64(m.n)
	depth := m.depth
	for size/float64(int(1)<<depth) > o.CellDeg*(1+1e-12) && depth < 24 {
		depth++
	}
	if depth == m.depth {
		return m, nil
	}
	f := &Map{gauge: m.gauge, ra: m.ra, dec: m.dec, n: m.n, depth: depth, roots: make([]quad, len(m.roots))}
	err := f.grow(ctx, o, func(b *builder, root int) {
		f.roots[root].nodes = slices.Clone(m.roots[root].nodes)
		b.refine(root, 0, f.cell(root), f.depth)
	})
	if err != nil {
		return nil, err
	}
	return f, nil
}

// grow runs work for every root in parallel.
func (m *Map) grow(ctx context.Context, o MapOptions, work func(b *builder, root int)) error {
	workers := o.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	all := m.gauge.all(true, true)
	var next, done atomic.Int64
	var report sync.Mutex
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			b := &builder{m: m, v: newProver(m.gauge), all: all, ctx: ctx}
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(m.roots) {
					return
				}
				work(b, i)
				if o.Progress != nil {
					report.Lock()
					o.Progress(float64(done.Add(1)) / float64(len(m.roots)))
					report.Unlock()
				}
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}

// builder grows quadtrees in one goroutine.
type builder struct {
	m    *Map
	v    *prover
	ctx  context.Context
	all  []live
	list []live // stack of the pairs still alive at each level
	step int
}

func (b *builder) build(root int, c Rect) {
	q := &b.m.roots[root]
	q.nodes = append(q.nodes[:0], node{})
	b.split(q, 0, c, b.m.depth, b.all)
}

// refine descends to the edge leaves and grows them.
func (b *builder) refine(root int, i int32, c Rect, depth int) {
	q := &b.m.roots[root]
	if q.nodes[i].first == 0 {
		if q.nodes[i].state == Edge && depth > 0 {
			b.split(q, i, c, depth, b.all)
		}
		return
	}
	for k := range int32(4) {
		b.refine(root, q.nodes[i].first+k, child(c, k), depth-1)
	}
	q.sum(i)
}

// split proves node i, the cell c that may still be halved depth times, for the pairs in alive.
func (b *builder) split(q *quad, i int32, c Rect, depth int, alive []live) {
	if b.step++; b.step&1023 == 0 && b.ctx.Err() != nil {
		return // undecided: stays edge
	}
	base := len(b.list)
	hRA, hDec := c.half()
	var state State
	b.list, state = b.v.prove(c.Centre(), hRA, hDec, alive, b.list)
	if state != Edge || depth == 0 {
		q.nodes[i].state = state
		b.list = b.list[:base]
		return
	}
	first := int32(len(q.nodes))
	q.nodes = append(q.nodes, node{}, node{}, node{}, node{})
	keep := b.list[base:len(b.list):len(b.list)]
	q.nodes[i].first = first
	for k := range int32(4) {
		b.split(q, first+k, child(c, k), depth-1, keep)
	}
	b.list = b.list[:base]
	q.sum(i)
	q.merge(i)
}

// sum gives an inner node the worst state of its children.
func (q *quad) sum(i int32) {
	n := &q.nodes[i]
	n.state = Free
	for _, c := range q.nodes[n.first : n.first+4] {
		n.state = worse(n.state, c.state)
	}
}

// merge turns four children of one decided state into a leaf, when they stand last in the list.
func (q *quad) merge(i int32) {
	first := q.nodes[i].first
	s := q.nodes[first].state
	if s == Edge || int(first)+4 != len(q.nodes) {
		return
	}
	for k := range int32(4) {
		if n := q.nodes[first+k]; n.first != 0 || n.state != s {
			return
		}
	}
	q.nodes = q.nodes[:first]
	q.nodes[i] = node{state: s}
}

// child returns quarter k of a cell.
func child(c Rect, k int32) Rect {
	m := c.Centre()
	if k&1 == 0 {
		c.RATo = m.RA
	} else {
		c.RAFrom = m.RA
	}
	if k&2 == 0 {
		c.DecTo = m.Dec
	} else {
		c.DecFrom = m.Dec
	}
	return c
}

// cell returns the rectangle of a root.
func (m *Map) cell(root int) Rect {
	size := turn / float64(m.n)
	i, j := float64(root%m.n), float64(root/m.n)
	return Rect{i*size - math.Pi, (i+1)*size - math.Pi, j*size - math.Pi, (j+1)*size - math.Pi}
}

// Gauge returns the gauge that the map was made with.
func (m *Map) Gauge() *Gauge { return m.gauge }

// CellDeg is the size of the smallest cells, degrees.
func (m *Map) CellDeg() float64 { return 360 / float64(m.n) / float64(int(1)<<m.depth) }

// State returns what is proven of the cell that holds g.
func (m *Map) State(g axes.Angles) State {
	ra, dec := axes.Wrap(g.RA), axes.Wrap(g.Dec)
	if math.IsNaN(ra) || math.IsNaN(dec) {
		return Edge
	}
	return worse(worse(m.ra.state(ra), m.dec.state(dec)), m.tree(ra, dec))
}

// worse is what is known where two groups of pairs are: free only when both are, blocked when one is.
func worse(a, b State) State {
	switch {
	case a == Blocked || b == Blocked:
		return Blocked
	case a == Edge || b == Edge:
		return Edge
	}
	return Free
}

func (m *Map) tree(ra, dec float64) State {
	size := turn / float64(m.n)
	i := min(int((ra+math.Pi)/size), m.n-1)
	j := min(int((dec+math.Pi)/size), m.n-1)
	root := j*m.n + i
	c := m.cell(root)
	nodes := m.roots[root].nodes
	k := int32(0)
	for nodes[k].first != 0 {
		mid := c.Centre()
		q := int32(0)
		if ra >= mid.RA {
			q = 1
		}
		if dec >= mid.Dec {
			q |= 2
		}
		k, c = nodes[k].first+q, child(c, q)
	}
	return nodes[k].state
}

// visit calls f for every leaf of the quadtree that meets r and is least or worse, in unwrapped angles near r, until f returns
// false. skip, when not nil, may turn away whole cells.
func (m *Map) visit(r Rect, least State, skip func(Rect) bool, f func(Rect, State) bool) bool {
	size := turn / float64(m.n)
	for j := int(math.Floor((r.DecFrom + math.Pi) / size)); float64(j)*size-math.Pi <= r.DecTo; j++ {
		for i := int(math.Floor((r.RAFrom + math.Pi) / size)); float64(i)*size-math.Pi <= r.RATo; i++ {
			root := mod(j, m.n)*m.n + mod(i, m.n)
			c := Rect{float64(i)*size - math.Pi, float64(i+1)*size - math.Pi, float64(j)*size - math.Pi, float64(j+1)*size - math.Pi}
			if !m.roots[root].visit(0, c, r, least, skip, f) {
				return false
			}
		}
	}
	return true
}

func (q *quad) visit(i int32, c, r Rect, least State, skip func(Rect) bool, f func(Rect, State) bool) bool {
	n := q.nodes[i]
	if worse(least, n.state) != n.state || c.RATo < r.RAFrom || c.RAFrom > r.RATo || c.DecTo < r.DecFrom || c.DecFrom > r.DecTo ||
		(skip != nil && skip(c)) {
		return true
	}
	if n.first == 0 {
		return f(c, n.state)
	}
	for k := range int32(4) {
		if !q.visit(n.first+k, child(c, k), r, least, skip, f) {
			return false
		}
	}
	return true
}

func mod(a, n int) int { return ((a % n) + n) % n }

// FreeRect tells whether every pose of r is proven free.
func (m *Map) FreeRect(r Rect) bool {
	return r.valid() && m.ra.free(r.RAFrom, r.RATo) && m.dec.free(r.DecFrom, r.DecTo) &&
		m.visit(r, Edge, nil, func(Rect, State) bool { return false })
}

// NotFree returns the RA axis angles in [from, to] at which some pose with a declination axis angle in [decFrom, decTo] is not
// proven free, as sorted, separate intervals.
func (m *Map) NotFree(from, to, decFrom, decTo float64) []Interval {
	r := Rect{from, to, decFrom, decTo}.ordered()
	if !r.valid() || !m.dec.free(r.DecFrom, r.DecTo) {
		return []Interval{{r.RAFrom, r.RATo}}
	}
	bad := m.ra.notFree(r.RAFrom, r.RATo)
	m.visit(r, Edge, nil, func(c Rect, _ State) bool {
		bad = append(bad, Interval{math.Max(c.RAFrom, r.RAFrom), math.Min(c.RATo, r.RATo)})
		return true
	})
	return union(bad)
}

// EdgeShare is the share of the torus that is undecided, 0…1.
func (m *Map) EdgeShare() float64 {
	sum := 0.0
	m.Leaves(func(c Rect, s State) {
		if s == Edge {
			sum += (c.RATo - c.RAFrom) * (c.DecTo - c.DecFrom)
		}
	})
	return sum/(turn*turn) + m.ra.share(Edge) + m.dec.share(Edge)
}

// FreeRects calls f for rectangles that together hold every pose that is proven free, and no other.
func (m *Map) FreeRects(f func(Rect)) {
	m.Leaves(func(c Rect, s State) {
		if s != Free {
			return
		}
		m.ra.visit(c.RAFrom, c.RATo, func(ra Interval, s State) {
			if s != Free {
				return
			}
			m.dec.visit(c.DecFrom, c.DecTo, func(dec Interval, s State) {
				if s == Free {
					f(Rect{ra.From, ra.To, dec.From, dec.To})
				}
			})
		})
	})
}

// Leaves calls f for every leaf of the quadtree, which knows only the pairs that both axes move.
func (m *Map) Leaves(f func(Rect, State)) {
	for i := range m.roots {
		c := m.cell(i)
		m.roots[i].visit(0, c, c, Free, nil, func(c Rect, s State) bool { f(c, s); return true })
	}
}
