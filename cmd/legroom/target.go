package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"legroom/night"
	"legroom/report"
	"legroom/sky"
)

func newTarget() *cobra.Command {
	var a nightAsk
	var search string
	var nights int
	c := &cobra.Command{
		Use:   "target RIG NAME",
		Short: "One target: where it stands, what limits it on each side, and what the next nights have for it",
		Long: `Says for one target how far side west may track it and which two parts end that, when side east may start,
when to flip, how much room each side has, and what tonight and the next nights have for it, or why
nothing. NAME is that of a built-in object; --target takes any place. --search lists the built-in
objects that a text may mean, and needs no rig.`,
		Example: `  legroom target examples/terrace-long-refractor.yaml "M 31"
  legroom target examples/terrace-long-refractor.yaml --target "my field,83.8,22.0" --date 2026-11-10 --nights 1
  legroom target --search orion`,
		Args: func(c *cobra.Command, args []string) error { return targetArgs(c, args, a.single, search) },
		RunE: func(c *cobra.Command, args []string) error {
			if err := a.format.check(); err != nil {
				return err
			}
			if c.Flags().Changed("search") {
				return searchObjects(c, &a, search)
			}
			o, err := a.options(c)
			if err != nil {
				return err
			}
			if nights < 1 || nights > 400 {
				return fmt.Errorf("target: --nights %d: give 1 to 400", nights)
			}
			text, flag := "", "target"
			if len(args) == 2 {
				text = args[1]
			} else {
				text, flag = a.single[0], "--target"
			}
			t, err := sky.ParseTarget(text)
			if err != nil {
				return badTarget(flag, text, err)
			}
			now := time.Now()
			m, site, date, err := a.room(c, args[0], now)
			if err != nil {
				return err
			}
			bar := newProgress(c.ErrOrStderr(), "planning the nights")
			defer bar.end()
			var plans []report.PlannedNight
			for i := range nights {
				day := date.AddDate(0, 0, i)
				p, other, err := night.Both(c.Context(), m, site, day, []sky.Target{*t}, o)
				if err != nil {
					return err
				}
				plans = append(plans, report.PlannedNight{Plan: p, Other: other, Setup: a.setup(m, day, now)})
				bar.show(float64(i+1) / float64(nights))
			}
			doc := report.Target(m, plans)
			switch a.name {
			case "json":
				return report.Write(c.OutOrStdout(), doc)
			case "csv":
				return report.WriteTargetCSV(c.OutOrStdout(), doc)
			}
			return report.WriteTarget(c.OutOrStdout(), doc)
		},
	}
	a.flags(c, "text", "json", "csv")
	f := c.Flags()
	f.StringVar(&search, "search", "", "list the built-in objects that a text may mean: part of a designation or name, a kind, a constellation's abbreviation")
	f.IntVar(&nights, "nights", 7, "how many nights, from that of --date on")
	return c
}

// targetArgs asks for a rig and one target, or for a search alone.
func targetArgs(c *cobra.Command, args, single []string, search string) error {
	if c.Flags().Changed("search") {
		if len(args)+len(single) > 0 {
			return fmt.Errorf("target: --search %q needs no rig and no target; leave out %q", search, append(args, single...)[0])
		}
		return nil
	}
	switch named := len(args) - 1 + len(single); {
	case len(args) == 0:
		return oneRig(c, args)
	case named == 0:
		return fmt.Errorf("target: no target given; name one, as in `%s`, or give --target \"name,ra_deg,dec_deg\"", example(c))
	case named > 1:
		return fmt.Errorf("target: one target at a time, but there are %d (put a name with spaces in quotes); `legroom night` takes several", named)
	}
	return nil
}

// searchObjects lists what a text may mean; nothing found is an answer too: no.
func searchObjects(c *cobra.Command, a *nightAsk, search string) error {
	doc := report.Objects(search, sky.Search(search))
	var err error
	switch a.name {
	case "json":
		err = report.Write(c.OutOrStdout(), doc)
	case "csv":
		err = report.WriteObjectsCSV(c.OutOrStdout(), doc)
	default:
		err = report.WriteObjects(c.OutOrStdout(), doc)
	}
	if err == nil && len(doc.Objects) == 0 {
		return errNo
	}
	return err
}
