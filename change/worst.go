package change

import (
	"container/heap"
	"math"

	"legroom/axes"
	"legroom/room"
)

// Worst is the tightest of the poses that a target uses.
type Worst struct {
	Pose  axes.Pose
	Gap   float64 // the pair's gap there, mm; negative: they overlap
	Lower float64 // proven: no used pose has less, with the tolerances taken off; within worstWithin of what is at Pose, but where a target passes through the head's own pole
	A, B  string
}

// worstWithin is how closely the tightest pose is looked for, mm.
const worstWithin = 0.5

// passing, radians of hour angle, is the stretch below which a target that passes through the pole of a head that is off the sky's is taken to
// be anywhere on the whole RA axis: a quarter of a second.
const passing = 1e-5

// worstOf finds the tightest pose of a declination as targets are tracked by common practice, without limits: on side west from
// rising to the upper transit, on side east from there to setting. The gap changes by no more than the farthest point of what turns
// moves, by how far the axes go at most in a stretch, so that stretches are halved, the one that may hold the least first, until that
// is known.
func worstOf(g *room.Gauge, dec float64, up []room.Interval) Worst {
	s := g.NewScratch()
	h := &g.Model.Head
	reach, reachDec := 0.0, 0.0
	for i := range g.Model.Parts {
		reach = math.Max(reach, g.Model.Parts[i].FromPolarAxis)
		reachDec = math.Max(reachDec, g.Model.Parts[i].FromDecAxis)
	}
	out := Worst{Gap: math.Inf(1), Lower: math.Inf(1)}
	best := math.Inf(1)
	var q stretches
	turn := func(at axes.Angles, ra, dec float64) {
		heap.Push(&q, stretch{whole: true, at: at, ra: ra, dec: dec, bound: g.Gap(at, s).Lower - ra*reach - dec*reachDec})
	}
	look := func(side axes.Side, from, to float64) {
		p := axes.Pose{Side: side, HourAngle: (from + to) / 2, Dec: dec}
		at := h.Angles(p)
		gap := g.Gap(at, s)
		if gap.Lower < best {
			best = gap.Lower
			out.Pose, out.A, out.B = p, g.Model.Parts[gap.LowerPair[0]].Name, g.Model.Parts[gap.LowerPair[1]].Name
			out.Gap = gap.Nearest.Gap
		}
		ra, turned := h.Swing(p, (to-from)/2)
		if ra >= math.Pi && to-from < passing {
			turn(at, math.Pi, turned)
			return
		}
		heap.Push(&q, stretch{side: side, from: from, to: to, bound: gap.Lower - ra*reach - turned*reachDec})
	}
	for _, i := range up {
		if i.From < 0 {
			look(axes.West, i.From, math.Min(i.To, 0))
		}
		if i.To > 0 {
			look(axes.East, math.Max(i.From, 0), i.To)
		}
	}
	for q.Len() > 0 {
		x := heap.Pop(&q).(stretch)
		out.Lower = x.bound
		if x.bound >= best-worstWithin || x.whole && x.ra*reach < worstWithin/2 {
			break
		}
		if x.whole {
			a, b := x.at, x.at
			a.RA, b.RA = a.RA-x.ra/2, b.RA+x.ra/2
			turn(a, x.ra/2, x.dec)
			turn(b, x.ra/2, x.dec)
			continue
		}
		mid := (x.from + x.to) / 2
		look(x.side, x.from, mid)
		look(x.side, mid, x.to)
	}
	return out
}

// stretch is a stretch of hour angle on one side, or, whole, one of the RA axis, with what bounds the gap in it from below.
type stretch struct {
	side     axes.Side
	from, to float64
	whole    bool
	at       axes.Angles
	ra, dec  float64 // half of the axes' way
	bound    float64
}

// stretches is a heap, the least bound first.
type stretches []stretch

func (q stretches) Len() int           { return len(q) }
func (q stretches) Less(i, j int) bool { return q[i].bound < q[j].bound }
func (q stretches) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *stretches) Push(x any)        { *q = append(*q, x.(stretch)) }
func (q *stretches) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}
