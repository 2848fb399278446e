package change

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"legroom/axes"
	"legroom/room"
)

// unflipped says for what a point's idle time is not proven to be none, "" when it is for all: for a band that changes sides while it is
// above the aim's altitude, and has no flip window. A band that one run on one side holds as long as it is above needs no flip.
//
// The bound of boxes takes idle time from the runs alone. That is no more than with the flips, so that the certificate holds.
func (s *search) unflipped(ctx context.Context, p *Point) (string, error) {
	m := s.lastMap
	if p != s.last {
		g, err := s.gaugeAt(p.X)
		if err != nil {
			return "", err
		}
		if m, err = room.NewMap(ctx, g, room.MapOptions{CellDeg: usual}); err != nil { // its edges are looked at finely below
			return "", err
		}
	}
	at, err := s.lacking(ctx, m)
	if at < 0 || err != nil {
		return "", err
	}
	s.unproven = at
	b := &s.bands[at]
	name := b.name
	if name == "" {
		name = fmt.Sprintf("declinations %.0f° to %.0f°", axes.Deg(b.from), axes.Deg(b.to))
	}
	return "no flip is proven for " + name, nil
}

// lacking returns a band that lacks a flip, −1 for none. What lacked one last time is likely to again, or one close to it.
func (s *search) lacking(ctx context.Context, m *room.Map) (int, error) {
	order := make([]int, len(s.bands))
	for i := range order {
		order[i] = i
	}
	far := func(i int) int { return max(i-s.unproven, s.unproven-i) }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(far(a), far(b)) })
	const batch = 8 // the same on every machine
	for some := range slices.Chunk(order, batch) {
		plain := make([]bool, len(some)) // from the map's cells, which takes a small part of the work
		room.InParallel(len(some), func(i int) { plain[i] = ctx.Err() == nil && s.bands[some[i]].held(m) })
		for i, at := range some {
			if err := ctx.Err(); err != nil {
				return -1, err
			}
			if plain[i] {
				continue
			}
			b := &s.bands[at]
			row, rises := m.Target((b.from+b.to)/2, (b.to-b.from)/2)
			if rises && len(row.Flip) == 0 && changesSides(&row, b) {
				return at, nil
			}
		}
	}
	return -1, nil
}

// held tells whether the cells of a map show by themselves that a band is held from rising to setting by two runs with a flip, or above
// the aim's altitude by one run. Two runs that hold all of it are the ones that a finer row chooses too.
func (b *band) held(m *room.Map) bool {
	row, rises := m.Band(b.from, b.to, sureFlip)
	if !rises || b.alone(&row) {
		return true
	}
	for _, flip := range row.Flip {
		in := func(run room.Interval) bool { return run.From <= flip.From && flip.To <= run.To }
		west, east := slices.IndexFunc(row.West, in), slices.IndexFunc(row.East, in)
		if flip.To-flip.From < sureFlip || west < 0 || east < 0 {
			continue
		}
		both := room.Interval{From: row.West[west].From, To: math.Max(row.West[west].To, row.East[east].To)}
		if b.usable([]room.Interval{both}) >= b.usable(wholeDay)-sumSlop {
			return true
		}
	}
	return false
}

// sureFlip is how long a flip window from a map's cells has to be for Target to find it too, radians: it looks in steps of a minute.
const sureFlip = 0.5 * math.Pi / 180

// alone tells whether one run on one side holds a band as long as it is above the aim's altitude.
func (b *band) alone(row *room.Row) bool {
	all := b.above(wholeDay)
	for _, run := range slices.Concat(row.West, row.East) {
		if b.above([]room.Interval{run}) >= all-sumSlop {
			return true
		}
	}
	return false
}

// above adds up what of sorted, separate intervals lies within the day above the aim's altitude.
func (b *band) above(in []room.Interval) float64 { return within(in, b.high) }

// changesSides tells whether a row has two runs between which a band changes sides above the aim's altitude.
func changesSides(row *room.Row, b *band) bool {
	if b.alone(row) {
		return false
	}
	stop, resume := row.Stop.HourAngle, row.Resume.HourAngle
	switch {
	case row.Stop.Reason == room.NeverUsable || row.Resume.Reason == room.NeverUsable:
		return false
	case row.Stop.Reason == room.NeverEnds:
		stop = math.Pi
	}
	if row.Resume.Reason == room.NeverEnds {
		resume = -math.Pi
	}
	return len(room.Common([]room.Interval{{From: math.Min(stop, resume) - sumSlop, To: math.Max(stop, resume) + sumSlop}}, b.high)) > 0
}

// How far settle goes: points that are looked at, and halvings between the one that does and the last that did not.
const (
	mostSettled = 40
	settleSteps = 6
)

// settle takes the best point that meets an aim of no idle time with its flips proven, of those that were looked at, of some between, and of what
// lower finds. When there is none it leaves the best, with what it breaks.
func (s *search) settle(ctx context.Context, out *Solution) error {
	if !s.p.Aim.Cheapest() || s.best == nil || !s.best.Meets() {
		return nil
	}
	first := s.best
	var points []*Point
	for _, p := range s.seen {
		if s.inside(p.X) && p.Meets() && p.Price >= first.Price {
			points = append(points, p)
		}
	}
	slices.SortFunc(points, func(a, b *Point) int { return slices.Compare(a.X, b.X) }) // always in the same order
	s.rank(points)
	var last, found *Point
	for i, p := range points {
		if i == mostSettled || found != nil {
			break
		}
		switch does, err := s.flips(ctx, p); {
		case err != nil:
			return err
		case does:
			found = p
		default:
			last = p
		}
	}
	for k := 0; k < settleSteps && found != nil && last != nil; k++ {
		x := make([]float64, len(found.X))
		for i := range x {
			x[i] = (found.X[i] + last.X[i]) / 2
		}
		mid, err := s.look(ctx, [][]float64{s.tidy(x)}, finest)
		if err != nil {
			return err
		}
		does := mid[0].Meets() && mid[0].Price < found.Price
		if does {
			if does, err = s.flips(ctx, mid[0]); err != nil {
				return err
			}
		}
		if does {
			found = mid[0]
		} else {
			last = mid[0]
		}
	}
	found, err := s.lower(ctx, found)
	if err != nil {
		return err
	}
	if s.best = found; found == nil {
		s.best = first
	}
	out.Best = s.best
	return nil
}

// flips tells whether a point that meets the aim holds the side constraints, with its flips proven.
func (s *search) flips(ctx context.Context, p *Point) (bool, error) {
	err := s.hold(ctx, p)
	if err == nil && p.Breaks == "" {
		p.Breaks, err = s.unflipped(ctx, p)
	}
	return err == nil && p.Breaks == "", err
}
