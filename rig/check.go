package rig

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Severity says how much a finding weighs.
type Severity string

const (
	FindingError   Severity = "error"   // it cannot be so
	FindingWarning Severity = "warning" // it looks wrong
	FindingNote    Severity = "note"    // worth knowing
)

// Finding is something about a document that reads well and yet looks wrong, with what would be right.
type Finding struct {
	Level    Severity
	Path     string // in the document
	Text     string
	Position Position // the file alone when the place has no number of its own
}

// Findings looks over the lengths, angles and masses of a document for what looks wrong. Overlaps of parts at rest need
// gaps and are not looked for here. Limits of what is usual are common practice, no source. Errors come first, then
// warnings, then notes; within those, the order of the document.
func (r *Rig) Findings() []Finding {
	f := &finder{r: r}
	f.site()
	f.support()
	f.head()
	f.arm()
	f.saddle()
	f.train()
	f.travel()
	f.quantities()
	f.masses()
	rank := map[Severity]int{FindingError: 0, FindingWarning: 1, FindingNote: 2}
	slices.SortStableFunc(f.out, func(a, b Finding) int { return rank[a.Level] - rank[b.Level] })
	return f.out
}

// finder gathers findings.
type finder struct {
	r   *Rig
	out []Finding
}

// at notes a finding about a quantity.
func (f *finder) at(l Severity, q *Quantity, path, format string, args ...any) {
	if q.Path != "" {
		path = q.Path
	}
	f.out = append(f.out, Finding{l, path, fmt.Sprintf(format, args...), q.Pos})
}

// on notes a finding about a place, which stands where its first number does.
func (f *finder) on(l Severity, path, format string, args ...any) {
	f.out = append(f.out, Finding{l, path, fmt.Sprintf(format, args...), f.r.PositionOf(path)})
}

func (f *finder) support() {
	s := &f.r.Support
	if h := s.HeightMM.Value; h < 300 || h > 3000 {
		f.at(FindingWarning, &s.HeightMM.Quantity, "support.height_mm", "the support is %g mm high; from 300 to 3000 mm is usual, measured in millimetres from the ground to the face that the mount stands on", h)
	}
	if g := s.Legs; g != nil {
		hip, foot := g.HipRadiusMM.Value, g.FootRadiusMM.Value
		if hip > foot {
			f.at(FindingWarning, &g.HipRadiusMM.Quantity, "support.legs.hip_radius_mm", "the legs stand %g mm closer at the feet (%g mm) than at the hips (%g mm); legs spread outwards: were the two radii swapped?", hip-foot, foot, hip)
		}
		head := s.HeightMM.Value
		if s.Head != nil {
			head -= s.Head.ThicknessMM.Value
		}
		if g.HipHeightMM.Set() && g.HipHeightMM.Value > head {
			f.at(FindingError, &g.HipHeightMM.Quantity, "support.legs.hip_height_mm", "the hips are %g mm above the head's underside at %g mm, so that the feet would stand above the head; hips are at or below it", g.HipHeightMM.Value-head, head)
		}
		if head <= 0 {
			f.at(FindingError, &s.HeightMM.Quantity, "support.height_mm", "the feet are %g mm above the head's underside; the height goes from the ground up to the head's upper face", -head)
		} else if foot > 1.5*head {
			f.at(FindingWarning, &g.FootRadiusMM.Quantity, "support.legs.foot_radius_mm", "the feet are %g mm out under a head at %g mm; the radius goes from the centre line to one foot, not from foot to foot", foot, head)
		}
		f.bearing()
		if t := s.Tray; t != nil && t.HeightMM.Value >= head {
			f.at(FindingError, &t.HeightMM.Quantity, "support.tray.height_mm", "the tray at %g mm is above the head's underside at %g mm; its height goes from the ground to its upper face", t.HeightMM.Value, head)
		}
	}
	if v := s.Level; v != nil && v.LeanDeg.Value > 5 {
		f.at(FindingWarning, &v.LeanDeg.Quantity, "support.out_of_level.lean_deg", "the support leans by %g°; more than 5° is hardly left like that: level it, or measure again", v.LeanDeg.Value)
	}
	if e := s.Extension; e != nil {
		base := f.r.Mount.Base
		if base == nil {
			f.on(FindingWarning, "support.extension", "there is an extension and no mount base on it, so that nothing stands between the extension's top and the crossing %g mm above it: give mount.base", f.r.Mount.CrossingMM.HeightMM.Value)
		} else if e.DiameterMM.Value < base.DiameterMM.Value/2 {
			f.at(FindingWarning, &e.DiameterMM.Quantity, "support.extension.diameter_mm", "the extension, %g mm across, is less than half as wide as the mount base on it, %g mm", e.DiameterMM.Value, base.DiameterMM.Value)
		}
	}
}

// bearing compares the first leg's azimuth with the bearings that the tripod allows.
func (f *finder) bearing() {
	s := &f.r.Support
	if len(s.Bearings) == 0 {
		return
	}
	a := &s.Legs.FirstAzimuthDeg
	near := math.Inf(1)
	for _, x := range s.Bearings {
		near = math.Min(near, math.Abs(math.Remainder(a.Value-x, 360)))
	}
	if near > a.Tol+1 {
		f.at(FindingWarning, &a.Quantity, "support.legs.first_azimuth_deg", "the first leg stands at %g°, %.3g° from the nearest of the allowed bearings %v", a.Value, near, s.Bearings)
	}
}

// head looks at the polar axis and what it stands on.
func (f *finder) head() {
	m := &f.r.Mount
	if m.PolarAxis != nil {
		pa, lat := m.PolarAxis, math.Abs(f.r.Site.LatitudeDeg)
		if d := math.Abs(pa.AltitudeDeg.Value - lat); d > 2 {
			f.at(FindingWarning, &pa.AltitudeDeg.Quantity, "mount.polar_axis.altitude_deg", "the polar axis is set to %g°, %.4g° from the latitude's %g°; a mount that tracks the sky is within 2° of it: check the latitude and the altitude scale", pa.AltitudeDeg.Value, d, lat)
		}
		if d := math.Abs(pa.AzimuthErrorDeg.Value); d > 5 {
			f.at(FindingWarning, &pa.AzimuthErrorDeg.Quantity, "mount.polar_axis.azimuth_error_deg", "the polar axis points %g° beside the pole; a mount that tracks the sky is within 5°: is this the azimuth instead of its error?", d)
		}
		// The housing's lower rim against the face that the mount stands on.
		h := &m.PolarHousing
		sin, cos := math.Sincos(pa.AltitudeDeg.Value * rad)
		low := math.Min(h.FromMM.Value, h.ToMM.Value)*sin - h.DiameterMM.Value/2*cos
		if cross := m.CrossingMM.HeightMM.Value; -low > cross {
			f.at(FindingWarning, &m.CrossingMM.HeightMM.Quantity, "mount.crossing.height_mm", "the axes cross %g mm above the face, and the polar housing reaches %.4g mm below the crossing, into the support; the height goes from the face that the mount stands on to where the axes cross", cross, -low)
		}
	}
	if b := m.Base; b != nil && b.HeightMM.Value > m.CrossingMM.HeightMM.Value {
		f.at(FindingError, &b.HeightMM.Quantity, "mount.base.height_mm", "the base, %g mm high, ends %g mm above the crossing of the axes; it lies between the support's face and the head", b.HeightMM.Value, b.HeightMM.Value-m.CrossingMM.HeightMM.Value)
	}
}

// arm looks at the counterweights.
func (f *finder) arm() {
	c := f.r.Mount.Counterweights
	if c == nil {
		return
	}
	far := -f.r.Mount.DeclinationHousing.FromMM.Value // how far the housing reaches on the weights' side
	for i := range c.Weights {
		w := &c.Weights[i]
		path := fmt.Sprintf("mount.counterweights.weights[%d].at_mm", i)
		in, out := w.AtMM.Value-w.ThicknessMM.Value/2, w.AtMM.Value+w.ThicknessMM.Value/2
		if out > c.BarEndMM.Value {
			f.at(FindingWarning, &w.AtMM.Quantity, path, "counterweight %d reaches %g mm from the crossing, %g mm beyond the bar's end at %g mm; at_mm goes from the crossing to the weight's middle", i+1, out, out-c.BarEndMM.Value, c.BarEndMM.Value)
		}
		if in < far {
			f.at(FindingWarning, &w.AtMM.Quantity, path, "counterweight %d starts %g mm from the crossing, %g mm inside the declination housing, which ends at %g mm; at_mm goes from the crossing to the weight's middle", i+1, in, far-in, far)
		}
		if w.DiameterMM.Value <= c.BarDiameterMM.Value {
			f.at(FindingWarning, &w.DiameterMM.Quantity, fmt.Sprintf("mount.counterweights.weights[%d].diameter_mm", i), "counterweight %d is %g mm across, no more than the bar's %g mm", i+1, w.DiameterMM.Value, c.BarDiameterMM.Value)
		}
		for j := range c.Weights[:i] {
			v := &c.Weights[j]
			if d := math.Abs(w.AtMM.Value-v.AtMM.Value) - (w.ThicknessMM.Value+v.ThicknessMM.Value)/2; d < 0 {
				f.at(FindingWarning, &w.AtMM.Quantity, path, "counterweights %d and %d overlap by %g mm", j+1, i+1, -d)
			}
		}
	}
}

// saddle looks at what the saddle holds.
func (f *finder) saddle() {
	m, t := &f.r.Mount, &f.r.Tube
	under := m.SaddleDistanceMM.Value // of the saddle
	length, at := 0.0, 0.0
	if m.Saddle != nil {
		under -= m.Saddle.ThicknessMM.Value
		length, at = m.Saddle.LengthMM.Value, m.Saddle.AtMM.Value
	}
	switch end := m.DeclinationHousing.ToMM.Value; {
	case m.SaddleDistanceMM.Value < end:
		f.at(FindingError, &m.SaddleDistanceMM.Quantity, "mount.saddle_distance_mm", "the saddle's face, %g mm from the crossing, is %g mm behind the declination housing's end at %g mm; the saddle sits on that end", m.SaddleDistanceMM.Value, end-m.SaddleDistanceMM.Value, end)
	case under-end > 50:
		f.at(FindingWarning, &m.SaddleDistanceMM.Quantity, "mount.saddle_distance_mm", "%g mm between the declination housing's end at %g mm and the saddle have nothing in them; let the housing reach the saddle", under-end, end)
	}
	if d := t.Dovetail; d != nil {
		length, at = math.Max(length, d.LengthMM.Value), d.AtMM.Value
	}
	rear := math.Inf(1)
	for i := range t.Sections {
		s := &t.Sections[i]
		path := fmt.Sprintf("tube.sections[%d]", i)
		from, to := s.FromMM.Value+t.SlideMM.Value, s.ToMM.Value+t.SlideMM.Value
		if s.Condition == "" {
			rear = math.Min(rear, s.FromMM.Value)
		}
		if s.FromMM.Value >= s.ToMM.Value {
			f.at(FindingError, &s.FromMM.Quantity, path+".from_mm", "%s goes from station %g to %g; stations grow forward, so that from_mm is the smaller one", s.Name, s.FromMM.Value, s.ToMM.Value)
		} else if l := s.ToMM.Value - s.FromMM.Value; l > 3000 {
			f.at(FindingWarning, &s.ToMM.Quantity, path+".to_mm", "%s is %g mm long; stations are millimetres from the saddle's centre", s.Name, l)
		}
		radius := s.DiameterMM.Value / 2
		if s.EndDiameterMM.Set() {
			radius = math.Max(radius, s.EndDiameterMM.Value/2)
		}
		if over := radius - t.AxisDistanceMM.Value; over > 0 && from < at+length/2 && to > at-length/2 {
			f.at(FindingError, &t.AxisDistanceMM.Quantity, "tube.axis_distance_mm", "the axis of the tube is %g mm from the saddle's face, and %s is %g mm in radius, so that it lies %g mm inside the saddle; the distance goes to the tube's axis, not to its skin", t.AxisDistanceMM.Value, s.Name, radius, over)
		}
	}
	for i := range t.GuideTubes {
		g := &t.GuideTubes[i]
		if g.BesideMM.Value < g.DiameterMM.Value/2 {
			f.at(FindingWarning, &g.BesideMM.Quantity, fmt.Sprintf("tube.guide_tubes[%d].beside_mm", i), "%s, %g mm across, is %g mm beside the tube's axis, so that it lies round it; the distance goes from axis to axis", g.Name, g.DiameterMM.Value, g.BesideMM.Value)
		}
	}
	if t.Train != nil && !math.IsInf(rear, 1) {
		f.outlet(rear)
	}
}

// outlet compares where the train starts with the tube, whose rear end is at a station.
func (f *finder) outlet(rear float64) {
	t, tr := &f.r.Tube, f.r.Tube.Train
	front, radius := math.Inf(-1), 0.0
	for i := range t.Sections {
		if s := &t.Sections[i]; s.Condition == "" {
			front, radius = math.Max(front, s.ToMM.Value), math.Max(radius, s.DiameterMM.Value/2)
		}
	}
	from := tr.FromMM.Value
	switch {
	case tr.Outlet == Side && (from < rear || from > front):
		f.at(FindingWarning, &tr.FromMM.Quantity, "tube.train.from_mm", "the side outlet is at station %g mm, outside the tube, which goes from %g to %g mm", from, rear, front)
	case tr.Outlet == Side && (tr.StartMM.Value < radius/2 || tr.StartMM.Value > radius+200):
		f.at(FindingWarning, &tr.StartMM.Quantity, "tube.train.start_mm", "the side outlet starts %g mm from the axis of a tube that is %g mm in radius; start_mm goes from the tube's axis to where the train begins", tr.StartMM.Value, radius)
	case tr.Outlet == Side:
	case from > (rear+front)/2:
		f.at(FindingError, &tr.FromMM.Quantity, "tube.train.from_mm", "the train starts at station %g mm, ahead of the tube's middle, so that the camera would be ahead of the tube's rear end at %g mm; stations behind the saddle are negative", from, rear)
	case math.Abs(from-rear) > 100:
		f.at(FindingWarning, &tr.FromMM.Quantity, "tube.train.from_mm", "the train starts at station %g mm, %g mm from the tube's rear end at %g mm; a back outlet starts where the tube ends", from, math.Abs(from-rear), rear)
	}
}

func (f *finder) train() {
	tr := f.r.Tube.Train
	if tr == nil {
		return
	}
	total, turns := 0.0, false
	for i := range tr.Items {
		it := &tr.Items[i]
		turns = turns || it.Turns
		if !it.Beside {
			total += it.LengthMM.Value + it.TravelMM.Value
		} else if i == 0 {
			f.on(FindingWarning, "tube.train.items[0].beside", "%s is the first item, with nothing before it to sit beside", it.Name)
		}
	}
	if total > 1500 {
		f.on(FindingWarning, "tube.train.items", "the train is %g mm long; more than 1500 mm is hardly ever so: lengths are millimetres, and an item that sits beside the train has beside: true", total)
	}
	mid, half, sweeps := tr.Rotator.sweep()
	switch a := tr.Rotator.AngleDeg.Value; {
	case sweeps && !turns:
		f.on(FindingWarning, "tube.train.rotator", "the rotator sweeps and nothing turns with it: give the items after it turns: true")
	case sweeps && math.Abs(math.Remainder(a-mid, 360)) > half+1e-9:
		f.at(FindingWarning, &tr.Rotator.AngleDeg.Quantity, "tube.train.rotator.angle_deg", "the rotator stands at %g°, outside its sweep from %g° to %g°", a, mid-half, mid+half)
	}
}

func (f *finder) travel() {
	m := &f.r.Mount
	t := m.Travel
	end := func(p *float64, d float64) float64 {
		if p == nil {
			return d
		}
		return *p
	}
	raFrom, raTo := end(t.RAFromDeg, -180), end(t.RAToDeg, 180)
	decFrom, decTo := end(t.DecFromDeg, -180), end(t.DecToDeg, 180)
	if raFrom >= raTo {
		f.on(FindingError, "mount.travel.ra_from_deg", "the RA axis travels from %g° to %g°; from is the smaller one", raFrom, raTo)
	}
	if decFrom >= decTo {
		f.on(FindingError, "mount.travel.dec_from_deg", "the declination axis travels from %g° to %g°; from is the smaller one", decFrom, decTo)
	}
	// The counterweight bar is level at ±90°, when the target is on the meridian.
	if raTo < 90 {
		f.on(FindingWarning, "mount.travel.ra_to_deg", "the RA axis ends %g° before the meridian on side west (at %g°; 90° is the meridian): angles count from counterweight-down", 90-raTo, raTo)
	}
	if raFrom > -90 {
		f.on(FindingWarning, "mount.travel.ra_from_deg", "the RA axis starts %g° past the meridian on side east (at %g°; −90° is the meridian): angles count from counterweight-down", raFrom+90, raFrom)
	}
	for i, p := range []*AxisPose{m.Park, m.Home} {
		if p == nil {
			continue
		}
		name := [2]string{"park", "home"}[i]
		if p.RAAxisDeg < raFrom || p.RAAxisDeg > raTo || p.DecAxisDeg < decFrom || p.DecAxisDeg > decTo {
			f.on(FindingError, "mount."+name, "the %s position (%g°, %g°) is outside the travel of the axes, RA %g° to %g°, declination %g° to %g°", name, p.RAAxisDeg, p.DecAxisDeg, raFrom, raTo, decFrom, decTo)
		}
	}
}

// centred names lengths that count from a zero, so that a tolerance above the value says nothing.
var centred = []string{"offset_mm", "offset_x_mm", "offset_y_mm", "slide_mm", "at_mm", "from_mm", "to_mm", "start_mm", "travel_mm", "hip_radius_mm"}

func (f *finder) quantities() {
	for _, q := range f.r.Quantities {
		last, _, _ := strings.Cut(q.Path[strings.LastIndex(q.Path, ".")+1:], "[")
		if q.Unit == "mm" && q.Tol > 0 && q.Tol >= math.Abs(q.Value) && !slices.Contains(centred, last) {
			f.at(FindingWarning, q, q.Path, "%g ± %g mm could be nothing at all: measure it, or write a tolerance below the value", q.Value, q.Tol)
		}
	}
	lengths, masses := f.r.Unmeasured()
	if n := len(lengths); n == 1 {
		f.on(FindingWarning, lengths[0].Path, "a length comes from a template and was never measured: its tolerance costs room, and the watch refuses it")
	} else if n > 1 {
		f.on(FindingWarning, lengths[0].Path, "%d lengths come from a template and were never measured: their tolerances cost room, and the watch refuses them; measure them one by one, those that cost most first", n)
	}
	if n := len(masses); n == 1 {
		f.on(FindingNote, masses[0].Path, "a mass comes from a template and was never measured: balance and tipping depend on it, no gap does")
	} else if n > 1 {
		f.on(FindingNote, masses[0].Path, "%d masses come from a template and were never measured: balance and tipping depend on them, no gap does", n)
	}
}
