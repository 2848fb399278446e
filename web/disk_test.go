//go:build linux

package web

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"legroom/rig"
	"legroom/rig/smalldisk"
)

// A real disk that gets full, and one that may only be read: what cannot be saved is said, and nothing is lost or half there. It needs
// the right to mount in a name space of its own.
func TestSaveOnFullDisk(t *testing.T) {
	smalldisk.Try(t, "2m", func(d smalldisk.Disk) { saveOnFullDisk(t, d) })
}

func saveOnFullDisk(t *testing.T, d smalldisk.Disk) {
	t.Setenv("TMPDIR", d.Dir) // where the site's folder lies
	s := newSite(t)
	var r RigText
	s.post(200, "GET", "/api/rigs/terrace-riser", nil, &r)
	before := s.names()
	attempts := func(status int, why string) {
		t.Helper()
		set, err := rig.Load(filepath.Join(s.dir, "terrace-riser.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		night, err := set.Site.Evening(time.Now())
		if err != nil {
			t.Fatal(err)
		}
		for _, ask := range []struct {
			method, path string
			body         any
		}{
			{"PUT", "/api/rigs/terrace-riser", Saving{Text: r.Text + "# " + strings.Repeat("x", 5000) + "\n", Version: r.Version}},
			{"POST", "/api/rigs", json.RawMessage(beginning)},
			{"POST", "/api/rigs/terrace-riser/copies", map[string]string{"text": r.Text}},
			{"PUT", "/api/rigs/terrace-riser/setup", SetupSeen{Night: night, Fingerprint: set.Fingerprint(), Lines: set.SetupList(nil)}},
		} {
			var p struct{ Detail string }
			if strings.HasSuffix(ask.path, "setup") {
				s.post(422, ask.method, ask.path, ask.body, &p)
			} else {
				s.post(status, ask.method, ask.path, ask.body, &p)
			}
			if !strings.Contains(p.Detail, why) || !strings.Contains(p.Detail, "cannot be written") {
				t.Errorf("%s %s: %q", ask.method, ask.path, p.Detail)
			}
		}
		if now := s.names(); now != before || s.file("terrace-riser.yaml") != r.Text {
			t.Errorf("files before\n%s\nnow\n%s", before, now)
		}
	}
	filler := filepath.Join(d.Dir, "filler")
	d.Fill(filler)
	attempts(500, "no space left on device")
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	s.post(200, "PUT", "/api/rigs/terrace-riser", Saving{Text: r.Text + "# room again\n", Version: r.Version}, &r)
	d.ReadOnly()
	attempts(500, "read-only file system")
	d.Writable()
}
