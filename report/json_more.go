package report

import (
	"math"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// MapDoc is the document of `legroom map`: the sky above and below the horizon, hour angle by declination, on each side.
type MapDoc struct {
	Rig string `json:"rig"`
	Basis
	CellDeg  float64   `json:"cell_deg" jsonschema_description:"smallest cell of the certified map on the two axes"`
	EdgeRoom float64   `json:"edge_percent" jsonschema_description:"undecided part of the map, which counts as not free"`
	Sides    []GridDoc `json:"sides"`
}

// GridDoc is one side's grid of poses.
type GridDoc struct {
	Side       string       `json:"side" jsonschema:"enum=west,enum=east"`
	HourAngleH []float64    `json:"hour_angle_h" jsonschema_description:"of the columns"`
	DecDeg     []float64    `json:"dec_deg" jsonschema_description:"of the rows"`
	State      []string     `json:"state" jsonschema_description:"a string a row, a letter a pose: f free, b blocked, e edge (undecided, counts as not free), t outside the travel of the axes; of the map cell that holds the pose"`
	GapLowerMM [][]*float64 `json:"gap_lower_mm" jsonschema:"nullable" jsonschema_description:"a row a row; with the tolerances taken off; null outside the travel"`
}

// Map returns the document of a map's grids.
func Map(m *room.Map, basis Basis, grids ...*Grid) MapDoc {
	d := MapDoc{Rig: m.Gauge().Model.Rig.Name, Basis: basis, CellDeg: m.CellDeg(), EdgeRoom: percent(m.EdgeShare()), Sides: []GridDoc{}}
	for _, g := range grids {
		d.Sides = append(d.Sides, g.doc())
	}
	return d
}

func (g *Grid) doc() GridDoc {
	d := GridDoc{Side: g.Side.String(), State: []string{}, GapLowerMM: [][]*float64{}}
	for i := range g.Columns {
		d.HourAngleH = append(d.HourAngleH, nearest(axes.Hours(g.HourAngle(i))))
	}
	for j := range g.Rows {
		d.DecDeg = append(d.DecDeg, nearest(axes.Deg(g.Dec(j))))
		letters := make([]byte, g.Columns)
		gaps := make([]*float64, g.Columns)
		for i := range g.Columns {
			p := g.At(i, j)
			letters[i] = p.State.String()[0]
			if p.Unreachable {
				letters[i] = 't'
				continue
			}
			// The picture holds single precision: a step down keeps the bound a bound.
			x := down(float64(math.Nextafter32(p.GapMM, float32(math.Inf(-1)))))
			gaps[i] = &x
		}
		d.State = append(d.State, string(letters))
		d.GapLowerMM = append(d.GapLowerMM, gaps)
	}
	return d
}

// AxisPoseDoc is a pose by its axis angles, with what it points at.
type AxisPoseDoc struct {
	RAAxisDeg  float64 `json:"ra_axis_deg"`
	DecAxisDeg float64 `json:"dec_axis_deg"`
	Side       string  `json:"side" jsonschema:"enum=west,enum=east"`
	HourAngleH float64 `json:"hour_angle_h"`
	DecDeg     float64 `json:"dec_deg"`
	TubeIs     string  `json:"tube_is" jsonschema:"enum=west,enum=east,enum=above,enum=below"`
}

func axisPose(h *axes.Head, g axes.Angles) AxisPoseDoc {
	p := h.Pose(g)
	return AxisPoseDoc{RAAxisDeg: nearest(axes.Deg(g.RA)), DecAxisDeg: nearest(axes.Deg(g.Dec)), Side: p.Side.String(),
		HourAngleH: nearest(axes.Hours(p.HourAngle)), DecDeg: nearest(axes.Deg(p.Dec)), TubeIs: TubeIs(h, g)}
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

// CheckDoc is the document of `legroom check`.
type CheckDoc struct {
	Rig         string        `json:"rig"`
	Fingerprint string        `json:"fingerprint"`
	OK          bool          `json:"ok"`
	Errors      []string      `json:"errors"`
	Warnings    []string      `json:"warnings"`
	Parts       []PartDoc     `json:"parts" jsonschema_description:"counterweight-down at the pole"`
	Joined      [][2]string   `json:"joined"`
	Overlaps    []Nearest     `json:"overlaps" jsonschema_description:"pairs that overlap counterweight-down at the pole and are not joined: modelling errors"`
	Defaults    []QuantityDoc `json:"defaults" jsonschema_description:"what the document left out"`
	Unmeasured  []QuantityDoc `json:"unmeasured"`
	Costs       []CostDoc     `json:"costs" jsonschema_description:"which lengths' tolerances take most off the gaps, largest first"`
	MassKg      MassDoc       `json:"mass_kg"`
}

// MassDoc is the masses given, by frame.
type MassDoc struct {
	Ground float64 `json:"ground"`
	Polar  float64 `json:"polar"`
	Arm    float64 `json:"arm"`
	Tube   float64 `json:"tube"`
	Total  float64 `json:"total"`
}

// QuantityDoc is one quantity of the document.
type QuantityDoc struct {
	Path      string  `json:"path"`
	Value     float64 `json:"value"`
	Tolerance float64 `json:"tolerance"`
	Unit      string  `json:"unit" jsonschema:"enum=mm,enum=deg,enum=kg"`
}

// CostDoc is what one quantity's tolerance takes off a pair's gap.
type CostDoc struct {
	Path string  `json:"path"`
	MM   float64 `json:"mm"`
	OfMM float64 `json:"of_mm" jsonschema_description:"the pair's whole allowance"`
	A    string  `json:"a"`
	B    string  `json:"b"`
}

// Check returns the document of what a check found: overlaps are the pairs that overlap counterweight-down at the pole.
func Check(m *axes.Model, errors, warnings []string, overlaps []room.PairGap, costs []room.Cost) CheckDoc {
	d := CheckDoc{Rig: m.Rig.Name, Fingerprint: m.Rig.Fingerprint(), OK: len(errors) == 0 && len(overlaps) == 0,
		Errors: append([]string{}, errors...), Warnings: append([]string{}, warnings...), Joined: [][2]string{}, Overlaps: []Nearest{},
		Defaults: []QuantityDoc{}, Unmeasured: []QuantityDoc{}, Costs: []CostDoc{}, Parts: []PartDoc{}}
	for i := range m.Parts {
		d.Parts = append(d.Parts, partAt(m, i, axes.Angles{}))
		kg := m.Parts[i].Rig.MassKg
		d.MassKg.Total += kg
		switch m.Parts[i].Frame {
		case rig.Ground:
			d.MassKg.Ground += kg
		case rig.Polar:
			d.MassKg.Polar += kg
		case rig.Arm:
			d.MassKg.Arm += kg
		case rig.TubeFrame:
			d.MassKg.Tube += kg
		}
	}
	for _, kg := range []*float64{&d.MassKg.Ground, &d.MassKg.Polar, &d.MassKg.Arm, &d.MassKg.Tube, &d.MassKg.Total} {
		*kg = nearest(*kg)
	}
	for _, j := range m.Assembly.Joined {
		d.Joined = append(d.Joined, [2]string{m.Parts[j[0]].Name, m.Parts[j[1]].Name})
	}
	for _, q := range overlaps {
		d.Overlaps = append(d.Overlaps, nearestDoc(m, q))
	}
	for _, q := range m.Rig.Quantities {
		doc := QuantityDoc{q.Path, q.Value, q.Tol, q.Unit}
		switch q.Source {
		case rig.Default:
			d.Defaults = append(d.Defaults, doc)
		case rig.Unmeasured:
			d.Unmeasured = append(d.Unmeasured, doc)
		}
	}
	for _, c := range costs {
		d.Costs = append(d.Costs, CostDoc{c.Quantity.Path, nearest(c.MM), nearest(c.OfMM), c.A, c.B})
	}
	return d
}
