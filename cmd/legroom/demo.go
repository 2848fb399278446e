package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/examples"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

func newDemo() *cobra.Command {
	var a ask
	var s serving
	var out string
	c := &cobra.Command{
		Use:   "demo",
		Short: "The page with the example rigs; or with --out their limits, maps, cards and scenes in a folder",
		Long: `Serves the page for copies of the example rigs, which may be changed at will: they are gone when it ends. With --out it
serves nothing, and writes the examples and what follows from them to a new folder.`,
		Example: "  legroom demo\n  legroom demo --out demo",
		Args:    nothing,
		RunE: func(c *cobra.Command, args []string) error {
			if err := a.format.check(); err != nil {
				return err
			}
			if c.Flags().Changed("out") {
				return writeDemo(c, &a, out)
			}
			dir, err := os.MkdirTemp("", "legroom-demo-")
			if err != nil {
				return err
			}
			defer os.RemoveAll(dir)
			if err := copyExamples(filepath.Join(dir, "rigs")); err != nil {
				return err
			}
			return s.run(c, &a.format, filepath.Join(dir, "rigs"), true)
		},
	}
	c.Flags().StringVar(&out, "out", "", "write to this new folder instead of serving")
	a.flags(c, "text", "json")
	s.flags(c)
	return c
}

// copyExamples writes the example rigs to a new folder, and beside each the list of targets of its place.
func copyExamples(dir string) error {
	if err := os.CopyFS(dir, examples.Files); err != nil {
		return err
	}
	rigs, err := fs.Glob(examples.Files, "*.yaml")
	if err != nil {
		return err
	}
	for _, r := range rigs {
		name := strings.TrimSuffix(r, ".yaml")
		place, _, _ := strings.Cut(name, "-")
		list, err := examples.Files.ReadFile(place + "/targets.yaml")
		if err != nil {
			return err
		}
		if err := writeFile(filepath.Join(dir, name+".targets.yaml"), list); err != nil {
			return err
		}
	}
	return nil
}

// writeDemo works the examples out and writes them to a new folder.
func writeDemo(c *cobra.Command, a *ask, out string) error {
	if err := copyExamples(filepath.Join(out, "rigs")); err != nil {
		return fmt.Errorf("--out %q: %w; give a new folder", out, err)
	}
	files, err := filepath.Glob(filepath.Join(out, "rigs", "*.yaml"))
	if err != nil {
		return err
	}
	all := slices.Clone(files)
	files = slices.DeleteFunc(files, func(f string) bool { return strings.HasSuffix(f, ".targets.yaml") })
	for _, file := range files {
		r, err := rig.Load(file)
		if err != nil {
			return err
		}
		doc, results, err := demoRig(c, a, r)
		if err != nil {
			return err
		}
		name := filepath.Base(file[:len(file)-len(".yaml")])
		for kind, data := range results {
			path := filepath.Join(out, name+"-"+kind)
			if err := writeFile(path, data); err != nil {
				return err
			}
			all = append(all, path)
		}
		if a.name == "json" {
			continue
		}
		fmt.Fprintf(c.OutOrStdout(), "%s\n", r.Name)
		if err := report.WriteTwoNumber(c.OutOrStdout(), doc); err != nil {
			return err
		}
		fmt.Fprintln(c.OutOrStdout())
	}
	if a.name == "json" {
		slices.Sort(all)
		return a.wrote(c.OutOrStdout(), all...)
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "Limits, maps, cards and 3D scenes of %d rigs are in %s\n", len(files), out)
	return err
}

// demoRig works out everything about one rig: its limits, and the files to write by the end of their names.
func demoRig(c *cobra.Command, a *ask, r *rig.Rig) (report.LimitsDoc, map[string][]byte, error) {
	var doc report.LimitsDoc
	g, err := a.gaugeOf(c, r)
	if err != nil {
		return doc, nil, err
	}
	m, err := newMapFor(c, g, 0.25)
	if err != nil {
		return doc, nil, err
	}
	l, err := m.Limits(c.Context(), room.LimitOptions{})
	if err != nil {
		return doc, nil, err
	}
	west, east, err := grids(c, m, 1)
	if err != nil {
		return doc, nil, err
	}
	doc = report.Limits(r, l, nil, tonight(g), report.CheckErrors(g))
	var text, card, scene bytes.Buffer
	if err := report.WriteLimits(&text, r, doc); err != nil {
		return doc, nil, err
	}
	if err := report.WriteCard(&card, report.Card{Limits: doc, Chart: report.ChartOf(m, l, west, east, tonight(g))}); err != nil {
		return doc, nil, err
	}
	zenith := g.Model.Head.Angles(axes.Pose{Side: axes.West, HourAngle: 0, Dec: g.Model.Head.Latitude})
	if err := report.WriteGLB(&scene, g, zenith); err != nil {
		return doc, nil, err
	}
	results := map[string][]byte{"limits.txt": text.Bytes(), "card.pdf": card.Bytes(), "scene.glb": scene.Bytes()}
	for file, v := range map[string]report.View{"map.svg": report.Hours, "map.png": report.Hours, "dome.svg": report.Dome, "dome.png": report.Dome} {
		if results[file], err = picture(m, l, west, east, v, filepath.Ext(file), 150); err != nil {
			return doc, nil, err
		}
	}
	return doc, results, nil
}
