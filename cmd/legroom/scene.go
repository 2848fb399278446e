package main

import (
	"bytes"

	"github.com/spf13/cobra"

	"legroom/report"
)

func newScene() *cobra.Command {
	var a ask
	var hourAngle, dec float64
	var side, output string
	c := &cobra.Command{
		Use:     "scene RIG --hour-angle-h H --dec-deg D --side west|east --output FILE.glb|FILE.stl",
		Short:   "The rig at a pose as a 3D model: glTF (metres, +Y up) or STL (mm, Z up)",
		Example: "  legroom scene examples/terrace-long-refractor.yaml --hour-angle-h 0 --dec-deg 37 --side west --output scene.glb",
		Args:    oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := required(c, poseNames...); err != nil {
				return err
			}
			p, err := poseOf(side, hourAngle, dec)
			if err != nil {
				return err
			}
			kind, err := checkOutput(output, ".glb", ".stl")
			if err != nil {
				return err
			}
			g, err := a.anyGauge(c, args[0])
			if err != nil {
				return err
			}
			var b bytes.Buffer
			write := report.WriteGLB
			if kind == ".stl" {
				write = report.WriteSTL
			}
			if err := write(&b, g, g.Model.Head.Angles(p)); err != nil {
				return err
			}
			if err := writeFile(output, b.Bytes()); err != nil {
				return err
			}
			return a.wrote(c.OutOrStdout(), output)
		},
	}
	poseFlags(c, &side, &hourAngle, &dec)
	c.Flags().StringVar(&output, "output", "scene.glb", "the file to write; its ending says which kind: .glb or .stl")
	a.flags(c, "text", "json")
	return c
}
