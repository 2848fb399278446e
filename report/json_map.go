package report

import (
	"encoding/json"
	"math"

	"github.com/invopop/jsonschema"

	"legroom/axes"
	"legroom/room"
)

// MapDoc is the document of `legroom map`: the sky above and below the horizon, hour angle by declination, on each side.
type MapDoc struct {
	Rig string `json:"rig"`
	Basis
	CellDeg     float64   `json:"cell_deg" jsonschema_description:"smallest cell of the certified map on the two axes"`
	EdgePercent float64   `json:"edge_percent" jsonschema_description:"undecided part of the map, which counts as not free"`
	Sides       []GridDoc `json:"sides"`
}

// GridDoc is one side's grid of poses.
type GridDoc struct {
	Side       string        `json:"side" jsonschema:"enum=west,enum=east"`
	HourAngleH []float64     `json:"hour_angle_h" jsonschema_description:"of the columns"`
	DecDeg     []float64     `json:"dec_deg" jsonschema_description:"of the rows"`
	State      []string      `json:"state" jsonschema_description:"a string a row, a letter a pose: f free, b blocked, e edge (undecided, counts as not free), t outside the travel of the axes; of the map cell that holds the pose"`
	GapLowerMM [][]gapOrNull `json:"gap_lower_mm" jsonschema_description:"a row a row; with the tolerances taken off; null outside the travel"`
}

// gapOrNull is a gap in mm; NaN is written as null.
type gapOrNull float64

// MarshalJSON writes the gap or null.
func (g gapOrNull) MarshalJSON() ([]byte, error) {
	if math.IsNaN(float64(g)) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(g))
}

// JSONSchema describes it.
func (gapOrNull) JSONSchema() *jsonschema.Schema {
	return &jsonschema.Schema{OneOf: []*jsonschema.Schema{{Type: "number"}, {Type: "null"}}}
}

// Map returns the document of a map's grids.
func Map(m *room.Map, basis Basis, grids ...*Grid) MapDoc {
	d := MapDoc{Rig: m.Gauge().Model.Rig.Name, Basis: basis, CellDeg: m.CellDeg(), EdgePercent: percent(m.EdgeShare()), Sides: []GridDoc{}}
	for _, g := range grids {
		d.Sides = append(d.Sides, g.doc())
	}
	return d
}

func (g *Grid) doc() GridDoc {
	d := GridDoc{Side: g.Side.String(), State: []string{}, GapLowerMM: [][]gapOrNull{}}
	for i := range g.Columns {
		d.HourAngleH = append(d.HourAngleH, nearest(axes.Hours(g.HourAngle(i))))
	}
	for j := range g.Rows {
		d.DecDeg = append(d.DecDeg, nearest(axes.Deg(g.Dec(j))))
		letters := make([]byte, g.Columns)
		gaps := make([]gapOrNull, g.Columns)
		for i := range g.Columns {
			p := g.At(i, j)
			letters[i] = p.State.String()[0]
			if p.Unreachable {
				letters[i], gaps[i] = 't', gapOrNull(math.NaN())
				continue
			}
			// The picture holds single precision: a step down keeps the bound a bound.
			gaps[i] = gapOrNull(down(float64(math.Nextafter32(p.GapMM, float32(math.Inf(-1))))))
		}
		d.State = append(d.State, string(letters))
		d.GapLowerMM = append(d.GapLowerMM, gaps)
	}
	return d
}
