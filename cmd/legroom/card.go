package main

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
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
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			day := time.Now()
			if date != "" {
				var err error
				if day, err = time.Parse(time.DateOnly, date); err != nil {
					return fmt.Errorf("--date %q: give year-month-day, such as 2026-11-25", date)
				}
			}
			if strings.ToLower(filepath.Ext(output)) != ".pdf" {
				return fmt.Errorf("--output %q: give a file that ends in .pdf", output)
			}
			g, err := a.gauge(args[0])
			if err != nil {
				return err
			}
			m, err := newMapFor(c.Context(), g, 0.25)
			if err != nil {
				return err
			}
			data, err := cardOf(c.Context(), m, day)
			if err != nil {
				return err
			}
			if err := writeFile(output, data); err != nil {
				return err
			}
			fmt.Printf("wrote %s\n", output)
			return nil
		},
	}
	c.Flags().StringVar(&output, "output", "card.pdf", "the file to write")
	c.Flags().StringVar(&date, "date", "", "the date to print on it (today when not given)")
	a.flags(c)
	return c
}

func cardOf(ctx context.Context, m *room.Map, day time.Time) ([]byte, error) {
	l, err := m.Limits(ctx, room.LimitOptions{})
	if err != nil {
		return nil, err
	}
	west, east, err := grids(ctx, m, 2)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = report.WriteCard(&b, report.Card{Limits: report.Limits(m.Gauge().Model.Rig, l, nil, false), Chart: chart(m, l, west, east), Date: day})
	return b.Bytes(), err
}
