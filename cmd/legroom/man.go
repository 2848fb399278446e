package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"legroom/report"
)

func newMan() *cobra.Command {
	var f format
	c := &cobra.Command{
		Use:     "man FOLDER",
		Short:   "Write the manual pages, one of each command",
		Long:    "Writes the manual pages of every command into a folder that is there, for `man`. Completions for your shell come\nfrom `legroom completion`.",
		Example: "  legroom man ~/.local/share/man/man1",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) != 1 {
				return errors.New("man: name one folder, such as `legroom man ~/.local/share/man/man1`")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := f.check(); err != nil {
				return err
			}
			if info, err := os.Stat(args[0]); err != nil || !info.IsDir() {
				return fmt.Errorf("man: there is no folder %q; make it first", args[0])
			}
			v := report.Version()
			made, err := time.Parse(time.RFC3339, v.Made)
			if err != nil {
				made = time.Now() // not built from a commit
			}
			root := c.Root()
			root.DisableAutoGenTag = true
			if err := doc.GenManTree(root, &doc.GenManHeader{Title: "LEGROOM", Section: "1", Date: &made, Source: "legroom " + v.Version, Manual: "Legroom"}, args[0]); err != nil {
				return err
			}
			pages, err := filepath.Glob(filepath.Join(escaped(args[0]), "legroom*.1"))
			if err != nil {
				return err
			}
			return f.wrote(c.OutOrStdout(), pages...)
		},
	}
	f.flag(c, "text", "json")
	return c
}
