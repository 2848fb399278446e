package report

import (
	"legroom/axes"
	"legroom/change/tolerance"
	"legroom/rig"
	"legroom/room"
)

// ToleranceDoc is the document of `legroom tolerance`.
type ToleranceDoc struct {
	Rig string `json:"rig"`
	Basis
	Ends  []ToleranceEndDoc `json:"ends" jsonschema_description:"where runs end and start, by declination, two rows each: the stop of side west, the resume of side east"`
	Again []AgainDoc        `json:"measure_again" jsonschema_description:"which length to measure again, most minutes first"`
	Pose  *AxisPoseDoc      `json:"pose" jsonschema:"nullable" jsonschema_description:"the pose that was asked for"`
	Gaps  []GapErrorDoc     `json:"gaps" jsonschema_description:"the nearest pairs there, closest first"`
}

// ToleranceEndDoc is how sure one end of a run is. Hour angles are null where the run has no such end.
type ToleranceEndDoc struct {
	DecDeg      float64      `json:"dec_deg"`
	Side        string       `json:"side" jsonschema:"enum=west,enum=east"`
	End         string       `json:"end" jsonschema:"enum=stop,enum=resume"`
	MeasuredH   *float64     `json:"as_measured_h" jsonschema:"nullable" jsonschema_description:"hour angle when every length is as the document has it"`
	Reason      room.Reason  `json:"as_measured_reason" jsonschema:"enum=room,enum=travel,enum=horizon,enum=never_ends,enum=never_usable"`
	LikelyH     *[2]float64  `json:"likely_h" jsonschema:"nullable" jsonschema_description:"between these 95 of 100 times, by the derivatives of the gaps near it, axis angles as the mount believes; null when the end is not by room, or the gap closes too slowly to say"`
	RSSH        *float64     `json:"proven_rss_h" jsonschema:"nullable" jsonschema_description:"proven with the tolerances taken off by rss: what limits uses"`
	RSSReason   room.Reason  `json:"proven_rss_reason" jsonschema:"enum=room,enum=travel,enum=horizon,enum=never_ends,enum=never_usable"`
	WorstH      *float64     `json:"proven_worst_h" jsonschema:"nullable" jsonschema_description:"proven with every length at its worst at once"`
	WorstReason room.Reason  `json:"proven_worst_reason" jsonschema:"enum=room,enum=travel,enum=horizon,enum=never_ends,enum=never_usable"`
	Closing     *float64     `json:"closing_mm_per_min" jsonschema:"nullable" jsonschema_description:"how fast the gap closes on the way to a stop, or opens after a resume"`
	Gap         *GapErrorDoc `json:"gap" jsonschema:"nullable" jsonschema_description:"the pair that sets the end as measured, there"`
}

// GapErrorDoc is how sure one gap is.
type GapErrorDoc struct {
	A             string          `json:"a"`
	B             string          `json:"b"`
	GapMM         float64         `json:"gap_mm"`
	ErrorMM       float64         `json:"error_mm" jsonschema_description:"95 of 100, by the derivatives"`
	WorstMM       float64         `json:"worst_mm" jsonschema_description:"with every length at its worst at once, by the derivatives"`
	ProvenMM      float64         `json:"proven_rss_mm" jsonschema_description:"proven allowance, by rss"`
	ProvenWorstMM float64         `json:"proven_worst_mm" jsonschema_description:"proven allowance, every length at its worst"`
	Lengths       []LengthPartDoc `json:"lengths" jsonschema_description:"what each length adds, largest first"`
}

// LengthPartDoc is what one length adds to the error of a gap.
type LengthPartDoc struct {
	Path      string  `json:"path"`
	Unit      string  `json:"unit" jsonschema:"enum=mm,enum=deg"`
	Tolerance float64 `json:"tolerance" jsonschema_description:"in its unit"`
	Rate      float64 `json:"mm_per_unit" jsonschema_description:"how the gap changes with it"`
	MM        float64 `json:"mm" jsonschema_description:"by the derivative"`
	ProvenMM  float64 `json:"proven_mm" jsonschema_description:"the most that it can be"`
}

// AgainDoc is one length measured again.
type AgainDoc struct {
	Path        string     `json:"path"`
	Value       float64    `json:"value"`
	Unit        string     `json:"unit" jsonschema:"enum=mm,enum=deg"`
	Source      rig.Source `json:"source" jsonschema:"enum=measured,enum=fitted,enum=unmeasured,enum=default"`
	Tolerance   float64    `json:"tolerance"`
	ToTolerance float64    `json:"to_tolerance" jsonschema_description:"measured twice as well; measured at all, when it was not"`
	GainMM      float64    `json:"gain_mm" jsonschema_description:"by how much a pair's proven allowance then shrinks"`
	OfMM        float64    `json:"of_mm" jsonschema_description:"that pair's whole allowance"`
	A           string     `json:"a"`
	B           string     `json:"b"`
	GainMin     float64    `json:"gain_min" jsonschema_description:"what all ends listed gain together, proven anew"`
	MostMin     float64    `json:"most_min" jsonschema_description:"the most at one end"`
	MostDecDeg  float64    `json:"most_dec_deg"`
	MostSide    string     `json:"most_side" jsonschema:"enum=west,enum=east"`
}

// Tolerance returns the document of a study; at is nil when no pose was asked for.
func Tolerance(basis Basis, m *axes.Model, rows []tolerance.Row, again []tolerance.Again, at *axes.Angles, gaps []tolerance.Gap) ToleranceDoc {
	d := ToleranceDoc{Rig: m.Rig.Name, Basis: basis, Ends: []ToleranceEndDoc{}, Again: []AgainDoc{}, Gaps: []GapErrorDoc{}}
	for i := range rows {
		d.Ends = append(d.Ends, toleranceEnd(m, &rows[i], &rows[i].Stop, "stop"), toleranceEnd(m, &rows[i], &rows[i].Resume, "resume"))
	}
	for _, a := range again {
		q := a.Quantity
		d.Again = append(d.Again, AgainDoc{Path: q.Path, Value: q.Value, Unit: q.Unit, Source: q.Source, Tolerance: q.Tol, ToTolerance: a.ToTol,
			GainMM: nearest(a.GainMM), OfMM: up(a.OfMM), A: a.A, B: a.B, GainMin: nearest(axes.Minutes(a.Gain)), MostMin: nearest(axes.Minutes(a.Most)),
			MostDecDeg: nearest(axes.Deg(a.MostDec)), MostSide: a.MostSide.String()})
	}
	if at != nil {
		p := axisPose(&m.Head, *at)
		d.Pose = &p
	}
	for i := range gaps {
		d.Gaps = append(d.Gaps, gapError(m, &gaps[i]))
	}
	return d
}

func toleranceEnd(m *axes.Model, row *tolerance.Row, e *tolerance.End, name string) ToleranceEndDoc {
	round := hoursDown
	if e.Side == axes.East {
		round = hoursUp
	}
	hour := func(r room.RunEnd) *float64 {
		if r.Reason == room.NeverEnds || r.Reason == room.NeverUsable {
			return nil
		}
		h := round(r.HourAngle)
		return &h
	}
	d := ToleranceEndDoc{DecDeg: nearest(axes.Deg(row.Dec)), Side: e.Side.String(), End: name, MeasuredH: hour(e.None), Reason: e.None.Reason,
		RSSH: hour(e.RSS), RSSReason: e.RSS.Reason, WorstH: hour(e.Worst), WorstReason: e.Worst.Reason}
	if !e.Sure {
		return d
	}
	g := gapError(m, &e.Gap)
	closing := nearest(e.Closing * axes.FromHours(1) / 60)
	d.Gap, d.Closing = &g, &closing
	if !e.Grazes {
		d.LikelyH = &[2]float64{hoursDown(e.Likely[0]), hoursUp(e.Likely[1])}
	}
	return d
}

func gapError(m *axes.Model, g *tolerance.Gap) GapErrorDoc {
	d := GapErrorDoc{A: m.Parts[g.A].Name, B: m.Parts[g.B].Name, GapMM: nearest(g.PairGap.Gap), ErrorMM: up(g.RSS), WorstMM: up(g.Worst),
		ProvenMM: up(g.ProvenRSS), ProvenWorstMM: up(g.ProvenWorst), Lengths: []LengthPartDoc{}}
	for _, s := range g.Shares {
		d.Lengths = append(d.Lengths, LengthPartDoc{Path: s.Quantity.Path, Unit: s.Quantity.Unit, Tolerance: s.Quantity.Tol, Rate: nearest(s.Rate),
			MM: up(s.MM), ProvenMM: up(s.ProvenMM)})
	}
	return d
}
