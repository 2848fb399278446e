package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/load"
	"legroom/report"
	"legroom/room"
)

// loadAsk is what a question about the load takes.
type loadAsk struct {
	ask
	bends, stands load.Wanted
	declinations  string
	stepDeg       float64
}

func newLoad() *cobra.Command {
	var a loadAsk
	c := &cobra.Command{
		Use:   "load RIG",
		Short: "Balance, tipping, bending and cables: what the rig weighs, and what it stands",
		Long: `Says where the counterweights and the tube go for balance, what push or wind would tip the rig over,
how a pier extension bends and at which frequency, how far each cable must reach, and on what its
hanging loops may get caught: the worst over every pose that is above the horizon and proven free. A part without a mass in the document is
named, and what depends on it is not known: balance while one that turns has none, what tips the rig while anything has none
that stands on its feet. Exit code 1 when a cable is too short, or when it is not known that the rig stands by itself, and stands
what --stand-push-n and --stand-wind-m-per-s ask for.`,
		Example: `  legroom load examples/terrace-riser.yaml
  legroom load examples/terrace-riser.yaml --stand-push-n 80 --stand-wind-m-per-s 15
  legroom load examples/karoo-newtonian.yaml --declinations -60..20 --format json
  legroom load examples/terrace-riser.yaml --step-deg 15 --format csv`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			var band room.LimitOptions
			if err := parseDeclinations(a.declinations, &band); err != nil {
				return err
			}
			if err := a.check(c); err != nil {
				return err
			}
			g, err := a.gauge(c, args[0])
			if err != nil {
				return err
			}
			m, err := newMapFor(c, g, load.MapCellDeg)
			if err != nil {
				return err
			}
			r, err := a.answer(c, m, &band)
			if err != nil {
				return fmt.Errorf("%s: %w", args[0], err)
			}
			doc := report.Load(report.BasisOf(g, g.MaxAllowance()), r)
			switch a.name {
			case "json":
				err = report.Write(c.OutOrStdout(), doc)
			case "csv":
				err = report.WriteLoadCSV(c.OutOrStdout(), doc)
			default:
				err = report.WriteLoad(c.OutOrStdout(), doc)
			}
			if err == nil && !doc.StandsAsAsked {
				return errNo
			}
			return err
		},
	}
	f := c.Flags()
	f.Float64Var(&a.stands.PushN, "stand-push-n", 0, "a horizontal push at the highest point that the rig is to stand, N: says what ballast or spread that takes")
	f.Float64Var(&a.stands.WindMS, "stand-wind-m-per-s", 0, "a wind that it is to stand, m/s")
	f.Float64Var(&a.bends.PushN, "push-n", 10, "the push that bends what carries the mount, N, at the height where the axes cross")
	f.Float64Var(&a.bends.WindMS, "wind-m-per-s", 4, "the wind that bends it, m/s")
	f.StringVar(&a.declinations, "declinations", "", "only poses at these declinations, such as -10..60 (all when not given)")
	f.Float64Var(&a.stepDeg, "step-deg", 0, "give the load pose by pose too, at such steps of both axes, degrees (csv: 15 when not given)")
	a.flags(c, "text", "json", "csv")
	return c
}

func (a *loadAsk) check(c *cobra.Command) error {
	for _, f := range []struct {
		name string
		x    float64
		to   float64
	}{{"stand-push-n", a.stands.PushN, 1e5}, {"stand-wind-m-per-s", a.stands.WindMS, 100}, {"push-n", a.bends.PushN, 1e5}, {"wind-m-per-s", a.bends.WindMS, 100}} {
		if err := between(c, f.name, f.x, 0, f.to); err != nil {
			return err
		}
	}
	if c.Flags().Changed("step-deg") {
		return between(c, "step-deg", a.stepDeg, 1, 90)
	}
	if a.name == "csv" {
		a.stepDeg = 15
	}
	return nil
}

// answer computes what is asked of the rig of a map.
func (a *loadAsk) answer(c *cobra.Command, m *room.Map, band *room.LimitOptions) (load.Answer, error) {
	known, err := m.Gauge().Model.Rig.Known(a.holds, a.holdsNot)
	if err != nil {
		return load.Answer{}, err
	}
	// The csv has no place for loops.
	q := load.Question{DecFrom: axes.Rad(-90), DecTo: axes.Rad(90), Stands: a.stands, Bends: a.bends, Loops: a.name != "csv", StepDeg: a.stepDeg}
	if a.declinations != "" {
		q.DecFrom, q.DecTo = axes.Rad(band.DecFromDeg), axes.Rad(band.DecToDeg)
	}
	p := newProgress(c.ErrOrStderr(), "weighing the poses")
	defer p.end()
	return q.Answer(c.Context(), m, known, p.show)
}
