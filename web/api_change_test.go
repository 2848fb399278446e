package web

import (
	"encoding/json"
	"strings"
	"testing"

	"legroom/report"
	"legroom/rig"
)

// Variants stand side by side with the rig as it is; nothing is written.
func TestChange(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	files := s.names()
	const id = "terrace-long-refractor"
	targets := "- {name: high, ra_deg: 10, dec_deg: 37}\n"
	ask := func(more map[string]any) map[string]any {
		q := map[string]any{"id": id, "date": "2026-11-26", "targets": targets}
		for k, v := range more {
			q[k] = v
		}
		return q
	}
	var names []ShortDoc
	if err := json.Unmarshal([]byte(s.get(200, "GET", "/api/change/names", "")), &names); err != nil || len(names) == 0 || names[0].Name != "riser" {
		t.Fatal(names, err)
	}
	var c Compared
	if p := s.worked("/api/change/compare", ask(map[string]any{"variants": []VariantAsk{
		{"taller", []EditAsk{{Path: "riser", Value: "200"}}},
		{"turned", []EditAsk{{Path: "leg-azimuth", Value: "60"}}},
	}}), &c); p != nil {
		t.Fatal(p)
	}
	v := c.Doc.Variants
	if len(v) != 3 || len(c.Texts) != 3 || v[1].Name != "taller" || v[0].Fingerprint == v[1].Fingerprint || len(v[1].Differences) == 0 {
		t.Fatalf("%+v", v)
	}
	if !(v[1].RoomPercent.Either > v[0].RoomPercent.Either) {
		t.Errorf("a riser of 200 mm gives %.1f%% of room, none gives %.1f%%", v[1].RoomPercent.Either, v[0].RoomPercent.Either)
	}
	r, err := rig.Parse([]byte(c.Texts[1]), s.dir+"/"+id+".yaml")
	if err != nil || r.Fingerprint() != v[1].Fingerprint || r.Support.Extension == nil {
		t.Errorf("the text of the variant: %v, %v", r, err)
	}
	for _, bad := range []struct {
		edit EditAsk
		want string
	}{
		{EditAsk{Path: "riser", Value: "high"}, "not a number"},
		{EditAsk{Path: "nothing", Value: "1"}, "nothing"},
		{EditAsk{Path: "tube", File: "../tube.yaml"}, "no path in the served folder"},
	} {
		if p := s.worked("/api/change/compare", ask(map[string]any{"variants": []VariantAsk{{"bad", []EditAsk{bad.edit}}}}), &c); p == nil || !strings.Contains(p.Detail, bad.want) {
			t.Errorf("%+v: %v", bad.edit, p)
		}
	}

	// The chart over a riser has the room of the variant at the variant's height, to what its coarser cells leave.
	var scan Scanned
	if p := s.worked("/api/change/scan", ask(map[string]any{"aim": "no-idle", "points": 2, "variables": []VaryAsk{{"riser", 0, 200}}}), &scan); p != nil {
		t.Fatal(p)
	}
	if len(scan.Cells) != 2 || scan.MissUnit != "min" || scan.Variables[0].At[1] != 200 {
		t.Fatalf("%+v", scan)
	}
	for i, want := range []report.ShareDoc{v[0].RoomPercent, v[1].RoomPercent} {
		if got := scan.Cells[i].Room; got > want.Either+0.1 || got < want.Either-4 {
			t.Errorf("room at %g mm: %.2f%%, compared %.2f%%", scan.Variables[0].At[i], got, want.Either)
		}
	}
	var found Solved
	if p := s.worked("/api/change/solve", ask(map[string]any{"aim": "no-idle", "variables": []VaryAsk{{"leg-azimuth", -60, 60}}}), &found); p != nil {
		t.Fatal(p)
	}
	if found.Doc.Aim != "no-idle" || found.Doc.Certified.Of != "price" || (found.Doc.Best == nil) != (found.Text == nil) {
		t.Errorf("%+v", found.Doc)
	}
	for aim, want := range map[string]string{"more": "aim", "past=x": "past"} {
		if p := s.worked("/api/change/solve", ask(map[string]any{"aim": aim, "variables": []VaryAsk{{"riser", 0, 100}}}), &found); p == nil || !strings.Contains(p.Detail, want) {
			t.Errorf("%s: %v", aim, p)
		}
	}
	if s.names() != files {
		t.Error("a question wrote a file")
	}
}

// What a season loses for want of a proven way from park stands by itself, beside all that it loses: the rig and the target of night's
// TestSeasonWithoutAWayFromPark.
func TestChangeNamesWhatHasNoWay(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	equator := VariantAsk{"equator", []EditAsk{{Path: "site.latitude_deg", Value: "0"}, {Path: "mount.polar_axis.altitude_deg", Value: "0"},
		{Path: "site.longitude_deg", Value: "30"}, {Path: "site.time_zone", Value: "Africa/Kampala"}}}
	var got Compared
	if p := s.worked("/api/change/compare", map[string]any{"id": "karoo-newtonian", "date": "2026-05-10", "months": 1, "lost": "season", "variants": []VariantAsk{equator},
		"targets": "- {name: a, ra_deg: 200, dec_deg: 30}\n"}, &got); p != nil {
		t.Fatal(p)
	}
	v := got.Doc.Variants[1]
	if v.LostSum == nil || v.NoWaySum == nil || !(*v.NoWaySum > 0 && *v.NoWaySum <= *v.LostSum) {
		t.Errorf("%+v", v)
	}
}
