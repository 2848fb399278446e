package rig

import (
	"math"
	"path/filepath"
	"strings"
	"testing"
)

func found(r *Rig, level Severity, text string) bool {
	for _, f := range r.Findings() {
		if f.Level == level && strings.Contains(f.Text, text) {
			return true
		}
	}
	return false
}

// guessMass gives the support a mass that nobody measured.
func guessMass(r *Rig) {
	r.Support.MassKg = Mass{Quantity{Value: 7, Unit: "kg", Source: Unmeasured, Path: "support.mass_kg"}}
	r.Quantities = append(r.Quantities, &r.Support.MassKg.Quantity)
}

// One thing wrong, one finding; a rig with nothing wrong has notes alone.
func TestFindings(t *testing.T) {
	for _, f := range plain(40).Findings() {
		if f.Level != FindingNote {
			t.Errorf("a plain rig: %s: %s: %s", f.Level, f.Path, f.Text)
		}
	}
	ninety := 80.0
	for _, c := range []struct {
		level Severity
		path  string // end of it
		text  string
		bad   func(r *Rig)
	}{
		{FindingWarning, "support.height_mm", "the support is 100 mm high", func(r *Rig) {
			r.Support.HeightMM.Value = 100
			r.Support.Tray = nil
			r.Support.Legs.FootRadiusMM.Value = 80
		}},
		{FindingError, "support.height_mm", "the feet are 10 mm above the head's underside", func(r *Rig) { r.Support.HeightMM.Value = 30; r.Support.Tray = nil }},
		{FindingWarning, "hip_radius_mm", "100 mm closer at the feet (800 mm) than at the hips (900 mm)", func(r *Rig) { r.Support.Legs.HipRadiusMM.Value = 900 }},
		{FindingError, "hip_height_mm", "the hips are 140 mm above the head's underside at 960 mm", func(r *Rig) { r.Support.Legs.HipHeightMM = mm(1100, 0) }},
		{FindingWarning, "foot_radius_mm", "not from foot to foot", func(r *Rig) { r.Support.Legs.FootRadiusMM.Value = 1600 }},
		{FindingWarning, "first_azimuth_deg", "30° from the nearest of the allowed bearings", func(r *Rig) { r.Support.Bearings = []float64{0, 60, 120} }},
		{FindingError, "tray.height_mm", "the tray at 990 mm", func(r *Rig) { r.Support.Tray.HeightMM.Value = 990 }},
		{FindingWarning, "lean_deg", "leans by 7°", func(r *Rig) { r.Support.Level = &Level{LeanDeg: deg(7, 1)} }},
		{FindingWarning, "extension", "no mount base", func(r *Rig) { r.Mount.Base = nil }},
		{FindingWarning, "extension.diameter_mm", "less than half", func(r *Rig) { r.Support.Extension.DiameterMM.Value = 60 }},
		{FindingWarning, "altitude_deg", "10° from the latitude's 40°", func(r *Rig) { r.Mount.PolarAxis.AltitudeDeg.Value = 50 }},
		{FindingWarning, "azimuth_error_deg", "points 12° beside the pole", func(r *Rig) { r.Mount.PolarAxis.AzimuthErrorDeg.Value = 12 }},
		{FindingWarning, "height_mm", "into the support", func(r *Rig) { r.Mount.CrossingMM.HeightMM.Value = 150 }},
		{FindingError, "base.height_mm", "ends 50 mm above the crossing", func(r *Rig) { r.Mount.Base.HeightMM.Value = 350 }},
		{FindingWarning, "weights[0].at_mm", "40 mm beyond the bar's end at 450 mm", func(r *Rig) { r.Mount.Counterweights.Weights[0].AtMM.Value = 460 }},
		{FindingWarning, "weights[0].at_mm", "20 mm inside the declination housing", func(r *Rig) { r.Mount.Counterweights.Weights[0].AtMM.Value = 100 }},
		{FindingWarning, "weights[0].diameter_mm", "no more than the bar's 30 mm", func(r *Rig) { r.Mount.Counterweights.Weights[0].DiameterMM.Value = 25 }},
		{FindingWarning, "weights[1].at_mm", "overlap by 20 mm", func(r *Rig) {
			r.Mount.Counterweights.Weights = append(r.Mount.Counterweights.Weights, Weight{AtMM: mm(340, 0), DiameterMM: mm(180, 0), ThicknessMM: mm(60, 0)})
		}},
		{FindingError, "saddle_distance_mm", "20 mm behind the declination housing's end", func(r *Rig) { r.Mount.SaddleDistanceMM.Value = 130 }},
		{FindingWarning, "saddle_distance_mm", "let the housing reach the saddle", func(r *Rig) { r.Mount.SaddleDistanceMM.Value = 260 }},
		{FindingError, "axis_distance_mm", "tube is 65 mm in radius, so that it lies 5 mm inside the saddle", func(r *Rig) { r.Tube.AxisDistanceMM.Value = 60 }},
		{FindingError, "sections[0].from_mm", "from_mm is the smaller one", func(r *Rig) { r.Tube.Sections[0].FromMM.Value = 310 }},
		{FindingWarning, "sections[0].to_mm", "is 4400 mm long", func(r *Rig) { r.Tube.Sections[0].ToMM.Value = 4000 }},
		{FindingWarning, "beside_mm", "from axis to axis", func(r *Rig) { r.Tube.GuideTubes[0].BesideMM.Value = 20 }},
		{FindingError, "train.from_mm", "the camera would be ahead of the tube's rear end at -400 mm", func(r *Rig) { r.Tube.Train.FromMM.Value = 400 }},
		{FindingWarning, "train.from_mm", "200 mm from the tube's rear end", func(r *Rig) { r.Tube.Train.FromMM.Value = -200 }},
		{FindingWarning, "train.from_mm", "outside the tube", func(r *Rig) { r.Tube.Train.Outlet, r.Tube.Train.FromMM = Side, mm(600, 0) }},
		{FindingWarning, "train.start_mm", "65 mm in radius", func(r *Rig) {
			r.Tube.Train.Outlet, r.Tube.Train.FromMM, r.Tube.Train.StartMM = Side, mm(200, 0), mm(20, 0)
		}},
		{FindingWarning, "train.items", "the train is 1800 mm long", func(r *Rig) { r.Tube.Train.Items[3].LengthMM.Value = 1620 }},
		{FindingWarning, "items[0].beside", "nothing before it", func(r *Rig) { r.Tube.Train.Items[0].Beside = true }},
		{FindingWarning, "rotator.angle_deg", "outside its sweep", func(r *Rig) {
			from, to := -45.0, 45.0
			r.Tube.Train.Rotator.SweepFromDeg, r.Tube.Train.Rotator.SweepToDeg = &from, &to
		}},
		{FindingWarning, "travel.ra_to_deg", "ends 10° before the meridian", func(r *Rig) { r.Mount.Travel.RAToDeg = &ninety }},
		{FindingWarning, "travel.ra_from_deg", "past the meridian on side east", func(r *Rig) { x := -60.0; r.Mount.Travel.RAFromDeg = &x }},
		{FindingError, "mount.park", "outside the travel", func(r *Rig) { r.Mount.Park = &AxisPose{RAAxisDeg: 200} }},
		{FindingWarning, "Tube.Dovetail.ThicknessMM", "15 ± 20 mm could be nothing at all", func(r *Rig) { r.Tube.Dovetail.ThicknessMM.Tol = 20 }},
		{FindingWarning, "Support.HeightMM", "a length comes from a template", func(r *Rig) { r.Support.HeightMM.Source = Unmeasured }},
		{FindingWarning, "Support.HeightMM", "2 lengths come from a template", func(r *Rig) {
			r.Support.HeightMM.Source, r.Support.Legs.FirstAzimuthDeg.Source = Unmeasured, Unmeasured
			guessMass(r)
		}},
		{FindingNote, "support.mass_kg", "a mass comes from a template and was never measured: balance", guessMass},
	} {
		r := plain(40)
		c.bad(r)
		ok := false
		for _, f := range r.Findings() {
			last := strings.ReplaceAll(strings.ToLower(f.Path), "_", "")
			end := strings.ReplaceAll(strings.ToLower(c.path), "_", "")
			ok = ok || f.Level == c.level && strings.HasSuffix(last, end) && strings.Contains(f.Text, c.text)
		}
		if !ok {
			t.Errorf("no %s at %s with %q in %v", c.level, c.path, c.text, r.Findings())
		}
	}
}

func TestMasses(t *testing.T) {
	r := plain(40)
	r.Support.Extension.MassKg = kg(4)
	r.Mount.Base.MassKg, r.Mount.PolarHousing.MassKg, r.Mount.Saddle.MassKg = kg(5), kg(8), kg(1)
	r.Mount.Counterweights.BarMassKg, r.Mount.Counterweights.Weights[0].MassKg = kg(2), kg(6)
	r.Tube.Sections[0].MassKg, r.Tube.Train.Items[3].MassKg, r.Tube.Parts[0].MassKg = kg(7), kg(1.5), kg(0.5)
	r.Parts = []ExtraPart{{Name: "box", Frame: Arm, MassKg: kg(1)}, {Name: "table", MassKg: kg(20)}}
	want := Masses{Support: 24, Mount: 15, Counterweights: 8, Tube: 9}
	if got := r.Masses(); got != want || math.Abs(got.Total()-56) > 1e-12 {
		t.Errorf("masses %+v, want %+v", got, want)
	}
	if !found(r, FindingNote, "together 56 kg") {
		t.Error("no note of the total masses")
	}
}

// The examples are measured with care: nothing about them looks wrong, and every length was measured.
func TestExamples(t *testing.T) {
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d examples, want at least 5 (%v)", len(files), err)
	}
	for _, f := range files {
		r, err := Load(f)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, x := range r.Findings() {
			if x.Level != FindingNote {
				t.Errorf("%s: %s: %s: %s", f, x.Level, x.Path, x.Text)
			}
		}
		for _, q := range r.Quantities {
			if q.Source != Measured && q.Tol > 0 {
				t.Errorf("%s: %s ± %g is not in the document", f, q.Path, q.Tol)
			}
			if q.Unit == "mm" && q.Tol > 10 {
				t.Errorf("%s: %s: ± %g mm is not careful", f, q.Path, q.Tol)
			}
		}
		mustAssemble(t, r, nil)
	}
}
