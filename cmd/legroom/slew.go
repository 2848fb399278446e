package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

func newSlew() *cobra.Command {
	var a ask
	var from, to string
	var route bool
	c := &cobra.Command{
		Use:   "slew RIG --from POSE --to POSE",
		Short: "Is a slew between two poses proven free, and which way round if not",
		Long: `Looks at the slew between two poses in any order of the axes, both axes at once (every ratio of
their rates within the document's spread, overshoot included), RA first and declination first, and
says which are proven free. With --route it looks for waypoints when the slew itself is not.

A POSE is side,hour_angle_h,dec_deg, or axis:RA,DEC in degrees of axis, or park, or home. Exit code
1 when the slew is not proven in every order that the document leaves open.`,
		Example: "  legroom slew examples/terrace-long-refractor.yaml --from west,-2,37 --to park --route",
		Args:    oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := required(c, "from", "to"); err != nil {
				return err
			}
			g, err := a.gauge(c, args[0])
			if err != nil {
				return err
			}
			m, err := newMapFor(c, g, 0.25)
			if err != nil {
				return err
			}
			start, err := axisPose(g, from)
			if err != nil {
				return fmt.Errorf("--from: %w", err)
			}
			end, err := axisPose(g, to)
			if err != nil {
				return fmt.Errorf("--to: %w", err)
			}
			r, err := m.Slew(start, end)
			if err != nil {
				return err
			}
			var way *room.Route
			if route && !r.Safe {
				w, err := m.Route(c.Context(), start, end)
				if err != nil && !errors.Is(err, room.ErrNoRoute) {
					return err
				}
				if err == nil {
					way = &w
				}
			}
			doc := report.Slew(g, report.BasisOf(g, g.MaxAllowance()), r, way)
			if a.name == "json" {
				err = report.Write(c.OutOrStdout(), doc)
			} else {
				err = report.WriteSlew(c.OutOrStdout(), doc)
				if err == nil && route && !r.Safe && way == nil {
					_, err = fmt.Fprintf(c.OutOrStdout(), "\n%s\n", noRoute(g, start, end))
				}
			}
			if err == nil && !r.Safe && way == nil {
				return errNo
			}
			return err
		},
	}
	c.Flags().StringVar(&from, "from", "", "the pose that the slew starts from")
	c.Flags().StringVar(&to, "to", "", "the pose that it ends at")
	c.Flags().BoolVar(&route, "route", false, "look for waypoints when the slew is not proven free")
	a.flags(c, "text", "json")
	return c
}

// noRoute says why no way round was found.
func noRoute(g *room.Gauge, start, end axes.Angles) string {
	s := g.NewScratch()
	free := func(at axes.Angles) bool { return g.Gap(at, s).Lower >= g.MarginMM }
	switch {
	case !free(start):
		return "No way round: the pose that the slew starts from is not free itself."
	case !free(end):
		return "No way round: the pose that the slew ends at is not free itself."
	}
	return "No way round was found on the poses that are proven free."
}

// axisPose reads a pose and returns its axis angles within travel.
func axisPose(g *room.Gauge, s string) (axes.Angles, error) {
	const right = "give side,hour_angle_h,dec_deg such as west,-2,37, or axis:RA,DEC in degrees, or park, or home"
	named := func(p *rig.AxisPose) (axes.Angles, error) {
		if p == nil {
			return axes.Angles{}, fmt.Errorf("the document has no %s pose: add mount.%s with ra_axis_deg and dec_axis_deg", s, s)
		}
		return axes.Angles{RA: axes.Rad(p.RAAxisDeg), Dec: axes.Rad(p.DecAxisDeg)}, nil
	}
	switch s {
	case "park":
		return named(g.Model.Rig.Mount.Park)
	case "home":
		return named(g.Model.Rig.Mount.Home)
	}
	rest, axis := strings.CutPrefix(s, "axis:")
	fields := strings.Split(rest, ",")
	numbers := make([]float64, 0, 2)
	skip := 1
	if axis {
		skip = 0
	}
	if len(fields) != skip+2 {
		return axes.Angles{}, fmt.Errorf("pose %q: %s", s, right)
	}
	for _, f := range fields[skip:] {
		x, err := strconv.ParseFloat(strings.TrimSpace(f), 64)
		if err != nil {
			return axes.Angles{}, fmt.Errorf("pose %q: %q is no number; %s", s, f, right)
		}
		numbers = append(numbers, x)
	}
	if axis {
		return axes.Angles{RA: axes.Rad(numbers[0]), Dec: axes.Rad(numbers[1])}, nil
	}
	p, err := poseOf(strings.TrimSpace(fields[0]), numbers[0], numbers[1])
	if err != nil {
		return axes.Angles{}, err
	}
	return g.Model.Reach(g.Model.Head.Angles(p))
}
