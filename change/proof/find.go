package proof

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/room"
	"legroom/solid"
)

// The poses that a walk chooses from, so that what has to be entered is round.
const (
	hourStep = 0.5 // hours
	decStep  = 5.0 // degrees
	pairs    = 8   // the nearest ones at a pose that a ruler may be held between
)

// candidate is one reading that could be taken.
type candidate struct {
	pose int // in finder.poses
	gap  room.PairGap
	row  []float64 // gradient, mm for one standard deviation of each length
	seen int8      // whether a ruler fits between the points: 0 not looked, 1 yes, −1 no
}

// place is one pose that is proven free.
type place struct {
	pose    axes.Pose
	at      axes.Angles
	least   float64
	sun     float64
	reached int8 // whether a proven slew leads there from the start, and back: 0 not looked, 1 yes, −1 no
}

// finder collects what can be measured.
type finder struct {
	m      *room.Map
	g      *room.Gauge // as a ruler finds the rig
	l      *lengths
	ruler  float64
	avoid  []string
	sun    *sun
	poses  []place
	found  []candidate
	looked int
	start  axes.Angles
	grad   []room.Derivative
	bound  map[[2]int]bool // pairs that stand in the way at some pose: those whose gap matters
}

// find looks at every pose on the grid above the horizontal, on both sides.
func (f *finder) find(ctx context.Context) error {
	rates, err := f.g.NewRates()
	if err != nil {
		return err
	}
	model := f.g.Model
	s, safe := f.g.NewScratch(), f.m.Gauge().NewScratch()
	for _, side := range []axes.Side{axes.West, axes.East} {
		for dec := -90 + decStep; dec < 90; dec += decStep {
			if err := ctx.Err(); err != nil {
				return err
			}
			for h := -12 + hourStep; h <= 12; h += hourStep {
				p := place{pose: axes.Pose{Side: side, HourAngle: axes.FromHours(h), Dec: axes.Rad(dec)}}
				at, err := model.Reach(model.Head.Angles(p.pose))
				if err != nil {
					continue
				}
				p.at = at
				u := model.Head.Pointing(at)
				if u.Z < 0 {
					continue
				}
				f.looked++
				near := f.g.Nearest(at, pairs)
				for _, gap := range near {
					if gap.Lower-gap.Allowance < f.m.Gauge().MarginMM {
						f.bound[[2]int{gap.A, gap.B}] = true
					}
				}
				if p.sun = f.sun.apart(u); p.sun < sunKeep || f.m.State(at) != room.Free {
					continue
				}
				p.least = f.m.Gauge().Gap(at, safe).Lower
				f.poses = append(f.poses, p)
				for _, gap := range near {
					if !f.fits(&gap) {
						continue
					}
					d, list, ok := rates.Gradient(at, gap.A, gap.B, s, f.grad[:0])
					if f.grad = list; !ok {
						continue
					}
					c := candidate{pose: len(f.poses) - 1, gap: d, row: make([]float64, len(f.l.list))}
					f.l.scaled(f.grad, c.row)
					if f.steady(rates, at, &c, s) {
						f.found = append(f.found, c)
					}
				}
			}
		}
	}
	// Where something stands in the way, what does is worth measuring, and nothing else.
	relevant := func(c candidate) bool { return f.bound[[2]int{c.gap.A, c.gap.B}] }
	if slices.ContainsFunc(f.found, relevant) {
		f.found = slices.DeleteFunc(f.found, func(c candidate) bool { return !relevant(c) })
	}
	return nil
}

// unsteady is how much of a gradient may change when the axes turn by shake, which is what their zero errors come to.
const (
	shake    = 0.5 * math.Pi / 180
	unsteady = 0.2
)

// steady tells whether a candidate's gradient stays much the same near its pose. Where a part's edge lies along the other part, or two
// corners are equally near, its nearest points jump, and what a reading tells cannot be said beforehand.
func (f *finder) steady(rates *room.Rates, at axes.Angles, c *candidate, s *room.Scratch) bool {
	row, most := make([]float64, len(c.row)), unsteady*norm(c.row)
	for _, d := range [4]axes.Angles{{RA: shake}, {RA: -shake}, {Dec: shake}, {Dec: -shake}} {
		_, f.grad, _ = rates.Gradient(axes.Angles{RA: at.RA + d.RA, Dec: at.Dec + d.Dec}, c.gap.A, c.gap.B, s, f.grad[:0])
		f.l.scaled(f.grad, row)
		for i := range row {
			row[i] -= c.row[i]
		}
		if norm(row) > most {
			return false
		}
	}
	return true
}

// fits tells whether a ruler can be held between the nearest points of a pair by hand.
func (f *finder) fits(gap *room.PairGap) bool {
	if gap.Gap < shortest || gap.Gap > longest || math.Max(gap.PointA.Z, gap.PointB.Z) > tallest || math.Min(gap.PointA.Z, gap.PointB.Z) < 0 {
		return false
	}
	for _, i := range []int{gap.A, gap.B} {
		p := &f.g.Model.Parts[i]
		if p.Rig.Condition != "" || slices.Contains(f.avoid, p.Name) { // what is there only at times cannot be counted on
			return false
		}
	}
	return true
}

// rows are the candidates' gradients over the ruler's own standard deviation.
func (f *finder) rows() [][]float64 {
	sd := f.ruler / two95
	rows := make([][]float64, len(f.found))
	for i := range f.found {
		rows[i] = make([]float64, len(f.l.list))
		for k, x := range f.found[i].row {
			rows[i][k] = x / sd
		}
	}
	return rows
}

// allowed tells whether a candidate may join others: one reading a pose, at a pose that a proven slew leads to from the start and back,
// and with nothing between the points.
func (f *finder) allowed(k int, others []int) bool {
	c := &f.found[k]
	if slices.ContainsFunc(others, func(o int) bool { return f.found[o].pose == c.pose }) {
		return false
	}
	if p := &f.poses[c.pose]; p.reached == 0 {
		p.reached = -1
		if passes(f.m, f.start, p.at) && passes(f.m, p.at, f.start) {
			p.reached = 1
		}
	}
	if f.poses[c.pose].reached < 0 {
		return false
	}
	if c.seen == 0 {
		c.seen = -1
		if f.clear(c) {
			c.seen = 1
		}
	}
	return c.seen > 0
}

// A ruler is as thick as this, mm, and other parts may come as near to its ends, where they hold the part that is measured.
const (
	rulerThick = 4.0
	rulerEnds  = 6.0
)

// clear tells whether nothing stands between the points of a candidate.
func (f *finder) clear(c *candidate) bool {
	along := r3.Sub(c.gap.PointB, c.gap.PointA)
	length := r3.Norm(along)
	rod, err := solid.NewCapsule(rulerThick, math.Max(1, length-2*rulerEnds))
	if err != nil {
		return false
	}
	z := r3.Scale(1/length, along)
	x := r3.Cross(z, r3.Vec{X: 1})
	if y := r3.Cross(z, r3.Vec{Y: 1}); r3.Norm(y) > r3.Norm(x) {
		x = y
	}
	x = r3.Unit(x)
	y := r3.Cross(z, x)
	ruler := rod.At(solid.Pose{R: [9]float64{x.X, y.X, z.X, x.Y, y.Y, z.Y, x.Z, y.Z, z.Z}, T: r3.Scale(0.5, r3.Add(c.gap.PointA, c.gap.PointB))})
	m := f.g.Model
	placed := make([]solid.Placed, len(m.Parts))
	m.Place(f.poses[c.pose].at, placed)
	for i := range placed {
		if i != c.gap.A && i != c.gap.B && solid.Distance(&ruler, &placed[i]).Lower <= 0 {
			return false
		}
	}
	return true
}

// steps describes chosen candidates, from roomy to tight.
func (f *finder) steps(chosen []int) []Step {
	m := f.g.Model
	out := make([]Step, 0, len(chosen))
	for _, k := range chosen {
		c := &f.found[k]
		p := &f.poses[c.pose]
		n := r3.Unit(r3.Sub(c.gap.PointB, c.gap.PointA))
		out = append(out, Step{
			Pose: p.pose, Axes: p.at, A: m.Parts[c.gap.A].Name, B: m.Parts[c.gap.B].Name,
			GapMM: c.gap.Gap, ErrorMM: two95 * norm(c.row), PointA: c.gap.PointA, PointB: c.gap.PointB,
			WhereA: where(m, c.gap.A, p.at, c.gap.PointA, n), WhereB: where(m, c.gap.B, p.at, c.gap.PointB, r3.Scale(-1, n)),
			LeastMM: p.least, SunDeg: p.sun,
		})
	}
	slices.SortStableFunc(out, func(a, b Step) int {
		switch {
		case a.LeastMM > b.LeastMM:
			return -1
		case a.LeastMM < b.LeastMM:
			return 1
		}
		return 0
	})
	return out
}
