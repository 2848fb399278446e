package main

import (
	"fmt"
	"io"
	"strings"

	"legroom/rig"
)

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

// assumed says what a new document has of the mount's ways when nobody said how they are, and where to write it.
func assumed(o *rig.NewOptions) []string {
	var out []string
	if o.SideChoice == "" {
		out = append(out, `Assumed: it is not known on which side of the pier the mount puts the tube (side_choice: unknown),
so that for slews and flips only what has room on both sides counts. If you know it, write it under
mount.own_rules: side_choice: as_told, or side_choice: by_hour_angle with earliest_flip_min.`)
	}
	if o.Flip == "" {
		out = append(out, `Assumed: it is not known which way the declination axis turns in a flip, so that both ways must
have room. If you know it, write it under mount.travel: declination_flip: through_pole, or
through_far_pole.`)
	}
	if o.Park == "" {
		out = append(out, `Assumed: nothing of where the mount parks, so that no way there is planned. Write it under mount:
park: {ra_axis_deg: 0, dec_axis_deg: 0} is counterweights down, tube along the polar axis.`)
	}
	return out
}

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

// askFlip asks which way the declination axis turns in a flip.
func askFlip(in *lines, out io.Writer, o *rig.NewOptions) error {
	fmt.Fprint(out, `Which way does the declination axis turn in a flip?
  1  past the pole, as most mounts do: on its way the tube points at the celestial pole
  2  the other way round
`)
	for {
		answer, err := answered(in, out, "1 or 2 [unknown: both ways must have room]: ")
		if err != nil || answer == "" {
			return err
		}
		switch answer {
		case "1":
			o.Flip = rig.ThroughPole
			return nil
		case "2":
			o.Flip = rig.AwayFromPole
			return nil
		}
		fmt.Fprintln(out, "       answer 1 or 2, or press return if you don't know")
	}
}

// askPark asks where the mount stands parked.
func askPark(in *lines, out io.Writer, o *rig.NewOptions) error {
	fmt.Fprint(out, `Where does the mount stand when it is parked? RA axis and declination axis, in degrees: 0,0 is
counterweights down, tube along the polar axis; 90,0 is bar level, tube on the west of the mount.
`)
	for {
		answer, err := answered(in, out, "RA axis,declination axis [not said: no way to it is planned]: ")
		if err != nil || answer == "" {
			return err
		}
		o.Park = answer
		_, err = rig.NewDocument(*o)
		if err == nil {
			return nil
		}
		o.Park = ""
		fmt.Fprintf(out, "       %v\n", unplaced(err))
	}
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
