package rig

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // a program that travels alone still knows the zones
)

// builtIn lists the conditions that every rig has.
var builtIn = []string{"focuser travel", "rotator sweep"}

// maxParts bounds the parts that a document may list.
const maxParts = 500

// ruler checks what takes more than one key to see.
type ruler struct {
	*decoder
	r     *Rig
	named map[string]string // part → path
}

// find gives the node at a path that the decoder wrote, nil when the document does not hold it; near is the last node on
// the way there.
func (c *ruler) find(path string) (n, near *node) {
	steps, err := parsePath(path)
	if err != nil {
		panic("rig: " + err.Error())
	}
	near = c.r.tree
	for _, s := range steps {
		next := near.step(s)
		if next == nil {
			return nil, near
		}
		near = next
	}
	return near, near
}

func (c *ruler) wrong(path, problem, remedy string) {
	_, near := c.find(path)
	c.fail(near.at, path, problem, remedy)
}

// has tells whether the document holds the key at path.
func (c *ruler) has(path, key string) bool {
	n, _ := c.find(path)
	return n.get(key) != nil
}

// need wants keys of the mapping at path; because says for what.
func (c *ruler) need(path, because string, keys ...string) {
	for _, k := range keys {
		if !c.has(path, k) {
			c.wrong(path, k+" is missing", "add `"+k+": 460 ± 5`, "+because)
		}
	}
}

// forbid refuses keys of the mapping at path that would do nothing there.
func (c *ruler) forbid(path, because string, keys ...string) {
	for _, k := range keys {
		if n, _ := c.find(path); n.get(k) != nil {
			c.fail(n.keyAt(k), join(path, k), "the key has no meaning here", because)
		}
	}
}

func (d *decoder) rules(r *Rig) {
	c := &ruler{decoder: d, r: r, named: map[string]string{}}
	if d.parts > maxParts {
		d.fail(r.tree.at, "", fmt.Sprintf("the document lists %d parts", d.parts), fmt.Sprintf("at most %d are read: join small ones into one box", maxParts))
		return
	}
	c.site(&r.Site)
	c.support(&r.Support)
	c.mount(&r.Mount)
	c.tube(&r.Tube)
	c.extra(r.Parts, "parts", "")
	c.conditions()
	c.cables(r)
	for i, j := range r.Joints {
		if j[0] != "" && j[0] == j[1] {
			c.wrong(fmt.Sprintf("joints[%d]", i), fmt.Sprintf("it joins %q to itself", j[0]), "name two different parts")
		}
	}
}

func (c *ruler) site(s *Site) {
	if s.TimeZone != "" {
		if _, err := time.LoadLocation(s.TimeZone); err != nil || s.TimeZone == "Local" {
			c.wrong("site.time_zone", fmt.Sprintf("there is no time zone %q", clip(s.TimeZone)), "write an IANA name such as Europe/Madrid, Africa/Johannesburg or UTC")
		}
	}
}

// fromTo wants from below to.
func (c *ruler) fromTo(path string, from, to *Quantity) {
	if from.Set() && to.Set() && from.Value >= to.Value {
		c.wrong(path+".from_mm", fmt.Sprintf("from_mm %s is not below to_mm %s", format(from.Value), format(to.Value)), "write the smaller station as from_mm")
	}
}

func (c *ruler) support(s *Support) {
	switch s.Kind {
	case Tripod:
		c.forbid("support", "it belongs to kind: pier; remove it", Tripod.Foreign()...)
		if !c.has("support", "legs") {
			c.wrong("support", "legs is missing", "add `legs:` with keys below it, which a tripod stands on")
		}
	case Pier:
		c.forbid("support", "it belongs to kind: tripod; remove it", Pier.Foreign()...)
		c.need("support", "which a pier has", "diameter_mm")
		c.stiff("support", &s.DiameterMM, &s.WallMM, s.Material, s.ModulusGPa)
	}
	for path, u := range map[string]*Column{"support.column": s.Column, "support.extension": s.Extension} {
		if u != nil {
			c.stiff(path, &u.DiameterMM, &u.WallMM, u.Material, u.ModulusGPa)
		}
	}
	if s.Column != nil {
		c.forbid("support.column", "it reaches from the hips to the head; remove it", "height_mm")
		if s.Legs != nil {
			c.need("support.legs", "where the column stands", "hip_height_mm")
		}
	}
	if s.Extension != nil {
		c.need("support.extension", "which an extension adds", "height_mm")
	}
	below := func(path string, q *Quantity) {
		if q.Set() && s.HeightMM.Set() && q.Value > s.HeightMM.Value {
			c.wrong(path, fmt.Sprintf("%s mm is above the support's height_mm %s", format(q.Value), format(s.HeightMM.Value)), "both are measured from the ground")
		}
	}
	if l := s.Legs; l != nil {
		below("support.legs.hip_height_mm", &l.HipHeightMM.Quantity)
		if l.Section == Round {
			c.forbid("support.legs", "a round leg has width_mm alone, its diameter; remove it", "depth_mm")
		}
	}
	if s.Tray != nil {
		below("support.tray.height_mm", &s.Tray.HeightMM.Quantity)
	}
	if s.Spreader != nil {
		below("support.spreader.height_mm", &s.Spreader.HeightMM.Quantity)
	}
	c.extra(s.Obstacles, "support.obstacles", Ground)
}

func (c *ruler) mount(m *Mount) {
	if q := &m.PolarAxis; *q != nil && !(*q).AltitudeDeg.Set() && !c.has("mount.polar_axis", "altitude_deg") {
		(*q).AltitudeDeg.Quantity = Quantity{Value: math.Abs(c.r.Site.LatitudeDeg), Tol: 0.5, Unit: "deg", Source: Default, Path: "mount.polar_axis.altitude_deg"}
		c.used("mount.polar_axis.altitude_deg", (*q).AltitudeDeg.String(), "absent: the latitude, give or take what is usual")
	}
	c.fromTo("mount.polar_housing", &m.PolarHousing.FromMM.Quantity, &m.PolarHousing.ToMM.Quantity)
	c.fromTo("mount.declination_housing", &m.DeclinationHousing.FromMM.Quantity, &m.DeclinationHousing.ToMM.Quantity)
	t := &m.Travel
	c.interval("mount.travel", "ra_from_deg", "ra_to_deg", t.RAFromDeg, t.RAToDeg, 720)
	c.interval("mount.travel", "dec_from_deg", "dec_to_deg", t.DecFromDeg, t.DecToDeg, 720)
	if m.Rules.EarliestFlipMin == nil && !c.has("mount.own_rules", "earliest_flip_min") {
		c.used("mount.own_rules.earliest_flip_min", "unknown", "absent: the worst counts")
	}
	inside := func(path string, p *AxisPose) {
		if p == nil || t.RAFromDeg == nil || t.RAToDeg == nil || t.DecFromDeg == nil || t.DecToDeg == nil {
			return
		}
		if *t.RAFromDeg >= *t.RAToDeg || *t.DecFromDeg >= *t.DecToDeg {
			return // said already
		}
		if p.RAAxisDeg < *t.RAFromDeg || p.RAAxisDeg > *t.RAToDeg {
			c.wrong(path+".ra_axis_deg", fmt.Sprintf("%s is outside the axis travel %s to %s", format(p.RAAxisDeg), format(*t.RAFromDeg), format(*t.RAToDeg)), "axis angles count from counterweight-down")
		}
		if p.DecAxisDeg < *t.DecFromDeg || p.DecAxisDeg > *t.DecToDeg {
			c.wrong(path+".dec_axis_deg", fmt.Sprintf("%s is outside the axis travel %s to %s", format(p.DecAxisDeg), format(*t.DecFromDeg), format(*t.DecToDeg)), "axis angles count from the elevated pole")
		}
	}
	inside("mount.park", m.Park)
	inside("mount.home", m.Home)
	c.extra(m.Parts, "mount.parts", Arm)
}

// interval wants two plain numbers in order and no further apart than most.
func (c *ruler) interval(path, from, to string, a, b *float64, most float64) {
	if a == nil || b == nil {
		return
	}
	p := join(path, from)
	if !c.has(path, from) {
		p = join(path, to)
	}
	switch {
	case *a >= *b:
		c.wrong(p, fmt.Sprintf("%s %s is not below %s %s", from, format(*a), to, format(*b)), "write the smaller angle as "+from)
	case *b-*a > most:
		c.wrong(p, fmt.Sprintf("%s to %s is more than %s°", format(*a), format(*b), format(most)), "a full turn is 360")
	}
}

func (c *ruler) tube(t *Tube) {
	if t.Sections != nil && len(t.Sections) == 0 {
		c.wrong("tube.sections", "the list is empty", "write at least one section with name, from_mm, to_mm and diameter_mm")
	}
	for i := range t.Sections {
		s, p := &t.Sections[i], fmt.Sprintf("tube.sections[%d]", i)
		c.fromTo(p, &s.FromMM.Quantity, &s.ToMM.Quantity)
		c.name(s.Name, p)
		c.belongs(s.Condition, p)
	}
	if t.Train != nil {
		c.train(t.Train)
	}
	for i := range t.GuideTubes {
		g, p := &t.GuideTubes[i], fmt.Sprintf("tube.guide_tubes[%d]", i)
		c.fromTo(p, &g.FromMM.Quantity, &g.ToMM.Quantity)
		c.name(g.Name, p)
	}
	c.extra(t.Parts, "tube.parts", TubeFrame)
}

func (c *ruler) train(t *Train) {
	switch t.Outlet {
	case Back:
		c.forbid("tube.train", "it belongs to outlet: side; remove it", "side_angle_deg", "start_mm")
	case Side:
		c.need("tube.train", "which places a side outlet", "start_mm")
		if !c.has("tube.train", "side_angle_deg") {
			c.wrong("tube.train", "side_angle_deg is missing", "add `side_angle_deg: 45 ± 2`, which places a side outlet")
		}
	}
	if t.Items != nil && len(t.Items) == 0 {
		c.wrong("tube.train.items", "the list is empty", "write at least one item, or remove the train")
	}
	turning := ""
	for i := range t.Items {
		it, p := &t.Items[i], fmt.Sprintf("tube.train.items[%d]", i)
		switch it.Section {
		case Round:
			c.need(p, "which a round item has", "diameter_mm")
			c.forbid(p, "it belongs to section: square; remove it", "width_mm", "height_mm")
		case Square:
			c.need(p, "which a square item has", "width_mm", "height_mm")
			c.forbid(p, "it belongs to section: round; remove it", "diameter_mm")
		}
		if it.Turns && turning == "" {
			turning = it.Name
		}
		if it.Beside && i == 0 {
			c.wrong(p+".beside", "there is no item before it to sit beside", "put it behind the item that it sits beside")
		}
		c.name(it.Name, p)
		c.belongs(it.Condition, p)
	}
	const rot = "tube.train.rotator"
	if turning != "" && !c.has(rot, "angle_deg") {
		c.wrong(rot, fmt.Sprintf("angle_deg is missing, but %q turns with the rotator", clip(turning)), "add `rotator:` with `angle_deg: 90 ± 1`, the angle at which the train was measured")
	}
	if one, two := t.Rotator.SweepFromDeg, t.Rotator.SweepToDeg; (one == nil) != (two == nil) && c.has(rot, "sweep_from_deg") != c.has(rot, "sweep_to_deg") {
		c.wrong(rot, "only one end of the sweep is there", "write both sweep_from_deg and sweep_to_deg")
	}
	c.interval(rot, "sweep_from_deg", "sweep_to_deg", t.Rotator.SweepFromDeg, t.Rotator.SweepToDeg, 360)
}

// sizeWords names the numbers of each shape's size_mm.
var sizeWords = map[ShapeKind][]string{
	Box: {"x", "y", "z"}, Cylinder: {"diameter", "length"}, Cone: {"diameter at its -z end", "diameter at its +z end", "length"},
	Capsule: {"diameter", "length between its centres"}, Sphere: {"diameter"},
}

// extra checks a list of free parts; frame is the one that they have when they don't say.
func (c *ruler) extra(parts []ExtraPart, path string, frame Frame) {
	for i := range parts {
		e, p := &parts[i], fmt.Sprintf("%s[%d]", path, i)
		if e.Frame == "" && !c.has(p, "frame") {
			if frame == "" {
				c.wrong(p, "frame is missing", "add `frame: ground`, polar, arm or tube: what the part moves with")
			} else {
				e.Frame = frame
				c.used(p+".frame", string(frame), "absent: what such a part moves with")
			}
		}
		if want := sizeWords[e.Shape]; want != nil && e.SizeMM != nil {
			if len(e.SizeMM) != len(want) {
				c.wrong(p+".size_mm", fmt.Sprintf("it has %s, but a %s has %d", count(len(e.SizeMM), "number", "numbers"), e.Shape, len(want)), "write ["+strings.Join(want, ", ")+"]")
			} else {
				c.size(e, p)
			}
		}
		if e.AtMM != nil && len(e.AtMM) != 3 {
			c.wrong(p+".at_mm", "it has "+count(len(e.AtMM), "number", "numbers")+", but a place has 3", "write [x, y, z] of the part's centre")
		}
		if e.Direction != nil {
			switch x := e.Direction; {
			case len(x) != 3:
				c.wrong(p+".direction", "it has "+count(len(x), "number", "numbers")+", but a direction has 3", "write [x, y, z], such as [0, 0, 1]")
			case math.Hypot(math.Hypot(x[0], x[1]), x[2]) < 1e-6 || math.Abs(x[0])+math.Abs(x[1])+math.Abs(x[2]) > 1e9:
				c.wrong(p+".direction", "it points nowhere", "write [x, y, z], such as [0, 0, 1]")
			}
		}
		c.name(e.Name, p)
		c.belongs(e.Condition, p)
	}
}

// count reads "1 entry" or "3 entries".
func count(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

// size refuses a shape without extent. One end of a cone may be a point, and a capsule's length may be 0.
func (c *ruler) size(e *ExtraPart, path string) {
	for i := range e.SizeMM {
		q := &e.SizeMM[i]
		zero := q.Set() && q.Value == 0
		switch {
		case e.Shape == Cone && i < 2:
			zero = zero && i == 1 && e.SizeMM[0].Set() && e.SizeMM[0].Value == 0
		case e.Shape == Capsule && i == 1:
			zero = false
		}
		if zero {
			c.wrong(fmt.Sprintf("%s.size_mm[%d]", path, i), fmt.Sprintf("the %s's %s is 0", e.Shape, sizeWords[e.Shape][i]), "write a number above 0")
		}
	}
}

// name refuses a part's name that another part has.
func (c *ruler) name(name, path string) {
	if name == "" {
		return
	}
	if first, twice := c.named[name]; twice {
		c.wrong(path+".name", fmt.Sprintf("%q is the name of %s too", clip(name), first), "give each part a name of its own")
		return
	}
	c.named[name] = path
}

// belongs refuses a condition that the document does not declare.
func (c *ruler) belongs(condition, path string) {
	if condition == "" || slices.Contains(builtIn, condition) ||
		slices.ContainsFunc(c.r.Conditions, func(d Condition) bool { return d.Name == condition }) {
		return
	}
	var known []string
	for _, d := range c.r.Conditions {
		known = append(known, d.Name)
	}
	remedy := "declare it: add `- name: " + clip(condition) + "` under conditions"
	if len(known) > 0 {
		remedy += ", or write " + oneOf(known)
	}
	c.wrong(path+".condition", fmt.Sprintf("no condition %q is declared", clip(condition)), remedy)
}

func (c *ruler) conditions() {
	seen := map[string]bool{}
	for i, d := range c.r.Conditions {
		p := fmt.Sprintf("conditions[%d].name", i)
		switch {
		case slices.Contains(builtIn, d.Name):
			c.wrong(p, fmt.Sprintf("%q is built in", d.Name), "remove it: parts may name it without that")
		case seen[d.Name] && d.Name != "":
			c.wrong(p, fmt.Sprintf("the condition %q is declared twice", clip(d.Name)), "keep one of the two")
		}
		seen[d.Name] = true
	}
}
