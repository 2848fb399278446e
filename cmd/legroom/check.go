package main

import (
	"github.com/spf13/cobra"

	"legroom/report"
)

func newCheck() *cobra.Command {
	var a ask
	c := &cobra.Command{
		Use:   "check RIG",
		Short: "Parts, joints, defaults used, what looks wrong, and which length to measure better",
		Long: `Reads a rig and says what follows from it: every part, the pairs joined by construction and whether
their overlap stays as it is at rest, joints that take a gap out of every count though the two could
meet, every default that was used, lengths that look wrong or were never measured, parts that overlap
at rest, total masses, and which tolerances take most off the gaps that end the room. Exit code 1 when something is wrong.`,
		Example: "  legroom check examples/terrace-long-refractor.yaml",
		Args:    oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			g, err := a.anyGauge(c, args[0])
			if err != nil {
				return err
			}
			m, err := newMapFor(c, g, 1)
			if err != nil {
				return err
			}
			doc := report.Check(g, g.Joints(), m.Costs())
			doc.TellLack(m)
			if a.name == "json" {
				err = report.Write(c.OutOrStdout(), doc)
			} else {
				err = report.WriteCheck(c.OutOrStdout(), doc)
			}
			if err == nil && !doc.OK {
				return errNo
			}
			return err
		},
	}
	a.flags(c, "text", "json")
	return c
}
