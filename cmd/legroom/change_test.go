package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Variants stand beside the rig as it is, in every form, and are written beside it with its comments.
func TestChange(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples")); err != nil {
		t.Fatal(err)
	}
	rig := filepath.Join(dir, "terrace-long-refractor.yaml")
	args := []string{"change", rig, "--variant", "riser: riser=200", "--variant", "turned: leg-azimuth=60", "--target", "my field,80,36.9", "--date", "2026-11-25", "--no-lost"}
	doc := valid(t, "change", must(t, done, append(args, "--save", "mine", "--format", "json")...))
	variant := func(i int) any { return doc["variants"].([]any)[i] }
	for _, k := range []string{"room_percent.either", "idle_min.my field", "worst_gap_mm", "tipping.push_n", "tipping.wind_m_per_s", "bending.0.name",
		"counterweights.0.at_mm", "cables.0.slack_mm", "changes.0.path", "fingerprint"} {
		at(t, variant(1), k)
	}
	idle := func(i int) float64 { return at(t, variant(i), "idle_min.my field").(float64) }
	if idle(0) < 20 || idle(1) != 0 || idle(2) != 0 {
		t.Errorf("idle %v, %v, %v: the examples' README says some forty minutes, none and none", idle(0), idle(1), idle(2))
	}
	if d := at(t, variant(1), "differences").([]any); len(d) < 4 {
		t.Errorf("differences %v", d)
	}
	saved := content(t, filepath.Join(dir, "mine-2.yaml"))
	if !strings.Contains(saved, "# A terrace in southern Spain") || !strings.Contains(saved, "first_azimuth_deg: 60 ± 2") {
		t.Errorf("saved:\n%s", saved)
	}
	limits := valid(t, "limits", must(t, done, "limits", filepath.Join(dir, "mine-1.yaml"), "--format", "json"))
	if limits["fingerprint"] != at(t, variant(1), "fingerprint") {
		t.Error("the saved rig is not the one that was measured")
	}
	// Nothing is written over without being told.
	wrong := must(t, wrongUse, append(args, "--save", "mine")...)
	if content(t, filepath.Join(dir, "mine-2.yaml")) != saved {
		t.Error("written over: " + wrong)
	}
	narrow(t, "change", must(t, done, append(args, "--save", "mine", "--overwrite")...))
	rows, err := csv.NewReader(strings.NewReader(must(t, done, "change", pier, "--variant", "tall: support.height_mm=1200", "--variant", "slid: slide=5", "--target", "my field,80,36.9", "--no-lost",
		"--format", "csv"))).ReadAll()
	if err != nil || len(rows) != 4 || rows[0][0] != "variant" {
		t.Errorf("%v, %v", rows, err)
	}
}

// The solver says what is best, and how sure that is.
func TestSolve(t *testing.T) {
	t.Parallel()
	args := []string{"solve", terrace, "--vary", "riser=0..300", "--aim", "no-idle", "--target", "my field,80,36.9", "--date", "2026-11-25", "--work", "40"}
	doc := valid(t, "solve", must(t, done, append(args, "--format", "json")...))
	for _, k := range []string{"best.values.riser", "best.price", "best.meets", "certificate.bound", "certificate.off", "variants.0.room_percent.either", "variants.0.worst_gap_mm",
		"variants.0.tipping.push_n", "variants.0.bending", "front.0.first", "turning.text", "turning.enough"} {
		at(t, doc, k)
	}
	best, bound := at(t, doc, "best.values.riser").(float64), at(t, doc, "certificate.bound").(float64)
	if best < 20 || best > 250 || bound > best || at(t, doc, "best.meets") != true || at(t, doc["variants"].([]any)[1], "idle_min.my field") != 0.0 {
		t.Errorf("riser %v, bound %v", best, bound)
	}
	if s := at(t, doc, "turning.text").(string); !strings.Contains(s, "does what a riser of") {
		t.Errorf("turning: %s", s)
	}
	picture := filepath.Join(t.TempDir(), "riser.svg")
	must(t, done, "solve", pier, "--vary", "slide=-30..30", "--aim", "most-room", "--work", "20", "--points", "3", "--output", picture)
	if svg := content(t, picture); !strings.Contains(svg, "slide") || !strings.HasPrefix(svg, "<svg") {
		t.Error("no picture")
	}
	text := must(t, done, "solve", karoo, "--vary", "slide=-30..30", "--aim", "most-room", "--work", "20")
	narrow(t, "solve", text)
	if !strings.Contains(text, "Proven: nothing within these bounds leaves less than") {
		t.Errorf("no certificate:\n%s", text)
	}
	rows, err := csv.NewReader(strings.NewReader(must(t, done, "solve", pier, "--vary", "slide=-30..30", "--aim", "most-room", "--work", "20", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) < 10 || rows[0][0] != "slide_mm" {
		t.Errorf("%v, %v", rows, err)
	}
}

// Each wrong use of the two commands says what would be right.
func TestChangeWrongUse(t *testing.T) {
	for _, c := range []struct {
		args []string
		want []string
	}{
		{[]string{"change", terrace}, []string{"nothing to change", "--set"}},
		{[]string{"change", terrace, "--set", "riser"}, []string{"path=value"}},
		{[]string{"change", terrace, "--set", "support.legs.no_such=1"}, []string{"no_such"}},
		{[]string{"change", terrace, "--range", "riser=1..2"}, []string{"from..to..step"}},
		{[]string{"change", terrace, "--variant", "riser=200"}, []string{"a name and what it changes"}},
		{[]string{"change", terrace, "--set", "riser=1", "--save", "a/b"}, []string{"without a folder"}},
		{[]string{"change", terrace, "--set", "riser=1", "--save", "terrace-riser"}, []string{"there is a file", "--overwrite"}},
		{[]string{"change", terrace, "--set", "riser=1", "--overwrite"}, []string{"--save"}},
		{[]string{"change", terrace, "--swap", "tube=/no/such.yaml"}, []string{"copy it there"}},
		{[]string{"change", terrace, "--set", "rizer=60"}, []string{"legroom: rizer=60: there is no short name \"rizer\": did you mean riser? give riser, leg-azimuth", "a path of the document such as"}},
		{[]string{"change", terrace, "--set", "riser=60", "--variant", "two: leg-bearing=3"}, []string{"leg-bearing=3: there is no short name", "give riser, leg-azimuth"}},
		{[]string{"change", terrace, "--range", "leg-azimut=0..60..10"}, []string{"did you mean leg-azimuth?"}},
		{[]string{"solve", terrace, "--vary", "rizer=0..300", "--aim", "most-room"}, []string{"--vary rizer=0..300: there is no short name", "did you mean riser?"}},
		{[]string{"solve", terrace}, []string{"--vary, --aim missing"}},
		{[]string{"solve", terrace, "--vary", "riser", "--aim", "most-room"}, []string{"path=from..to"}},
		{[]string{"solve", terrace, "--vary", "riser=0..100", "--aim", "much"}, []string{"most-room, least-idle"}},
		{[]string{"solve", terrace, "--vary", "margin_mm=0..100", "--aim", "most-room"}, []string{"margin_mm"}},
		{[]string{"solve", terrace, "--vary", "riser=0..100", "--aim", "most-room", "--output", "x.pdf"}, []string{".svg or .png"}},
	} {
		r := legroom(t, "", c.args...)
		if r.code != wrongUse || r.out != "" {
			t.Errorf("legroom %s: code %d, %s", strings.Join(c.args, " "), r.code, r.out)
		}
		for _, w := range c.want {
			if !strings.Contains(r.errors, w) {
				t.Errorf("legroom %s says %q, not %q", strings.Join(c.args, " "), r.errors, w)
			}
		}
	}
}

// An error of one change begins with that change, once.
func TestChangeErrorOnce(t *testing.T) {
	for _, set := range []string{"badpath=3", "riser=x"} {
		r := legroom(t, "", "change", terrace, "--set", set)
		if r.code != wrongUse || strings.Count(r.errors, set) != 1 || !strings.HasPrefix(r.errors, "legroom: "+set+": ") {
			t.Errorf("code %d, %s", r.code, r.errors)
		}
	}
}

// A margin of 0 is one.
func TestChangeMargin(t *testing.T) {
	t.Parallel()
	var doc struct {
		Variants []struct {
			MarginMM float64 `json:"margin_mm"`
		}
	}
	out := must(t, done, "change", pier, "--set", "slide=10", "--margin", "0", "--target", "a,10,-60", "--no-lost", "--format", "json")
	if err := json.Unmarshal([]byte(out), &doc); err != nil || len(doc.Variants) != 2 || doc.Variants[0].MarginMM != 0 || doc.Variants[1].MarginMM != 0 {
		t.Errorf("%+v, %v", doc, err)
	}
}
