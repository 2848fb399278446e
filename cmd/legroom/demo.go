package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/examples"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

func newDemo() *cobra.Command {
	var a ask
	var out string
	c := &cobra.Command{
		Use:   "demo",
		Short: "Work out the example rigs and write their limits, maps and cards to a folder",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if out == "" {
				dir, err := os.MkdirTemp("", "legroom-demo-")
				if err != nil {
					return err
				}
				out = dir
			}
			if err := os.CopyFS(filepath.Join(out, "rigs"), examples.Files); err != nil {
				return fmt.Errorf("%w: give another folder with --out", err)
			}
			files, err := filepath.Glob(filepath.Join(out, "rigs", "*.yaml"))
			if err != nil {
				return err
			}
			for _, file := range files {
				name := filepath.Base(file[:len(file)-len(".yaml")])
				r, err := rig.Load(file)
				if err != nil {
					return err
				}
				fmt.Printf("%s\n", r.Name)
				g, err := a.gaugeOf(r)
				if err != nil {
					return err
				}
				m, err := newMapFor(c.Context(), g, 0.25)
				if err != nil {
					return err
				}
				l, err := m.Limits(c.Context(), room.LimitOptions{})
				if err != nil {
					return err
				}
				west, east, err := grids(c.Context(), m, 1)
				if err != nil {
					return err
				}
				doc := report.Limits(r, l, nil, false)
				var text, card, scene bytes.Buffer
				if err := report.WriteLimits(&text, r, doc); err != nil {
					return err
				}
				if err := report.WriteCard(&card, report.Card{Limits: doc, Chart: chart(m, l, west, east), Date: time.Now()}); err != nil {
					return err
				}
				if err := report.WriteGLB(&scene, g, g.Model.Head.Angles(axes.Pose{Side: axes.West, HourAngle: 0, Dec: g.Model.Head.Latitude})); err != nil {
					return err
				}
				results := map[string][]byte{"limits.txt": text.Bytes(), "card.pdf": card.Bytes(), "scene.glb": scene.Bytes()}
				for file, v := range map[string]report.View{"map.svg": report.Hours, "map.png": report.Hours, "dome.svg": report.Dome, "dome.png": report.Dome} {
					if results[file], err = picture(m, l, west, east, v, filepath.Ext(file), 150); err != nil {
						return err
					}
				}
				for kind, data := range results {
					if err := writeFile(filepath.Join(out, name+"-"+kind), data); err != nil {
						return err
					}
				}
				if err := report.WriteTwoNumber(os.Stdout, doc); err != nil {
					return err
				}
				fmt.Println()
			}
			fmt.Printf("Limits, maps, cards and 3D scenes of %d rigs are in %s\n", len(files), out)
			return nil
		},
	}
	c.Flags().StringVar(&out, "out", "", "the folder to write to (a new temporary one when not given)")
	a.flags(c)
	return c
}
