package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"legroom/axes"
	"legroom/change/proof"
	"legroom/change/tolerance"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// WalkAsk is a question for a proof walk.
type WalkAsk struct {
	Ask
	Begins  string   `json:"begins,omitempty" maxLength:"16" doc:"clock time at the site, such as 2026-11-26T10:00; now when left out"`
	Steps   int      `json:"steps,omitempty" minimum:"1" maximum:"12" default:"12" doc:"at most"`
	RulerMM float64  `json:"ruler_mm,omitempty" minimum:"0.1" maximum:"50" default:"2" doc:"what a reading may be off by, 95 of 100"`
	Avoid   []string `json:"avoid,omitempty" maxItems:"100" doc:"parts that no ruler is to be held to"`
}

// Walk is a proof walk: poses to drive to by day, each with a distance to measure.
type Walk struct {
	Proof      report.ProofDoc  `json:"proof" doc:"as the command gives it"`
	Sheet      proof.Sheet      `json:"sheet" doc:"what a fit asks for, with the readings entered"`
	Begins     string           `json:"begins" doc:"clock time at the site, as a question takes it"`
	KeepsMM    float64          `json:"keeps_mm" doc:"what every pose and every slew keeps, proven, the tolerances taken off"`
	Head       *Head            `json:"head"`
	CrossingMM []float64        `json:"crossing_mm"`
	Parts      []report.PartDoc `json:"parts" doc:"with both axis angles 0"`
}

// FitAsk is a walk's sheet with what the ruler said.
type FitAsk struct {
	Draft
	Sheet proof.Sheet `json:"sheet"`
}

// Fit is what the ruler says of the model.
type Fit struct {
	Fit  report.FitDoc `json:"fit" doc:"as the command gives it"`
	Text *string       `json:"text" doc:"the document with the changes; nothing is written. null when there are none, as while a step is open"`
}

// AgainAsk asks which length to measure again.
type AgainAsk struct {
	Ask
	Lengths int `json:"lengths,omitempty" minimum:"1" maximum:"30" default:"8"`
}

type walkFileIn struct {
	Kind string `path:"kind" enum:"walk.pdf,walk.yaml"`
	Body WalkAsk
}

func (s *server) proofRoutes(api huma.API) {
	worked(api, s, "proofWalk", "/api/proof/walk", "A proof walk: poses to drive to and distances to measure", func(ctx context.Context, in *struct{ Body WalkAsk }, progress func(float64)) (*Walk, error) {
		w, keeps, err := s.walk(ctx, in.Body, progress)
		if err != nil {
			return nil, err
		}
		return walkOf(w, keeps, in.Body.RulerMM), nil
	})
	huma.Post(api, "/api/proof/{kind}", func(ctx context.Context, in *walkFileIn) (*exportOut, error) {
		w, keeps, err := s.walk(ctx, in.Body, func(float64) {})
		if err != nil {
			return nil, s.wrong(err)
		}
		data := proof.NewSheet(w, in.Body.RulerMM).Bytes()
		if in.Kind == "walk.pdf" {
			var b bytes.Buffer
			if err := report.WriteProofPDF(&b, report.Proof(report.BasisOf(keeps, keeps.MaxAllowance()), w), w); err != nil {
				return nil, s.wrong(err)
			}
			data = b.Bytes()
		}
		return file(in.Body.ID, in.Kind, data), nil
	}, named("exportWalk", "A proof walk to take along: the bytes that the command writes"), files)
	huma.Post(api, "/api/proof/fit", func(_ context.Context, in *struct{ Body FitAsk }) (*body[Fit], error) {
		f, err := s.fit(in.Body)
		return &body[Fit]{f}, s.wrong(err)
	}, named("proofFit", "What the ruler says of the model, and the document corrected by it; nothing is written"))
	worked(api, s, "proofAgain", "/api/proof/again", "How sure the limits are, and which length to measure again, as legroom tolerance gives it", func(ctx context.Context, in *struct{ Body AgainAsk }, progress func(float64)) (*report.ToleranceDoc, error) {
		return s.again(ctx, in.Body, progress)
	})
}

// localTime is how a question gives a clock time at the site.
const localTime = "2006-01-02T15:04"

// walk gives a walk, and the gauge that proves its poses.
func (s *server) walk(ctx context.Context, q WalkAsk, progress func(float64)) (*proof.Walk, *room.Gauge, error) {
	fail := func(err error) (*proof.Walk, *room.Gauge, error) { return nil, nil, err }
	w, err := s.work(q.Ask)
	if err != nil {
		return fail(err)
	}
	zone, err := sky.LoadZone(w.gauge.Model.Rig.Site.TimeZone)
	if err != nil {
		return fail(err)
	}
	begin := time.Now().In(zone).Truncate(time.Minute)
	if q.Begins != "" {
		if begin, err = time.ParseInLocation(localTime, q.Begins, zone); err != nil {
			return fail(huma.Error422UnprocessableEntity(fmt.Sprintf("begins: %q is no clock time: write it such as %s", q.Begins, localTime)))
		}
	}
	g, err := proof.Safe(w.gauge.Model, rig.ToleranceMode(q.Tolerance))
	if err != nil {
		return fail(err)
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{CellDeg: fineDeg})
	if err != nil {
		return fail(err)
	}
	progress(0.2)
	walk, err := proof.NewWalk(ctx, m, proof.Options{Time: begin, Steps: q.Steps, RulerMM: q.RulerMM, Avoid: q.Avoid})
	return walk, g, err
}

func walkOf(w *proof.Walk, keeps *room.Gauge, rulerMM float64) *Walk {
	m := w.Gauge.Model
	d := &Walk{Proof: report.Proof(report.BasisOf(keeps, keeps.MaxAllowance()), w), Sheet: *proof.NewSheet(w, rulerMM), Begins: w.Begin.Format(localTime),
		KeepsMM: keeps.MarginMM, Head: headOf(m), CrossingMM: m.Assembly.CrossingMM[:], Parts: report.Parts(m, axes.Angles{})}
	for i := range d.Sheet.Steps {
		d.Sheet.Steps[i].Readings = []string{}
	}
	return d
}

// fit fits the lengths of a draft to a sheet's readings, and corrects the draft's text by it.
func (s *server) fit(q FitAsk) (out Fit, err error) {
	w, err := s.anyWork(Ask{Draft: q.Draft, Tolerance: string(rig.RSS)})
	if err != nil {
		return out, err
	}
	text, err := s.text(q.Draft)
	if err != nil {
		return out, err
	}
	doc, err := rig.Draft(text, s.folder.on(rigFile(q.ID)))
	if err != nil {
		return out, err
	}
	r := w.gauge.Model.Rig
	if err := q.Sheet.Of(r); err != nil {
		return out, huma.Error409Conflict(err.Error())
	}
	readings, err := q.Sheet.Taken()
	if err != nil {
		return out, err
	}
	fitter, err := proof.NewFitter(r, q.Sheet.Without)
	if err != nil {
		return out, err
	}
	f, err := fitter.Fit(readings)
	if err != nil {
		return out, err
	}
	c := report.Correction{Name: rigFile(q.ID), Before: string(text)}
	c.Changes, err = f.Changes()
	if err != nil && !errors.Is(err, proof.ErrContradicted) && !errors.As(err, &c.Open) {
		return out, err
	}
	c.After = c.Before
	if len(c.Changes) > 0 {
		now, refused, err := proof.Correct(doc, c.Changes)
		if err != nil {
			return out, err
		}
		c.LeftOut, c.After, c.Fingerprint = refused, string(doc.Bytes()), now.Fingerprint()
		if c.Predicted, err = f.Predict(now); err != nil {
			return out, err
		}
		out.Text = &c.After
	}
	out.Fit = report.Fit(report.BasisOf(w.gauge, w.gauge.MaxAllowance()), r.Name, len(q.Sheet.Steps), f, c)
	return out, nil
}

// againRows are the declinations at which runs are looked at, as on the command line.
const againRows = 10 // degrees apart

func (s *server) again(ctx context.Context, q AgainAsk, progress func(float64)) (*report.ToleranceDoc, error) {
	w, err := s.work(q.Ask)
	if err != nil {
		return nil, err
	}
	study, err := tolerance.NewStudy(w.gauge.Model, w.gauge.MarginMM)
	if err != nil {
		return nil, err
	}
	var decs []float64
	for d := -90.0; d <= 90; d += againRows {
		decs = append(decs, axes.Rad(d))
	}
	const ends = 0.3 // of the work
	rows, err := study.Ends(ctx, decs, func(done float64) { progress(ends * done) })
	if err != nil {
		return nil, err
	}
	again, err := study.Ranking(ctx, rows, q.Lengths, func(done float64) { progress(ends + (1-ends)*done) })
	if err != nil {
		return nil, err
	}
	doc := report.Tolerance(report.BasisOf(w.gauge, w.gauge.MaxAllowance()), w.gauge.Model, rows, again, nil, nil)
	return &doc, nil
}
