package web

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"strings"
	"testing"

	"github.com/danielgtaylor/huma/v2"

	"legroom/report"
	"legroom/rig"
)

// worked asks a question whose answer takes its time and reads the answer into out; it gives what is wrong when there is none.
func (s *site) worked(path string, v, out any) *huma.ErrorModel {
	s.t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		s.t.Fatal(err)
	}
	a := s.ask("POST", path, string(data))
	defer a.Body.Close()
	if a.StatusCode != http.StatusOK {
		text, _ := io.ReadAll(a.Body)
		s.t.Fatalf("POST %s: status %d: %s", path, a.StatusCode, clipped(string(text)))
	}
	in := bufio.NewReader(a.Body)
	event := ""
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			s.t.Fatalf("POST %s ends without an answer: %v", path, err)
		}
		if e, ok := strings.CutPrefix(line, "event: "); ok {
			event = strings.TrimSpace(e)
		}
		data, ok := strings.CutPrefix(line, "data: ")
		switch {
		case ok && event == "answer":
			if err := json.Unmarshal([]byte(data), out); err != nil {
				s.t.Fatal(err)
			}
			return nil
		case ok && event == "problem":
			var p huma.ErrorModel
			if err := json.Unmarshal([]byte(data), &p); err != nil {
				s.t.Fatal(err)
			}
			return &p
		case ok:
			var p Progress
			if err := json.Unmarshal([]byte(data), &p); err != nil || p.Done < 0 || p.Done > 1 {
				s.t.Fatalf("%s: progress %s", path, data)
			}
		}
	}
}

// A walk goes out as a sheet, comes back with what the ruler said, and corrects the draft: nothing is written.
func TestProof(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	const id = "terrace-long-refractor"
	files := s.names()
	before := s.file(id + ".yaml")
	var w Walk
	if p := s.worked("/api/proof/walk", map[string]any{"id": id, "begins": "2026-11-26T10:00"}, &w); p != nil {
		t.Fatal(p)
	}
	steps := w.Proof.Steps
	if len(steps) < 6 || len(w.Sheet.Steps) != len(steps) || w.Begins != "2026-11-26T10:00" || !w.Proof.Sun || len(w.Parts) == 0 || len(w.Proof.Lengths) == 0 {
		t.Fatalf("%d steps, begins %s, Sun %v, %d parts", len(steps), w.Begins, w.Proof.Sun, len(w.Parts))
	}
	for i, st := range steps {
		a, b := st.From.PointMM, st.To.PointMM
		if d := math.Sqrt(sq(a[0]-b[0]) + sq(a[1]-b[1]) + sq(a[2]-b[2])); math.Abs(d-st.GapMM) > 0.01 {
			t.Errorf("step %d: points %.3f mm apart, gap %.3f", i+1, d, st.GapMM)
		}
		if st.LeastMM < w.KeepsMM || st.SunDeg == nil || *st.SunDeg < 29 {
			t.Errorf("step %d: %+v", i+1, st)
		}
	}
	ask := `{"id": "` + id + `", "begins": "2026-11-26T10:00"}`
	if got := s.get(200, "POST", "/api/proof/walk.pdf", ask); !strings.HasPrefix(got, "%PDF-") {
		t.Errorf("the worksheet starts %q", got[:20])
	}
	if got := s.get(200, "POST", "/api/proof/walk.yaml", ask); !strings.Contains(got, "fingerprint: \""+w.Sheet.Fingerprint) {
		t.Errorf("the sheet is %s", clipped(got))
	}

	if got := s.get(422, "POST", "/api/proof/fit", sheetBody(t, id, &w)); !strings.Contains(got, "no reading") {
		t.Error(got)
	}
	// A ruler that agrees with the model leaves the lengths alone and narrows them; half of the expected error is within them.
	for i, st := range steps {
		w.Sheet.Steps[i].Readings = []string{fmt.Sprintf("%.1f ± 1.5", st.GapMM+math.Copysign(1, float64(i%2)-0.5))}
	}
	var f Fit
	s.post(200, "POST", "/api/proof/fit", json.RawMessage(sheetBody(t, id, &w)), &f)
	if d := f.Fit; d.Verdict != "agrees" || d.Freedom != len(steps) || len(d.Readings) != d.Freedom || f.Text == nil || len(d.Changes) == 0 || len(d.LeftOut) != 0 {
		t.Fatalf("%+v", f)
	}
	r, err := rig.Parse([]byte(*f.Text), s.dir+"/"+id+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	has := map[string]string{}
	for _, q := range r.Quantities {
		has[q.Path] = q.String()
	}
	for _, c := range f.Fit.Changes {
		if has[c.Path] != c.To {
			t.Errorf("%s is %s in the corrected text, not %s", c.Path, has[c.Path], c.To)
		}
	}
	// One reading that was misread is named.
	w.Sheet.Steps[2].Readings = []string{fmt.Sprintf("%.1f ± 1.5", steps[2].GapMM+100)}
	f = Fit{}
	s.post(200, "POST", "/api/proof/fit", json.RawMessage(sheetBody(t, id, &w)), &f)
	for _, r := range f.Fit.Readings {
		if f.Fit.Verdict != "one wrong" || r.Wrong != (r.Step == 3) {
			t.Errorf("%s, step %d: wrong is %v", f.Fit.Verdict, r.Step, r.Wrong)
		}
	}
	// One that shows less room than the model leaves its step open: the fit is told as far as it stands, and there is no text to take over.
	w.Sheet.Steps[2].Readings = []string{fmt.Sprintf("%.1f ± 1.5", steps[2].GapMM-80)}
	f = Fit{}
	s.post(200, "POST", "/api/proof/fit", json.RawMessage(sheetBody(t, id, &w)), &f)
	d := f.Fit
	if d.Open == nil || !strings.Contains(*d.Open, "step 3 is open") || len(d.Readings) != len(steps) || !d.Readings[2].Wrong || len(d.Lengths) == 0 {
		t.Errorf("%+v", d)
	}
	if f.Text != nil || len(d.Changes) != 0 || d.Diff != "" || d.NewPrint != nil || d.Accepted {
		t.Errorf("while a step is open: text %v, %d changes, diff %q", f.Text, len(d.Changes), d.Diff)
	}
	// Measured again, and with the others, it is closed.
	w.Sheet.Steps[2].Readings = append(w.Sheet.Steps[2].Readings, fmt.Sprintf("%.1f ± 1.5", steps[2].GapMM))
	f = Fit{}
	s.post(200, "POST", "/api/proof/fit", json.RawMessage(sheetBody(t, id, &w)), &f)
	if f.Fit.Open != nil || f.Text == nil || len(f.Fit.Changes) == 0 {
		t.Errorf("measured again: open %v, %d changes", f.Fit.Open, len(f.Fit.Changes))
	}
	// Readings that no lengths explain refuse the model, and then nothing is corrected.
	for i, st := range steps {
		w.Sheet.Steps[i].Readings = []string{fmt.Sprintf("%.0f", st.GapMM+30*float64(i%2))}
	}
	f = Fit{}
	s.post(200, "POST", "/api/proof/fit", json.RawMessage(sheetBody(t, id, &w)), &f)
	if f.Fit.Verdict != "contradicted" || f.Text != nil || len(f.Fit.Changes) != 0 {
		t.Errorf("%s, %d changes", f.Fit.Verdict, len(f.Fit.Changes))
	}
	w.Sheet.Steps[0].Readings = []string{"a lot"}
	if got := s.get(422, "POST", "/api/proof/fit", sheetBody(t, id, &w)); !strings.Contains(got, "step 1") {
		t.Error(got)
	}
	w.Sheet.Fingerprint = "0000-0000-0000"
	s.get(409, "POST", "/api/proof/fit", sheetBody(t, id, &w))

	for begins, want := range map[string]string{"tomorrow": "clock time", "2026-11-26T25:00": "clock time"} {
		if p := s.worked("/api/proof/walk", map[string]any{"id": id, "begins": begins}, &w); p == nil || !strings.Contains(p.Detail, want) {
			t.Errorf("%s: %v", begins, p)
		}
	}
	if p := s.worked("/api/proof/walk", map[string]any{"id": id, "avoid": []string{"nothing"}}, &w); p == nil || !strings.Contains(p.Detail, "nothing") {
		t.Error(p)
	}
	if p := s.worked("/api/proof/walk", map[string]any{"id": "../x"}, &w); p == nil || p.Status != 404 {
		t.Error(p)
	}
	if s.names() != files || s.file(id+".yaml") != before {
		t.Error("a question wrote a file")
	}
}

func sq(x float64) float64 { return x * x }

func sheetBody(t *testing.T, id string, w *Walk) string {
	t.Helper()
	data, err := json.Marshal(map[string]any{"id": id, "sheet": w.Sheet})
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// The lengths to measure again come with what they gain.
func TestMeasureAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("follows every run")
	}
	s := newSite(t)
	var d report.ToleranceDoc
	if p := s.worked("/api/proof/again", map[string]any{"id": "terrace-riser", "lengths": 2}, &d); p != nil {
		t.Fatal(p)
	}
	if len(d.Again) != 2 || len(d.Ends) == 0 || d.Again[0].GainMin < d.Again[1].GainMin || d.Again[0].ToTolerance >= d.Again[0].Tolerance {
		t.Errorf("%+v", d.Again)
	}
}
