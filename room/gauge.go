package room

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/solid"
)

// Scratch is the working memory of one goroutine's questions to a gauge; with it no question allocates.
type Scratch struct {
	at      *at
	centres []r3.Vec
	order   []bound
	last    int32 // the pair that was nearest when Gap was last asked
}

// bound is a cheap lower bound of one pair's gap: by balls around the two parts, or by capsules when capsules is set.
type bound struct {
	pair     int32
	capsules bool
	lower    float64
}

// NewScratch returns working memory for questions to g.
func (g *Gauge) NewScratch() *Scratch {
	s := &Scratch{at: newAt(len(g.Model.Parts)), centres: make([]r3.Vec, len(g.Model.Parts)), order: make([]bound, 0, len(g.pairs))}
	s.at.fix(g)
	return s
}

// Gap is the answer for one pose.
type Gap struct {
	Nearest PairGap // the pair with the least gap
	// Lower is a proven lower bound of every pair's gap with its own tolerance allowance taken off, mm. Free exactly when
	// Lower ≥ margin.
	Lower float64
	// LowerPair is the pair that sets Lower.
	LowerPair [2]int
}

// Gap returns the least gap at g. Overlapping parts give the depth, negative.
func (g *Gauge) Gap(ax axes.Angles, s *Scratch) Gap {
	var out Gap
	if !isPose(ax) {
		out.Nearest.Gap, out.Nearest.Lower, out.Nearest.Upper, out.Lower = math.Inf(-1), math.Inf(-1), math.Inf(1), math.Inf(-1)
		return out
	}
	out.Nearest.Gap, out.Lower = math.Inf(1), math.Inf(1)
	out.Nearest.Lower, out.Nearest.Upper = math.Inf(1), math.Inf(1)
	if len(g.pairs) == 0 {
		return out
	}
	// The pair that was nearest last is near here too, often as not. A pair whose cheap bound is beyond what that one leaves in doubt
	// would be passed over below, and need not be put in order: the answer is the same whatever was asked before.
	s.place(g, ax)
	guess := min(s.last, int32(len(g.pairs)-1)) // s may have served a gauge with more pairs of the same parts
	was := g.measure(&g.pairs[guess], s.at)
	g.rankPairs(s, math.Max(was.Upper, 0), math.Max(was.Lower, math.Max(g.byBalls(guess, s), g.byCapsules(guess, s)))-was.Allowance)
	for {
		b, ok := g.next(s)
		if !ok || (b.lower >= out.Nearest.Upper && b.lower-g.maxAllowance >= out.Lower) {
			return out
		}
		if b.lower >= out.Nearest.Upper && b.lower-g.pairs[b.pair].allowance >= out.Lower {
			continue
		}
		d := was
		if b.pair != guess {
			d = g.measure(&g.pairs[b.pair], s.at)
		}
		if d.Gap < out.Nearest.Gap {
			out.Nearest, s.last = d, b.pair
		}
		if l := d.Lower - d.Allowance; l < out.Lower {
			out.Lower, out.LowerPair = l, [2]int{d.A, d.B}
		}
	}
}

// isPose tells whether a pose is one: where it is not a number, or endless, nothing is proven.
func isPose(ax axes.Angles) bool { return ax.RA-ax.RA == 0 && ax.Dec-ax.Dec == 0 }

// Nearest returns the n pairs with the least gaps at ax, closest first.
func (g *Gauge) Nearest(ax axes.Angles, n int) []PairGap {
	if n < 1 {
		return nil
	}
	s := g.NewScratch()
	s.place(g, ax)
	g.rankPairs(s, math.Inf(1), math.Inf(1))
	var out []PairGap
	for {
		b, ok := g.next(s)
		if !ok || (len(out) >= n && b.lower >= out[n-1].Upper) {
			break
		}
		d := g.measure(&g.pairs[b.pair], s.at)
		i, _ := slices.BinarySearchFunc(out, d, func(a, b PairGap) int {
			if a.Gap <= b.Gap {
				return -1
			}
			return 1
		})
		out = slices.Insert(out, i, d)
		if len(out) > n {
			out = out[:n]
		}
	}
	return out
}

// Tightest returns the pair with the least room at ax: its gap's lower bound less its allowance and what needs says that it needs, mm.
// needs is given the pair's parts, and says most at most. What is left is not a number where the pose is none.
func (g *Gauge) Tightest(ax axes.Angles, s *Scratch, most float64, needs func(a, b int) float64) (tightest PairGap, left float64) {
	if !isPose(ax) {
		return tightest, math.NaN()
	}
	s.place(g, ax)
	g.rankPairs(s, math.Inf(1), math.Inf(1))
	left, most = math.Inf(1), most+g.MaxAllowance()
	for {
		b, ok := g.next(s)
		if !ok || b.lower-most >= left {
			return tightest, left
		}
		d := g.measure(&g.pairs[b.pair], s.at)
		x := d.Lower - d.Allowance - needs(d.A, d.B)
		if math.IsNaN(x) {
			return d, x
		}
		if x < left {
			tightest, left = d, x
		}
	}
}

// Free tells whether ax is proven free.
func (g *Gauge) Free(ax axes.Angles, s *Scratch) bool {
	s.at.set(g, ax.RA, ax.Dec)
	for i := range g.pairs {
		p := &g.pairs[i]
		m, f := s.at.part(g, p.moving), s.at.part(g, p.fixed)
		if norm(r3.Sub(m.Centre(), f.Centre()))-p.radius >= p.need+1e-9 {
			continue
		}
		var axis r3.Vec
		if !solid.ClearBy(m, f, p.need, &axis) {
			return false
		}
	}
	return true
}

// closed is how near the bounds of a measured gap come to each other, mm.
const closed = 1e-4

// measure returns the signed gap of a pair with its bounds.
func (g *Gauge) measure(p *pair, t *at) PairGap {
	m, f := t.part(g, p.moving), t.part(g, p.fixed)
	d := solid.Bracket(m, f, math.Inf(-1), math.Inf(1), closed, r3.Vec{})
	if d.Status == solid.Overlapping || d.Upper <= 0 {
		d = solid.Depth(m, f)
	}
	gap := d.Upper
	if d.Upper <= 0 {
		gap = (d.Lower + d.Upper) / 2
	}
	return PairGap{A: p.fixed, B: p.moving, Gap: gap, Lower: d.Lower, Upper: d.Upper, Allowance: p.allowance,
		PointA: d.B, PointB: d.A}
}

// place puts the parts at ax.
func (s *Scratch) place(g *Gauge, ax axes.Angles) {
	s.at.set(g, ax.RA, ax.Dec)
	for i := range s.centres {
		s.centres[i] = s.at.centre(g, i)
	}
}

// rankPairs fills s.order as a heap of cheap lower bounds of the parts as they are placed, least first. Left out is a pair of which
// the bound is upper or more, and with its allowance taken off lower or more.
func (g *Gauge) rankPairs(s *Scratch, upper, lower float64) {
	s.order = s.order[:0]
	for i := range g.pairs {
		if d := g.byBalls(int32(i), s); !(d >= upper && d-g.pairs[i].allowance >= lower) { // no number is in doubt as well
			s.order = append(s.order, bound{pair: int32(i), lower: d})
		}
	}
	for i := len(s.order)/2 - 1; i >= 0; i-- {
		s.sift(i)
	}
}

// boundSlop, mm, covers the rounding of a cheap bound: a few roundings of coordinates below 1e5 mm.
const boundSlop = 1e-9

// next returns the pair with the least cheap bound, sharpening bounds as they come to the front.
func (g *Gauge) next(s *Scratch) (bound, bool) {
	for len(s.order) > 0 {
		top := &s.order[0]
		if top.capsules {
			b := *top
			n := len(s.order)
			s.order[0] = s.order[n-1]
			s.order = s.order[:n-1]
			s.sift(0)
			return b, true
		}
		top.capsules, top.lower = true, math.Max(top.lower, g.byCapsules(top.pair, s))
		s.sift(0)
	}
	return bound{}, false
}

// byBalls is the lower bound of a pair's gap that the balls around its parts give, mm.
func (g *Gauge) byBalls(pair int32, s *Scratch) float64 {
	p := &g.pairs[pair]
	return norm(r3.Sub(s.centres[p.moving], s.centres[p.fixed])) - p.radius - boundSlop
}

// byCapsules is the lower bound of a pair's gap that the capsules around its parts give, mm.
func (g *Gauge) byCapsules(pair int32, s *Scratch) float64 {
	p := &g.pairs[pair]
	ms, me, mr := s.at.part(g, p.moving).OuterCapsule()
	fs, fe, fr := s.at.part(g, p.fixed).OuterCapsule()
	d, _, _ := solid.SegmentDistance(ms, me, fs, fe)
	return d - mr - fr - boundSlop
}

func (s *Scratch) sift(i int) {
	h := s.order
	for {
		c := 2*i + 1
		if c >= len(h) {
			return
		}
		if c+1 < len(h) && h[c+1].lower < h[c].lower {
			c++
		}
		if h[i].lower <= h[c].lower {
			return
		}
		h[i], h[c] = h[c], h[i]
		i = c
	}
}
