package report

import (
	"context"
	"io"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Grids asks a map for the gaps of both sides over the whole sky.
func Grids(ctx context.Context, m *room.Map, o GridOptions) (west, east *Grid, err error) {
	model := m.Gauge().Model
	sampler := MapSampler(m)
	var grids [2]*Grid
	show := o.Progress
	for i, side := range []axes.Side{axes.West, axes.East} {
		if show != nil {
			o.Progress = func(done float64) { show((float64(i) + done) / 2) }
		}
		if grids[i], err = NewGrid(ctx, &model.Head, model.Travel, side, sampler, o); err != nil {
			return nil, nil, err
		}
	}
	return grids[0], grids[1], nil
}

// ChartOf puts a map's grids and its two numbers into a picture.
func ChartOf(m *room.Map, l *room.Limits, west, east *Grid, setup rig.Setup) *Chart {
	g := m.Gauge()
	return &Chart{Model: g.Model, Basis: BasisOf(g, g.MaxAllowance()), West: west, East: east, Two: &l.Two, Setup: setup}
}

// Write draws a view as .svg or .png, the latter with that many dots per inch.
func (c *Chart) Write(w io.Writer, v View, ending string, dpi float64) error {
	if ending == ".png" {
		return c.WritePNG(w, v, dpi)
	}
	return c.WriteSVG(w, v)
}

// Room returns a map's room in percent.
func Room(m *room.Map) ShareDoc {
	s := m.Room()
	return ShareDoc{West: percent(s.West), East: percent(s.East), Either: percent(s.Either)}
}
