package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"legroom/axes"
	"legroom/change/proof"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/report"
	"legroom/rig"
	"legroom/sky"
)

// proofFolder is a copy of the examples to write into, with a sheet for one of them.
func proofFolder(t *testing.T, name string) (rig, sheet string) {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples")); err != nil {
		t.Fatal(err)
	}
	rig, sheet = filepath.Join(dir, name), filepath.Join(dir, "walk.yaml")
	must(t, done, "proof", rig, "--time", "2026-11-26T10:30", "--sheet", sheet)
	return rig, sheet
}

var emptyReading = regexp.MustCompile(`predicted_mm: (\d+) ± \d+\n    readings_mm: \[\]`)

// fill writes readings into a sheet: what is predicted, and off(step) more.
func fill(t *testing.T, sheet string, off func(step int) float64) {
	t.Helper()
	data, err := os.ReadFile(sheet)
	if err != nil {
		t.Fatal(err)
	}
	step := 0
	text := emptyReading.ReplaceAllStringFunc(string(data), func(s string) string {
		var mm float64
		step++
		fmt.Sscanf(emptyReading.FindStringSubmatch(s)[1], "%g", &mm)
		return strings.Replace(s, "[]", fmt.Sprintf("[%g]", mm+off(step)), 1)
	})
	if step < 5 {
		t.Fatalf("%d steps in\n%s", step, data)
	}
	if err := os.WriteFile(sheet, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func fitted(t *testing.T, code int, args ...string) report.FitDoc {
	t.Helper()
	text := must(t, code, append(append([]string{"proof"}, args...), "--format", "json")...)
	valid(t, "fit", text)
	var d report.FitDoc
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestProofWalk(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	at := []string{"--time", "2026-11-26T10:30", "--steps", "4"}
	text := must(t, done, append([]string{"proof", terrace}, at...)...)
	for _, line := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(line) > 100 {
			t.Errorf("too wide: %s", line)
		}
	}
	for _, want := range []string{"Never sweep an uncovered tube", "power switch", "the sheet says", "from the Sun", "facing", "WHAT IT SHOULD TELL"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	d := valid(t, "proof", must(t, done, append([]string{"proof", terrace, "--format", "json"}, at...)...))
	if n := len(d["steps"].([]any)); n != 4 {
		t.Errorf("%d steps", n)
	}
	pdf, sheet := filepath.Join(dir, "walk.pdf"), filepath.Join(dir, "walk.yaml")
	var bytes [2][]byte
	for k := range bytes {
		must(t, done, append([]string{"proof", terrace, "--output", pdf, "--sheet", sheet}, at...)...)
		var err error
		if bytes[k], err = os.ReadFile(pdf); err != nil {
			t.Fatal(err)
		}
	}
	if string(bytes[0]) != string(bytes[1]) || !strings.HasPrefix(string(bytes[0]), "%PDF") {
		t.Error("the same walk gives other bytes")
	}
	if s, err := proof.LoadSheet(sheet); err != nil || len(s.Steps) != 4 {
		t.Errorf("%v, %+v", err, s)
	}
	if night := must(t, done, "proof", terrace, "--time", "2026-11-26T01:00", "--steps", "2"); !strings.Contains(night, "drive it by day") {
		t.Error("a walk in the night says nothing of it")
	}
}

// Readings that agree, one that does not, and a rig that is another: what the command says, and what it writes.
func TestProofFit(t *testing.T) {
	t.Parallel()
	path, sheet := proofFolder(t, "terrace-long-refractor.yaml")
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	fill(t, sheet, func(step int) float64 { return float64(step%3 - 1) })
	d := fitted(t, done, path, "--measured", sheet)
	if d.Verdict != proof.Agrees || len(d.Changes) == 0 || d.Accepted || !strings.Contains(d.Diff, "+") || d.NewPrint == nil {
		t.Errorf("%+v", d)
	}
	if now, _ := os.ReadFile(path); string(now) != string(before) {
		t.Error("the document was written without being accepted")
	}
	// Another 60 mm on step 2 alone: named.
	d = fitted(t, answerNo, path, "--measured", sheet, "--enter", "2=300")
	wrong := 0
	for _, r := range d.Readings {
		if r.Wrong && r.ReadingMM == 300 {
			wrong++
		}
	}
	if d.Verdict != proof.OneWrong || wrong != 1 {
		t.Errorf("%s, %+v", d.Verdict, d.Readings)
	}
	data, err := os.ReadFile(sheet)
	if err != nil || !strings.Contains(string(data), ", 300]") {
		t.Errorf("the reading is not in the sheet: %v", err)
	}
	text := must(t, answerNo, "proof", path, "--measured", sheet)
	for _, want := range []string{"DOES NOT GO WITH THE OTHERS: step 2", "WRONG?"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	// One that shows less room keeps everything as it is until its step is measured again, accepted or not.
	if err := os.WriteFile(sheet, []byte(strings.Replace(string(data), ", 300]", "]", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	text = must(t, answerNo, "proof", path, "--measured", sheet, "--enter", "2=120", "--accept")
	for _, want := range []string{"and step 2 is open: measure it again", "NOTHING IS WRITTEN: step 2 is open", "the ruler found 120.0 mm"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if now, _ := os.ReadFile(path); string(now) != string(before) {
		t.Error("the document was written while a step is open")
	}
	d = fitted(t, answerNo, path, "--measured", sheet)
	if d.Open == nil || len(d.Changes) != 0 || d.NewPrint != nil || d.Diff != "" {
		t.Errorf("%+v", d)
	}
	predicted := fmt.Sprint(math.Round(d.Readings[1].PredictedMM))
	if d = fitted(t, answerNo, path, "--measured", sheet, "--enter", "2="+predicted); d.Open != nil || len(d.Changes) == 0 {
		t.Errorf("measured again: %+v", d)
	}
	// Every second one off by 5 cm: no lengths explain that.
	if err := os.WriteFile(sheet, []byte(strings.Replace(string(data), ", 300]", "]", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	d = fitted(t, answerNo, path, "--measured", sheet, "--enter", "1=60", "--enter", "3=210", "--enter", "5=60", "--enter", "7=300", "--accept")
	if d.Verdict != proof.Contradicted || len(d.Changes) != 0 || d.Accepted {
		t.Errorf("%+v", d)
	}
	if now, _ := os.ReadFile(path); string(now) != string(before) {
		t.Error("a refused model was corrected")
	}
	if err := os.WriteFile(sheet, []byte(strings.Replace(string(data), ", 300]", "]", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	// What was entered is said, and what comes next, before what the readings say.
	said := strings.Join(strings.Fields(legroom(t, "", "proof", path, "--measured", sheet, "--enter", "2= 211 ± 1").out), " ")
	for _, want := range []string{"Entered in " + sheet + ", step 2, from ", ", 211 ± 1 mm; predicted ", "steps have a reading. ", "what the ruler says"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in\n%s", want, said)
		}
	}
	if err := os.WriteFile(sheet, []byte(strings.Replace(string(data), ", 300]", "]", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	d = fitted(t, done, path, "--measured", sheet)
	text = must(t, done, "proof", path, "--measured", sheet, "--accept")
	if !strings.Contains(text, "is written") {
		t.Errorf("accepted:\n%s", text)
	}
	asShown(t, path, sheet, d)
	now, _ := os.ReadFile(path)
	if string(now) == string(before) || !strings.Contains(string(now), "# Near the zenith, on side west") {
		t.Errorf("the document is\n%s", now)
	}
	must(t, done, "check", path)
	// The same readings do not count twice.
	if r := legroom(t, "", "proof", path, "--measured", sheet); r.code != wrongUse || !strings.Contains(r.errors, "make a new walk") {
		t.Errorf("again: %d, %s", r.code, r.errors)
	}
}

// asShown looks whether the written document has the lengths that a fit shows, and gives the corrected gaps that it shows.
func asShown(t *testing.T, path, sheet string, d report.FitDoc) {
	t.Helper()
	doc, err := rig.OpenDocument(path)
	if err != nil {
		t.Fatal(err)
	}
	r, err := doc.Rig()
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range r.Quantities {
		for _, l := range d.Lengths {
			if l.Path == q.Path && (l.Corrected != q.Value || l.CorrectedTol != q.Tol) {
				t.Errorf("%s is shown as %v ± %v and written as %v ± %v", l.Path, l.Corrected, l.CorrectedTol, q.Value, q.Tol)
			}
		}
	}
	s, err := proof.LoadSheet(sheet)
	if err != nil {
		t.Fatal(err)
	}
	readings, err := s.Taken()
	if err != nil {
		t.Fatal(err)
	}
	f, err := proof.NewFitter(r, s.Without)
	if err != nil {
		t.Fatal(err)
	}
	now, err := f.Fit(readings)
	if err != nil {
		t.Fatal(err)
	}
	for k, x := range now.Taken {
		if math.Abs(x.PredictedMM-d.Readings[k].FittedMM) > 0.01 {
			t.Errorf("step %d: %v mm shown as corrected, the written document predicts %v", x.Step, d.Readings[k].FittedMM, x.PredictedMM)
		}
	}
}

// A reading that was measured again is left out for good: the document is written, and nothing is left to do.
func TestProofAcceptsWithoutTheWrongReading(t *testing.T) {
	t.Parallel()
	path, sheet := proofFolder(t, "terrace-long-refractor.yaml")
	fill(t, sheet, func(step int) float64 { return float64(step%3 - 1) })
	d := fitted(t, answerNo, path, "--measured", sheet, "--enter", "2=120")
	if d.Open == nil {
		t.Fatalf("%+v", d)
	}
	predicted := fmt.Sprint(math.Round(d.Readings[1].PredictedMM))
	d = fitted(t, answerNo, path, "--measured", sheet, "--enter", "2="+predicted)
	text := must(t, done, "proof", path, "--measured", sheet, "--accept")
	if !strings.Contains(text, "is written") || strings.Contains(text, "measure it again") || !strings.Contains(text, "a later reading of its step") {
		t.Error(text)
	}
	asShown(t, path, sheet, d)
}

// The mount says where its axes stand; the sheet keeps that.
func TestProofAsksTheMount(t *testing.T) {
	t.Parallel()
	path, sheet := proofFolder(t, "karoo-newtonian.yaml")
	doc, stop := startSim(t, path, "--alpaca", "127.0.0.1:0", "--control", "127.0.0.1:0", "--clock", "60", "--seed", "7", "--at", "2026-11-26T09:00:00Z")
	defer stop()
	ctx, cancel := context.WithTimeout(context.Background(), 60*time.Second)
	defer cancel()
	tel, err := alpaca.Open(ctx, doc.Alpaca)
	if err != nil {
		t.Fatal(err)
	}
	defer tel.Close()
	if err := tel.Unpark(ctx); err != nil {
		t.Fatal(err)
	}
	s, err := proof.LoadSheet(sheet)
	if err != nil {
		t.Fatal(err)
	}
	if r := legroom(t, "", "proof", path, "--measured", sheet, "--enter", "2=100", "--mount", doc.Alpaca); r.code != wrongUse {
		t.Errorf("a mount that tracks, elsewhere: %d, %s", r.code, r.errors)
	}
	// To a degree beside step 2, which is on side west on the meridian.
	want := s.Steps[1]
	now, err := tel.Read(ctx)
	if err != nil {
		t.Fatal(err)
	}
	side, hour := axes.West, axes.Rad(want.RAAxisDeg-90)
	if want.DecAxisDeg < 0 {
		side, hour = axes.East, axes.Rad(want.RAAxisDeg+90)
	}
	dec := -(math.Pi/2 - math.Abs(axes.Rad(want.DecAxisDeg))) // latitude −32.4°
	if err := tel.Slew(ctx, sky.Equatorial{RA: axes.Wrap(now.Sidereal - hour - axes.Rad(0.5)), Dec: dec + axes.Rad(0.3)}, &side); err != nil {
		t.Fatal(err)
	}
	for {
		if now, err = tel.Read(ctx); err != nil {
			t.Fatal(err)
		}
		if now.Slewing == mount.No {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if err := tel.SetTracking(ctx, false); err != nil {
		t.Fatal(err)
	}
	if r := legroom(t, "", "proof", path, "--measured", sheet, "--enter", "1=100", "--mount", doc.Alpaca); r.code != wrongUse || !strings.Contains(r.errors, "drive there first") {
		t.Errorf("at another step: %d, %s", r.code, r.errors)
	}
	var mm float64
	fmt.Sscanf(want.Predicted, "%g", &mm)
	must(t, done, "proof", path, "--measured", sheet, "--enter", fmt.Sprintf("2=%g", mm), "--mount", doc.Alpaca)
	if s, err = proof.LoadSheet(sheet); err != nil {
		t.Fatal(err)
	}
	got := s.Steps[1]
	if len(got.Readings) != 1 || got.RAAxisDeg == want.RAAxisDeg || math.Abs(got.RAAxisDeg-want.RAAxisDeg) > 3 || math.Abs(got.DecAxisDeg-want.DecAxisDeg) > 1 {
		t.Errorf("%+v, planned %+v", got, want)
	}
}

func TestProofWrongUse(t *testing.T) {
	t.Parallel()
	_, sheet := proofFolder(t, "karoo-newtonian.yaml")
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"proof"}, "no rig document given"},
		{[]string{"proof", karoo, "--steps", "13"}, "give 1 to 12"},
		{[]string{"proof", karoo, "--time", "noon"}, "give date and time"},
		{[]string{"proof", karoo, "--output", "walk.txt"}, ".pdf"},
		{[]string{"proof", karoo, "--avoid", "kettle"}, `no part "kettle"`},
		{[]string{"proof", karoo, "--margin", "5"}, "the document's own margin"},
		{[]string{"proof", karoo, "--tolerance", "none"}, "takes them off"},
		{[]string{"proof", karoo, "--accept"}, "give --measured"},
		{[]string{"proof", karoo, "--measured", "none.yaml"}, "cannot be read"},
		{[]string{"proof", karoo, "--measured", sheet, "--steps", "3"}, "--steps is for choosing a walk"},
		{[]string{"proof", karoo, "--measured", sheet}, "no reading"},
		{[]string{"proof", karoo, "--measured", sheet, "--enter", "one"}, "give STEP=MM"},
		{[]string{"proof", karoo, "--measured", sheet, "--enter", "99=12"}, "no step 99"},
		{[]string{"proof", karoo, "--measured", sheet, "--mount", "alpaca://127.0.0.1:1/0"}, "give --enter"},
		{[]string{"proof", karoo, "--measured", sheet, "--enter", "1=5", "--mount", "http://x"}, "alpaca or indi"},
		{[]string{"proof", terrace, "--measured", sheet}, "make a new walk"},
	} {
		if r := legroom(t, "", c.args...); r.code != wrongUse || !strings.Contains(r.errors, c.want) {
			t.Errorf("%v: code %d, %q, want %q", c.args, r.code, r.errors, c.want)
		}
	}
}
