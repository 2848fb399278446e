package main

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// Where there is next to no room, check says which parts leave none and what to measure; where a length cannot be so, that is an error.
func TestCheckTellsWhatLeavesNoRoom(t *testing.T) {
	unmeasured := newRig(t, "--mount", "strain-wave")
	said := strings.Join(strings.Fields(must(t, done, "check", unmeasured)), " ")
	for _, want := range []string{"no pose above the horizon has room", "leg 2 and declination housing at", "the tolerances take", "measure better support.height_mm (850 ± 85)"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not in\n%s", want, said)
		}
	}
	if said := must(t, done, "check", terrace); strings.Contains(said, "above the horizon has room") {
		t.Errorf("a rig with room:\n%s", said)
	}
	file := newRig(t)
	text := content(t, file) + "\nparts:\n  - name: boulder\n    frame: ground\n    shape: sphere\n    size_mm: [500 ± 1]\n    at_mm: [0 ± 1, 60 ± 1, 1140 ± 1]\n"
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	doc := valid(t, "check", must(t, answerNo, "check", file, "--format", "json"))
	first := doc["findings"].([]any)[0].(map[string]any)
	if first["level"] != "error" || first["path"] != "parts[0]" || !strings.Contains(first["text"].(string), "boulder and ") || !strings.Contains(first["text"].(string), "wherever the tube points") {
		t.Errorf("%v", first)
	}
}

// Of a rig that cannot be as it says, check tells what is wrong, with key and line, before all else, and advises on no better measure.
func TestCheckAdvisesOnNothingBesideErrors(t *testing.T) {
	file := newRig(t)
	text := content(t, file) + "\nparts:\n  - name: railing\n    frame: ground\n    shape: box\n    size_mm: [40, 40, 1000]\n    at_mm: [0, 60, 900]\n"
	rewritten(t, file, text)
	said := strings.Join(strings.Fields(must(t, answerNo, "check", file)), " ")
	first, _, _ := strings.Cut(said, " WARNING ")
	line := strings.Count(text[:strings.Index(text, "size_mm: [40")], "\n") + 1
	if want := fmt.Sprintf("railing (parts[0], line %d)", line); !strings.Contains(first, "ERRORS FOUND: see below. ERROR ") || !strings.Contains(first, want) {
		t.Errorf("no %q at the beginning of\n%s", want, said)
	}
	for _, no := range []string{"measure better", "measure the first ones better", "measure support"} {
		if strings.Contains(said, no) {
			t.Errorf("%q is in\n%s", no, said)
		}
	}
}
