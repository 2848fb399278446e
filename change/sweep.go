package change

import (
	"cmp"
	"context"
	"math"
	"slices"

	"legroom/axes"
	"legroom/room"
)

// tries is how many bands are looked at, of those that missed the aim elsewhere and of those that miss it most at the centre, before a
// box counts as one that may meet the aim.
const tries = 3

// mapAgain is by how much smaller than the box whose map told which bands to look at a box is that has a map of its own.
const mapAgain = 3

// sweep looks whether some band surely misses the aim everywhere in the box, straight from the gaps.
func (s *space) sweep(ctx context.Context, b *box, centre *room.Gauge, m *motion) (bound float64, work int, err error) {
	x, err := s.boxed(b, centre, m)
	if err != nil {
		return 0, 1, nil // nothing is known
	}
	var tried []int
	missed := func(i int) bool {
		if slices.Contains(tried, i) {
			return false
		}
		tried = append(tried, i)
		if bound = x.missed(i) / float64(len(s.bands)); bound <= meets {
			return false
		}
		b.killer = i
		return true
	}
	looked := func(list []int) bool { return slices.ContainsFunc(list, missed) }
	if b.killer >= 0 && missed(b.killer) || looked(s.killers[:min(tries, len(s.killers))]) || looked(b.worst) {
		return bound, 1, nil
	}
	if b.moves > b.mapped/mapAgain && b.worst != nil {
		return 0, 1, nil
	}
	whole, err := room.NewMap(ctx, centre, room.MapOptions{CellDeg: 1, Workers: 1})
	if err != nil {
		return 0, 2, err
	}
	misses := s.p.Aim.misses(whole, s.bands)
	worst := make([]int, len(misses))
	for i := range worst {
		worst[i] = i
	}
	slices.SortStableFunc(worst, func(i, j int) int { return cmp.Compare(misses[j], misses[i]) })
	b.worst, b.mapped = worst[:min(tries, len(worst))], b.moves
	b.killer = worst[0]
	if looked(b.worst) {
		return bound, 2, nil
	}
	return 0, 2, nil
}

// boxed looks at poses for all of a box at once.
type boxed struct {
	s       *space
	box     *box
	centre  *room.Gauge
	motion  *motion
	corners *corners
	scratch *room.Scratch

	tight  *room.Gauge // what it calls free is free everywhere in the box; made when first asked for
	ofThis *band       // whose sure hours are those of this box
}

func (s *space) boxed(b *box, centre *room.Gauge, m *motion) (*boxed, error) {
	c, err := s.corners(b, centre.Model)
	if err != nil {
		return nil, err
	}
	return &boxed{s: s, box: b, centre: centre, motion: m, corners: c, scratch: centre.NewScratch()}, nil
}

// missed bounds from below what band i misses the aim by in all of the box, minutes: by hour angles, of those at which the centre misses
// it, that are blocked everywhere in the box on side west and, but for what side west has to track, on side east.
func (x *boxed) missed(i int) float64 {
	t := &x.s.bands[i]
	if i == x.box.killer && x.box.at != 0 { // where it was so in the box about it
		if least := x.missedAt(t, x.box.at, leastPiece); least > 0 {
			return least
		}
	}
	from, to := x.centreMisses(t)
	if from >= to {
		return 0
	}
	for _, share := range [...]float64{1. / 4, 1. / 16, 0} {
		half := math.Max(share*(to-from)/2, leastPiece)
		for _, f := range [...]float64{0.5, 0.3, 0.7, 0.1, 0.9} {
			h := from + f*(to-from)
			if least := x.missedAt(t, h, half); least > 0 {
				x.box.at = h
				return least
			}
		}
	}
	return 0
}

// centreMisses returns the hour angles between which a band misses the aim at the centre; to is no more than from when it does not.
func (x *boxed) centreMisses(t *band) (from, to float64) {
	fine := math.Max(axes.Rad(0.05), math.Min(axes.Rad(0.5), x.box.moves/4000))
	var now runs
	now.west, _ = x.centre.HoursWithin(axes.West, t.from, t.to, fine)
	now.east, _ = x.centre.HoursWithin(axes.East, t.from, t.to, fine)
	most := 0.0
	now.choices(t, false, func(c choice, usable float64) {
		if c.west == nil || usable <= most {
			return
		}
		until := t.wanted(&x.s.p.Aim)
		if c.east != nil {
			until = math.Max(until, c.east.From)
		}
		from, to, most = c.west.To, until, usable
	})
	return math.Max(from, t.high[0].From), math.Min(to, t.high[len(t.high)-1].To)
}

// missedAt is missed by the hour angles within half of one.
func (x *boxed) missedAt(t *band, h, half float64) float64 {
	// A band is free at an hour angle where all of its declinations are, so that one blocked declination on each side tells.
	blocked := func(side axes.Side) bool {
		return slices.ContainsFunc([]float64{(t.from + t.to) / 2, t.from, t.to}, func(dec float64) bool { return x.left(side, h, dec, half) < 0 })
	}
	if !blocked(axes.West) {
		return 0
	}
	rest := []room.Interval{{From: -math.Pi, To: h - half}, {From: h + half, To: math.Pi}}
	possible := runs{rest, wholeDay}
	if blocked(axes.East) {
		possible.east = rest
	} else if h >= t.wanted(&x.s.p.Aim) {
		return 0
	}
	if x.box.sure.of == t { // of the box about it: they hold here too
		if least := x.s.p.Aim.missesAtLeast(x.box.sure.runs, possible, t); least > 0 {
			return least
		}
	}
	if x.ofThis == t {
		return 0
	}
	x.box.sure, x.ofThis = sureRuns{t, x.sure(t)}, t
	return x.s.p.Aim.missesAtLeast(x.box.sure.runs, possible, t)
}

// sureRuns are the free hours that a band has everywhere in a box.
type sureRuns struct {
	of   *band
	runs runs
}

// leastPiece is half of the least stretch of hour angles that is looked at, radians.
const leastPiece = 2e-5

// sure are the hours that a band has everywhere in the box.
func (x *boxed) sure(t *band) runs {
	if x.tight == nil {
		x.tight = x.motion.tightened(x.centre)
	}
	const fine = 1
	var r runs
	r.west, _ = x.tight.HoursWithin(axes.West, t.from, t.to, axes.Rad(fine))
	r.east, _ = x.tight.HoursWithin(axes.East, t.from, t.to, axes.Rad(fine))
	return r
}

// left bounds from above what the tightest pair has more than it needs, mm, within half of an hour angle at a declination, in all of the box: below 0 the
// poses are blocked everywhere in it.
func (x *boxed) left(side axes.Side, hourAngle, dec, half float64) float64 {
	g := x.centre
	ax := g.Model.Head.Angles(axes.Pose{Side: side, HourAngle: hourAngle, Dec: dec})
	q, _ := g.Tightest(ax, x.scratch, g.MarginMM, func(int, int) float64 { return g.MarginMM })
	d := x.motion.of(q.A, q.B)
	gap := math.Min(q.Upper+d.sum, x.corners.apart(ax, &q)+x.corners.untold(&d))
	way := half * g.Model.Parts[q.B].FromPolarAxis * (1 + 1e-9)
	return gap + way - (g.MarginMM + q.Allowance - d.falls)
}
