package main

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/rig"
)

func newSchema() *cobra.Command {
	return &cobra.Command{
		Use:   "schema [NAME]",
		Short: "The JSON Schema of the rig document, or of a command's JSON output",
		Long: "Writes the JSON Schema of the rig document, for an editor that checks YAML while you type; with a NAME that of a command's JSON output: " +
			strings.Join(report.SchemaNames(), ", ") + ".",
		Example: "  legroom schema > rig.schema.json\n  legroom schema limits",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 || args[0] == "rig" {
				_, err := os.Stdout.Write(append(rig.Schema(), '\n'))
				return err
			}
			if !slices.Contains(report.SchemaNames(), args[0]) {
				return fmt.Errorf("schema %q: give rig, %s", args[0], strings.Join(report.SchemaNames(), ", "))
			}
			s, err := report.Schema(args[0])
			if err != nil {
				return err
			}
			return writeJSON(os.Stdout, s)
		},
	}
}
