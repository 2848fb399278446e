package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The quick start of the README works as it stands there: each line in turn, in an empty folder.
func TestQuickStart(t *testing.T) {
	_, rest, ok := strings.Cut(content(t, "../../README.md"), "## Quick start\n")
	if !ok {
		t.Fatal("README.md has no quick start")
	}
	rest, _, _ = strings.Cut(rest, "\n## ")
	rest = strings.ReplaceAll(rest, "\\\n", " ")
	t.Chdir(t.TempDir())
	measures := "905 ± 3\n\n12 ± 2\nabout half a metre\n300 ± 3\n" + strings.Repeat("\n", 12) // the fourth is asked again
	ran := 0
	for _, l := range strings.Split(rest, "\n") {
		line, ok := strings.CutPrefix(strings.TrimSpace(l), "legroom ")
		if !ok || !strings.HasPrefix(l, "    ") {
			continue
		}
		line, _, _ = strings.Cut(line, " #")
		var args []string
		for _, w := range regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(line, -1) {
			args = append(args, strings.Trim(w, `"`))
		}
		ran++
		answers := strings.Repeat("y\n", 10) // to the set-up list
		if slices.Contains(args, "--ask") {
			answers = measures
		}
		r := legroom(t, answers, args...)
		if r.code == wrongUse || r.out == "" {
			t.Errorf("legroom %s: code %d, %s", line, r.code, r.errors)
		}
		if i := slices.Index(args, "--output"); i >= 0 {
			if len(content(t, args[i+1])) < 1000 || !strings.Contains(r.out, "wrote "+args[i+1]+"\n") {
				t.Errorf("legroom %s: hardly anything in %s, or it is not named: %s", line, args[i+1], r.out)
			}
		}
		if slices.Contains(args, "--ask") {
			if !strings.Contains(r.errors, `"about half a metre" is not a number`) {
				t.Errorf("a wrong answer was not asked again: %s", r.errors)
			}
			for _, want := range []string{"height_mm: 905 ± 3", "first_azimuth_deg: 12 ± 2", "foot_radius_mm: 520 unmeasured", "height_mm: 300 ± 3"} {
				if !strings.Contains(content(t, "mine.yaml"), want) {
					t.Errorf("%q is not in the new rig", want)
				}
			}
		}
	}
	if ran < 8 {
		t.Errorf("the quick start has only %d commands", ran)
	}
}

// What the README shows or names is there.
func TestREADMELinks(t *testing.T) {
	for _, m := range regexp.MustCompile(`\]\(([^)]+)\)`).FindAllStringSubmatch(content(t, "../../README.md"), -1) {
		if _, err := os.Stat(filepath.Join("../..", m[1])); err != nil {
			t.Errorf("README.md: %v", err)
		}
	}
}

// The demo writes everything about every example rig, and says what; a second one does not write over it.
func TestDemo(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("SKIPPED in short mode: the demo works out five rigs")
	}
	dir := filepath.Join(t.TempDir(), "demo")
	doc := valid(t, "wrote", must(t, done, "demo", "--out", dir, "--format", "json"))
	var wrote []string
	for _, f := range doc["wrote"].([]any) {
		wrote = append(wrote, f.(string))
	}
	for _, rig := range exampleRigs(t) {
		name := strings.TrimSuffix(filepath.Base(rig), ".yaml")
		for kind, start := range map[string]string{"limits.txt": "", "card.pdf": "%PDF", "scene.glb": "glTF", "map.svg": "<svg ", "map.png": "\x89PNG", "dome.svg": "<svg ", "dome.png": "\x89PNG"} {
			path := filepath.Join(dir, name+"-"+kind)
			if s := content(t, path); len(s) < 1000 || !strings.HasPrefix(s, start) || !slices.Contains(wrote, path) {
				t.Errorf("%s: %d bytes that start with %.10q; named: %v", path, len(s), s, slices.Contains(wrote, path))
			}
		}
		narrow(t, name, content(t, filepath.Join(dir, name+"-limits.txt")))
		must(t, done, "check", filepath.Join(dir, "rigs", filepath.Base(rig)))
	}
	if r := legroom(t, "", "demo", "--out", dir); r.code != wrongUse || !strings.Contains(r.errors, "give a new folder") {
		t.Errorf("a second demo in the same folder: code %d, %s", r.code, r.errors)
	}
}
