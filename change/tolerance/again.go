package tolerance

import (
	"cmp"
	"context"
	"math"
	"slices"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Again is one length measured again.
type Again struct {
	Quantity *rig.Quantity
	ToTol    float64 // the tolerance that it then has, in its unit
	// GainMM is by how much the proven allowance of a pair that ends a run then shrinks, and A, B the pair where that is most.
	GainMM, OfMM float64 // OfMM is that pair's whole allowance, by rss
	A, B         string
	// Gain is the hour angle that all runs looked at gain together, later stops and earlier resumes, proven by new maps; Most the
	// largest at one end, at declination MostDec on side MostSide.
	Gain, Most float64
	MostDec    float64
	MostSide   axes.Side
}

// Tolerances of a length that is measured for the first time, with a tape or a protractor: what a document takes for one when it says
// nothing.
const (
	tapeMM        = 5.0
	protractorDeg = 1.0
)

// again is the tolerance of a length measured again: half of what it was, or, if it never was measured, what a tape gives.
func again(q *rig.Quantity) float64 {
	if q.Source == rig.Unmeasured {
		usual := tapeMM
		if q.Unit == "deg" {
			usual = protractorDeg
		}
		return math.Min(usual, q.Tol/2)
	}
	return q.Tol / 2
}

// Ranking says for up to n lengths what measuring each of them again would gain, most first: in the allowances of the pairs that
// end the runs of rows, and in time by proving those runs anew.
func (s *Study) Ranking(ctx context.Context, rows []Row, n int, progress func(done float64)) ([]Again, error) {
	model := s.rss.Model
	best := map[int]*Again{}
	for i := range rows {
		for _, e := range []*End{&rows[i].Stop, &rows[i].Resume} {
			if !e.Sure {
				continue
			}
			for _, share := range e.Gap.Shares {
				to := again(share.Quantity)
				left := share.ProvenMM * to / share.Quantity.Tol
				a := Again{Quantity: share.Quantity, ToTol: to, OfMM: e.Gap.ProvenRSS,
					A: model.Parts[e.Gap.A].Name, B: model.Parts[e.Gap.B].Name}
				a.GainMM = e.Gap.ProvenRSS - math.Sqrt(math.Max(0, e.Gap.ProvenRSS*e.Gap.ProvenRSS-share.ProvenMM*share.ProvenMM+left*left))
				if old := best[share.Quantity.ID]; old == nil || a.GainMM > old.GainMM {
					best[share.Quantity.ID] = &a
				}
			}
		}
	}
	list := make([]Again, 0, len(best))
	for _, a := range best {
		list = append(list, *a)
	}
	slices.SortFunc(list, func(a, b Again) int {
		return cmp.Or(cmp.Compare(b.GainMM, a.GainMM), cmp.Compare(a.Quantity.ID, b.Quantity.ID))
	})
	list = list[:min(n, len(list))]
	for i := range list {
		if err := s.prove(ctx, &list[i], rows); err != nil {
			return nil, err
		}
		if progress != nil {
			progress(float64(i+1) / float64(len(list)))
		}
	}
	slices.SortStableFunc(list, func(a, b Again) int { return cmp.Compare(b.Gain, a.Gain) })
	return list, nil
}

// prove finds what the runs gain with a length measured again.
func (s *Study) prove(ctx context.Context, a *Again, rows []Row) error {
	r := s.rss.Model.Rig.Clone()
	r.Quantities[a.Quantity.ID].Tol = a.ToTol
	without := rig.Conditions{}
	for _, c := range s.rss.Model.Assembly.Without {
		without[c] = rig.HoldsNot
	}
	model, err := axes.NewModel(r, without)
	if err != nil {
		return err
	}
	g, err := room.NewGauge(model, room.Options{Mode: rig.RSS, MarginMM: s.rss.MarginMM})
	if err != nil {
		return err
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{})
	if err != nil {
		return err
	}
	for i := range rows {
		now, ever := m.Target(rows[i].Dec, 0)
		if !ever {
			continue
		}
		for _, e := range []struct {
			was, is room.RunEnd
			side    axes.Side
		}{{rows[i].Stop.RSS, now.Stop, axes.West}, {rows[i].Resume.RSS, now.Resume, axes.East}} {
			if e.was.Reason != room.ByRoom || e.is.Reason == room.NeverUsable || e.is.Reason == room.NeverEnds {
				continue
			}
			gain := e.is.HourAngle - e.was.HourAngle
			if e.side == axes.East {
				gain = -gain
			}
			a.Gain += gain
			if gain > a.Most {
				a.Most, a.MostDec, a.MostSide = gain, rows[i].Dec, e.side
			}
		}
	}
	return nil
}
