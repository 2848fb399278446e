package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"legroom/rig"
)

// terraceCopy copies the terrace rig with its files into a folder of its own, and loads it. It stands where it is about eight in
// the evening, so that no test runs across noon.
func terraceCopy(t *testing.T) *rig.Rig {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(filepath.Join(dir, "terrace"), os.DirFS("../../examples/terrace")); err != nil {
		t.Fatal(err)
	}
	east := (20-time.Now().UTC().Hour()+36)%24 - 12
	zone := fmt.Sprintf("Etc/GMT%+d", -east) // the sign in these names is turned round
	if east == 0 {
		zone = "UTC"
	}
	return rewritten(t, filepath.Join(dir, "mine.yaml"), strings.Replace(content(t, terrace), "Europe/Madrid", zone, 1))
}

func rewritten(t *testing.T, path, text string) *rig.Rig {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := rig.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// confirmedNow gives what limits says in both formats about tonight.
func confirmedNow(t *testing.T, r *rig.Rig, more ...string) (bool, string) {
	t.Helper()
	args := append([]string{"limits", r.Path, "--cell-deg", "2"}, more...)
	doc := valid(t, "limits", must(t, done, append(args, "--format", "json")...))
	yes, why := doc["confirmed"].(bool), doc["unconfirmed"].(string)
	text := strings.Join(strings.Fields(must(t, done, args...)), " ")
	if strings.Contains(text, "Set-up confirmed for the night of "+doc["night"].(string)) != yes || strings.Contains(text, "PLANNED, NOT CONFIRMED") == yes ||
		!strings.Contains(text, why) {
		t.Errorf("JSON says %v (%s), and the text: %.300s", yes, why, text)
	}
	return yes, why
}

func TestConfirm(t *testing.T) {
	r := terraceCopy(t)
	if yes, why := confirmedNow(t, r); yes || why != "nobody has confirmed the set-up yet" {
		t.Errorf("at first: %v, %s", yes, why)
	}
	out := must(t, answerNo, "confirm", r.Path, "--show")
	if !strings.Contains(out, "[ ] Leg bearing: leg 1 at 0° ± 2°, clockwise from true north") {
		t.Errorf("show: %s", out)
	}

	asked := legroom(t, "y\nmaybe\nYES\n y \ny\ny\ny\n", "confirm", r.Path)
	if asked.code != done || !strings.Contains(asked.out, "[x] Riser: no pier extension") || strings.Contains(asked.out, "NOBODY WAS ASKED") ||
		!strings.Contains(asked.errors, "6/6  Roof, cover, panel: cap on: either way [y/n]") || strings.Count(asked.errors, "answer y or n") != 1 {
		t.Fatalf("asked: code %d: %s%s", asked.code, asked.errors, asked.out)
	}
	narrow(t, "confirm", asked.out)
	valid(t, "setup", content(t, r.SetupFile()))
	if yes, why := confirmedNow(t, r); !yes || why != "" {
		t.Errorf("confirmed: %v, %s", yes, why)
	}
	// With a condition left out, or another margin, it is another answer than the one that was confirmed.
	if yes, why := confirmedNow(t, r, "--without", "cap on"); yes || !strings.Contains(why, `only for without "cap on"`) {
		t.Errorf("without the cap: %v, %s", yes, why)
	}
	if yes, why := confirmedNow(t, r, "--margin", "10"); yes || !strings.Contains(why, "the rig or its margin") {
		t.Errorf("with another margin: %v, %s", yes, why)
	}
	for _, args := range [][]string{{"card"}, {"map", "--step-deg", "10"}} {
		file := filepath.Join(t.TempDir(), map[string]string{"card": "c.pdf", "map": "m.svg"}[args[0]])
		must(t, done, append(args, r.Path, "--output", file)...)
		if args[0] == "map" && !strings.Contains(content(t, file), "set-up confirmed for the night of ") {
			t.Error("the map does not say that the set-up is confirmed")
		}
	}

	// A no takes back what was confirmed, at once: even when the rest is never answered.
	broken := legroom(t, "y\nn\n", "confirm", r.Path)
	if broken.code != wrongUse || !strings.Contains(broken.errors, "no answer to train, so nothing is confirmed") {
		t.Errorf("broken off: code %d: %s", broken.code, broken.errors)
	}
	if yes, _ := confirmedNow(t, r); yes {
		t.Error("still confirmed after a no")
	}
	no := legroom(t, "y\nn\ny\ny\ny\ny\n", "confirm", r.Path)
	if no.code != answerNo || !strings.Contains(no.out, "NO  Leg extension: ") || !strings.Contains(no.out, "no yes to leg-extension") || !strings.Contains(no.out, "mine.yaml") {
		t.Errorf("no: code %d: %s%s", no.code, no.errors, no.out)
	}
	if s := r.SetupTonight(nil, time.Now()); s.Confirmed {
		t.Error("confirmed with a no")
	}

	// Breaking off with nothing said leaves things as they were.
	must(t, done, "confirm", r.Path, "--all")
	if r := legroom(t, "y\n", "confirm", r.Path); r.code != wrongUse {
		t.Errorf("broken off: code %d", r.code)
	}
	must(t, done, "confirm", r.Path, "--show")
	must(t, done, "confirm", r.Path, "--withdraw")
	must(t, done, "confirm", r.Path, "--withdraw")
	must(t, answerNo, "confirm", r.Path, "--show")
}

// Scripts name the lines, every one of them, and are told loudly what now counts as seen.
func TestConfirmByFlags(t *testing.T) {
	r := terraceCopy(t)
	const most = "leg-bearing,leg-extension,train,riser,saddle-mark"
	doc := valid(t, "confirm", must(t, answerNo, "confirm", r.Path, "--yes", most, "--format", "json"))
	if doc["confirmed"] != false || doc["unconfirmed"] != "no yes to roof" || doc["confirmed_at"] != nil {
		t.Errorf("a line left out: %v", doc)
	}
	doc = valid(t, "confirm", must(t, done, "confirm", r.Path, "--yes", most, "--yes", "roof", "--without", "cap on", "--format", "json"))
	if doc["confirmed"] != true || doc["unasked"] != true || doc["confirmed_at"] == nil || doc["night"] == "" {
		t.Errorf("every line: %v", doc)
	}
	// That the cap is off is confirmed, so answers for both hold.
	for _, more := range [][]string{{"--without", "cap on"}, nil} {
		if yes, why := confirmedNow(t, r, more...); !yes {
			t.Errorf("%v: %s", more, why)
		}
	}
	must(t, answerNo, "confirm", r.Path, "--yes", most)
	if yes, _ := confirmedNow(t, r); yes {
		t.Error("still confirmed though a line was left out")
	}
	out := must(t, done, "confirm", r.Path, "--all")
	if !strings.Contains(out, "CONFIRMED BY FLAGS, NOBODY WAS ASKED") || strings.Count(out, "[x]") != 6 {
		t.Errorf("not loud: %s", out)
	}
	narrow(t, "confirm --all", out)
}

// A rig that a check finds errors in is confirmed by nothing, and what was confirmed before is withdrawn; limits say so, and card.
func TestConfirmRefusesWhatCannotBe(t *testing.T) {
	path := filepath.Join(t.TempDir(), "karoo.yaml")
	text := content(t, "../../examples/karoo-newtonian.yaml")
	rewritten(t, path, text)
	must(t, done, "confirm", path, "--all")
	const weight = "at_mm: 360 ± 3, diameter_mm: 160 ± 1"
	if !strings.Contains(text, weight) {
		t.Fatalf("no %q", weight)
	}
	r := rewritten(t, path, strings.Replace(text, weight, "at_mm: 360 ± 3, diameter_mm: 1200 ± 1", 1))
	for _, more := range []string{"--all", "--yes=train"} {
		said := legroom(t, "", "confirm", path, more)
		if said.code != wrongUse || !strings.Contains(said.errors, "counterweight 2 (") || !strings.Contains(said.errors, ") overlap by ") || !strings.Contains(said.errors, "see legroom check") {
			t.Errorf("%s: %d, %s%s", more, said.code, said.out, said.errors)
		}
	}
	must(t, answerNo, "confirm", path, "--show")
	doc := valid(t, "limits", must(t, done, "limits", r.Path, "--cell-deg", "4", "--format", "json"))
	if n := len(doc["check_errors"].([]any)); n == 0 {
		t.Error("limits say nothing of the errors")
	}
	if out := must(t, done, "limits", r.Path, "--cell-deg", "4"); !strings.Contains(out, "`legroom check` FINDS") {
		t.Errorf("limits say nothing of the errors:\n%s", out)
	}
}

// The example of --yes names every line of its rig, and no other.
func TestConfirmExampleIsTrue(t *testing.T) {
	_, list, ok := strings.Cut(newConfirm().Example, "terrace-long-refractor.yaml --yes ")
	if !ok {
		t.Fatal("no example of --yes")
	}
	if want := strings.Join(keys(terraceCopy(t).SetupList(nil)), ","); list != want {
		t.Errorf("--yes %s, want %s", list, want)
	}
}

// Another night and a changed rig make it stale, and the answer says which.
func TestConfirmGoesStale(t *testing.T) {
	r := terraceCopy(t)
	yesterday := time.Now().Add(-24 * time.Hour)
	night, err := r.Site.Evening(yesterday)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Confirm(night, nil, r.SetupList(nil), yesterday); err != nil {
		t.Fatal(err)
	}
	if yes, why := confirmedNow(t, r); yes || !strings.Contains(why, "confirmed for the night of "+night) {
		t.Errorf("a day later: %v, %s", yes, why)
	}
	must(t, done, "confirm", r.Path, "--all")
	before := content(t, r.Path)
	r = rewritten(t, r.Path, strings.Replace(before, "from: terrace/support.yaml", "from: terrace/support.yaml\n  height_mm: 960 ± 3", 1))
	if yes, why := confirmedNow(t, r); yes || !strings.Contains(why, "leg extension is now: head 960 mm high") {
		t.Errorf("another rig: %v, %s", yes, why)
	}
	rewritten(t, r.Path, before)
	if yes, why := confirmedNow(t, r); !yes {
		t.Errorf("the rig as it was: %s", why)
	}
}
