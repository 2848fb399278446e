package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/change/tolerance"
	"legroom/report"
)

func newTolerance() *cobra.Command {
	var a ask
	var pose string
	var decs []float64
	var pairs, lengths int
	c := &cobra.Command{
		Use:   "tolerance RIG",
		Short: "How sure the gaps and limits are, and which length to measure again",
		Long: `Says for each declination where the runs end if every length is as the document has it, between
which hour angles they likely do, and what is proven, by rss and with every length at its worst at
once; then which length to measure again, and what that would gain in minutes and millimetres. With
--pose it says the same of the nearest gaps at a pose.

A POSE is side,hour_angle_h,dec_deg, or axis:RA,DEC in degrees of axis, or park, or home.`,
		Example: `  legroom tolerance examples/terrace-long-refractor.yaml
  legroom tolerance examples/terrace-long-refractor.yaml --dec-deg 37,41.3 --pose west,-0.5,37
  legroom tolerance examples/karoo-newtonian.yaml --format csv`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			for _, d := range decs {
				if err := between(c, "dec-deg", d, -90, 90); err != nil {
					return err
				}
			}
			if pairs < 1 || lengths < 0 {
				return fmt.Errorf("tolerance: --pairs %d, --lengths %d: give 1 or more pairs, 0 or more lengths", pairs, lengths)
			}
			g, err := a.gauge(c, args[0])
			if err != nil {
				return err
			}
			s, err := tolerance.NewStudy(g.Model, g.MarginMM)
			if err != nil {
				return err
			}
			var at *axes.Angles
			var gaps []tolerance.Gap
			if pose != "" {
				p, err := axisPose(g, pose)
				if err != nil {
					return fmt.Errorf("--pose: %w", err)
				}
				at, gaps = &p, s.Gaps(p, pairs)
			}
			if !c.Flags().Changed("dec-deg") {
				for d := -90.0; d <= 90; d += 10 {
					decs = append(decs, d)
				}
			}
			rows, again, err := study(c, s, decs, lengths)
			if err != nil {
				return err
			}
			doc := report.Tolerance(report.BasisOf(g, g.MaxAllowance()), g.Model, rows, again, at, gaps)
			switch a.name {
			case "json":
				return report.Write(c.OutOrStdout(), doc)
			case "csv":
				return report.WriteToleranceCSV(c.OutOrStdout(), doc)
			}
			return report.WriteTolerance(c.OutOrStdout(), doc)
		},
	}
	f := c.Flags()
	f.Float64SliceVar(&decs, "dec-deg", nil, "apparent declinations to look at, degrees (every 10° when not given)")
	f.StringVar(&pose, "pose", "", "list the nearest gaps at this pose too")
	f.IntVar(&pairs, "pairs", 6, "how many of them")
	f.IntVar(&lengths, "lengths", 8, "how many lengths to say the gain of")
	a.flags(c, "text", "json", "csv")
	f.Lookup("tolerance").Hidden = true // both ways to add them up are shown
	return c
}

// study looks at the ends of the runs and at what better lengths would gain.
func study(c *cobra.Command, s *tolerance.Study, decsDeg []float64, lengths int) (rows []tolerance.Row, again []tolerance.Again, err error) {
	decs := make([]float64, len(decsDeg))
	for i, d := range decsDeg {
		decs[i] = axes.Rad(d)
	}
	p := newProgress(c.ErrOrStderr(), "following the runs")
	rows, err = s.Ends(c.Context(), decs, p.show)
	p.end()
	if err != nil {
		return nil, nil, err
	}
	p = newProgress(c.ErrOrStderr(), "measuring again")
	defer p.end()
	again, err = s.Ranking(c.Context(), rows, lengths, p.show)
	return rows, again, err
}
