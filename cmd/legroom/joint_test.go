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

// A pose that the axes do not reach is not free, however much room there is, and slew refuses it too.
func TestPoseBeyondTravel(t *testing.T) {
	path := filepath.Join(t.TempDir(), "karoo.yaml")
	text := content(t, "../../examples/karoo-newtonian.yaml")
	const travel = "{ra_from_deg: -170, ra_to_deg: 170,"
	if !strings.Contains(text, travel) {
		t.Fatalf("no %q", travel)
	}
	at := []string{"pose", path, "--hour-angle-h", "-1", "--dec-deg", "-60", "--side", "west"} // RA axis 75°
	rewritten(t, path, text)
	must(t, done, at...)
	rewritten(t, path, strings.Replace(text, travel, "{ra_from_deg: -70, ra_to_deg: 70,", 1))
	if out := must(t, answerNo, at...); !strings.Contains(out, "NOT FREE, the axes do not reach this pose: RA axis 75") {
		t.Error(out)
	}
	if p := valid(t, "pose", must(t, answerNo, append(at, "--format", "json")...)); p["free"] != false || p["out_of_travel"] == nil {
		t.Errorf("free: %v, out of travel: %v", p["free"], p["out_of_travel"])
	}
	lines := legroom(t, "west,-1,-60\nwest,-3,-60\n", "poses", path, "--input", "-", "--format", "csv")
	if !strings.Contains(lines.out, ",false,") || !strings.Contains(lines.out, ",true,") {
		t.Error(lines.out)
	}
	if r := legroom(t, "", "slew", path, "--from", "west,-3,-60", "--to", "west,-1,-60"); r.code == done {
		t.Error(r.out)
	}
	if help := must(t, done, "pose", "--help"); strings.Contains(help, `(default "west")`) {
		t.Error("a flag that is required has a default")
	}
}
