package change

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// box is a range of every variable, with what is known of all points in it.
type box struct {
	lo, hi []float64
	bound  float64 // proven: no point misses the aim by less
	price  float64 // no point costs less
	killer int     // band that is likely to miss the aim in all of it, or −1
	at     float64 // the hour angle at which it missed it last, radians
	sure   sureRuns
	worst  []int // bands that missed the aim most at the centre of a box about it, which moved parts by mapped, mm
	mapped float64
	split  int     // the variable that moves parts the most
	moves  float64 // how far two parts may move against each other within the box, mm, at most
}

func (b *box) centre() []float64 {
	x := make([]float64, len(b.lo))
	for i := range x {
		x[i] = (b.lo[i] + b.hi[i]) / 2
	}
	return x
}

// leastPrice is the price of the box's cheapest point.
func (s *space) leastPrice(b *box) float64 {
	x := make([]float64, len(b.lo))
	for i := range x {
		x[i] = math.Max(b.lo[i], math.Min(b.hi[i], s.vars[i].present))
	}
	return s.price(x)
}

// halves cuts a box in two; of a variable that may take some values only, no half keeps what it cannot. A box that is one point has
// none.
func (s *space) halves(b *box) []*box {
	i := b.split
	low, high := *b, *b
	low.hi, high.lo = append([]float64{}, b.hi...), append([]float64{}, b.lo...)
	mid := (b.lo[i] + b.hi[i]) / 2
	low.hi[i], high.lo[i] = mid, mid
	if only := s.vars[i].Only; len(only) > 0 {
		var below, above []float64
		for _, v := range only {
			if v >= b.lo[i] && v <= b.hi[i] {
				if v <= mid {
					below = append(below, v)
				} else {
					above = append(above, v)
				}
			}
		}
		if len(below) == 0 || len(above) == 0 {
			return nil
		}
		low.lo, high.hi = append([]float64{}, b.lo...), append([]float64{}, b.hi...)
		low.lo[i], low.hi[i] = below[0], below[len(below)-1]
		high.lo[i], high.hi[i] = above[0], above[len(above)-1]
	}
	out := []*box{&low, &high}
	for _, h := range out {
		h.price = s.leastPrice(h)
	}
	return out
}

// motion is how far the parts of each pair may move against each other within a box, mm.
//
// With every variable's tolerance set to the box's half width the assembly's Shifts hold over the whole box: a part at any point of it
// lies within Σ Lᵢ·hᵢ of where it is at the centre, all variables changing one after the other. A gap changes by no more than its
// two parts move.
type motion struct {
	s     *space
	rig   *rig.Rig
	asm   *rig.Assembly
	parts []axes.Part // of the rig at the centre
	need  float64     // the most that any pair needs to be free, mm
	creep float64
	known map[[2]int]moved
}

// moved is how far two parts may move against each other where they are near, mm: by each variable and in all; and how much less the
// pair may need besides.
type moved struct {
	by         [3]float64
	sum, falls float64
}

func (s *space) motion(b *box, g *room.Gauge) (*motion, error) {
	r := s.rigAt(b.centre())
	for i := range s.vars {
		r.Quantities[s.vars[i].index].Tol = (b.hi[i] - b.lo[i]) / 2
	}
	asm, err := r.Assemble(s.known)
	if err != nil {
		return nil, err
	}
	return &motion{s, r, asm, g.Model.Parts, g.MarginMM + g.MaxAllowance(), s.creep(), map[[2]int]moved{}}, nil
}

// creep is how much the allowance of a pair may fall for each millimetre that its parts move. An angle's constant is a distance from its
// axis times the angle, and a distance changes by no more than the part moves: so each constant changes by at most one radian per
// degree of the angle for each millimetre, twice where an angle turns a part in two steps; and the root of a sum of squares by no more
// than the root of the sum of the squares of these, each times its tolerance. The lengths' own constants are fixed numbers, but for the
// legs' and the spreader's, whose last thousandths hang on the leg's length: 0.01 covers them and rounding.
func (s *space) creep() float64 {
	const deg = math.Pi / 180
	plain, squares := 0.0, 0.0
	for _, q := range s.rig.Quantities {
		if q.Unit == "deg" {
			plain += 2 * deg * q.Tol
			squares += 4 * deg * deg * q.Tol * q.Tol
		}
	}
	switch s.p.Ask.Mode {
	case rig.None:
		return 0
	case rig.Worst:
		return 0.05 + plain
	}
	return 0.01 + math.Sqrt(squares)
}

// of is the motion of parts a and b against each other.
func (m *motion) of(a, b int) moved {
	out, ok := m.known[[2]int{a, b}]
	if ok {
		return out
	}
	for _, share := range m.rig.Shares(m.asm, &m.asm.Parts[a], &m.asm.Parts[b]) {
		for i := range m.s.vars {
			if m.s.vars[i].index == share.Quantity {
				out.by[i] = math.Min(share.MM, m.turned(i, a, b))
				out.sum += out.by[i] * (1 + 1e-9)
				out.falls += share.MM * m.creep
			}
		}
	}
	m.known[[2]int{a, b}] = out
	return out
}

// tightened is the gauge at the centre, asking so much more that what it calls free is free everywhere in the box.
func (m *motion) tightened(centre *room.Gauge) *room.Gauge {
	return centre.Relaxed(func(a, b int) float64 {
		d := m.of(a, b)
		return -d.sum - d.falls
	})
}

// cellFor is the size of cells, degrees, that suits how far parts move within a box: an undecided cell should not weigh more.
func cellFor(moves float64) float64 {
	cell := 1.0
	for cell > finest && moves < 30*cell {
		cell /= 2
	}
	return cell
}

// hopelessMM is the motion within a box, mm, above which hardly anything is surely blocked in all of it.
const hopelessMM = 75

// bind bounds what the points of a box may come to.
func (s *space) bind(ctx context.Context, b *box) (work int, err error) {
	c := b.centre()
	g, err := s.gaugeAt(c)
	if err != nil {
		return 1, nil // nothing is known: the box may hold anything
	}
	m, err := s.motion(b, g)
	if err != nil {
		b.split = s.widest(b)
		return 1, nil
	}
	var by [3]float64
	b.moves = 0
	move := func(i, j int) float64 {
		d := m.of(i, j)
		b.moves = math.Max(b.moves, d.sum)
		for k := range by {
			by[k] = math.Max(by[k], d.by[k])
		}
		return d.sum + d.falls
	}
	relaxed := g.Relaxed(move)
	b.split = 0
	for i := range by {
		if by[i] > by[b.split] {
			b.split = i
		}
	}
	if !s.aligned || b.moves > hopelessMM {
		return 0, nil // nothing would come of it
	}
	bound := 0.0
	if s.p.Aim.Cheapest() {
		bound, work, err = s.sweep(ctx, b, g, m)
	} else {
		bound, work, err = s.survey(ctx, g, relaxed, m, b.moves)
	}
	if err != nil {
		return work, err
	}
	b.bound = math.Max(b.bound, bound-1e-9)
	return work, nil
}

// survey bounds what is missed by maps of the whole sky: of what may at most be free within the box and, for idle time, of what is free
// everywhere in it.
func (s *space) survey(ctx context.Context, centre, relaxed *room.Gauge, m *motion, moves float64) (bound float64, work int, err error) {
	cell := cellFor(moves)
	work = cellWork(cell)
	o := room.MapOptions{CellDeg: cell, Workers: 1}
	may, err := room.NewMap(ctx, relaxed, o)
	if err != nil {
		return 0, work, err
	}
	possible := may.Possible()
	if s.p.Aim.Kind == MostRoom {
		return 100 * (1 - possible.Room().Either), work, nil
	}
	sure, err := room.NewMap(ctx, m.tightened(centre), o)
	if err != nil {
		return 0, work, err
	}
	each := make([]float64, len(s.bands))
	for i := range s.bands {
		each[i] = s.p.Aim.missesAtLeast(runsOf(sure, &s.bands[i]), runsOf(possible, &s.bands[i]), &s.bands[i])
	}
	return mean(each), 2 * work, nil
}

// widest is the variable with the widest range, as a share of its bounds.
func (s *space) widest(b *box) int {
	best, at := 0.0, 0
	for i := range s.vars {
		if w := (b.hi[i] - b.lo[i]) / (s.vars[i].To - s.vars[i].From); w > best {
			best, at = w, i
		}
	}
	return at
}

// turned bounds what variable i moves a leg by, if it is the legs' azimuth and one of the two parts is a leg: of the leg only what the
// other part can come near to counts. The nearest points of two parts that are not free lie within the margin and the allowance of
// each other, and so the leg's within reach of the other part about the crossing; it moves along an arc about the centre line.
func (m *motion) turned(i, a, b int) float64 {
	if m.asm.Parts[a].From != "support.legs" {
		a, b = b, a
	}
	leg, other := &m.asm.Parts[a], &m.parts[b]
	if m.s.vars[i].path != "support.legs.first_azimuth_deg" || leg.From != "support.legs" || other.Frame == rig.Ground || other.Frame == rig.Polar {
		return math.Inf(1)
	}
	// The other variables may have moved both before.
	loose := m.need
	for _, share := range m.rig.Shares(m.asm, leg, &m.asm.Parts[b]) {
		for k := range m.s.vars {
			if m.s.vars[k].index == share.Quantity {
				loose += 2 * share.MM
			}
		}
	}
	wide := leg.SizeMM[0]
	if len(leg.SizeMM) == 3 {
		wide = math.Hypot(leg.SizeMM[0], leg.SizeMM[1])
	}
	half, p := leg.SizeMM[len(leg.SizeMM)-1]/2, leg.Place
	o := m.asm.CrossingMM
	reach := other.FromCrossing + loose + wide/2
	// The stretch of the centre line within reach of the crossing: |c + t·z − o| ≤ reach.
	c := r3.Vec{X: p[3] - o[0], Y: p[7] - o[1], Z: p[11] - o[2]}
	z := r3.Vec{X: p[2], Y: p[6], Z: p[10]}
	along := r3.Dot(c, z)
	inside := along*along - r3.Dot(c, c) + reach*reach
	if inside <= 0 {
		return 0
	}
	from, to := math.Max(-half, -along-math.Sqrt(inside)), math.Min(half, -along+math.Sqrt(inside))
	if from > to {
		return 0
	}
	out := 0.0
	for _, t := range []float64{from, to} { // a distance from a line is convex
		out = math.Max(out, math.Hypot(p[3]+t*p[2], p[7]+t*p[6]))
	}
	h := m.rig.Quantities[m.s.vars[i].index].Tol
	return (out + wide/2 + loose) * h * math.Pi / 180
}

// most is the greatest motion of any pair.
func (m *motion) most() float64 {
	most := 0.0
	for a := range m.asm.Parts {
		for b := range m.asm.Parts {
			if a != b && m.asm.Parts[a].Frame != m.asm.Parts[b].Frame {
				most = math.Max(most, m.of(a, b).sum)
			}
		}
	}
	return most
}
