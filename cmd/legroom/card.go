package main

import (
	"bytes"
	"fmt"
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
			day := time.Now()
			if date != "" {
				var err error
				if day, err = time.Parse(time.DateOnly, date); err != nil {
					return fmt.Errorf("--date %q: give year-month-day, such as 2026-11-25", date)
				}
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
			data, err := cardOf(c, m, day)
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
	c.Flags().StringVar(&date, "date", "", "the date to print on it (today when not given)")
	a.flags(c, "text", "json")
	return c
}

func cardOf(c *cobra.Command, m *room.Map, day time.Time) ([]byte, error) {
	l, err := m.Limits(c.Context(), room.LimitOptions{})
	if err != nil {
		return nil, err
	}
	west, east, err := grids(c, m, 2)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = report.WriteCard(&b, report.Card{Limits: report.Limits(m.Gauge().Model.Rig, l, nil, false), Chart: chart(m, l, west, east), Date: day})
	return b.Bytes(), err
}
