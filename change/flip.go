package change

import (
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
func (s *search) unflipped(ctx context.Context, x []float64) (string, error) {
	g, err := s.gaugeAt(x)
	if err != nil {
		return "", err
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{CellDeg: 0.25}) // its edges are looked at finely below
	if err != nil {
		return "", err
	}
	for k := range s.bands {
		at := (s.unproven + k) % len(s.bands) // what failed last time is likely to fail again
		b := &s.bands[at]
		if err := ctx.Err(); err != nil {
			return "", err
		}
		row, rises := m.Target((b.from+b.to)/2, (b.to-b.from)/2)
		if !rises || len(row.Flip) > 0 || !changesSides(&row, b) {
			continue
		}
		s.unproven = at
		name := b.name
		if name == "" {
			name = fmt.Sprintf("declinations %.0f° to %.0f°", axes.Deg(b.from), axes.Deg(b.to))
		}
		return "no flip is proven for " + name, nil
	}
	return "", nil
}

// changesSides tells whether a row has two runs between which a band changes sides above the aim's altitude.
func changesSides(row *room.Row, b *band) bool {
	length := func(in []room.Interval) float64 {
		sum := 0.0
		for _, i := range room.Common(room.Common(in, wholeDay), b.high) {
			sum += i.To - i.From
		}
		return sum
	}
	all := length(wholeDay)
	for _, run := range slices.Concat(row.West, row.East) {
		if length([]room.Interval{run}) >= all-sumSlop {
			return false
		}
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

// settle takes the best point that meets an aim of no idle time with its flips proven, of those that were looked at and of some between. When
// there is none it leaves the best, with what it breaks.
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
		p.Breaks, err = s.unflipped(ctx, p.X)
	}
	return err == nil && p.Breaks == "", err
}
