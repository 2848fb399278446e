package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"legroom/rig"
)

func newNew() *cobra.Command {
	var o rig.NewOptions
	var output string
	var set []string
	var ask, list, names bool
	c := &cobra.Command{
		Use:   "new --output FILE.yaml",
		Short: "Start a rig from templates, with at most twelve lengths of your own",
		Long: `Writes a commented rig file from generic templates: a support, a mount and a tube. Lengths that you give count as measured; the
others stay marked as unmeasured, with wide tolerances, until you measure them. With --ask it asks for them one by one; a plain return keeps the
template's.`,
		Example: `  legroom new --list
  legroom new --output mine.yaml --name "My rig" --latitude-deg 36.9 --longitude-deg -2.4 --time-zone Europe/Madrid \
    --support tripod --mount counterweighted --tube long-refractor --ask`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if list {
				for _, t := range rig.Templates() {
					fmt.Printf("%-8s %-20s %s\n", t.Kind, t.Name, t.Title)
				}
				return nil
			}
			if names {
				questions, err := rig.Questions(o.Support, o.Extension, o.Mount, o.Tube)
				if err != nil {
					return err
				}
				for _, q := range questions {
					usual, err := q.Usual(o)
					if err != nil {
						return err
					}
					fmt.Printf("%-16s %8s %-3s  %s\n", q.Name, usual, q.Unit, q.Ask)
				}
				return nil
			}
			if output == "" {
				return errors.New("--output is missing: give the file to write, such as mine.yaml (or --list for the templates)")
			}
			if _, err := os.Stat(output); err == nil {
				return fmt.Errorf("%s exists already: give another name, or move it away", output)
			}
			o.Answers = map[string]string{}
			for _, s := range set {
				path, value, ok := strings.Cut(s, "=")
				if !ok {
					return fmt.Errorf("--set %q: give NAME=LENGTH, such as height=\"900 ± 3\"; --names lists the names", s)
				}
				o.Answers[strings.TrimSpace(path)] = strings.TrimSpace(value)
			}
			if ask {
				if err := askLengths(os.Stdin, os.Stderr, &o); err != nil {
					return err
				}
			}
			data, err := rig.NewDocument(o)
			if err != nil {
				return err
			}
			if err := writeFile(output, data); err != nil {
				return err
			}
			fmt.Printf("wrote %s\nNext: legroom check %s, then legroom limits %s\n", output, output, output)
			return nil
		},
	}
	f := c.Flags()
	f.StringVar(&output, "output", "", "the file to write")
	f.StringVar(&o.Name, "name", "My rig", "the rig's name")
	f.Float64Var(&o.LatitudeDeg, "latitude-deg", 0, "latitude, degrees, north positive")
	f.Float64Var(&o.LongitudeDeg, "longitude-deg", 0, "longitude, degrees, east positive")
	f.StringVar(&o.TimeZone, "time-zone", "UTC", "IANA name of the time zone, such as Europe/Madrid")
	f.StringVar(&o.Support, "support", "tripod", "template of the support (see --list)")
	f.StringVar(&o.Mount, "mount", "counterweighted", "template of the mount")
	f.StringVar(&o.Tube, "tube", "short-refractor", "template of the tube")
	f.StringVar(&o.Extension, "extension", "", "template of a pier extension under the mount, such as riser")
	f.StringArrayVar(&set, "set", nil, "a length that you measured, NAME=LENGTH, such as height=\"900 ± 3\" (may be repeated; see --names)")
	f.BoolVar(&ask, "ask", false, "ask for the lengths that matter most")
	f.BoolVar(&list, "list", false, "list the templates and end")
	f.BoolVar(&names, "names", false, "list the lengths that the chosen templates ask for, with their names, and end")
	f.Float64Var(&o.ElevationM, "elevation-m", 0, "height above sea level, m")
	return c
}

// askLengths asks for what was not given already, one question a line.
func askLengths(in io.Reader, out io.Writer, o *rig.NewOptions) error {
	questions, err := rig.Questions(o.Support, o.Extension, o.Mount, o.Tube)
	if err != nil {
		return err
	}
	fmt.Fprintln(out, "Lengths in mm, angles in degrees; a tolerance may follow, as in 900 ± 3. A plain return keeps the template's value.")
	lines := bufio.NewScanner(in)
	for i, q := range questions {
		if _, given := o.Answers[q.Name]; given {
			continue
		}
		usual, err := q.Usual(*o)
		if err != nil {
			return err
		}
		for {
			fmt.Fprintf(out, "%2d/%d  %s [%s %s]: ", i+1, len(questions), q.Ask, usual, q.Unit)
			if !lines.Scan() {
				fmt.Fprintln(out)
				return lines.Err()
			}
			answer := strings.TrimSpace(lines.Text())
			if answer == "" {
				break
			}
			o.Answers[q.Name] = answer
			if _, err := rig.NewDocument(*o); err != nil {
				delete(o.Answers, q.Name)
				fmt.Fprintf(out, "       %v\n", err)
				continue
			}
			break
		}
	}
	return nil
}
