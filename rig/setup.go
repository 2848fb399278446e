package rig

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// SetupLine is one line of the set-up list: something that is set anew, or may be, whenever the rig is put up, with the
// document's own numbers. The owner looks at the rig and says whether it is so.
type SetupLine struct {
	Key  string `json:"key" jsonschema:"enum=leg-bearing,enum=leg-extension,enum=train,enum=riser,enum=saddle-mark,enum=roof,enum=place"`
	Name string `json:"name" jsonschema_description:"the key in words"`
	Text string `json:"text" jsonschema_description:"what has to be so at the rig"`
}

// SetupList gives the lines that the owner confirms before limits, plan and watch count for a night: at most seven, a pier has
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
	if near := placeWords(r.Support.Obstacles, without); near != "" {
		lines = append(lines, SetupLine{"place", "Place", near})
	}
	return lines
}

// mostNear is how many obstacles the place is told by.
const mostNear = 3

// placeWords says where the support stands among what is fixed to the ground, nearest first, by the numbers of the document; "" when
// nothing is.
func placeWords(obstacles []ExtraPart, without []string) string {
	var near []*ExtraPart
	for i := range obstacles {
		if o := &obstacles[i]; o.Frame == Ground && !slices.Contains(without, o.Condition) {
			near = append(near, o)
		}
	}
	if len(near) == 0 {
		return ""
	}
	slices.SortStableFunc(near, func(a, b *ExtraPart) int { return cmp.Compare(a.level(), b.level()) })
	var words []string
	for i, o := range near {
		if i == mostNear {
			words = append(words, fmt.Sprintf("and %d more", len(near)-i))
			break
		}
		words = append(words, o.Name+" "+o.wayTo())
	}
	return "from the support's centre to the middle of each: " + strings.Join(words, "; ")
}

// level is how far the centre of a part of the ground frame is from the support's, measured level, mm.
func (p *ExtraPart) level() float64 { return math.Hypot(p.AtMM[0].Value, p.AtMM[1].Value) }

// wayTo says how far north or south and east or west that is.
func (p *ExtraPart) wayTo() string {
	var way []string
	for _, w := range []struct {
		mm          float64
		plus, minus string
	}{{p.AtMM[1].Value, "north", "south"}, {p.AtMM[0].Value, "east", "west"}} {
		switch {
		case w.mm > 0:
			way = append(way, shown(w.mm)+" mm "+w.plus)
		case w.mm < 0:
			way = append(way, shown(-w.mm)+" mm "+w.minus)
		}
	}
	if len(way) == 0 {
		return "right there"
	}
	return strings.Join(way, " and ")
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
