package change

import (
	"fmt"
	"math"
	"strings"

	"legroom/rig"
)

// Short is a short name for what owners most often change.
type Short struct {
	Name, Path, Words string
	Unit              string
}

const (
	riser     = "riser"
	riserPath = "support.extension.height_mm"
)

// shortcut is a short name and what it stands for. Turning costs an evening's work, a slide or a spread a little more care; a riser has to be bought
// or turned: prices are per unit, in the price of a millimetre of riser.
type shortcut struct {
	name, path, unit, words string
	price                   float64
	added                   bool // counts from what the document has, and not from 0
}

var shortcuts = []shortcut{
	{riser, riserPath, "mm", "height of the pier extension; 0: none", 1, false},
	{"leg-azimuth", "support.legs.first_azimuth_deg", "deg", "azimuth of the first leg", 0.1, false},
	{"leg-spread", "support.legs.foot_radius_mm", "mm", "centre to each foot", 0.2, false},
	{"slide", "tube.slide_mm", "mm", "slide of the tube in its rings, forward positive", 0.2, false},
	{"saddle-riser", "tube.axis_distance_mm", "mm", "a block under the rings, added to the tube's distance from the saddle; the block itself is not modelled", 1, true},
	{"rotator", "tube.train.rotator.angle_deg", "deg", "angle of the rotator, with the camera and all that turns", 0.1, false},
}

func shortName(name string) *shortcut {
	for i := range shortcuts {
		if shortcuts[i].name == name {
			return &shortcuts[i]
		}
	}
	return nil
}

// Shorts lists the short names.
func Shorts() []Short {
	var out []Short
	for _, s := range shortcuts {
		out = append(out, Short{s.name, s.path, s.words, s.unit})
	}
	return out
}

// lacks says which section that a path leads into the rig has not, so that nothing there can be changed; "" when it has it.
func lacks(r *rig.Rig, path string) string {
	switch {
	case r.Support.Kind == rig.Pier && strings.HasPrefix(path, "support.legs."):
		return "this rig stands on a pier, which has no legs"
	case r.Tube.Train == nil && strings.HasPrefix(path, "tube.train."):
		return "this rig's tube has no imaging train"
	}
	return ""
}

// newRiser is the pier extension that a rig without one is given: as wide as what stands on it.
func newRiser(r *rig.Rig) (flow, words string) {
	wide := 130.0
	switch {
	case r.Mount.Base != nil:
		wide = r.Mount.Base.DiameterMM.Value
	case r.Support.Head != nil:
		wide = r.Support.Head.DiameterMM.Value
	}
	wide = math.Round(wide)
	return fmt.Sprintf("{diameter_mm: %g ± 1, height_mm: 100 ± 1}", wide),
		fmt.Sprintf("the document has no pier extension: one of %g mm diameter, its height known to 1 mm, is assumed", wide)
}
