package rig

import (
	"regexp"
	"strings"
	"testing"
)

func TestFingerprint(t *testing.T) {
	good := goodText(t)
	print := func(text string) string {
		t.Helper()
		r, err := Parse([]byte(text), "")
		if err != nil {
			t.Fatal(err)
		}
		return r.Fingerprint()
	}
	base := print(good)
	if !regexp.MustCompile(`^[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}$`).MatchString(base) {
		t.Errorf("%q", base)
	}
	for _, c := range []struct {
		old, new string
		same     bool
	}{
		{"900 ± 3 # legs half out", "900.0±3.00", true},
		{"height_mm: 400,", "height_mm: 400 ± 5,", true},
		{"name: terrace", "name: balcony", true},
		{"class: counterweighted", "class: other", true},
		{"note: taken off for flats", "note: other", true},
		{"mass_kg: 5}", "mass_kg: 9}", true},
		{"axes_hold: no", "axes_hold: yes", true},
		{"wall_mm: 5 ± 0.1, material: aluminium", "modulus_gpa: 30", true},
		{"length_mm: 2500 ± 20", "length_mm: 3000", true},
		{"kind: tripod", "kind: tripod\n  mass_kg: 6\n  anchored: yes", true},
		{"elevation_m: 780", "elevation_m: 1", true},
		{"longitude_deg: -3.4", "longitude_deg: 20", true},
		{"time_zone: Europe/Madrid", "time_zone: UTC", true},
		{"horizon: [[0, 5], [90, 12.5], [180, -3]]", "horizon: [[180, -3], [360, 5], [90, 12.5]]", true},
		{"    count: 3\n", "", true},
		{"kind: tripod\n  height_mm: 900 ± 3 # legs half out", "height_mm: 900 ± 3\n  kind: tripod", true},
		{"latitude_deg: 36.9", "latitude_deg: 36.8", false},
		{"900 ± 3", "900 ± 4", false},
		{"900 ± 3", "901 ± 3", false},
		{"margin_mm: 30", "margin_mm: 31", false},
		{"[180, -3]", "[180, -2]", false},
		{"name: focuser", "name: focus", false},
		{"condition: shield on", "condition: focuser travel", false},
		{"turns: true}\n  guide", "turns: false}\n  guide", false},
		{"ra_to_deg: 110", "ra_to_deg: 111", false},
		{"at_limit: stops", "at_limit: flips", false},
		{"entry_step_deg: 0.5", "entry_step_deg: 1", false},
		{"earliest_flip_min: 5", "earliest_flip_min: 0", false},
		{"direction: [0, 0, 1]", "direction: [0, 1, 1]", false},
		{"  - [dew shield, main tube]", "  - [dew shield, camera]", false},
		{"allowed_bearings_deg: [0, 60]", "allowed_bearings_deg: [0, 61]", false},
		{"azimuth_from: true_north", "azimuth_from: polar_axis", false},
	} {
		if strings.Count(good, c.old) != 1 {
			t.Errorf("%q is there %d times", c.old, strings.Count(good, c.old))
			continue
		}
		if got := print(strings.Replace(good, c.old, c.new, 1)); (got == base) != c.same {
			t.Errorf("%q → %q: the same print %v, want %v", c.old, c.new, got == base, c.same)
		}
	}
}
