package main

import (
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"legroom/rig"
)

func TestVersion(t *testing.T) {
	t.Parallel()
	v := valid(t, "version", must(t, done, "version", "--format", "json"))
	if v["document"] != float64(rig.FormatVersion) || !strings.HasPrefix(at(t, v, "go").(string), "go1.") {
		t.Errorf("%v", v)
	}
	if r := legroom(t, "", "version"); r.code != done || !strings.Contains(r.out, "rig documents of version 1") {
		t.Errorf("code %d: %s", r.code, r.out)
	}
}

// stateOf is what the doctor says about something; empty when it says nothing.
func stateOf(doc map[string]any, about string) (state, says string) {
	for _, f := range doc["findings"].([]any) {
		if g := f.(map[string]any); g["about"] == about {
			return g["state"].(string), g["says"].(string)
		}
	}
	return "", ""
}

func TestDoctor(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	wrong := t.TempDir()
	if err := os.WriteFile(filepath.Join(wrong, "a.yaml"), []byte("legroom: 1\nname: [\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what         string
		code         int
		args         []string
		about, state string
		says         string
	}{
		{"the examples", done, []string{filepath.Dir(terrace)}, "rig", good, "fingerprint"},
		{"their map", done, []string{filepath.Dir(terrace)}, "speed", good, " ms here"},
		{"an empty folder", done, []string{t.TempDir()}, "rigs", look, "legroom new"},
		{"no folder", answerNo, []string{filepath.Join(wrong, "none")}, "folder", bad, "there is no folder"},
		{"a file", answerNo, []string{file}, "folder", bad, "is a file"},
		{"a rig that is no YAML", answerNo, []string{wrong}, "rig", bad, "a.yaml:2"},
		{"a port that is taken", done, []string{t.TempDir(), "--listen", taken.Addr().String()}, "port", look, taken.Addr().String()},
		{"no mount there", answerNo, []string{t.TempDir(), "--mount", "alpaca://127.0.0.1:1/0"}, "mount", bad, "127.0.0.1:1"},
		{"no address", answerNo, []string{t.TempDir(), "--mount", "serial"}, "mount", bad, "serial"},
	} {
		doc := valid(t, "doctor", must(t, c.code, append([]string{"doctor", "--format", "json"}, c.args...)...))
		if state, says := stateOf(doc, c.about); state != c.state || !strings.Contains(says, c.says) {
			t.Errorf("%s: %s is %s: %q", c.what, c.about, state, says)
		}
	}
	for _, l := range strings.Split(legroom(t, "", "doctor", filepath.Dir(terrace)).out, "\n") {
		if n := len([]rune(l)); n > 100 {
			t.Errorf("%d columns: %s", n, l)
		}
	}
}

// A mount that is asked tells its clock and site; one that is a year off is bad.
func TestDoctorAsksTheMount(t *testing.T) {
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "rig.yaml"), []byte(content(t, karoo)), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		code  int
		args  []string
		state string
	}{
		{done, nil, good},
		{answerNo, []string{"--at", "2025-11-25T21:00:00Z"}, bad},
	} {
		mount, stop := startSim(t, append([]string{karoo, "--alpaca", "127.0.0.1:0", "--control", "127.0.0.1:0"}, c.args...)...)
		doc := valid(t, "doctor", must(t, c.code, "doctor", folder, "--mount", mount.Alpaca, "--format", "json"))
		for about, want := range map[string]string{"mount": good, "mount's clock": c.state, "mount's site": good} {
			if state, says := stateOf(doc, about); state != want {
				t.Errorf("%q: %s is %s: %q, want %s", c.args, about, state, says, want)
			}
		}
		if err := stop(); err != nil {
			t.Error(err)
		}
	}
}

// There is a manual page of every command that has help.
func TestMan(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	wrote := valid(t, "wrote", must(t, done, "man", folder, "--format", "json"))
	if n := len(wrote["wrote"].([]any)); n < len(newRoot().Commands()) {
		t.Errorf("%d pages", n)
	}
	for _, c := range newRoot().Commands() {
		if page := content(t, filepath.Join(folder, "legroom-"+c.Name()+".1")); !strings.Contains(page, ".SH NAME") || !strings.Contains(page, "EXAMPLE") {
			t.Errorf("%s: %s", c.Name(), page)
		}
	}
	if r := legroom(t, "", "man", filepath.Join(folder, "none")); r.code != wrongUse || !strings.Contains(r.errors, "make it first") {
		t.Errorf("code %d: %s", r.code, r.errors)
	}
}
