package main

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// ask is what every question about gaps takes.
type ask struct {
	tolerance string
	margin    float64
	holds     []string
	holdsNot  []string
	format
}

// flags adds the common flags to a command; formats lists the output formats that it knows, the default first.
func (a *ask) flags(c *cobra.Command, formats ...string) {
	f := c.Flags()
	f.StringVar(&a.tolerance, "tolerance", "rss", "what the tolerances take off each gap: rss, worst or none")
	f.Float64Var(&a.margin, "margin", -1, "the gap to insist on, mm")
	f.Lookup("margin").DefValue = "the document's"
	f.StringArrayVar(&a.holds, "with", nil, "a condition that holds, such as \"roof shut\" (may be repeated)")
	f.StringArrayVar(&a.holdsNot, "without", nil, "a condition that does not hold; one that is not named counts at its worst")
	a.format.flag(c, formats...)
}

// gauge loads a rig and prepares it for questions, unless a joint does not hold: then no answer would be proven.
func (a *ask) gauge(c *cobra.Command, path string) (*room.Gauge, error) {
	g, err := a.anyGauge(c, path)
	if err != nil {
		return nil, err
	}
	if err := g.JointsHold(); err != nil {
		return nil, fmt.Errorf("%s: %w; legroom check lists the joints", path, err)
	}
	return g, nil
}

// anyGauge is gauge for what needs no proof: a check, a picture of the rig.
func (a *ask) anyGauge(c *cobra.Command, path string) (*room.Gauge, error) {
	r, err := rig.Load(path)
	if err != nil {
		return nil, err
	}
	return a.gaugeOf(c, r)
}

// gaugeOf prepares a rig for questions. A margin that was asked for stands in for the document's, 0 included, so that the
// fingerprint tells such results apart.
func (a *ask) gaugeOf(c *cobra.Command, r *rig.Rig) (*room.Gauge, error) {
	if err := a.format.check(); err != nil {
		return nil, err
	}
	if !slices.Contains([]rig.ToleranceMode{rig.RSS, rig.Worst, rig.None}, rig.ToleranceMode(a.tolerance)) {
		return nil, fmt.Errorf("--tolerance %q: give rss, worst or none", a.tolerance)
	}
	if c.Flags().Changed("margin") {
		if err := between(c, "margin", a.margin, 0, 1000); err != nil {
			return nil, err
		}
		r.MarginMM.Value = a.margin
	}
	known, err := r.Known(a.holds, a.holdsNot)
	if err != nil {
		return nil, err
	}
	m, err := axes.NewModel(r, known)
	if err != nil {
		return nil, err
	}
	return room.NewGauge(m, room.Options{Mode: rig.ToleranceMode(a.tolerance)})
}

// newMapFor proves the torus with a bar of progress on standard error when it takes long.
func newMapFor(c *cobra.Command, g *room.Gauge, cellDeg float64) (*room.Map, error) {
	p := newProgress(c.ErrOrStderr(), "proving the map")
	defer p.end()
	return room.NewMap(c.Context(), g, room.MapOptions{CellDeg: cellDeg, Progress: p.show})
}
