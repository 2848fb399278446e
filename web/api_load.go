package web

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"legroom/axes"
	"legroom/load"
	"legroom/report"
	"legroom/room"
)

// LoadAsk is a question about what a rig weighs and what it stands.
type LoadAsk struct {
	Ask
	StandPushN  float64  `json:"stand_push_n,omitempty" minimum:"0" maximum:"100000" doc:"horizontal push at the highest point that the rig is to stand; 0: none is asked for"`
	StandWindMS float64  `json:"stand_wind_m_per_s,omitempty" minimum:"0" maximum:"100" doc:"wind that it is to stand; 0: none is asked for"`
	PushN       *float64 `json:"push_n,omitempty" minimum:"0" maximum:"100000" default:"10" doc:"push that bends what carries the mount, at the height where the axes cross"`
	WindMS      *float64 `json:"wind_m_per_s,omitempty" minimum:"0" maximum:"100" default:"4" doc:"wind that bends it"`
	DecFromDeg  *float64 `json:"dec_from_deg,omitempty" minimum:"-90" maximum:"90" default:"-90" doc:"only poses at these declinations"`
	DecToDeg    *float64 `json:"dec_to_deg,omitempty" minimum:"-90" maximum:"90" default:"90"`
}

func (s *server) loadRoutes(api huma.API) {
	worked(api, s, "load", "/api/load", "Balance, tipping, bending, cables and their loops, as the command gives them", func(ctx context.Context, in *struct{ Body LoadAsk }, progress func(float64)) (*report.LoadDoc, error) {
		return s.load(ctx, in.Body, progress)
	})
}

func (s *server) load(ctx context.Context, q LoadAsk, progress func(float64)) (*report.LoadDoc, error) {
	if *q.DecFromDeg >= *q.DecToDeg {
		return nil, huma.Error422UnprocessableEntity("dec_from_deg, dec_to_deg: give the lower declination first")
	}
	w, err := s.work(q.Ask)
	if err != nil {
		return nil, err
	}
	known, err := w.gauge.Model.Rig.Known(q.With, q.Without)
	if err != nil {
		return nil, err
	}
	m, err := room.NewMap(ctx, w.gauge, room.MapOptions{CellDeg: load.MapCellDeg})
	if err != nil {
		return nil, err
	}
	a, err := load.Question{DecFrom: axes.Rad(*q.DecFromDeg), DecTo: axes.Rad(*q.DecToDeg), Stands: load.Wanted{PushN: q.StandPushN, WindMS: q.StandWindMS},
		Bends: load.Wanted{PushN: *q.PushN, WindMS: *q.WindMS}, Loops: true}.Answer(ctx, m, known, progress)
	if err != nil {
		return nil, err
	}
	doc := report.Load(report.BasisOf(w.gauge, w.gauge.MaxAllowance()), a)
	return &doc, nil
}
