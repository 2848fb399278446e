package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"legroom/report"
)

// The load of every example is what its schema says, with a unit in every key, fits the width of text, and every part of it weighs; and
// over all declinations it stands, with cables that reach. What a loop may touch takes most of the time, and a band shows its keys.
func TestLoad(t *testing.T) {
	t.Parallel()
	for _, rig := range exampleRigs(t) {
		rows, err := csv.NewReader(strings.NewReader(must(t, done, "load", rig, "--step-deg", "30", "--format", "csv"))).ReadAll() // done: it stands
		if err != nil || len(rows) < 20 || rows[0][9] != "push_n" {
			t.Errorf("%s: %v, %v", rig, rows, err)
		}
		text := must(t, done, "load", rig, "--format", "json", "--step-deg", "15", "--declinations", "10..20")
		doc := valid(t, "load", text)
		for _, k := range []string{"mass_kg", "missing_mass", "balance.declination.moment_n_m", "balance.ra.left_n_m", "tipping.anchored", "cables.0.slack_mm", "cables.0.spans.0.leave_mm",
			"cables.0.spans.0.left.below_mm", "cables.0.spans.0.loose.parts.0.touch", "cables.0.spans.0.loose.parts.0.gap_proven_mm",
			"by_pose.0.centre_of_mass_mm", "by_pose.0.slack_mm.0", "methods.0.source", "fingerprint"} {
			at(t, doc, k)
		}
		if missing := at(t, doc, "missing_mass").([]any); len(missing) > 0 || doc["stands_as_asked"] != true {
			t.Errorf("%s: no mass for %v; stands as asked %v", rig, missing, doc["stands_as_asked"])
		}
		haveUnits(t, doc)
		var d report.LoadDoc
		var b strings.Builder
		if err := json.Unmarshal([]byte(text), &d); err != nil {
			t.Fatal(err)
		}
		if err := report.WriteLoad(&b, d); err != nil {
			t.Fatal(err)
		}
		narrow(t, rig, b.String())
	}
}

// haveUnits tells that a unit stands in the key of every number, or the number is a share, a count or an angle's name.
func haveUnits(t *testing.T, doc any) {
	t.Helper()
	units := []string{"_mm", "_kg", "_n", "_n_m", "_deg", "_h", "_m_per_s", "_hz", "_arcsec", "_kg_mm"}
	var walk func(path string, v any)
	walk = func(path string, v any) {
		switch x := v.(type) {
		case map[string]any:
			for k, w := range x {
				// found and proven carry the unit of the key that they stand under.
				if k == "found" || k == "proven" {
					k = path[strings.LastIndex(path, ".")+1:]
				}
				walk(path+"."+k, w)
			}
		case []any:
			for _, w := range x {
				walk(path, w)
			}
		case float64:
			for _, u := range units {
				if strings.HasSuffix(path, u) {
					return
				}
			}
			t.Errorf("%s has no unit", path)
		}
	}
	walk("", doc)
}

// What it does not stand, and a cable that is too short, end with 1; wrong use with 2.
func TestLoadSaysNo(t *testing.T) {
	t.Parallel()
	// Bands of declination: what is refused there is refused over all.
	narrow(t, "refusal", must(t, answerNo, "load", terrace, "--stand-push-n", "500", "--declinations", "10..20"))
	must(t, done, "load", terrace, "--stand-push-n", "5", "--declinations", "10..20")
	short := filepath.Join(filepath.Dir(newRig(t)), "short.yaml")
	text := strings.Replace(content(t, karoo), "length_mm: 2300 ± 10", "length_mm: 1500 ± 10", 1)
	if err := os.WriteFile(short, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if out := must(t, answerNo, "load", short, "--declinations", "-20..-10"); !strings.Contains(out, "TOO SHORT by") {
		t.Errorf("%s", out)
	}
	// A rig from the templates has hardly a mass: that is said first, nothing is guessed, and nobody is told to move a weight.
	bare := newRig(t)
	out := strings.Join(strings.Fields(must(t, answerNo, "load", bare, "--stand-push-n", "1")), " ")
	for _, words := range []string{"My rig NO MASS IN THE DOCUMENT, counted as nothing: tripod,", "BALANCE NOT KNOWN: without the mass of declination housing,", "TIPPING NOT KNOWN",
		"WHETHER IT STANDS WHAT WAS ASKED IS NOT KNOWN"} {
		if !strings.Contains(out, words) {
			t.Errorf("%q is not in %s", words, out)
		}
	}
	must(t, answerNo, "load", bare, "--declinations", "10..20") // nor whether it stands by itself
	for _, order := range []string{"Slide the tube", "from the crossing, now", "kg of ballast", "NOT IN BALANCE", "It stands"} {
		if strings.Contains(out, order) {
			t.Errorf("%q is in %s", order, out)
		}
	}
	for _, args := range [][]string{{"--stand-push-n", "-1"}, {"--wind-m-per-s", "200"}, {"--step-deg", "0"}, {"--declinations", "60..10"}, {"--format", "xml"}} {
		if out := must(t, wrongUse, append([]string{"load", terrace}, args...)...); out != "" {
			t.Errorf("%v: %s", args, out)
		}
	}
}

// What the README quotes is what the command says.
func TestLoadInREADME(t *testing.T) {
	_, rest, ok := strings.Cut(content(t, "../../README.md"), "it says, among the rest:\n\n")
	if !ok {
		t.Fatal("README.md quotes no load")
	}
	quoted, _, _ := strings.Cut(rest, "\n\n")
	out := must(t, done, "load", "../../examples/terrace-riser.yaml", "--stand-push-n", "60", "--stand-wind-m-per-s", "15")
	narrow(t, "riser", out)
	for _, l := range strings.Split(quoted, "\n") {
		if !strings.Contains(out, strings.TrimSpace(l)) {
			t.Errorf("%q is not in:\n%s", l, out)
		}
	}
}
