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
	Lower float64 // proven: no used pose has less, with the tolerances taken off; within worstWithin of what is at Pose
	A, B  string
}

// worstWithin is how closely the tightest pose is looked for, mm.
const worstWithin = 0.5

// worstOf finds the tightest pose of a declination as targets are tracked by common practice, without limits: on side west from
// rising to the upper transit, on side east from there to setting. The gap changes by no more than the farthest point of what turns
// moves, so that stretches are halved, the one that may hold the least first, until that is known.
func worstOf(g *room.Gauge, dec float64, up []room.Interval) Worst {
	s := g.NewScratch()
	reach := 0.0
	for i := range g.Model.Parts {
		reach = math.Max(reach, g.Model.Parts[i].FromPolarAxis)
	}
	out := Worst{Gap: math.Inf(1), Lower: math.Inf(1)}
	best := math.Inf(1)
	var q stretches
	look := func(side axes.Side, from, to float64) {
		p := axes.Pose{Side: side, HourAngle: (from + to) / 2, Dec: dec}
		gap := g.Gap(g.Model.Head.Angles(p), s)
		if gap.Lower < best {
			best = gap.Lower
			out.Pose, out.A, out.B = p, g.Model.Parts[gap.LowerPair[0]].Name, g.Model.Parts[gap.LowerPair[1]].Name
			out.Gap = gap.Nearest.Gap
		}
		heap.Push(&q, stretch{side, from, to, gap.Lower - (to-from)/2*reach})
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
		if x.bound >= best-worstWithin {
			break
		}
		mid := (x.from + x.to) / 2
		look(x.side, x.from, mid)
		look(x.side, mid, x.to)
	}
	return out
}

type stretch struct {
	side     axes.Side
	from, to float64
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
