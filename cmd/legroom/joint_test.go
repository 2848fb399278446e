package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"legroom/examples"
)

// A joint that the axes break is told by check and refused by everything that would have to prove something.
func TestJointThatDoesNotHold(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, examples.Files); err != nil {
		t.Fatal(err)
	}
	mount := filepath.Join(dir, "terrace", "mount.yaml")
	data, err := os.ReadFile(mount)
	if err != nil {
		t.Fatal(err)
	}
	broken := strings.Replace(string(data), "[motor box, saddle]", "[leg 1, filter wheel]", 1)
	if err := os.WriteFile(mount, []byte(broken), 0o644); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "terrace-long-refractor.yaml")
	for _, c := range []struct {
		args string
		code int
	}{
		{"check", answerNo},
		{"limits", wrongUse},
		{"pose --hour-angle-h 0 --dec-deg 37 --side west", wrongUse},
		{"slew --from park --to home", wrongUse},
		{"card --output " + filepath.Join(dir, "card.pdf"), wrongUse},
	} {
		words := strings.Fields(c.args)
		var out, errs strings.Builder
		code := run(append([]string{words[0], file}, words[1:]...), strings.NewReader(""), &out, &errs)
		if said := out.String() + errs.String(); code != c.code || !strings.Contains(said, "joint") || !strings.Contains(said, "filter wheel") {
			t.Errorf("%s: code %d, want %d: %s", c.args, code, c.code, errs.String())
		}
	}
}
