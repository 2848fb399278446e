package room

import (
	"container/heap"
	"context"
	"errors"
	"math"
	"slices"

	"legroom/axes"
)

// ErrNoRoute says that no chain of proven slews was found between two poses.
var ErrNoRoute = errors.New("no proven route")

// Route is a chain of slews, each proven free in any order of the axes, overshoot included.
type Route struct {
	Waypoints []axes.Angles // from the start to the end, both included
	Seconds   float64       // both axes side by side at the document's rates
}

// Route finds a short route between two poses within travel: the shortest over a grid of waypoints (2°, then 1°, then 0.5°
// apart) by A*, then the fewest-second choice among the waypoints on it whose legs are proven.
func (m *Map) Route(ctx context.Context, from, to axes.Angles) (Route, error) {
	return m.RouteOver(ctx, from, to, func(axes.Angles) bool { return true })
}

// RouteOver is Route over waypoints that the mount goes to: those of which may says so.
func (m *Map) RouteOver(ctx context.Context, from, to axes.Angles, may func(axes.Angles) bool) (Route, error) {
	direct := m.leg(from, to)
	s := m.gauge.slew()
	if direct {
		return Route{[]axes.Angles{from, to}, s.seconds(to.RA-from.RA, to.Dec-from.Dec)}, nil
	}
	for _, step := range []float64{2, 1, 0.5} {
		way := m.search(ctx, from, to, axes.Rad(step), may)
		if err := ctx.Err(); err != nil {
			return Route{}, err
		}
		if way != nil {
			return m.tighten(way), nil
		}
	}
	return Route{}, ErrNoRoute
}

// leg tells whether the slew between two poses is proven in any order.
func (m *Map) leg(a, b axes.Angles) bool {
	t := m.gauge.Model.Travel
	return t.Contains(a) && t.Contains(b) && m.slewFree(At(a), At(b), anyOrder, nil)
}

// tighten keeps of the poses along a way those that make the fastest chain of proven legs, by dynamic programming.
func (m *Map) tighten(way []axes.Angles) Route {
	s := m.gauge.slew()
	cost := make([]float64, len(way))
	prev := make([]int, len(way))
	for j := 1; j < len(way); j++ {
		cost[j], prev[j] = math.Inf(1), j-1
		for i := range j {
			// A pause at every waypoint: fewer legs win between equal times.
			c := cost[i] + s.seconds(way[j].RA-way[i].RA, way[j].Dec-way[i].Dec) + 1e-3
			if c < cost[j] && m.leg(way[i], way[j]) {
				cost[j], prev[j] = c, i
			}
		}
	}
	var r Route
	for k := len(way) - 1; ; k = prev[k] {
		r.Waypoints = append(r.Waypoints, way[k])
		if k == 0 {
			break
		}
	}
	slices.Reverse(r.Waypoints)
	for i := 1; i < len(r.Waypoints); i++ {
		a, b := r.Waypoints[i-1], r.Waypoints[i]
		r.Seconds += s.seconds(b.RA-a.RA, b.Dec-a.Dec)
	}
	return r
}

// search runs A* from one pose to the other over a grid of poses that may be gone to; every step is a proven leg. It returns nil when
// there is no way.
func (m *Map) search(ctx context.Context, from, to axes.Angles, step float64, may func(axes.Angles) bool) []axes.Angles {
	t := m.gauge.Model.Travel
	s := m.gauge.slew()
	nx := int(math.Floor((t.RATo-t.RAFrom)/step)) + 1
	ny := int(math.Floor((t.DecTo-t.DecFrom)/step)) + 1
	pose := func(k int) axes.Angles {
		switch k {
		case nx * ny:
			return from
		case nx*ny + 1:
			return to
		}
		return axes.Angles{RA: t.RAFrom + float64(k%nx)*step, Dec: t.DecFrom + float64(k/nx)*step}
	}
	start, goal := nx*ny, nx*ny+1
	near := func(g axes.Angles, visit func(int)) {
		i, j := int(math.Round((g.RA-t.RAFrom)/step)), int(math.Round((g.Dec-t.DecFrom)/step))
		for y := max(0, j-1); y <= min(ny-1, j+1); y++ {
			for x := max(0, i-1); x <= min(nx-1, i+1); x++ {
				visit(y*nx + x)
			}
		}
	}
	togo := func(k int) float64 { g := pose(k); return s.seconds(to.RA-g.RA, to.Dec-g.Dec) }
	best := map[int]float64{start: 0}
	prev := map[int]int{}
	open := &queue{{start, togo(start)}}
	closed := map[int]bool{}
	for n := 0; open.Len() > 0; n++ {
		if n&255 == 0 && ctx.Err() != nil {
			return nil
		}
		k := heap.Pop(open).(queued).key
		if k == goal {
			way := []axes.Angles{to}
			for k != start {
				k = prev[k]
				way = append(way, pose(k))
			}
			slices.Reverse(way)
			return way
		}
		if closed[k] {
			continue
		}
		closed[k] = true
		g := pose(k)
		try := func(next int) {
			if closed[next] || next == k {
				return
			}
			h := pose(next)
			c := best[k] + s.seconds(h.RA-g.RA, h.Dec-g.Dec)
			if old, seen := best[next]; seen && old <= c {
				return
			}
			if next != goal && !may(h) || !m.leg(g, h) {
				return
			}
			best[next], prev[next] = c, k
			heap.Push(open, queued{next, c + togo(next)})
		}
		near(g, try)
		if math.Abs(to.RA-g.RA) <= 2*step && math.Abs(to.Dec-g.Dec) <= 2*step {
			try(goal)
		}
	}
	return nil
}

type queued struct {
	key  int
	cost float64
}

// queue is a heap of poses to look at, least cost first, ties by key so that the answer does not depend on chance.
type queue []queued

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	return q[i].cost < q[j].cost || (q[i].cost == q[j].cost && q[i].key < q[j].key)
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)   { *q = append(*q, x.(queued)) }
func (q *queue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}
