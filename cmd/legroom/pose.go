package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/report"
)

func newPose() *cobra.Command {
	var a ask
	var hourAngle, dec float64
	var side string
	var pairs int
	c := &cobra.Command{
		Use:   "pose RIG --hour-angle-h H --dec-deg D --side west|east",
		Short: "The least gap and the nearest pairs at one pose",
		Long: `Says how much room is left at one pose, between which parts, and where. Exit code 1 when the pose is
not free: when the proven lower bound of some gap, with the tolerances taken off, is below the
margin, or the axes do not reach it within mount.travel.`,
		Example: "  legroom pose examples/terrace-long-refractor.yaml --hour-angle-h -0.3 --dec-deg 37 --side west",
		Args:    oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := required(c, poseNames...); err != nil {
				return err
			}
			if pairs < 1 {
				return fmt.Errorf("pose: --pairs %d: give 1 or more", pairs)
			}
			p, err := poseOf(side, hourAngle, dec)
			if err != nil {
				return err
			}
			g, err := a.gauge(c, args[0])
			if err != nil {
				return err
			}
			ax := g.Model.Head.Angles(p)
			gap := g.Gap(ax, g.NewScratch())
			doc := report.Pose(g, p, gap, g.Nearest(ax, pairs))
			if a.name == "json" {
				err = report.Write(c.OutOrStdout(), doc)
			} else {
				err = report.WritePose(c.OutOrStdout(), doc)
			}
			if err == nil && !doc.Free {
				return errNo
			}
			return err
		},
	}
	poseFlags(c, &side, &hourAngle, &dec)
	c.Flags().IntVar(&pairs, "pairs", 10, "how many of the nearest pairs to list")
	a.flags(c, "text", "json")
	return c
}

// poseFlags are required (poseNames): none has a default.
func poseFlags(c *cobra.Command, side *string, hourAngle, dec *float64) {
	c.Flags().Float64Var(hourAngle, "hour-angle-h", 0, "hour angle, hours, west positive")
	c.Flags().Float64Var(dec, "dec-deg", 0, "apparent declination of date, degrees")
	c.Flags().StringVar(side, "side", "", "where the tube is when its target is at upper transit: west or east")
}

// poseNames are the flags that a pose takes, all of them required.
var poseNames = []string{"hour-angle-h", "dec-deg", "side"}

// poseOf checks a pose given in hours and degrees.
func poseOf(side string, hourAngle, dec float64) (axes.Pose, error) {
	s, err := axes.ParseSide(side)
	if err != nil {
		return axes.Pose{}, err
	}
	if !(hourAngle >= -24 && hourAngle <= 24) {
		return axes.Pose{}, fmt.Errorf("hour angle %v h: give −24 to 24", hourAngle)
	}
	if !(dec >= -90 && dec <= 90) {
		return axes.Pose{}, fmt.Errorf("declination %v°: give −90 to 90", dec)
	}
	return axes.Pose{Side: s, HourAngle: axes.FromHours(hourAngle), Dec: axes.Rad(dec)}, nil
}
