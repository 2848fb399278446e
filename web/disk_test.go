//go:build linux

package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"legroom/rig"
)

// smallDisk makes the test's own program try a small disk of its own in a name space of its own.
const smallDisk = "LEGROOM_WEB_DISK"

// A real disk that gets full, and one that may only be read: what cannot be saved is said, and nothing is lost or half there. It needs
// the right to mount in a name space of its own.
func TestSaveOnFullDisk(t *testing.T) {
	if dir := os.Getenv(smallDisk); dir != "" {
		saveOnFullDisk(t, dir)
		return
	}
	c := exec.Command(os.Args[0], "-test.run=^TestSaveOnFullDisk$", "-test.v")
	c.Env = append(os.Environ(), smallDisk+"="+t.TempDir())
	c.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}}
	out, err := c.CombinedOutput()
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.ENOSPC) || bytes.Contains(out, []byte("--- SKIP")) {
		t.Skipf("SKIPPED: no name space of its own here, so no disk is filled: %v %s", err, out)
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}

func saveOnFullDisk(t *testing.T, disk string) {
	if err := syscall.Mount("small", disk, "tmpfs", 0, "size=2m"); err != nil {
		t.Skip(err)
	}
	t.Setenv("TMPDIR", disk) // where the site's folder lies
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
	filler := filepath.Join(disk, "filler")
	f, err := os.Create(filler)
	if err != nil {
		t.Fatal(err)
	}
	for err == nil {
		_, err = f.Write(make([]byte, 4096))
	}
	f.Close()
	attempts(500, "no space left on device")
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	s.post(200, "PUT", "/api/rigs/terrace-riser", Saving{Text: r.Text + "# room again\n", Version: r.Version}, &r)
	if err := syscall.Mount("small", disk, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	attempts(500, "read-only file system")
	if err := syscall.Mount("small", disk, "tmpfs", syscall.MS_REMOUNT, ""); err != nil {
		t.Fatal(err)
	}
}
