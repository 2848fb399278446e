package main

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/room"
)

func newMap() *cobra.Command {
	var a ask
	var output, view string
	var step, cell, dpi float64
	c := &cobra.Command{
		Use:   "map RIG --output FILE.svg|FILE.png",
		Short: "A picture of the sky with the room in it: hour angle by declination, or the dome",
		Long: `Draws the gap at every pointing, per side, with what is not free hatched, the margin's contour, the
horizon and the two-number limit. Without --output the map is written as text or JSON: the certified
cells and a grid of gaps.`,
		Example: `  legroom map examples/terrace-long-refractor.yaml --output map.svg
  legroom map examples/terrace-long-refractor.yaml --view dome --output dome.png`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			v, err := report.ParseView(view)
			if err != nil {
				return fmt.Errorf("--view: %w", err)
			}
			kind := ""
			if c.Flags().Changed("output") {
				if kind, err = checkOutput(output, ".svg", ".png"); err != nil {
					return err
				}
			}
			err = errors.Join(between(c, "step-deg", step, 0.1, 10), between(c, "cell-deg", cell, 0.01, 30), between(c, "dpi", dpi, 36, 600))
			if err != nil {
				return err
			}
			g, err := a.gauge(c, args[0])
			if err != nil {
				return err
			}
			m, err := newMapFor(c, g, cell)
			if err != nil {
				return err
			}
			west, east, err := grids(c, m, step)
			if err != nil {
				return err
			}
			if kind == "" {
				doc := report.Map(m, report.BasisOf(g, g.MaxAllowance()), west, east)
				if a.name == "json" {
					return report.Write(c.OutOrStdout(), doc)
				}
				return report.WriteMap(c.OutOrStdout(), g.Model, doc)
			}
			l, err := m.Limits(c.Context(), room.LimitOptions{})
			if err != nil {
				return err
			}
			data, err := picture(m, l, west, east, v, kind, dpi)
			if err != nil {
				return err
			}
			if err := writeFile(output, data); err != nil {
				return err
			}
			return a.wrote(c.OutOrStdout(), output)
		},
	}
	f := c.Flags()
	f.StringVar(&output, "output", "", "the picture to write; its ending says which kind: .svg or .png")
	f.StringVar(&view, "view", string(report.Hours), "hours (hour angle by declination) or dome (the sky from below)")
	f.Float64Var(&step, "step-deg", 1, "spacing of the grid of gaps, degrees")
	f.Float64Var(&cell, "cell-deg", 0.25, "smallest cell of the map, degrees")
	f.Float64Var(&dpi, "dpi", 150, "resolution of a .png, dots per inch")
	a.flags(c, "text", "json")
	return c
}

// grids asks for the gaps of both sides over the whole sky.
func grids(c *cobra.Command, m *room.Map, stepDeg float64) (west, east *report.Grid, err error) {
	p := newProgress(c.ErrOrStderr(), "measuring gaps")
	defer p.end()
	return report.Grids(c.Context(), m, report.GridOptions{StepDeg: stepDeg, Progress: p.show})
}

// picture draws a view as .svg or .png.
func picture(m *room.Map, l *room.Limits, west, east *report.Grid, v report.View, ending string, dpi float64) ([]byte, error) {
	var b bytes.Buffer
	err := report.ChartOf(m, l, west, east, tonight(m.Gauge())).Write(&b, v, ending, dpi)
	return b.Bytes(), err
}
