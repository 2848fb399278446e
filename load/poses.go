package load

import (
	"container/heap"
	"context"
	"math"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Poses is the set of poses that a rig is used in: above the horizon, within the travel of the axes, and, made from a map, proven free.
//
// It knows for sure of a pose whether it is used, and of a cell of the torus only when nothing in it can be: so an extreme over the
// cells that may hold one bounds the extreme over the used poses.
type Poses struct {
	model *axes.Model
	m     *room.Map // nil: every pose above the horizon counts
	dec   room.Interval
	level [][]bool // may hold a free pose: level k has 2^k × 2^k cells over the torus, RA the faster index
}

// fineLevel is the level whose cells the map is read into: 256 along an axis, 1.4°. Below it a cell may hold whatever the one
// above may.
const fineLevel = 8

// AbovePoses returns every pose of a model above the horizon, free or not.
func AbovePoses(m *axes.Model) *Poses {
	return &Poses{model: m, dec: room.Interval{From: -math.Pi / 2, To: math.Pi / 2}}
}

// FreePoses returns the poses above the horizon that a map proves free.
func FreePoses(m *room.Map) *Poses {
	p := AbovePoses(m.Gauge().Model)
	p.m = m
	const n = 1 << fineLevel
	fine := make([]bool, n*n)
	m.FreeRects(func(c room.Rect) {
		// A border on a line between two cells may go to either, so that both are marked.
		at := func(x, slop float64) int {
			return min(n-1, max(0, int(math.Floor((x+math.Pi)/(2*math.Pi)*n+slop))))
		}
		for j := at(c.DecFrom, -1e-9); j <= at(c.DecTo, 1e-9); j++ {
			for i := at(c.RAFrom, -1e-9); i <= at(c.RATo, 1e-9); i++ {
				fine[j*n+i] = true
			}
		}
	})
	p.level = make([][]bool, fineLevel+1)
	p.level[fineLevel] = fine
	for k := fineLevel - 1; k >= 0; k-- {
		w := 1 << k
		p.level[k] = make([]bool, w*w)
		for i, free := range p.level[k+1] {
			x, y := i%(2*w), i/(2*w)
			p.level[k][y/2*w+x/2] = p.level[k][y/2*w+x/2] || free
		}
	}
	return p
}

// Declinations returns the poses whose declination is within [from, to], radians.
func (p *Poses) Declinations(from, to float64) *Poses {
	q := *p
	q.dec = room.Interval{From: from, To: to}
	return &q
}

// Grid lists the used poses of both axis angles in steps, degrees.
func (p *Poses) Grid(stepDeg float64) []axes.Angles {
	var out []axes.Angles
	n := int(math.Ceil(360/stepDeg - 1e-9))
	for j := range n {
		for i := range n {
			g := axes.Angles{RA: axes.Rad(float64(i)*stepDeg - 180), Dec: axes.Rad(float64(j)*stepDeg - 180)}
			if p.Used(g) {
				out = append(out, g)
			}
		}
	}
	return out
}

// Used tells whether a pose is in the set.
func (p *Poses) Used(g axes.Angles) bool {
	u := p.model.Head.Pointing(g)
	alt, az := axes.AltAz(u)
	if !(alt >= axes.Rad(p.model.Rig.Site.Horizon.Altitude(axes.Deg(az)))) {
		return false
	}
	if _, err := p.model.Reach(g); err != nil {
		return false
	}
	if d := p.model.Head.Pose(g).Dec; d < p.dec.From || d > p.dec.To {
		return false
	}
	return p.m == nil || p.m.State(g) == room.Free
}

// cell is a square of the torus: number i, j of 2^level along each axis.
type cell struct {
	level, i, j int
	bound       float64
}

func (c cell) half() float64 { return math.Pi / float64(int(1)<<c.level) }

func (c cell) centre() axes.Angles {
	h := c.half()
	return axes.Angles{RA: -math.Pi + h*float64(2*c.i+1), Dec: -math.Pi + h*float64(2*c.j+1)}
}

// empty tells that no pose of the cell is used; when in doubt it says no.
func (p *Poses) empty(c cell) bool {
	if p.m != nil {
		k := min(c.level, fineLevel)
		d := c.level - k
		if !p.level[k][(c.j>>d)<<k+c.i>>d] {
			return true
		}
	}
	h, g, t := c.half()+1e-9, c.centre(), p.model.Travel
	meets := func(x, from, to float64) bool {
		for k := -2.0; k <= 2; k++ {
			if y := x + k*2*math.Pi; y+h >= from && y-h <= to {
				return true
			}
		}
		return false
	}
	if !meets(g.RA, t.RAFrom, t.RATo) || !meets(g.Dec, t.DecFrom, t.DecTo) {
		return true
	}
	if c.level < 3 {
		return false
	}
	// The line of sight turns by no more than both axes together do.
	r := 2*h + 1e-7
	if d := p.model.Head.Pose(g).Dec; d+r < p.dec.From || d-r > p.dec.To {
		return true
	}
	alt, az := axes.AltAz(p.model.Head.Pointing(g))
	w := 180.0
	if s := math.Sin(r) / math.Cos(alt); math.Abs(alt)+r < math.Pi/2 && s < 1 {
		w = axes.Deg(math.Asin(s)) + 1e-6
	}
	return alt+r < axes.Rad(least(p.model.Rig.Site.Horizon, axes.Deg(az), w))
}

// least is the lowest altitude of a horizon, degrees, within w degrees of an azimuth.
func least(h rig.Horizon, az, w float64) float64 {
	if w >= 180 {
		return h.Least(0, 360)
	}
	return h.Least(az-w, az+w)
}

// extreme is the least of something over a set of poses.
type extreme struct {
	At    axes.Angles // a used pose at which it is Value
	Value float64
	Bound float64 // proven: nowhere less
	Any   bool    // false: the set is empty, as far as cells of the last size tell
}

// smallest is the level of the smallest cells, 0.04° half width: what is undecided there stays in the bound.
const smallest = 12

// least searches the least value by branch and bound, down to cells of the last size. f gives the value at the middle of a cell and what bounds it from below over the
// cell, whose half width along each axis is h. It ends when the bound is within tol of the value found.
func (p *Poses) least(ctx context.Context, tol func(value float64) float64, f func(g axes.Angles, h float64) (value, bound float64)) (extreme, error) {
	return p.leastTo(ctx, smallest, tol, f)
}

// leastTo is least down to cells of a level.
func (p *Poses) leastTo(ctx context.Context, deepest int, tol func(float64) float64, f func(axes.Angles, float64) (value, bound float64)) (extreme, error) {
	e := extreme{Value: math.Inf(1), Bound: math.Inf(1)}
	q := &queue{{bound: math.Inf(-1)}}
	floor := math.Inf(1) // least bound of a smallest cell
	for n := 0; q.Len() > 0; n++ {
		if n&255 == 0 && ctx.Err() != nil {
			return e, ctx.Err()
		}
		c := heap.Pop(q).(cell)
		if e.Any && c.bound >= e.Value-tol(e.Value) {
			floor = math.Min(floor, c.bound)
			break
		}
		if c.level == deepest {
			floor = math.Min(floor, c.bound)
			continue
		}
		for k := range 4 {
			d := cell{level: c.level + 1, i: 2*c.i + k&1, j: 2*c.j + k>>1}
			if p.empty(d) {
				continue
			}
			value, bound := f(d.centre(), d.half())
			d.bound = math.Max(bound, c.bound) // a part of the cell above
			if value < e.Value && p.Used(d.centre()) {
				e.Value, e.At, e.Any = value, d.centre(), true
			}
			heap.Push(q, d)
		}
	}
	e.Bound = math.Min(floor, e.Value)
	return e, nil
}

// queue holds the cells, the one with the least bound first.
type queue []cell

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return q[i].bound < q[j].bound }
func (q queue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)        { *q = append(*q, x.(cell)) }
func (q *queue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}
