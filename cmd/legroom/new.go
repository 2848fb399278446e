package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/rig"
)

func newNew() *cobra.Command {
	var o rig.NewOptions
	var output string
	var set []string
	var ask, list, names bool
	var out format
	c := &cobra.Command{
		Use:   "new --output FILE.yaml",
		Short: "Start a rig from templates, with at most twelve lengths of your own",
		Long: `Writes a commented rig file from generic templates: a support, a mount and a tube. Lengths that you
give count as measured; the others stay marked as unmeasured, with wide tolerances, until you
measure them. With --ask it asks for them one by one, and for how the mount chooses its side, which
way it turns in a flip and where it parks; a plain return keeps what stands in brackets.`,
		Example: `  legroom new --output mine.yaml --latitude-deg 36.9 --longitude-deg -2.4 --time-zone Europe/Madrid --ask
  legroom new --output mine.yaml --name "Terrace" --latitude-deg 36.9 --longitude-deg -2.4 --time-zone Europe/Madrid \
    --support tripod --mount counterweighted --tube long-refractor --set height="905 ± 3" --set leg-azimuth="10 ± 2"
  legroom new --list`,
		Args: nothing,
		RunE: func(c *cobra.Command, args []string) error {
			if err := out.check(); err != nil {
				return err
			}
			switch {
			case list:
				return listTemplates(c, out)
			case names:
				return listLengths(c, out, o)
			}
			if err := required(c, "output", "latitude-deg", "longitude-deg"); err != nil {
				return err
			}
			if strings.TrimSpace(o.Name) == "" {
				return errors.New("new: --name is empty: give the rig a name, such as \"Terrace\"")
			}
			if _, err := checkOutput(output, ".yaml", ".yml"); err != nil {
				return err
			}
			if _, err := os.Stat(output); err == nil {
				return fmt.Errorf("--output %q: this file exists already; give another name, or move it away", output)
			}
			o.Answers = map[string]string{}
			for _, s := range set {
				path, value, ok := strings.Cut(s, "=")
				if !ok {
					return fmt.Errorf("--set %q: give NAME=LENGTH, such as height=\"900 ± 3\"; --names lists the names", s)
				}
				o.Answers[strings.TrimSpace(path)] = strings.TrimSpace(value)
			}
			data, err := rig.NewDocument(o)
			if err != nil {
				return unplaced(err)
			}
			if ask {
				in := newLines(c.Context(), c.InOrStdin())
				err := askLengths(in, c.ErrOrStderr(), &o)
				for _, ask := range []func(*lines, io.Writer, *rig.NewOptions) error{askSide, askFlip, askPark} {
					if err == nil {
						err = ask(in, c.ErrOrStderr(), &o)
					}
				}
				if errors.Is(err, io.EOF) {
					return fmt.Errorf("new: the input ended before the last question, and %s is not written: answer each one, a plain return keeps what stands in brackets", output)
				}
				if err != nil {
					return unplaced(err)
				}
				if data, err = rig.NewDocument(o); err != nil {
					return unplaced(err)
				}
			}
			if err := writeFile(output, data); err != nil {
				return err
			}
			if err := out.wrote(c.OutOrStdout(), output); err != nil || out.name == "json" {
				return err
			}
			for _, a := range assumed(&o) {
				fmt.Fprintln(c.OutOrStdout(), a)
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "Next: legroom check %s, then legroom limits %[1]s\n", output)
			return err
		},
	}
	f := c.Flags()
	f.StringVar(&output, "output", "", "the file to write")
	f.StringVar(&o.Name, "name", "My rig", "the rig's name")
	f.Float64Var(&o.LatitudeDeg, "latitude-deg", 0, "latitude, degrees, north positive")
	f.Lookup("latitude-deg").DefValue = ""
	f.Float64Var(&o.LongitudeDeg, "longitude-deg", 0, "longitude, degrees, east positive")
	f.Lookup("longitude-deg").DefValue = ""
	f.StringVar(&o.TimeZone, "time-zone", "UTC", "IANA name of the time zone, such as Europe/Madrid")
	f.StringVar(&o.Support, "support", "tripod", "template of the support (see --list)")
	f.StringVar(&o.Mount, "mount", "counterweighted", "template of the mount")
	f.StringVar(&o.Tube, "tube", "short-refractor", "template of the tube")
	f.StringVar(&o.Extension, "extension", "", "template of a pier extension under the mount, such as riser")
	f.StringArrayVar(&set, "set", nil, "a length that you measured, NAME=LENGTH, such as height=\"900 ± 3\" (may be repeated; see --names)")
	f.BoolVar(&ask, "ask", false, "ask for the lengths that matter most, and for the mount's side, flip and park pose")
	f.BoolVar(&list, "list", false, "list the templates and end")
	f.BoolVar(&names, "names", false, "list the lengths that the chosen templates ask for, with their names, and end")
	f.Float64Var(&o.ElevationM, "elevation-m", 0, "height above sea level, m")
	out.flag(c, "text", "json")
	return c
}

func listTemplates(c *cobra.Command, out format) error {
	doc := report.Templates()
	if out.name == "json" {
		return report.Write(c.OutOrStdout(), doc)
	}
	return report.WriteTemplates(c.OutOrStdout(), doc)
}

func listLengths(c *cobra.Command, out format, o rig.NewOptions) error {
	doc, err := report.Lengths(o)
	if err != nil {
		return err
	}
	if out.name == "json" {
		return report.Write(c.OutOrStdout(), doc)
	}
	return report.WriteLengths(c.OutOrStdout(), doc)
}

// unplaced takes the line and column off the defects of a document that is not written yet, and names the flag that a
// value came from.
func unplaced(err error) error {
	var all rig.Errors
	if !errors.As(err, &all) {
		return err
	}
	flags := map[string]string{"site.latitude_deg": "--latitude-deg", "site.longitude_deg": "--longitude-deg", "site.elevation_m": "--elevation-m",
		"site.time_zone": "--time-zone", "name": "--name"}
	out := make(rig.Errors, len(all))
	for i, e := range all {
		bare := *e
		bare.Pos = rig.Position{}
		if f := flags[e.Path]; f != "" {
			bare.Path = f
		}
		out[i] = &bare
	}
	return out
}
