package web

import (
	"slices"
	"testing"

	"legroom/rig"
)

func TestSettings(t *testing.T) {
	r, err := rig.Load("../rig/testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]Setting{}
	for _, s := range settings(r) {
		if _, twice := got[s.Path]; twice {
			t.Errorf("%s is listed twice", s.Path)
		}
		got[s.Path] = s
	}
	for path, want := range map[string]string{
		"support.kind":                      "tripod",
		"support.legs.count":                "3",
		"support.legs.section":              "round",
		"support.allowed_bearings_deg[1]":   "60",
		"mount.travel.ra_from_deg":          "-110",
		"mount.travel.dec_to_deg":           "180", // left out there
		"mount.slew.axis_order":             "both_at_once",
		"mount.own_rules.earliest_flip_min": "5",
		"tube.train.outlet":                 "back",
		"tube.train.rotator.sweep_to_deg":   "180",
		"tube.train.items[1].name":          "filter wheel",
		"tube.train.items[1].turns":         "true",
		"tube.train.items[0].beside":        "false",
		"tube.parts[0].direction[2]":        "1",
		"conditions[0].name":                "shield on",
	} {
		if s, ok := got[path]; !ok || s.Value != want {
			t.Errorf("%s: got %q, want %q", path, s.Value, want)
		}
	}
	// A tripod has no modulus of elasticity, a column on it has one, not said.
	for _, path := range []string{"support.material", "support.modulus_gpa"} {
		if s, ok := got[path]; ok {
			t.Errorf("a tripod is asked for %+v", s)
		}
	}
	if s, ok := got["support.extension.modulus_gpa"]; !ok || s.Value != "" || s.Kind != "number" {
		t.Errorf("modulus of the extension: got %+v, %v", s, ok)
	}
	if s := got["support.legs.section"]; s.Kind != "choice" || !slices.Equal(s.Choices, []string{"round", "square"}) {
		t.Errorf("section of the legs: got %+v", s)
	}
	if s := got["mount.entry_step_deg"]; s.Min == nil || *s.Min != 0 || !s.Above || s.Max == nil || *s.Max != 30 {
		t.Errorf("bounds of the entry step: got %+v", s)
	}
	for path := range got {
		for _, q := range r.Quantities {
			if q.Path == path {
				t.Errorf("%s is a quantity", path)
			}
		}
	}
}
