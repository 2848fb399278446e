package web

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"legroom/axes"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

type limitsIn struct {
	Body struct {
		Ask
		RowDeg     float64   `json:"row_deg,omitempty" minimum:"0.5" maximum:"30" default:"5" doc:"height of the bands of declination"`
		DecFromDeg *float64  `json:"dec_from_deg,omitempty" minimum:"-90" maximum:"90" doc:"with dec_to_deg: the declinations that the two numbers must hold for; left out: all"`
		DecToDeg   *float64  `json:"dec_to_deg,omitempty" minimum:"-90" maximum:"90"`
		DecDeg     []float64 `json:"dec_deg,omitempty" maxItems:"100" doc:"give the table for these apparent declinations alone, each ± 0.1°"`
		Mine       *Mine     `json:"mine,omitempty" doc:"are these safe?"`
		Date       string    `json:"date,omitempty" format:"date" doc:"the evening's; tonight's when left out"`
	}
}

// Mine is the owner's own pair of limits, degrees of RA axis from counterweight-down.
type Mine struct {
	WestDeg float64 `json:"west_deg" minimum:"0" maximum:"180"`
	EastDeg float64 `json:"east_deg" minimum:"0" maximum:"180"`
}

// Place is one end of a slew: a pose that the document names, or a pose, or axis angles.
type Place struct {
	Named string      `json:"named,omitempty" enum:"park,home"`
	Pose  *At         `json:"pose,omitempty"`
	Axes  *AxisAngles `json:"axes,omitempty"`
}

// AxisAngles are the two axis angles.
type AxisAngles struct {
	RAAxisDeg  float64 `json:"ra_axis_deg" minimum:"-720" maximum:"720"`
	DecAxisDeg float64 `json:"dec_axis_deg" minimum:"-720" maximum:"720"`
}

type slewIn struct {
	Body struct {
		Ask
		From  Place `json:"from"`
		To    Place `json:"to"`
		Route bool  `json:"route,omitempty" doc:"look for waypoints when the slew is not proven free"`
	}
}

func (s *server) limitRoutes(api huma.API) {
	huma.Post(api, "/api/limits", func(ctx context.Context, in *limitsIn) (*body[report.LimitsDoc], error) {
		doc, err := s.limits(ctx, in)
		return &body[report.LimitsDoc]{doc}, s.wrong(err)
	}, named("limits", "The limits, as the command gives them"))
	huma.Post(api, "/api/check", func(ctx context.Context, in *struct{ Body Ask }) (*body[report.CheckDoc], error) {
		w, err := s.anyWork(in.Body)
		if err != nil {
			return nil, s.wrong(err)
		}
		m, err := room.NewMap(ctx, w.gauge, room.MapOptions{CellDeg: 1})
		if err != nil {
			return nil, s.wrong(err)
		}
		doc := report.Check(w.gauge, w.gauge.Joints(), m.Costs())
		doc.TellLack(m)
		for i := range doc.Findings {
			doc.Findings[i].File = s.folder.name(doc.Findings[i].File)
		}
		for i := range doc.Overlaps {
			o := &doc.Overlaps[i]
			o.AFrom.File, o.BFrom.File = s.folder.name(o.AFrom.File), s.folder.name(o.BFrom.File)
		}
		return &body[report.CheckDoc]{doc}, nil
	}, named("check", "What looks wrong, and what to measure better, as the command gives it"))
	huma.Post(api, "/api/slew", func(ctx context.Context, in *slewIn) (*body[report.SlewDoc], error) {
		doc, err := s.slew(ctx, in)
		return &body[report.SlewDoc]{doc}, s.wrong(err)
	}, named("slew", "Is a slew proven free, and which way round if not"))
}

func (s *server) limits(ctx context.Context, in *limitsIn) (doc report.LimitsDoc, err error) {
	q := in.Body
	o := room.LimitOptions{RowDeg: q.RowDeg}
	if (q.DecFromDeg == nil) != (q.DecToDeg == nil) || q.DecFromDeg != nil && *q.DecFromDeg >= *q.DecToDeg {
		return doc, huma.Error422UnprocessableEntity("give dec_from_deg and dec_to_deg both, the lower first, or neither")
	}
	if q.DecFromDeg != nil {
		o.DecFromDeg, o.DecToDeg = *q.DecFromDeg, *q.DecToDeg
	}
	w, err := s.work(q.Ask)
	if err != nil {
		return doc, err
	}
	m, err := w.fineMap(ctx)
	if err != nil {
		return doc, err
	}
	l, err := m.Limits(ctx, o)
	if err != nil {
		return doc, err
	}
	if len(q.DecDeg) > 0 {
		l.Rows = nil
		for _, d := range q.DecDeg {
			if !(d >= -90 && d <= 90) {
				return doc, huma.Error422UnprocessableEntity(fmt.Sprintf("declination %g°: give −90 to 90", d))
			}
			row, ever := m.Target(axes.Rad(d), axes.Rad(0.1))
			if !ever {
				return doc, huma.Error422UnprocessableEntity(fmt.Sprintf("declination %g° is never above the horizon at latitude %g°", d, w.gauge.Model.Rig.Site.LatitudeDeg))
			}
			m.Across(&row)
			l.Rows = append(l.Rows, row)
		}
	}
	var own *room.Mine
	if q.Mine != nil {
		answer := m.Mine(axes.Rad(q.Mine.WestDeg), axes.Rad(q.Mine.EastDeg), o)
		own = &answer
	}
	return report.Limits(w.gauge.Model.Rig, l, own, w.setup(q.Date), report.CheckErrors(w.gauge)), nil
}

// setup is what the owner confirmed for the night of a date, or for tonight.
func (w *work) setup(date string) rig.Setup {
	r, without := w.gauge.Model.Rig, w.gauge.Model.Assembly.Without
	if date != "" {
		return r.SetupFor(date, without, time.Now())
	}
	return r.SetupTonight(without, time.Now())
}

func (s *server) slew(ctx context.Context, in *slewIn) (doc report.SlewDoc, err error) {
	w, err := s.work(in.Body.Ask)
	if err != nil {
		return doc, err
	}
	from, err := w.place("from", in.Body.From)
	if err != nil {
		return doc, err
	}
	to, err := w.place("to", in.Body.To)
	if err != nil {
		return doc, err
	}
	m, err := w.fineMap(ctx)
	if err != nil {
		return doc, err
	}
	r, err := m.Slew(from, to)
	if err != nil {
		return doc, err
	}
	var way *room.Route
	if in.Body.Route && !r.Safe {
		switch found, err := m.Route(ctx, from, to); {
		case err == nil:
			way = &found
		case !errors.Is(err, room.ErrNoRoute):
			return doc, err
		}
	}
	return report.Slew(w.gauge, report.BasisOf(w.gauge, w.gauge.MaxAllowance()), r, way), nil
}

// place gives the axis angles of one end of a slew.
func (w *work) place(end string, p Place) (axes.Angles, error) {
	given := 0
	for _, is := range []bool{p.Named != "", p.Pose != nil, p.Axes != nil} {
		if is {
			given++
		}
	}
	if given != 1 {
		return axes.Angles{}, huma.Error422UnprocessableEntity(end + ": give one of named, pose and axes")
	}
	m := w.gauge.Model
	switch {
	case p.Axes != nil:
		return axes.Angles{RA: axes.Rad(p.Axes.RAAxisDeg), Dec: axes.Rad(p.Axes.DecAxisDeg)}, nil
	case p.Pose != nil:
		return m.Reach(m.Head.Angles(p.Pose.pose()))
	}
	at := m.Rig.Mount.Park
	if p.Named == "home" {
		at = m.Rig.Mount.Home
	}
	if at == nil {
		return axes.Angles{}, huma.Error422UnprocessableEntity(fmt.Sprintf("%s: the document has no %s pose; add mount.%[2]s with ra_axis_deg and dec_axis_deg", end, p.Named))
	}
	return axes.Angles{RA: axes.Rad(at.RAAxisDeg), Dec: axes.Rad(at.DecAxisDeg)}, nil
}
