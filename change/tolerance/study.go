// Package tolerance says how sure a rig's gaps and limits are, and which length to measure again.
//
// Two answers stand side by side. What is proven takes the most that a length can move a gap, whichever points are nearest; only that
// decides what is free. What is likely takes the derivatives at the nearest points: the error of a gap as it is, for the ranking.
//
// A tolerance is a half-width that holds 95 of 100. Lengths are millimetres, angles radians.
package tolerance

import (
	"cmp"
	"math"
	"slices"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Study is one rig's gaps with their derivatives. It is immutable and safe for use from several goroutines.
type Study struct {
	rss, worst, none *room.Gauge
	rates            *room.Rates
}

// NewStudy prepares a model; marginMM is the document's when 0 or less.
func NewStudy(m *axes.Model, marginMM float64) (*Study, error) {
	s := &Study{}
	for mode, g := range map[rig.ToleranceMode]**room.Gauge{rig.RSS: &s.rss, rig.Worst: &s.worst, rig.None: &s.none} {
		var err error
		if *g, err = room.NewGauge(m, room.Options{Mode: mode, MarginMM: marginMM}); err != nil {
			return nil, err
		}
	}
	var err error
	s.rates, err = s.rss.NewRates()
	return s, err
}

// Gauge returns the gauge that takes tolerances off by rss.
func (s *Study) Gauge() *room.Gauge { return s.rss }

// Error is how far a gap may be from what the document makes it.
type Error struct {
	RSS, Worst             float64 // by the derivatives, mm: 95 of 100, and with every length at its worst at once
	ProvenRSS, ProvenWorst float64 // by proven bounds, mm: what is taken off the gap
	Shares                 []Share // largest first
}

// Share is what one length adds to the error of a gap.
type Share struct {
	Quantity *rig.Quantity
	Rate     float64 // of the gap, mm for one of the quantity's units
	MM       float64 // |Rate| × tolerance
	ProvenMM float64 // proven bound of that
}

// Gap is one pair of parts at a pose.
type Gap struct {
	room.PairGap
	Error
}

// Gaps returns the n nearest pairs at a pose with their errors, closest first.
func (s *Study) Gaps(at axes.Angles, n int) []Gap {
	var out []Gap
	scratch := s.rss.NewScratch()
	for _, p := range s.rss.Nearest(at, n) {
		out = append(out, s.gap(at, p.A, p.B, scratch))
	}
	return out
}

func (s *Study) gap(at axes.Angles, a, b int, scratch *room.Scratch) Gap {
	d, grad, _ := s.rates.Gradient(at, a, b, scratch, nil)
	m := s.rss.Model
	r := m.Rig
	g := Gap{PairGap: d}
	proven := r.Shares(m.Assembly, m.Parts[d.A].Rig, m.Parts[d.B].Rig)
	g.ProvenRSS, g.ProvenWorst = rig.Allowance(proven, rig.RSS), rig.Allowance(proven, rig.Worst)
	rate := map[int]float64{}
	for _, e := range grad {
		rate[e.Quantity] = e.MMPerUnit
	}
	var likely []rig.Share
	for _, p := range proven {
		q := r.Quantities[p.Quantity]
		share := Share{Quantity: q, Rate: rate[p.Quantity], MM: math.Abs(rate[p.Quantity]) * q.Tol, ProvenMM: p.MM}
		likely = append(likely, rig.Share{Quantity: p.Quantity, MM: share.MM})
		g.Shares = append(g.Shares, share)
	}
	g.RSS, g.Worst = rig.Allowance(likely, rig.RSS), rig.Allowance(likely, rig.Worst)
	slices.SortStableFunc(g.Shares, func(a, b Share) int { return cmp.Or(cmp.Compare(b.MM, a.MM), cmp.Compare(b.ProvenMM, a.ProvenMM)) })
	return g
}
