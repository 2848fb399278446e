package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

// confirmation is what `legroom confirm` was told.
type confirmation struct {
	date           string
	without        []string
	yes            []string
	all            bool
	show, withdraw bool
	format
}

func newConfirm() *cobra.Command {
	var f confirmation
	c := &cobra.Command{
		Use:   "confirm RIG",
		Short: "Confirm the set-up list at the rig: until then nothing holds for the night",
		Long: `Asks, line by line, whether the rig stands as its document says: leg bearing, leg extension, train and
rotator, riser, saddle mark, roof, place among obstacles. Look at the rig, don't answer from memory.
Only when every answer is yes do limits, plan and watch count as confirmed, for that night and this
rig as it is: another night, or a changed document, and it has to be done again. A no withdraws what
was confirmed before. A rig of which legroom check finds errors is not confirmed.

It says how the rig is built up tonight. On which side of the mount the tube stands is asked later, by
legroom watch, with an order that is also called confirm.

The answer is kept beside the rig, as mine.setup.json for mine.yaml. Exit code 1 when the set-up is
not confirmed.`,
		Example: `  legroom confirm examples/terrace-long-refractor.yaml
  legroom confirm examples/terrace-long-refractor.yaml --show
  legroom confirm mine.yaml --without "cap on"
  legroom confirm examples/terrace-long-refractor.yaml --yes leg-bearing,leg-extension,train,riser,saddle-mark,roof`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := f.check(c); err != nil {
				return err
			}
			r, err := rig.Load(args[0])
			if err != nil {
				return err
			}
			doc, err := f.run(c, r, time.Now())
			if err != nil {
				return err
			}
			if f.name == "json" {
				err = report.Write(c.OutOrStdout(), doc)
			} else {
				err = report.WriteConfirm(c.OutOrStdout(), doc)
			}
			if err == nil && !doc.Confirmed && !f.withdraw {
				return errNo
			}
			return err
		},
	}
	s := c.Flags()
	s.StringVar(&f.date, "date", "", "the evening's date, year-month-day: tonight's, or today's before noon (tonight's when not given)")
	s.StringArrayVar(&f.without, "without", nil, "a condition to confirm as not holding, such as \"cap on\" (may be repeated)")
	s.StringSliceVar(&f.yes, "yes", nil, "say yes to these lines without being asked, by their keys; only all of them confirm")
	s.BoolVar(&f.all, "all", false, "say yes to every line without being asked")
	s.BoolVar(&f.show, "show", false, "say whether it is confirmed, and end")
	s.BoolVar(&f.withdraw, "withdraw", false, "take the confirmation back, and end")
	f.flag(c, "text", "json")
	return c
}

// check refuses flags that contradict each other.
func (f *confirmation) check(c *cobra.Command) error {
	if err := f.format.check(); err != nil {
		return err
	}
	var given []string
	for _, name := range []string{"yes", "all", "show", "withdraw"} {
		if c.Flags().Changed(name) {
			given = append(given, "--"+name)
		}
	}
	if len(given) > 1 {
		return fmt.Errorf("confirm: %s at once: give one of them", strings.Join(given, " and "))
	}
	return nil
}

// run does what was asked for and says how the set-up stands after it.
func (f *confirmation) run(c *cobra.Command, r *rig.Rig, now time.Time) (report.ConfirmDoc, error) {
	var none report.ConfirmDoc
	night, err := f.night(r, now)
	if err != nil {
		return none, err
	}
	if _, err := r.Known(nil, f.without); err != nil {
		return none, err
	}
	if !f.show && !f.withdraw {
		if err := report.Confirmable(r, f.without); err != nil {
			return none, err
		}
	}
	list := r.SetupList(f.without)
	answers := map[string]report.Answer{}
	unasked := false
	switch {
	case f.show:
		return report.Confirm(r, r.SetupFor(night, f.without, now), nil, false), nil
	case f.withdraw:
		if _, err := r.Withdraw(); err != nil {
			return none, err
		}
		return report.Confirm(r, r.SetupFor(night, f.without, now), nil, false), nil
	case f.all:
		unasked = true
		for _, l := range list {
			answers[l.Key] = report.Yes
		}
	case c.Flags().Changed("yes"):
		unasked = true
		for _, key := range f.yes {
			if !slices.ContainsFunc(list, func(l rig.SetupLine) bool { return l.Key == key }) {
				return none, fmt.Errorf("--yes %q: the set-up list of %s has no such line; it has %s", key, r.Path, strings.Join(keys(list), ","))
			}
			answers[key] = report.Yes
		}
	default:
		if err := askSetup(newLines(c.Context(), c.InOrStdin()), c.ErrOrStderr(), r, night, list, answers); err != nil {
			return none, err
		}
	}
	var open []string
	for _, l := range list {
		if answers[l.Key] != report.Yes {
			open = append(open, l.Key)
		}
	}
	if len(open) > 0 {
		if _, err := r.Withdraw(); err != nil {
			return none, err
		}
		s := rig.Setup{Night: night, Reason: "no yes to " + strings.Join(open, ", "), Lines: list}
		return report.Confirm(r, s, answers, unasked), nil
	}
	if err := r.Confirm(night, f.without, list, now); err != nil {
		return none, err
	}
	return report.Confirm(r, r.SetupFor(night, f.without, now), answers, unasked), nil
}

// night is the date asked for, or else tonight's.
func (f *confirmation) night(r *rig.Rig, now time.Time) (string, error) {
	if f.date == "" {
		return r.Site.Evening(now)
	}
	return f.date, checkDate(f.date)
}

func keys(list []rig.SetupLine) []string {
	var out []string
	for _, l := range list {
		out = append(out, l.Key)
	}
	return out
}

// askSetup asks for every line in turn. The first no withdraws what was confirmed before, for it is not so.
func askSetup(in *lines, out io.Writer, r *rig.Rig, night string, list []rig.SetupLine, answers map[string]report.Answer) error {
	fmt.Fprintf(out, "%s, set-up for the night of %s. Look at the rig for each line: is it so?\n", r.Name, night)
	for i, l := range list {
		for answers[l.Key] == "" {
			answer, err := answered(in, out, fmt.Sprintf("%d/%d  %s: %s [y/n] ", i+1, len(list), l.Name, l.Text))
			if errors.Is(err, io.EOF) {
				return fmt.Errorf("no answer to %s, so nothing is confirmed: answer y or n to each line, or say yes with --yes or --all", l.Key)
			}
			if err != nil {
				return err
			}
			switch strings.ToLower(answer) {
			case "y", "yes":
				answers[l.Key] = report.Yes
			case "n", "no":
				answers[l.Key] = report.No
				if _, err := r.Withdraw(); err != nil {
					return err
				}
			default:
				fmt.Fprintln(out, "     answer y or n")
			}
		}
	}
	return nil
}

// tonight says how the set-up of a rig stands for the night that it is now, for answers that a gauge gives.
func tonight(g *room.Gauge) rig.Setup {
	return g.Model.Rig.SetupTonight(g.Model.Assembly.Without, time.Now())
}
