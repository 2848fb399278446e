package proof

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// copied puts the examples into a folder of their own and gives the path of one.
func copied(t *testing.T, name string) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples")); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, name+".yaml")
}

// The corrected document says what the ruler said: read anew, it predicts the readings to their own errors where the old one did not, and
// every line that is not about a corrected length stays as it was.
func TestCorrectedDocumentAgreesWithTheRuler(t *testing.T) {
	for _, name := range rigFiles {
		s := sceneOf(t, name)
		rng := rand.New(rand.NewPCG(11, 4))
		rd := s.readings(t, s.truth(rng), rng.NormFloat64)
		fit, err := s.fitter.Fit(rd)
		if err != nil {
			t.Fatal(err)
		}
		changes, err := fit.Changes()
		if err != nil {
			t.Fatal(err)
		}
		if len(changes) < 5 {
			t.Fatalf("%s: nothing is corrected", name)
		}
		doc, err := rig.OpenDocument(copied(t, name))
		if err != nil {
			t.Fatal(err)
		}
		before := string(doc.Bytes())
		r, leftOut, err := Correct(doc, changes)
		if err != nil {
			t.Fatal(err)
		}
		if len(leftOut) > 2 {
			t.Errorf("%s: left out: %v", name, leftOut)
		}
		for _, line := range strings.Split(before, "\n") {
			if strings.HasPrefix(strings.TrimSpace(line), "#") && !strings.Contains(string(doc.Bytes()), line) {
				t.Errorf("%s: the comment %q is gone", name, line)
			}
		}
		for i, q := range r.Quantities {
			old := s.rig.Quantities[i]
			want, tol := old.Value, old.Tol
			for _, c := range changes {
				if c.Path == q.Path && !slices.ContainsFunc(leftOut, func(l Refusal) bool { return l.Path == c.Path }) {
					want, tol = c.To, c.ToTol
				}
			}
			if q.Path != old.Path || math.Abs(q.Value-want) > 1e-9 || math.Abs(q.Tol-tol) > 1e-9 {
				t.Errorf("%s: %s is %v ± %v, want %v ± %v", name, q.Path, q.Value, q.Tol, want, tol)
			}
		}
		said, err := fit.Predict(r)
		if err != nil {
			t.Fatal(err)
		}
		if len(leftOut) == 0 { // then rounding alone is between the fit and what was written
			for k, x := range fit.Taken {
				if math.Abs(said[k]-x.FittedMM) > 0.4 {
					t.Errorf("%s: step %d: the document gives %.2f mm, the fit %.2f", name, x.Step, said[k], x.FittedMM)
				}
			}
		}
		for _, c := range changes {
			l := fit.Lengths[slices.IndexFunc(fit.Lengths, func(l Length) bool { return l.Path == c.Path })]
			if c.ToTol < l.Tol && c.ToTol < l.Error+math.Abs(c.To-l.Fitted)-1e-9 {
				t.Errorf("%s: %s is written as %v ± %v, the fit has %.3f ± %.3f", name, c.Path, c.To, c.ToTol, l.Fitted, l.Error)
			}
			if l.Told == Untold && c.ToTol != l.Tol {
				t.Errorf("%s: %s is untold and written ± %v instead of %v", name, c.Path, c.ToTol, l.Tol)
			}
		}
		g, err := measured(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		rates, err := s.fitter.rates.At(g)
		if err != nil {
			t.Fatal(err)
		}
		var old, now float64
		for k, x := range rd {
			d, _ := rates.Between(x.Axes, s.fitter.part[x.A], s.fitter.part[x.B], g.NewScratch())
			if math.Abs(d.Gap-said[k]) > 1e-6 {
				t.Errorf("%s: step %d: predicted as %v mm, the gauge has %v", name, x.Step, said[k], d.Gap)
			}
			old += math.Pow((fit.Taken[k].PredictedMM-x.MM)/x.TolMM*two95, 2)
			now += math.Pow((d.Gap-x.MM)/x.TolMM*two95, 2)
		}
		t.Logf("%s: %d changes; readings off by %.1f of their own errors before, %.1f after", name, len(changes), math.Sqrt(old/float64(len(rd))), math.Sqrt(now/float64(len(rd))))
		if now > 2*float64(len(rd)) || now > old/4 {
			t.Errorf("%s: readings are off by χ² %.1f of %d, before %.1f", name, now, len(rd), old)
		}
	}
}

// Tolerances shrink, but no gap's error by independent tolerances comes out less than the fit has it: on poses that the tolerances
// were not set by.
func TestShrunkTolerancesHide(t *testing.T) {
	for _, name := range rigFiles {
		s := sceneOf(t, name)
		fit, err := s.fitter.Fit(s.readings(t, make([]float64, len(s.fitter.l.list)), silent))
		if err != nil {
			t.Fatal(err)
		}
		shares := fit.shares()
		least := 1.0
		for i, x := range shares {
			if x < fit.s.cov.At(i, i)-1e-12 || x > 1 {
				t.Errorf("%s: %s keeps %.3f of its variance, the fit has %.3f", name, s.fitter.l.list[i].Path, x, fit.s.cov.At(i, i))
			}
			least = math.Min(least, x)
		}
		rng := rand.New(rand.NewPCG(8, 8))
		row := make([]float64, len(shares))
		scratch := s.fitter.gauge.NewScratch()
		var grad []room.Derivative
		worst, tried := 1.0, 0
		for range 600 {
			at := axes.Angles{RA: (2*rng.Float64() - 1) * math.Pi, Dec: (2*rng.Float64() - 1) * math.Pi}
			for _, p := range s.fitter.gauge.Nearest(at, 4) {
				if p.Gap > torusFar {
					continue
				}
				tried++
				_, grad, _ = s.fitter.rates.Gradient(at, p.A, p.B, scratch, grad[:0])
				fitted, independent := fit.variance(grad, row, shares)
				worst = math.Min(worst, math.Sqrt(independent/fitted))
			}
		}
		t.Logf("%s: the least tolerance keeps %.2f; of %d gaps the one told best has %.3f of its error", name, math.Sqrt(least), tried, worst)
		if worst < 0.97 {
			t.Errorf("%s: a gap's error would be told as %.3f of what it is", name, worst)
		}
		if least > 0.9 {
			t.Errorf("%s: no tolerance shrinks", name)
		}
	}
}

func TestCorrectIsAllOrNothing(t *testing.T) {
	path := copied(t, "terrace-long-refractor")
	doc, err := rig.OpenDocument(path)
	if err != nil {
		t.Fatal(err)
	}
	r, err := doc.Rig()
	if err != nil {
		t.Fatal(err)
	}
	q := r.Quantities[3]
	if _, _, err := Correct(doc, []Change{{Quantity: q, To: -5, Text: "-5"}}); err == nil {
		t.Error("an impossible length was written")
	}
	if got, _ := os.ReadFile(path); len(got) == 0 || strings.Contains(string(got), "-5 ") {
		t.Error("the file was touched")
	}
}

func TestSheetComesBack(t *testing.T) {
	s := sceneOf(t, "terrace-long-refractor")
	sheet := NewSheet(s.walk, 0)
	if err := sheet.Of(s.rig); err != nil {
		t.Fatal(err)
	}
	if err := sheet.Enter(3, " 143 ± 1.5 ", nil); err != nil {
		t.Fatal(err)
	}
	at := s.walk.Steps[4].Axes
	at.RA += axes.Rad(0.25)
	if err := sheet.Enter(5, "140", &at); err != nil {
		t.Fatal(err)
	}
	if err := sheet.Enter(5, "141", nil); err != nil {
		t.Fatal(err)
	}
	back, err := ParseSheet(sheet.Bytes())
	if err != nil {
		t.Fatalf("%v in\n%s", err, sheet.Bytes())
	}
	if string(back.Bytes()) != string(sheet.Bytes()) {
		t.Errorf("came back as\n%s", back.Bytes())
	}
	rd, err := back.Taken()
	if err != nil || len(rd) != 3 {
		t.Fatalf("%v, %v", rd, err)
	}
	if rd[0].Step != 3 || rd[0].MM != 143 || rd[0].TolMM != 1.5 || rd[1].TolMM != UsualRulerMM || rd[2].MM != 141 || math.Abs(rd[1].Axes.RA-at.RA) > 1e-6 || rd[0].A != s.walk.Steps[2].A {
		t.Errorf("%+v", rd)
	}
	if fit, err := s.fitter.Fit(rd); err != nil || fit.Freedom != 3 {
		t.Errorf("%v, %v", fit, err)
	}
}

func TestSheetRefuses(t *testing.T) {
	s := sceneOf(t, "terrace-long-refractor")
	text := string(NewSheet(s.walk, 0).Bytes())
	for _, c := range []struct{ old, new, want string }{
		{"proof: 1", "proof: 2", "reads version 1"},
		{"ruler_mm: 2", "ruler_mm: 0", "0.1 to 50"},
		{"readings_mm: []", "readings_mm: [12 cm]", `step 1: readings_mm: "12 cm": write millimetres`},
		{"readings_mm: []", "readings_mm: [-12]", "write millimetres"},
		{"readings_mm: []", "readings_mm: [12 ± 0]", "good to 0.1 to 100 mm"},
		{"readings_mm: []", "readings_mm: [9999]", "0 to 5000 mm"},
		{"  - step: 2", "  - step: 1", "a number of its own"},
		{"ra_axis_deg:", "ra_axis:", "ra_axis"},
		{"steps:", "steps: [", ":"},
	} {
		if _, err := ParseSheet([]byte(strings.Replace(text, c.old, c.new, 1))); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.new, err, c.want)
		}
	}
	sheet := NewSheet(s.walk, 0)
	far := axes.Angles{}
	for _, c := range []struct {
		step int
		text string
		at   *axes.Angles
		want string
	}{{99, "12", nil, "no step 99"}, {1, "a lot", nil, "write millimetres"}, {1, "12", &far, "drive there first"}} {
		if err := sheet.Enter(c.step, c.text, c.at); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("step %d: %v, want %q", c.step, err, c.want)
		}
	}
	other := load(t, "terrace-riser")
	if err := sheet.Of(other); err == nil || !strings.Contains(err.Error(), "fingerprint") {
		t.Errorf("a sheet of another rig: %v", err)
	}
	if _, err := LoadSheet(filepath.Join(t.TempDir(), "none.yaml")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no sheet: %v", err)
	}
}

// A reading that is left out and shows less room than the model keeps the document as it is, until a later one of its step goes with the
// others; one that shows more room does not.
func TestNothingIsCorrectedWhileAStepIsOpen(t *testing.T) {
	s := sceneOf(t, rigFiles[0])
	honest := s.readings(t, make([]float64, len(s.fitter.l.list)), silent)
	const k = 2
	again := honest[k]
	for _, c := range []struct {
		by   float64 // mm
		then []Reading
		open bool
	}{{-80, nil, true}, {80, nil, false}, {-80, []Reading{again}, false}} {
		rd := slices.Concat(honest, c.then)
		rd[k].MM += c.by
		fit, err := s.fitter.Fit(rd)
		if err != nil {
			t.Fatal(err)
		}
		if fit.Verdict != OneWrong || fit.Wrong != k {
			t.Fatalf("%+v: %s, %d", c, fit.Verdict, fit.Wrong)
		}
		changes, err := fit.Changes()
		var open *OpenError
		if errors.As(err, &open) != c.open || c.open && (open.Step != rd[k].Step || changes != nil) || !c.open && err != nil {
			t.Errorf("%+v: %d changes, %v", c, len(changes), err)
		}
	}
}
