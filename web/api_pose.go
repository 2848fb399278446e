package web

import (
	"context"
	"fmt"

	"github.com/danielgtaylor/huma/v2"

	"legroom/axes"
	"legroom/report"
	"legroom/rig"
)

type poseIn struct {
	Body struct {
		Ask
		At
		Pairs int `json:"pairs,omitempty" minimum:"1" maximum:"500" default:"10" doc:"how many of the nearest pairs"`
	}
}

type sweptIn struct {
	Body struct {
		Ask
		Side   string  `json:"side" enum:"west,east"`
		DecDeg float64 `json:"dec_deg" minimum:"-90" maximum:"90"`
		FromH  float64 `json:"from_h" minimum:"-24" maximum:"24"`
		ToH    float64 `json:"to_h" minimum:"-24" maximum:"24" doc:"at or after from_h"`
		Steps  int     `json:"steps,omitempty" minimum:"2" maximum:"200" default:"24" doc:"how many places, the ends included"`
	}
}

func (s *server) poseRoutes(api huma.API) {
	huma.Post(api, "/api/pose", func(_ context.Context, in *poseIn) (*body[report.PoseDoc], error) {
		w, err := s.work(in.Body.Ask)
		if err != nil {
			return nil, s.wrong(err)
		}
		p := in.Body.pose()
		ax := w.gauge.Model.Head.Angles(p)
		gap := w.gauge.Gap(ax, w.gauge.NewScratch())
		return &body[report.PoseDoc]{report.Pose(w.gauge, p, gap, w.gauge.Nearest(ax, in.Body.Pairs))}, nil
	}, named("pose", "The least gap and the nearest pairs at one pose, as the command gives them"))
	huma.Post(api, "/api/swept", func(_ context.Context, in *sweptIn) (*body[Swept], error) {
		q := in.Body
		if q.ToH < q.FromH {
			return nil, huma.Error422UnprocessableEntity(fmt.Sprintf("the track ends at %g h, before it starts at %g h; tracking raises the hour angle", q.ToH, q.FromH))
		}
		w, err := s.work(q.Ask)
		if err != nil {
			return nil, s.wrong(err)
		}
		return &body[Swept]{w.swept(q.Side, q.DecDeg, q.FromH, q.ToH, q.Steps)}, nil
	}, named("swept", "Where the moving parts stand along a track"))
}

// pose gives the pose that a question names; the schema has checked its ranges.
func (a At) pose() axes.Pose {
	side := axes.West
	if a.Side == axes.East.String() {
		side = axes.East
	}
	return axes.Pose{Side: side, HourAngle: axes.FromHours(a.HourAngleH), Dec: axes.Rad(a.DecDeg)}
}

// swept places the moving parts at equal steps of hour angle.
func (w *work) swept(side string, decDeg, fromH, toH float64, steps int) Swept {
	g := w.gauge
	m := g.Model
	out := Swept{Fingerprint: m.Rig.Fingerprint(), HourAngleH: []float64{}, Free: []bool{}, GapMM: []float64{}, Parts: []SweptPart{}}
	var moving []int
	for i := range m.Parts {
		if p := m.Parts[i].Rig; p.Frame == rig.Arm || p.Frame == rig.TubeFrame {
			moving = append(moving, i)
			out.Parts = append(out.Parts, SweptPart{Name: p.Name, Frame: p.Frame, Shape: p.Shape, SizeMM: p.SizeMM, Places: [][12]float64{}})
		}
	}
	scratch := g.NewScratch()
	for k := range steps {
		h := fromH + (toH-fromH)*float64(k)/float64(steps-1)
		p := At{Side: side, HourAngleH: h, DecDeg: decDeg}.pose()
		doc := report.Pose(g, p, g.Gap(m.Head.Angles(p), scratch), nil)
		out.HourAngleH = append(out.HourAngleH, h)
		out.Free = append(out.Free, doc.Free)
		out.GapMM = append(out.GapMM, doc.GapMM)
		for n, i := range moving {
			out.Parts[n].Places = append(out.Parts[n].Places, doc.Parts[i].Place)
		}
	}
	return out
}
