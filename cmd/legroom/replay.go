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
	var last, check, rescue bool
	c := &cobra.Command{
		Use:   "replay JOURNAL",
		Short: "What a watch saw and did: the nights of a journal, one of them in words, or every row of it",
		Long: `Lists the nights that a journal holds. With --night or --last it tells one of them: what was decided, what the mount was
told, what was wrong, in the time of the site. As csv or json it writes every row, each second's sample too, and without a
night those of all nights. It reads a journal that is being written as well. The page plays a night in 3D, in the place Watch.

--check reads the journal from end to end and says whether every row is there and as it was written; the exit code is 1 when not.
--recover reads all sound rows of a damaged journal, which no watch may be writing to, into a new file of the same name, and keeps
the damaged one beside it.`,
		Example: "  legroom replay night.db\n  legroom replay night.db --last\n  legroom replay night.db --night 2026-11-25 --format csv > night.csv\n  legroom replay night.db --check",
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
			if check || rescue {
				if check && rescue || last || night != "" || f.name == "csv" {
					return errors.New("replay: --check and --recover: give one of them, with no night and not as csv")
				}
				return tend(c, args[0], f.name, rescue)
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
	c.Flags().BoolVar(&check, "check", false, "say whether the journal is whole")
	c.Flags().BoolVar(&rescue, "recover", false, "read a damaged journal out into a new one")
	f.flag(c, "text", "json", "csv")
	return c
}

// tend looks after the file of a journal: it checks it, or reads out what is sound.
func tend(c *cobra.Command, path, format string, rescue bool) error {
	if _, err := os.Stat(path); err != nil {
		return fmt.Errorf("replay: there is no journal %q; give the file that was named to `legroom watch --journal`", path)
	}
	tell := func(what any, text string) error {
		if format == "json" {
			return report.Write(c.OutOrStdout(), what)
		}
		_, err := fmt.Fprintln(c.OutOrStdout(), text)
		return err
	}
	if rescue {
		r, err := journal.Recover(path)
		if err != nil {
			return fmt.Errorf("replay: %w", err)
		}
		return tell(r, r.String())
	}
	n, damage := journal.Check(c.Context(), path)
	if damage != nil && !errors.Is(damage, journal.ErrDamaged) {
		return fmt.Errorf("replay: %w", damage)
	}
	text := fmt.Sprintf("%d rows of %d sessions are as they were written", n.Rows, n.Sessions)
	if !n.Counted {
		text += "; whether there were more is not known: the count of rows beside the file is gone"
	}
	if err := tell(n, text); err != nil || damage == nil {
		return err
	}
	fmt.Fprintf(c.ErrOrStderr(), "replay: %v; `legroom replay %s --recover` reads out what is sound\n", damage, path)
	return errNo
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
