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
measure them. With --ask it asks for them one by one, and for how the mount chooses its side; a plain
return keeps the template's.`,
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
				if err == nil {
					err = askSide(in, c.ErrOrStderr(), &o)
				}
				if err != nil && !errors.Is(err, io.EOF) { // with the input's end the rest stays as the template has it
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
			if o.SideChoice == "" {
				fmt.Fprintln(c.OutOrStdout(), sideAssumed)
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
	f.BoolVar(&ask, "ask", false, "ask for the lengths that matter most, and how the mount chooses its side")
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

// askLengths asks for what was not given already, one question a line.
func askLengths(in *lines, out io.Writer, o *rig.NewOptions) error {
	questions, err := rig.Questions(o.Support, o.Extension, o.Mount, o.Tube)
	if err != nil {
		return err
	}
	fmt.Fprintln(out, "Lengths in mm, angles in degrees; a tolerance may follow, as in 900 ± 3. A plain return keeps the\ntemplate's value.")
	for i, q := range questions {
		if _, given := o.Answers[q.Name]; given {
			continue
		}
		usual, err := q.Usual(*o)
		if err != nil {
			return err
		}
		for {
			answer, err := answered(in, out, fmt.Sprintf("%2d/%d  %s [%s %s]: ", i+1, len(questions), q.Ask, usual, q.Unit))
			if err != nil {
				return err
			}
			if answer == "" { // it stays as the template has it
				break
			}
			o.Answers[q.Name] = answer
			if _, err := rig.NewDocument(*o); err != nil {
				delete(o.Answers, q.Name)
				fmt.Fprintf(out, "       %v\n", unplaced(err))
				continue
			}
			break
		}
	}
	return nil
}

// sideAssumed is what a new document says of the mount's side when nobody said how it is chosen.
const sideAssumed = `Assumed: it is not known on which side of the pier the mount puts the tube (side_choice: unknown),
so that for slews and flips only what has room on both sides counts. If you know it, write it under
mount.own_rules: side_choice: as_told, or side_choice: by_hour_angle with earliest_flip_min.`

// askSide asks how the mount chooses its side, and when it flips if that is by the hour angle.
func askSide(in *lines, out io.Writer, o *rig.NewOptions) error {
	fmt.Fprint(out, `On which side of the pier does the mount put the tube when it is sent to a target?
  1  it decides by itself: on the west for a target before the meridian, on the east for one past it
  2  on the side that the program which sends it asks for
`)
	for o.SideChoice == "" {
		answer, err := answered(in, out, "1 or 2 [unknown: both sides must have room]: ")
		if err != nil || answer == "" {
			return err
		}
		switch answer {
		case "1":
			o.SideChoice = "by_hour_angle"
		case "2":
			o.SideChoice = "as_told"
		default:
			fmt.Fprintln(out, "       answer 1 or 2, or press return if you don't know")
		}
	}
	for o.SideChoice == "by_hour_angle" {
		answer, err := answered(in, out, "Minutes past the meridian from which it takes the east side (negative: before it) [unknown]: ")
		if err != nil || answer == "" {
			return err
		}
		o.EarliestFlip = answer
		if _, err := rig.NewDocument(*o); err == nil {
			return nil
		} else {
			o.EarliestFlip = ""
			fmt.Fprintf(out, "       %v\n", unplaced(err))
		}
	}
	return nil
}

// answered asks for one line.
func answered(in *lines, out io.Writer, question string) (string, error) {
	fmt.Fprint(out, question)
	text, err := in.next()
	if err != nil {
		fmt.Fprintln(out)
	}
	return strings.TrimSpace(text), err
}
