package main

import (
	"encoding/xml"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The files with which the watch starts by itself name options that the command has.
func TestUnattendedOptions(t *testing.T) {
	unit := content(t, "../../docs/legroom-watch.service")
	line := regexp.MustCompile(`(?m)^ExecStart=(.*)$`).FindStringSubmatch(unit)
	if line == nil {
		t.Fatal("no ExecStart")
	}
	var task struct {
		Arguments string `xml:"Actions>Exec>Arguments"`
	}
	if err := xml.Unmarshal([]byte(content(t, "../../docs/legroom-watch.xml")), &task); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string][]string{"unit": strings.Fields(line[1])[1:], "task": strings.Fields(task.Arguments)} {
		if len(args) < 3 || args[0] != "watch" {
			t.Errorf("%s: %q", name, args)
			continue
		}
		var s watching
		c := newWatch()
		c.ResetFlags()
		s.define(c)
		if err := c.ParseFlags(args[1:]); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := s.options(c); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if got, err := mountAddress(s.mount); err != nil || got != s.mount {
			t.Errorf("%s: %s %v", name, got, err)
		}
	}
}

// The unit says what systemd understands.
func TestUnit(t *testing.T) {
	tool, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("SKIPPED: systemd-analyze is not here, so the unit's syntax is not checked")
	}
	me, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "legroom-watch.service")
	unit := strings.ReplaceAll(content(t, "../../docs/legroom-watch.service"), "/usr/local/bin/legroom", me)
	if err := os.WriteFile(path, []byte(unit), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "verify", "--man=no", path).CombinedOutput()
	for line := range strings.Lines(string(out)) {
		if strings.Contains(line, "legroom-watch") {
			t.Error(strings.TrimSpace(line))
		}
	}
	if err != nil {
		t.Errorf("%v: %s", err, out)
	}
}
