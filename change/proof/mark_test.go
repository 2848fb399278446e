package proof

import (
	"strings"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// A number that the fit gave says so in the document, and is no tape's: a default that it moved does not come to count as measured, an
// unmeasured length stays unmeasured until the readings tell it, and a default that did not move is not written.
func TestFittedNumbersAreMarked(t *testing.T) {
	r := load(t, "terrace-riser")
	for _, q := range r.Quantities {
		switch q.Path {
		case "mount.polar_axis.azimuth_error_deg":
			q.Source = rig.Default
		case "support.legs.foot_radius_mm", "tube.axis_distance_mm":
			q.Source = rig.Unmeasured
		}
	}
	f, err := NewFitter(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, len(f.l.list))
	for i, q := range f.l.list {
		if q.Path == "mount.polar_axis.azimuth_error_deg" || q.Path == "support.legs.first_azimuth_deg" {
			x[i] = 1.5
		}
	}
	var readings []Reading
	truth, err := measured(f.l.moved(r, x), nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, at := range [][2]float64{{100, 130}, {80, 100}, {-90, -120}, {95, 60}, {-100, -60}} {
		a := axes.Angles{RA: axes.Rad(at[0]), Dec: axes.Rad(at[1])}
		n := truth.Nearest(a, 1)[0]
		readings = append(readings, Reading{i + 1, a, truth.Model.Parts[n.A].Name, truth.Model.Parts[n.B].Name, n.Gap, 0.5})
	}
	fit, err := f.Fit(readings)
	if err != nil {
		t.Fatal(err)
	}
	changes, err := fit.Changes()
	if err != nil {
		t.Fatal(err)
	}
	marks := map[rig.Source]int{}
	for _, c := range changes {
		var l Length
		for _, l = range fit.Lengths {
			if l.Path == c.Path {
				break
			}
		}
		want := " fitted"
		if c.Source == rig.Unmeasured && l.Told != Told {
			want = " unmeasured"
		}
		if !strings.HasSuffix(c.Text, want) || !strings.Contains(c.Text, " ± ") {
			t.Errorf("%s, %s, is written as %q, want … ±%s", c.Path, l.Told, c.Text, want)
		}
		marks[c.Source]++
	}
	t.Log(marks)
	for _, s := range []rig.Source{rig.Measured, rig.Default, rig.Unmeasured} {
		if marks[s] == 0 {
			t.Errorf("the fit moves nothing that was %s: the test says nothing of it", s)
		}
	}
}
