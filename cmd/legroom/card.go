package main

import (
	"bytes"
	"time"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/room"
)

func newCard() *cobra.Command {
	var a ask
	var output, date string
	c := &cobra.Command{
		Use:     "card RIG --output FILE.pdf",
		Short:   "One A4 page to tape to the tripod: limits, table, picture, cautions",
		Example: "  legroom card examples/terrace-long-refractor.yaml --output card.pdf",
		Args:    oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := checkDate(date); err != nil {
				return err
			}
			if _, err := checkOutput(output, ".pdf"); err != nil {
				return err
			}
			g, err := a.gauge(c, args[0])
			if err != nil {
				return err
			}
			m, err := newMapFor(c, g, 0.25)
			if err != nil {
				return err
			}
			data, err := cardOf(c, m, date)
			if err != nil {
				return err
			}
			if err := writeFile(output, data); err != nil {
				return err
			}
			return a.wrote(c.OutOrStdout(), output)
		},
	}
	c.Flags().StringVar(&output, "output", "card.pdf", "the file to write")
	c.Flags().StringVar(&date, "date", "", "the evening's date to print on it, year-month-day (tonight's when not given)")
	a.flags(c, "text", "json")
	return c
}

// cardOf makes the card for the night of a date, or for tonight.
func cardOf(c *cobra.Command, m *room.Map, date string) ([]byte, error) {
	l, err := m.Limits(c.Context(), room.LimitOptions{})
	if err != nil {
		return nil, err
	}
	west, east, err := grids(c, m, 2)
	if err != nil {
		return nil, err
	}
	g := m.Gauge()
	setup := tonight(g)
	if date != "" {
		setup = g.Model.Rig.SetupFor(date, g.Model.Assembly.Without, time.Now())
	}
	var b bytes.Buffer
	err = report.WriteCard(&b, report.Card{Limits: report.Limits(g.Model.Rig, l, nil, setup, report.CheckErrors(g)), Chart: report.ChartOf(m, l, west, east, setup)})
	return b.Bytes(), err
}
