package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/rig"
	"legroom/web"
)

func newSchema() *cobra.Command {
	var f format
	c := &cobra.Command{
		Use:   "schema [NAME]",
		Short: "The JSON Schema of the rig document, or of a command's JSON output",
		Long: "Writes the JSON Schema of the rig document, for an editor that checks YAML while you type; with a\nNAME that of a " +
			"command's JSON output: " + strings.Join(report.SchemaNames(), ", ") + ". The name openapi gives the\nOpenAPI document of the page's own interface. As markdown the rig document's schema is a page to read.",
		Example: "  legroom schema > rig.schema.json\n  legroom schema limits\n  legroom schema --format markdown > reference.md",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 1 {
				return fmt.Errorf("schema: one name at a time, but there are %d: %s", len(args), strings.Join(args, ", "))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := f.check(); err != nil {
				return err
			}
			if f.name == "markdown" {
				if len(args) > 0 && args[0] != "rig" {
					return fmt.Errorf("schema %q: --format markdown is for the rig document alone; leave the name out", args[0])
				}
				return reference(c.OutOrStdout())
			}
			if len(args) == 0 || args[0] == "rig" {
				_, err := c.OutOrStdout().Write(append(rig.Schema(), '\n'))
				return err
			}
			if args[0] == "openapi" {
				api, err := web.OpenAPI()
				if err != nil {
					return err
				}
				return writeJSON(c.OutOrStdout(), json.RawMessage(api))
			}
			if !slices.Contains(report.SchemaNames(), args[0]) {
				return fmt.Errorf("schema %q: give rig, openapi, %s", args[0], strings.Join(report.SchemaNames(), ", "))
			}
			s, err := report.Schema(args[0])
			if err != nil {
				return err
			}
			return writeJSON(c.OutOrStdout(), s)
		},
	}
	f.flag(c, "json", "markdown")
	return c
}
