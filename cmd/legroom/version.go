package main

import (
	"io"

	"github.com/spf13/cobra"

	"legroom/report"
)

func newVersion() *cobra.Command {
	var f format
	c := &cobra.Command{
		Use:     "version",
		Short:   "Which program this is, and which files it reads",
		Example: "  legroom version",
		Args:    nothing,
		RunE: func(c *cobra.Command, args []string) error {
			if err := f.check(); err != nil {
				return err
			}
			d := report.Version()
			if f.name == "json" {
				return report.Write(c.OutOrStdout(), d)
			}
			_, err := io.WriteString(c.OutOrStdout(), d.Text())
			return err
		},
	}
	f.flag(c, "text", "json")
	return c
}
