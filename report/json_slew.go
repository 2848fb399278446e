package report

import (
	"legroom/axes"
	"legroom/room"
)

// AxisPoseDoc is a pose by its axis angles, with what it points at.
type AxisPoseDoc struct {
	RAAxisDeg  float64 `json:"ra_axis_deg"`
	DecAxisDeg float64 `json:"dec_axis_deg"`
	Side       string  `json:"side" jsonschema:"enum=west,enum=east"`
	HourAngleH float64 `json:"hour_angle_h" jsonschema_description:"−12 to 12"`
	DecDeg     float64 `json:"dec_deg"`
	TubeIs     string  `json:"tube_is" jsonschema:"enum=west,enum=east,enum=above,enum=below"`
}

func axisPose(h *axes.Head, g axes.Angles) AxisPoseDoc {
	p := h.Pose(g)
	return AxisPoseDoc{RAAxisDeg: nearest(axes.Deg(g.RA)), DecAxisDeg: nearest(axes.Deg(g.Dec)), Side: p.Side.String(),
		HourAngleH: nearest(axes.Hours(axes.Wrap(p.HourAngle))), DecDeg: nearest(axes.Deg(p.Dec)), TubeIs: TubeIs(h, g)}
}

// SlewDoc is the document of `legroom slew`.
type SlewDoc struct {
	Basis
	From        AxisPoseDoc     `json:"from"`
	To          AxisPoseDoc     `json:"to"`
	Safe        bool            `json:"safe" jsonschema_description:"proven free in every order of the axes that the document leaves open"`
	AnyOrder    bool            `json:"any_order" jsonschema_description:"the whole rectangle between the poses is free"`
	BothAtOnce  bool            `json:"both_at_once"`
	RAFirst     bool            `json:"ra_first"`
	DecFirst    bool            `json:"dec_first"`
	DurationS   float64         `json:"duration_s" jsonschema_description:"both axes side by side at the document's rates"`
	Obstruction *ObstructionDoc `json:"obstruction" jsonschema:"nullable"`
	Route       []AxisPoseDoc   `json:"route" jsonschema_description:"waypoints, ends included, each leg proven in any order; empty when none was asked for or found"`
	RouteS      *float64        `json:"route_duration_s" jsonschema:"nullable"`
}

// ObstructionDoc is where a slew is not proven free.
type ObstructionDoc struct {
	At    AxisPoseDoc `json:"at"`
	State string      `json:"state" jsonschema:"enum=free,enum=blocked,enum=edge" jsonschema_description:"of the cell there"`
	A     string      `json:"a"`
	B     string      `json:"b"`
}

// Slew returns the document of a slew. route may be nil.
func Slew(g *room.Gauge, basis Basis, r room.SlewReport, route *room.Route) SlewDoc {
	h := &g.Model.Head
	d := SlewDoc{Basis: basis, From: axisPose(h, r.From), To: axisPose(h, r.To), Safe: r.Safe, AnyOrder: r.AnyOrder, BothAtOnce: r.Both,
		RAFirst: r.RAFirst, DecFirst: r.DecFirst, DurationS: up(r.Seconds), Route: []AxisPoseDoc{}}
	if o := r.Obstruction; o != nil {
		d.Obstruction = &ObstructionDoc{At: axisPose(h, o.At), State: o.State.String(), A: o.A, B: o.B}
	}
	if route != nil {
		for _, w := range route.Waypoints {
			d.Route = append(d.Route, axisPose(h, w))
		}
		s := up(route.Seconds)
		d.RouteS = &s
	}
	return d
}
