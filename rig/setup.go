package rig

import (
	"fmt"
	"slices"
	"strings"
)

// SetupLine is one line of the set-up list: something that is set anew, or may be, whenever the rig is put up, with the
// document's own numbers. The owner looks at the rig and says whether it is so.
type SetupLine struct {
	Key  string `json:"key" jsonschema:"enum=leg-bearing,enum=leg-extension,enum=train,enum=riser,enum=saddle-mark,enum=roof"`
	Name string `json:"name" jsonschema_description:"the key in words"`
	Text string `json:"text" jsonschema_description:"what has to be so at the rig"`
}

// SetupList gives the lines that the owner confirms before limits, plan and watch count for a night: at most six, a pier has
// no legs to set. The conditions of without are taken not to hold, as in Assembly.Without.
func (r *Rig) SetupList(without []string) []SetupLine {
	var lines []SetupLine
	if l := r.Support.Legs; l != nil {
		from := "true north"
		if l.MeasuredFrom == PolarAxis {
			from = "the polar axis"
		}
		lines = append(lines,
			SetupLine{"leg-bearing", "Leg bearing", fmt.Sprintf("leg 1 at %s° ± %s°, clockwise from %s", shown(l.FirstAzimuthDeg.Value),
				shown(l.FirstAzimuthDeg.Tol), from)},
			SetupLine{"leg-extension", "Leg extension", fmt.Sprintf("head %s mm high, feet %s mm from the centre", shown(r.Support.HeightMM.Value),
				shown(l.FootRadiusMM.Value))})
	}
	lines = append(lines, SetupLine{"train", "Train and rotator", trainWords(r.Tube.Train, without)})
	riser := "no pier extension"
	if e := r.Support.Extension; e != nil {
		riser = fmt.Sprintf("pier extension of %s mm on", shown(e.HeightMM.Value))
	}
	lines = append(lines, SetupLine{"riser", "Riser", riser}, SetupLine{"saddle-mark", "Saddle mark", slideWords(r.Tube.SlideMM.Value)})
	if len(r.Conditions) > 0 {
		var states []string
		for _, c := range r.Conditions {
			state := c.Name + ": either way"
			if slices.Contains(without, c.Name) {
				state = c.Name + ": NO"
			}
			states = append(states, state)
		}
		lines = append(lines, SetupLine{"roof", "Roof, cover, panel", strings.Join(states, ", ")})
	}
	return lines
}

// trainWords says how long the imaging train is and how it is turned.
func trainWords(t *Train, without []string) string {
	if t == nil {
		return "no imaging train"
	}
	long, turns, racks := 0.0, false, false
	for i := range t.Items {
		it := &t.Items[i]
		if !it.Beside {
			long += it.LengthMM.Value
		}
		turns = turns || it.Turns
		racks = racks || it.TravelMM.Value > 0
	}
	items := "items"
	if len(t.Items) == 1 {
		items = "item"
	}
	s := fmt.Sprintf("%d %s, %s mm long", len(t.Items), items, shown(long))
	_, _, sweeps := t.Rotator.sweep()
	switch {
	case turns && sweeps && !slices.Contains(without, RotatorSweep):
		s += fmt.Sprintf("; rotator %s° to %s°", shown(*t.Rotator.SweepFromDeg), shown(*t.Rotator.SweepToDeg))
	case turns && sweeps:
		s += fmt.Sprintf("; rotator stays at %s°", shown(t.Rotator.AngleDeg.Value))
	case turns:
		s += fmt.Sprintf("; rotator %s°", shown(t.Rotator.AngleDeg.Value))
	}
	if racks && slices.Contains(without, FocuserTravel) {
		s += "; focuser as measured"
	}
	return s
}

func slideWords(slide float64) string {
	switch {
	case slide > 0:
		return fmt.Sprintf("tube %s mm forward of where it was measured", shown(slide))
	case slide < 0:
		return fmt.Sprintf("tube %s mm back of where it was measured", shown(-slide))
	}
	return "tube at the mark where it was measured"
}

// shown writes a number for reading: the short way, with a minus sign.
func shown(v float64) string { return strings.Replace(format(v+0), "-", "−", 1) }
