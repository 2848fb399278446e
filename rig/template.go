package rig

import (
	"embed"
	"fmt"
	"path"
	"slices"
	"strings"
)

//go:embed templates/*.yaml
var templateFiles embed.FS

// Template is a section of a document to start from, by class of instrument, with invented lengths that are all marked
// unmeasured.
type Template struct {
	Kind  string // "support", "extension", "mount" or "tube"
	Name  string // such as tripod
	Title string
}

// Templates lists every template, in the order of a document's sections.
func Templates() []Template {
	var out []Template
	for _, kind := range []string{"support", "extension", "mount", "tube"} {
		files, err := templateFiles.ReadDir("templates")
		if err != nil {
			panic("rig: " + err.Error())
		}
		for _, f := range files {
			if name, ok := strings.CutPrefix(strings.TrimSuffix(f.Name(), ".yaml"), kind+"-"); ok {
				title, _, _ := cutTitle(kind, name)
				out = append(out, Template{kind, name, title})
			}
		}
	}
	return out
}

// cutTitle gives a template's title and the text under it.
func cutTitle(kind, name string) (title, text string, ok bool) {
	data, err := templateFiles.ReadFile(path.Join("templates", kind+"-"+name+".yaml"))
	if err != nil {
		return "", "", false
	}
	title, text, _ = strings.Cut(string(data), "\n")
	return strings.TrimPrefix(title, "# "), text, true
}

// template gives a template's text, its title cut off.
func template(kind, name string) (string, error) {
	if _, text, ok := cutTitle(kind, name); ok {
		return text, nil
	}
	var names []string
	for _, t := range Templates() {
		if t.Kind == kind {
			names = append(names, t.Name)
		}
	}
	return "", &Error{Path: kind, Problem: fmt.Sprintf("there is no template %q", clip(name)), Remedy: "take " + oneOf(names)}
}

// Question asks for one measure. An answer is written as measured. Lengths that nobody asked for are scaled with it and stay
// unmeasured: those that belong to it with a tolerance of their tenth, those that only go with its size as uncertain, in
// proportion, as the template has them.
type Question struct {
	Name string // such as tripod-height
	Ask  string // what to measure, and how
	Unit string // "mm" or "deg"
	Path string // in the document

	also   []string // paths that hold the same measure
	back   bool     // asked for as a length, written as a negative station
	scaled []string // paths that belong to it, scaled by answer / usual
	alike  []string // paths that go with its size, scaled by the same
	least  bool     // left out first when there are more than maxQuestions
	whole  bool     // Path stands for the sum of scaled, and is none itself
}

// maxQuestions bounds how much a first answer needs.
const maxQuestions = 12

var (
	supportHeight = Question{Name: "height", Unit: "mm", Path: "support.height_mm", Ask: "Ground up to the face that the mount stands on"}
	footRadius    = Question{Name: "foot-radius", Unit: "mm", Path: "support.legs.foot_radius_mm", Ask: "Centre of the tripod to the middle of a foot, along the ground (two feet apart, divided by 1.73)"}
	legAzimuth    = Question{Name: "leg-azimuth", Unit: "deg", Path: "support.legs.first_azimuth_deg", Ask: "Direction of one leg from the centre, clockwise from true north"}
	axisDistance  = Question{Name: "axis-distance", Unit: "mm", Path: "tube.axis_distance_mm", Ask: "From the face that the saddle clamps to the middle of the tube"}
	tubeDiameter  = Question{Name: "tube-diameter", Unit: "mm", Path: "tube.sections[0].diameter_mm", Ask: "Diameter of the tube outside"}
	shieldFront   = Question{Name: "front", Unit: "mm", Path: "tube.sections[1].to_mm", scaled: []string{"tube.sections[0].to_mm", "tube.sections[1].from_mm"},
		Ask: "Middle of the saddle forward to the very front, dew shield out"}
	tubeBack = Question{Name: "back", Unit: "mm", Path: "tube.sections[0].from_mm", also: []string{"tube.train.from_mm"}, back: true,
		Ask: "Middle of the saddle back to where the imaging train starts"}
	wheelHeight = Question{Name: "widest", Unit: "mm", Path: "tube.train.items[filter wheel].height_mm", Ask: "The filter wheel's housing across, the longer way"}.
			with("tube.train.items[filter wheel].width_mm", "tube.train.items[filter wheel].offset_y_mm")
)

// with is the question with more lengths that go with the answer's size.
func (q Question) with(alike ...string) Question {
	q.alike = append(q.alike[:len(q.alike):len(q.alike)], alike...)
	return q
}

// What goes with the tube's size: rings by its ends and round it, the dew shield, the guide tube beside it.
const (
	frontRing = "tube.sections[front ring]"
	backRing  = "tube.sections[back ring]"
	shield    = "tube.sections[1].diameter_mm"
	guideTube = "tube.guide_tubes[0].beside_mm"
)

// trainLength asks for the length of the items that stand in a row.
func trainLength(items ...string) Question {
	q := Question{Name: "train-length", Unit: "mm", whole: true, Path: "tube.train.items", Ask: "From the tube to the very end of the train, cable's bend counted in, racked in as in use"}
	for _, i := range items {
		q.scaled = append(q.scaled, "tube.train.items["+i+"].length_mm")
	}
	return q
}

// mountQuestions hold for every mount. The polar housing lies between the face and the crossing, the declination housing ends
// below the saddle.
var mountQuestions = []Question{
	{Name: "crossing-height", Unit: "mm", Path: "mount.crossing.height_mm", alike: []string{"mount.base.height_mm", "mount.polar_housing.from_mm"}, Ask: "From the face that the mount stands on up to where the two axes cross"},
	{Name: "crossing-offset", Unit: "mm", Path: "mount.crossing.offset_mm", least: true, Ask: "From the middle of the support to below that point, towards the elevated pole (negative: away from it)"},
	{Name: "saddle-distance", Unit: "mm", Path: "mount.saddle_distance_mm", alike: []string{"mount.declination_housing.to_mm"}, Ask: "From where the axes cross to the face that the dovetail is clamped on"},
}

// barEnd asks for how far the counterweight bar reaches.
var barEnd = Question{Name: "bar-end", Unit: "mm", Path: "mount.counterweights.bar_end_mm", alike: []string{"mount.declination_housing.from_mm"}, Ask: "From where the axes cross to the far end of the counterweight bar"}

// weight is where a counterweight is on the bar, and how much of it it takes.
func weight(i int) []string {
	w := fmt.Sprintf("mount.counterweights.weights[%d].", i)
	return []string{w + "at_mm", w + "thickness_mm"}
}

// questions of each template, by file name.
var questions = map[string][]Question{
	"support-tripod":        {supportHeight.with("support.tray.height_mm"), footRadius.with("support.tray.diameter_mm"), legAzimuth},
	"support-half-pier":     {supportHeight.with("support.legs.hip_height_mm"), footRadius, legAzimuth},
	"support-pier":          {supportHeight, {Name: "pier-diameter", Unit: "mm", Path: "support.diameter_mm", Ask: "Diameter of the pier"}},
	"extension-riser":       {{Name: "riser-height", Unit: "mm", Path: "support.extension.height_mm", Ask: "How much higher the mount stands with the riser"}},
	"mount-counterweighted": append(mountQuestions[:3:3], barEnd.with(slices.Concat(weight(0), weight(1))...)),
	"mount-centre-balanced": append(mountQuestions[:3:3], barEnd.with(weight(0)...)),
	"mount-strain-wave":     mountQuestions,
	"tube-long-refractor": {axisDistance, shieldFront.with(frontRing+".from_mm", frontRing+".to_mm"), tubeBack.with(backRing+".from_mm", backRing+".to_mm"),
		tubeDiameter.with(shield, frontRing+".diameter_mm", backRing+".diameter_mm"), trainLength("focuser", "flattener", "off-axis guider", "filter wheel", "camera", "plug"), wheelHeight},
	"tube-short-refractor": {axisDistance, shieldFront, tubeBack, tubeDiameter.with(shield, guideTube), trainLength("focuser", "flattener", "filter wheel", "camera", "plug"), wheelHeight},
	"tube-schmidt-cassegrain": {axisDistance, shieldFront, tubeBack, tubeDiameter.with(shield), trainLength("focuser", "reducer", "off-axis guider", "camera", "plug"),
		{Name: "widest", Unit: "mm", Path: "tube.train.items[guide camera].offset_y_mm", Ask: "Middle of the train to the middle of the guide camera beside it"}},
	"tube-newtonian": {axisDistance,
		{Name: "front", Unit: "mm", Path: "tube.sections[0].to_mm", scaled: []string{"tube.train.from_mm"},
			alike: []string{frontRing + ".from_mm", frontRing + ".to_mm"}, Ask: "Middle of the saddle forward to the open end"},
		{Name: "back", Unit: "mm", Path: "tube.sections[0].from_mm", back: true,
			alike: []string{backRing + ".from_mm", backRing + ".to_mm"}, Ask: "Middle of the saddle back to the end of the mirror's cell"},
		{Name: "tube-diameter", Unit: "mm", Path: "tube.sections[0].diameter_mm", scaled: []string{"tube.train.start_mm"},
			alike: []string{frontRing + ".diameter_mm", backRing + ".diameter_mm", guideTube}, Ask: "Diameter of the tube outside"},
		trainLength("focuser", "corrector", "camera", "plug"),
		{Name: "focuser-angle", Unit: "deg", Path: "tube.train.side_angle_deg", Ask: "Where the focuser points, about the tube: 0 away from the saddle, 90 the tube frame's y"}},
	"tube-camera-lens": {axisDistance, shieldFront, tubeBack, tubeDiameter.with(shield, guideTube),
		{Name: "camera-length", Unit: "mm", Path: "tube.train.items[camera].length_mm", Ask: "Bayonet to the back of the camera"},
		{Name: "widest", Unit: "mm", Path: "tube.train.items[camera].width_mm", alike: []string{"tube.train.items[camera].height_mm"}, Ask: "Width of the camera, grip counted in"}},
}

// Questions lists what a new document asks to have measured, at most twelve, those that matter most; extension may be "".
func Questions(support, extension, mount, tube string) ([]Question, error) {
	var out []Question
	for _, t := range [][2]string{{"support", support}, {"extension", extension}, {"mount", mount}, {"tube", tube}} {
		if t[0] == "extension" && t[1] == "" {
			continue
		}
		if _, err := template(t[0], t[1]); err != nil {
			return nil, err
		}
		out = append(out, questions[t[0]+"-"+t[1]]...)
	}
	for i := 0; i < len(out) && len(out) > maxQuestions; {
		if out[i].least {
			out = append(out[:i:i], out[i+1:]...)
			continue
		}
		i++
	}
	if len(out) > maxQuestions {
		out = out[:maxQuestions]
	}
	return out, nil
}
