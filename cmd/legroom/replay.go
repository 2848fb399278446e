package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/rig"
	"legroom/watch/journal"
)

func newReplay() *cobra.Command {
	var f format
	var night string
	var last bool
	c := &cobra.Command{
		Use:   "replay JOURNAL",
		Short: "What a watch saw and did: the nights of a journal, one of them in words, or every row of it",
		Long: `Lists the nights that a journal holds. With --night or --last it tells one of them: what was decided, what the mount was
told, what was wrong, in the time of the site. As csv or json it writes every row, each second's sample too, and without a
night those of all nights. It reads a journal that is being written as well. The page plays a night in 3D, in the place Watch.`,
		Example: "  legroom replay night.db\n  legroom replay night.db --last\n  legroom replay night.db --night 2026-11-25 --format csv > night.csv",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) != 1 {
				return errors.New("replay: name one journal, the file that was given to `legroom watch --journal`")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := f.check(); err != nil {
				return err
			}
			if last && night != "" {
				return errors.New("replay: --last and --night: give one of them")
			}
			if _, err := os.Stat(args[0]); err != nil {
				return fmt.Errorf("replay: there is no journal %q; give the file that was named to `legroom watch --journal`", args[0])
			}
			j, err := journal.OpenReader(args[0])
			if err != nil {
				return fmt.Errorf("replay: %w", err)
			}
			return errors.Join(replay(c.Context(), c.OutOrStdout(), j, f.name, night, last), j.Close())
		},
	}
	c.Flags().StringVar(&night, "night", "", "the night, by the date of its evening, such as 2026-11-25")
	c.Flags().BoolVar(&last, "last", false, "the last night")
	f.flag(c, "text", "json", "csv")
	return c
}

// replay writes a journal's nights, or one of them.
func replay(ctx context.Context, w io.Writer, j *journal.Reader, format, evening string, last bool) error {
	sessions, err := j.Sessions(ctx)
	if err != nil {
		return err
	}
	site := journal.SiteOf(sessions)
	nights, err := j.Nights(ctx, site.Evening)
	if err != nil {
		return err
	}
	if last && len(nights) > 0 {
		evening = nights[len(nights)-1].Evening
	}
	if evening == "" {
		switch format {
		case "json":
			return journal.WriteJSON(w, sessions, j.Records(ctx, time.Time{}, time.Time{}))
		case "csv":
			return journal.WriteCSV(w, j.Records(ctx, time.Time{}, time.Time{}))
		}
		return report.WriteNights(w, nights, &site)
	}
	rows, err := nightRows(ctx, j, nights, &site, evening)
	if err != nil {
		return err
	}
	switch format {
	case "json":
		return journal.WriteJSON(w, sessions, rows)
	case "csv":
		return journal.WriteCSV(w, rows)
	}
	return report.WriteReplay(w, evening, sessions, &site, rows)
}

// nightRows gives the rows of one night.
func nightRows(ctx context.Context, j *journal.Reader, nights []journal.Night, site *rig.Site, evening string) (iter.Seq2[journal.Row, error], error) {
	var have []string
	for _, n := range nights {
		have = append(have, n.Evening)
		if n.Evening == evening {
			return j.Night(ctx, n, site.Evening), nil
		}
	}
	if len(have) == 0 {
		return nil, errors.New("replay: the journal is empty")
	}
	return nil, fmt.Errorf("replay: --night %q: the journal has %s", evening, strings.Join(have, ", "))
}
