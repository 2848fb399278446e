package main

import (
	"fmt"
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

// A joint takes a gap out of every count: of parts that the axes move against each other check and the set-up list say so, with how deep
// they overlap, and no error offers one between a part of the support and one that turns.
func TestJointThatHidesAGap(t *testing.T) {
	file := newRig(t, "--support", "pier")
	right := content(t, file)
	wrong := strings.Replace(right, "    offset_mm: ", "    offset_mm: -", 1) // a sign that is easily mistaken
	if wrong == right {
		t.Fatal("no offset")
	}
	joined := "joints:\n  - [pier, counterweight 2]\n"
	const hidden = "joints[0], line %d: pier and counterweight 2 are joined and move against each other: their gap counts nowhere: if they can meet, nothing here will say so;"
	for _, c := range []struct {
		name, text string
		code       int
		has, hasNo []string
	}{
		{"right", right, done, nil, []string{"counts nowhere"}},
		{"joined", right + joined, done, []string{fmt.Sprintf(hidden, rows(right)+2) + " take the joint out, unless"}, []string{"mount base and"}},
		{"wrong", wrong, answerNo, []string{
			"(support, line ", "(mount.counterweights.weights[1], line ", "counterweight-down at the pole: correct a length",
			"mount base and counterweight 1 are joined and move against each other", "mm counterweight-down at the pole: correct a length"},
			[]string{"name them under"}},
		{"wrong, base not joined", strings.Replace(wrong, "    - [mount base, counterweight 1]\n", "", 1), answerNo,
			[]string{"or name them under mount.joints if they were built to pass each other"}, nil},
		{"wrong and joined", wrong + joined, answerNo, []string{fmt.Sprintf(hidden, rows(wrong)+2) + " they overlap by "}, nil},
	} {
		rewritten(t, file, c.text)
		said := strings.Join(strings.Fields(must(t, c.code, "check", file)), " ")
		for _, want := range c.has {
			if !strings.Contains(said, want) {
				t.Errorf("%s: %q is not in\n%s", c.name, want, said)
			}
		}
		for _, no := range c.hasNo {
			if strings.Contains(said, no) {
				t.Errorf("%s: %q is in\n%s", c.name, no, said)
			}
		}
	}
	rewritten(t, file, right+joined)
	if said := strings.Join(strings.Fields(must(t, done, "confirm", file, "--all")), " "); !strings.Contains(said, "pier and counterweight 2 are joined") {
		t.Errorf("the set-up list says nothing of the joint:\n%s", said)
	}
	if u := valid(t, "confirm", must(t, done, "confirm", file, "--show", "--format", "json"))["uncounted"].([]any); len(u) != 1 {
		t.Errorf("%v", u)
	}
}

func rows(text string) int { return strings.Count(text, "\n") }

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
