package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/report"
	"legroom/room"
)

func newLimits() *cobra.Command {
	var a ask
	var o room.LimitOptions
	var mine, declinations string
	var cell float64
	var decs []float64
	c := &cobra.Command{
		Use:   "limits RIG",
		Short: "The tracking limits for both sides: two numbers to enter, and the table by declination",
		Long: `Proves the whole sky of a rig and says how far it may track on each side: the two RA axis angles
that most mounts accept, what they cost and what they leave unprotected, and the stop, resume and
flip window for each band of declination. With --mine it says whether the numbers that you have
already are safe; exit code 1 when they are not.`,
		Example: `  legroom limits examples/terrace-long-refractor.yaml
  legroom limits examples/terrace-long-refractor.yaml --mine west=95,east=92
  legroom limits examples/terrace-long-refractor.yaml --declinations -10..60 --format json
  legroom limits examples/terrace-long-refractor.yaml --dec-deg 37.2,41.3`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := parseDeclinations(declinations, &o); err != nil {
				return err
			}
			if err := between(c, "row-deg", o.RowDeg, 0.5, 30); err != nil {
				return err
			}
			if err := between(c, "cell-deg", cell, 0.01, 30); err != nil {
				return err
			}
			for _, d := range decs {
				if err := between(c, "dec-deg", d, -90, 90); err != nil {
					return err
				}
			}
			west, east, err := parseMine(mine)
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
			l, err := m.Limits(c.Context(), o)
			if err != nil {
				return err
			}
			if len(decs) > 0 {
				if l.Rows, err = targets(m, decs); err != nil {
					return err
				}
			}
			var own *room.Mine
			if mine != "" {
				answer := m.Mine(west, east, o)
				own = &answer
			}
			doc := report.Limits(g.Model.Rig, l, own, tonight(g), report.CheckErrors(g))
			switch a.name {
			case "json":
				err = report.Write(c.OutOrStdout(), doc)
			case "csv":
				err = report.WriteLimitsCSV(c.OutOrStdout(), doc)
			default:
				err = report.WriteLimits(c.OutOrStdout(), g.Model.Rig, doc)
			}
			if err == nil && own != nil && !own.Safe {
				return errNo
			}
			return err
		},
	}
	f := c.Flags()
	f.Float64Var(&o.RowDeg, "row-deg", 5, "height of the bands of declination, degrees")
	f.StringVar(&declinations, "declinations", "", "declinations that the two numbers and --mine are for, such as -10..60: they are proven at no other (all when not given)")
	f.Float64SliceVar(&decs, "dec-deg", nil, "give the table for these apparent declinations alone, each ± 0.1°, to a hundredth of a degree")
	f.StringVar(&mine, "mine", "", "your own limits, degrees of RA axis from counterweight-down: west=95,east=92")
	f.Float64Var(&cell, "cell-deg", 0.25, "smallest cell of the map, degrees")
	a.flags(c, "text", "json", "csv")
	return c
}

// targets returns the rows of single declinations, each with what a target's place may be off by.
func targets(m *room.Map, decs []float64) ([]room.Row, error) {
	var rows []room.Row
	for _, d := range decs {
		row, ever := m.Target(axes.Rad(d), axes.Rad(0.1))
		if !ever {
			return nil, fmt.Errorf("--dec-deg %g: never above the horizon at latitude %g°; give a declination that rises", d, axes.Deg(m.Gauge().Model.Head.Latitude))
		}
		m.Across(&row)
		rows = append(rows, row)
	}
	return rows, nil
}

func parseDeclinations(s string, o *room.LimitOptions) error {
	if s == "" {
		return nil
	}
	from, to, ok := strings.Cut(s, "..")
	a, err1 := strconv.ParseFloat(strings.TrimSpace(from), 64)
	b, err2 := strconv.ParseFloat(strings.TrimSpace(to), 64)
	if !ok || err1 != nil || err2 != nil || !(a >= -90 && a < b && b <= 90) {
		return fmt.Errorf("--declinations %q: give two declinations in degrees, the lower first, such as -10..60", s)
	}
	o.DecFromDeg, o.DecToDeg = a, b
	return nil
}

// parseMine reads west=95,east=92 and returns radians.
func parseMine(s string) (west, east float64, err error) {
	if s == "" {
		return 0, 0, nil
	}
	wrong := fmt.Errorf("--mine %q: give both limits in degrees of RA axis from counterweight-down, 0 to 180, such as west=95,east=92", s)
	got := map[string]float64{}
	for _, f := range strings.Split(s, ",") {
		k, v, ok := strings.Cut(strings.TrimSpace(f), "=")
		x, err := strconv.ParseFloat(v, 64)
		if _, twice := got[k]; !ok || twice || (k != "west" && k != "east") || err != nil || math.IsNaN(x) || x < 0 || x > 180 {
			return 0, 0, wrong
		}
		got[k] = axes.Rad(x)
	}
	if len(got) != 2 {
		return 0, 0, wrong
	}
	return got["west"], got["east"], nil
}
