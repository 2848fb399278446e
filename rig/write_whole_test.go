package rig

import (
	"path/filepath"
	"testing"
)

// The document that stands alone is the same rig, wherever it is read.
func TestWhole(t *testing.T) {
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) < 5 {
		t.Fatal(files, err)
	}
	for _, file := range append(files, "testdata/good.yaml") {
		r := load(t, file)
		again, err := Parse(r.Whole(), "")
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		if again.Fingerprint() != r.Fingerprint() || again.Site.TimeZone != r.Site.TimeZone || again.Masses() != r.Masses() {
			t.Errorf("%s: another rig", file)
		}
	}
}
