package main

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"time"

	"github.com/spf13/cobra"

	"legroom/night"
	"legroom/report"
	"legroom/rig"
)

func newSeason() *cobra.Command {
	a := nightAsk{subS: 300, limits: string(report.ByDeclination)}
	var from, output string
	var months, year int
	var dpi float64
	c := &cobra.Command{
		Use:   "season RIG --targets FILE",
		Short: "Across many nights: the hours that each target has each month, with and without the rig's limits",
		Long: `Looks at every night of some months: how many hours each target is up in the dark, how many of them
the rig's limits by declination leave, less flips and idle time, and how many the two-number limit.
A night counts for the month of its evening. A list of targets is what legroom night takes.`,
		Example: `  legroom season examples/terrace-long-refractor.yaml --targets examples/terrace/targets.yaml --from 2026-11
  legroom season examples/terrace-long-refractor.yaml --target "M 31" --year 2027 --least-altitude-deg 30
  legroom season examples/terrace-long-refractor.yaml --targets examples/terrace/targets.yaml --moon-apart-deg 60 --output season.pdf`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			kind := ""
			if output != "" {
				var err error
				if kind, err = checkOutput(output, ".svg", ".png", ".pdf"); err != nil {
					return err
				}
			}
			o, err := a.options(c)
			if err != nil {
				return err
			}
			if err := between(c, "least-night-min", a.blockMin, 1, 24*60); err != nil {
				return err
			}
			if err := between(c, "dpi", dpi, 36, 600); err != nil {
				return err
			}
			if err := between(c, "months", float64(months), 1, night.MaxMonths); err != nil {
				return err
			}
			o.MinBlock = time.Duration(math.Ceil(a.blockMin * float64(time.Minute)))
			targets, err := a.targets(c)
			if err != nil {
				return err
			}
			g, err := a.gauge(c, args[0])
			if err != nil {
				return err
			}
			first, err := firstMonth(c, from, year, g.Model.Rig, time.Now())
			if err != nil {
				return err
			}
			site, _, err := a.place(g.Model.Rig, time.Now())
			if err != nil {
				return err
			}
			m, err := newMapFor(c, g, 0.25)
			if err != nil {
				return err
			}
			bar := newProgress(c.ErrOrStderr(), "counting the nights")
			s, err := night.NewSeason(c.Context(), m, site, first.Year(), first.Month(), months, targets, o, bar.show)
			bar.end()
			if err != nil {
				return err
			}
			doc := report.Season(g, s)
			if output == "" {
				return writeSeason(c.OutOrStdout(), a.name, doc)
			}
			var b bytes.Buffer
			if err := drawSeason(&b, kind, doc, dpi); err != nil {
				return err
			}
			if err := writeFile(output, b.Bytes()); err != nil {
				return err
			}
			return a.wrote(c.OutOrStdout(), output)
		},
	}
	f := c.Flags()
	f.StringVar(&from, "from", "", "the first month, year-month (this month when not given)")
	f.IntVar(&months, "months", 12, fmt.Sprintf("how many months, 1 to %d", night.MaxMonths))
	f.IntVar(&year, "year", 0, "a calendar year instead of --from")
	f.Float64Var(&a.blockMin, "least-night-min", 20, "a night is usable with at least so much time, minutes")
	f.StringVar(&output, "output", "", "draw it into a file instead: .svg, .png or .pdf")
	f.Float64Var(&dpi, "dpi", 150, "resolution of a .png, dots per inch")
	f.StringVar(&a.list, "targets", "", "a list of targets, .yaml or .csv")
	a.skyFlags(c)
	a.ask.flags(c, "text", "json", "csv")
	c.MarkFlagsMutuallyExclusive("year", "from")
	return c
}

// firstMonth reads the month that a season begins with; this evening's when none is given.
func firstMonth(c *cobra.Command, from string, year int, r *rig.Rig, now time.Time) (time.Time, error) {
	switch {
	case c.Flags().Changed("year"):
		if year < 1900 || year > 2100 {
			return time.Time{}, fmt.Errorf("--year %d: give 1900 to 2100", year)
		}
		return time.Date(year, time.January, 1, 0, 0, 0, 0, time.UTC), nil
	case c.Flags().Changed("from"):
		first, err := time.Parse("2006-01", from)
		if err != nil || first.Year() < 1900 || first.Year() > 2100 {
			return first, fmt.Errorf("--from %q: give year-month, such as 2026-11, in 1900 to 2100", from)
		}
		return first, nil
	}
	evening, err := r.Site.Evening(now)
	if err != nil {
		return time.Time{}, fmt.Errorf("%s: site: %w", r.Path, err)
	}
	return time.Parse("2006-01", evening[:len("2006-01")])
}

func writeSeason(w io.Writer, format string, doc report.SeasonDoc) error {
	switch format {
	case "json":
		return report.Write(w, doc)
	case "csv":
		return report.WriteSeasonCSV(w, doc)
	}
	return report.WriteSeason(w, doc)
}

func drawSeason(w io.Writer, kind string, doc report.SeasonDoc, dpi float64) error {
	chart := report.SeasonChart{Doc: doc}
	switch kind {
	case ".png":
		return chart.WritePNG(w, dpi)
	case ".pdf":
		return chart.WritePDF(w)
	}
	return chart.WriteSVG(w)
}
