package web

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const beginning = `{"name": "New", "latitude_deg": 40, "longitude_deg": 3, "time_zone": "UTC", "support": "tripod", "mount": "counterweighted", "tube": "newtonian",
	"answers": {"height": "912 ± 4"}}`

// What a new rig would be is answered, and nothing is written; writing it then gives the same text.
func TestBegin(t *testing.T) {
	s := newSite(t)
	before := s.names()
	var would Edited
	s.post(200, "POST", "/api/begin", json.RawMessage(beginning), &would)
	if len(would.Doc.Errors) > 0 || !strings.Contains(would.Text, "height_mm: 912 ± 4") {
		t.Errorf("it would be\n%s\nwith %v", would.Text, would.Doc.Errors)
	}
	s.get(422, "POST", "/api/begin", strings.Replace(beginning, "912 ± 4", "high", 1))
	if now := s.names(); before != now {
		t.Errorf("files before\n%s\nnow\n%s", before, now)
	}
	var is RigText
	s.post(200, "POST", "/api/rigs", json.RawMessage(beginning), &is)
	if is.Text != would.Text {
		t.Error("what was written is not what it would be")
	}
}

// A draft is kept beside a rig's file, which stays as it is, and over nothing that is there; out of the folder goes nothing.
func TestCopies(t *testing.T) {
	s := newSite(t)
	was := s.file("terrace-riser.yaml")
	for _, want := range []string{"terrace-riser-copy", "terrace-riser-copy-2"} {
		var got RigText
		s.post(200, "POST", "/api/rigs/terrace-riser/copies", json.RawMessage(`{"text": "legroom: 1 # mine"}`), &got)
		if got.ID != want || s.file(want+".yaml") != "legroom: 1 # mine" {
			t.Errorf("got %s, want %s, which holds %q", got.ID, want, s.file(want+".yaml"))
		}
	}
	if s.file("terrace-riser.yaml") != was {
		t.Error("the rig's own file was changed")
	}
	outside := t.TempDir()
	if err := os.Symlink(outside, filepath.Join(s.dir, "dir")); err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"..%2Fx", "dir%2Fx", ".x"} {
		s.get(404, "POST", "/api/rigs/"+id+"/copies", `{"text": "a: 1"}`)
	}
	if left, err := os.ReadDir(outside); err != nil || len(left) > 0 {
		t.Errorf("outside of the folder: %v %v", left, err)
	}
}
