package main

import (
	"encoding/csv"
	"strings"
	"testing"
)

func TestTarget(t *testing.T) {
	t.Parallel()
	args := []string{"target", terrace, "m31", "--date", "2026-10-22", "--nights", "4"}
	d := valid(t, "target", must(t, done, append(args, "--format", "json")...))
	for _, k := range []string{"name", "object.designation", "ra_deg", "dec_deg", "apparent_ra_deg", "apparent_dec_deg", "limits.stop_h", "limits.resume_h", "limits.flip_h", "limits.idle_min",
		"stop_parts", "resume_parts", "room_percent.west", "advice.stop_min", "nights.0.night", "nights.0.target.usable", "fingerprint"} {
		at(t, d, k)
	}
	nights := d["nights"].([]any)
	if len(nights) != 4 || at(t, nights[2], "night") != "2026-10-24" || at(t, d, "stop_parts.0") != "leg 3" {
		t.Errorf("%d nights, stopped by %v", len(nights), d["stop_parts"])
	}
	// The night is what `legroom night` has for that target alone, and the limits what `legroom limits` has.
	one := valid(t, "night", must(t, done, "night", terrace, "--date", "2026-10-24", "--target", "m31", "--format", "json"))
	if a, b := at(t, nights[2], "target.sub_count"), at(t, one, "targets.0.sub_count"); a != b {
		t.Errorf("%v sub-exposures, the night has %v", a, b)
	}
	room := at(t, d, "room_percent").(map[string]any)
	west, east, either := room["west"].(float64), room["east"].(float64), room["either"].(float64)
	if either > west+east+1e-3 || either < max(west, east) || either > 100 || west <= 0 || east <= 0 {
		t.Errorf("room %v", room)
	}
	text := must(t, done, args...)
	narrow(t, "target", text)
	for _, want := range []string{"M 31 (Andromeda Galaxy", "filter wheel and leg 3 have no more room", "2026-10-24  20:53+2", "PLANNED, NOT CONFIRMED", "from memory"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in:\n%s", want, text)
		}
	}
	rows, err := csv.NewReader(strings.NewReader(must(t, done, append(args, "--format", "csv")...))).ReadAll()
	if err != nil || len(rows) != 5 || rows[3][0] != "2026-10-24" {
		t.Errorf("%v, %v", rows, err)
	}
	// Never up: no limits, and a reason.
	d = valid(t, "target", must(t, done, "target", karoo, "--target", "a field,150,70", "--nights", "1", "--format", "json"))
	if d["rises"] != false || d["limits"] != nil || d["object"] != nil || at(t, d, "nights.0.target.why_not") != "never above the horizon here" {
		t.Errorf("a target that never rises: %v, %v", d["rises"], d["limits"])
	}
	if text := must(t, done, "target", karoo, "--target", "a field,150,70", "--nights", "1"); !strings.Contains(text, "It never stands above the horizon here") {
		t.Error(text)
	}
}

func TestTargetSearch(t *testing.T) {
	d := valid(t, "objects", must(t, done, "target", "--search", "Orion", "--format", "json"))
	if at(t, d, "objects.0.designation") != "M 42" {
		t.Errorf("%v", d)
	}
	text := must(t, done, "target", "--search", "globular cluster")
	narrow(t, "search", text)
	if !strings.Contains(text, "M 13 (") || strings.Contains(text, "M 31 (") {
		t.Error(text)
	}
	rows, err := csv.NewReader(strings.NewReader(must(t, done, "target", "--search", "ngc 70", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) < 2 || rows[0][0] != "designation" || !strings.HasPrefix(rows[len(rows)-1][0], "NGC 70") {
		t.Errorf("%v, %v", rows, err)
	}
	if out := must(t, answerNo, "target", "--search", "no such thing"); !strings.Contains(out, "0 objects") {
		t.Error(out)
	}
}
