package web

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"legroom/report"
	"legroom/rig"
)

// A list of targets is changed with its comments kept, also one that has no key of its own, and is read without being on disk.
func TestEditTargets(t *testing.T) {
	s := newSite(t)
	ask := func(text string, changes ...Change) TargetList {
		var out TargetList
		s.post(200, "POST", "/api/targets", TargetDraft{"karoo-newtonian", text, changes}, &out)
		return out
	}
	const bare = "# wishes\n- M 8 # first\n- {name: mine, ra: 05h12m, dec: -36.9}\n"
	l := ask(bare, Change{"set", "targets[0]", "{name: M 8, sub_s: 60}"}, Change{"set", "targets[2]", "{name: M 20}"}, Change{"delete", "targets[1]", ""})
	if want := "# wishes\n- {name: M 8, sub_s: 60} # first\n- {name: M 20}\n"; l.Text != want || len(l.Targets) != 2 || l.Targets[0].SubS != 60 || l.Version != "" {
		t.Errorf("%+v", l)
	}
	l = ask("targets: # mine\n  - M 8\n", Change{"set", "targets[1]", "{name: M 20, priority: 2}"})
	if want := "targets: # mine\n  - M 8\n  - {name: M 20, priority: 2}\n"; l.Text != want || len(l.Targets) != 2 || l.Targets[1].Priority != 2 {
		t.Errorf("%+v", l)
	}
	if l = ask("targets:\n  - M 8\n  - Nowhere 17\n"); len(l.Errors) != 1 || l.Errors[0].Line != 3 || len(l.Targets) != 0 {
		t.Errorf("%+v", l)
	}
	for _, empty := range []string{"", "# nothing yet\n", "targets: []\n"} {
		if l = ask(empty); len(l.Errors) != 0 || len(l.Targets) != 0 || l.Text != empty {
			t.Errorf("%q: %+v", empty, l)
		}
	}
	s.post(422, "POST", "/api/targets", TargetDraft{"karoo-newtonian", bare, []Change{{"delete", "targets[7]", ""}}}, nil)
	s.post(404, "POST", "/api/targets", TargetDraft{"../karoo-newtonian", bare, nil}, nil)
	if _, err := os.Stat(filepath.Join(s.dir, "karoo-newtonian.targets.yaml")); err == nil {
		t.Error("a question wrote a file")
	}
}

// Altitudes are those of the plan: a target is highest at its transit, and the Sun sets where the plan says so.
func TestAltitudes(t *testing.T) {
	s := newSite(t)
	const list = "- M 8\n- M 20\n"
	var a Altitudes
	s.post(200, "POST", "/api/altitudes", map[string]any{"id": "karoo-newtonian", "date": "2026-06-14", "targets": list}, &a)
	var n report.NightDoc
	s.post(200, "POST", "/api/night", map[string]any{"id": "karoo-newtonian", "date": "2026-06-14", "targets": list}, &n)
	if a.Night != "2026-06-14" || a.TimeZone != n.TimeZone || len(a.Targets) != 2 || len(a.Sun) != altitudeSteps+1 || len(a.Moon) != len(a.Sun) {
		t.Fatalf("%s %s, %d targets, %d and %d values", a.Night, a.TimeZone, len(a.Targets), len(a.Sun), len(a.Moon))
	}
	at := func(values []float64, when time.Time) float64 {
		x := when.Sub(a.From).Seconds() / a.StepS
		i := int(x)
		return values[i] + (x-float64(i))*(values[i+1]-values[i])
	}
	// −50′ by convention at sunset; a chord of five minutes lies within 0.02° of the curve.
	if got := at(a.Sun, *n.Sunset); math.Abs(got+50.0/60) > 0.03 {
		t.Errorf("the Sun stands at %.3f° at sunset", got)
	}
	for i, p := range n.Targets {
		k := a.Targets[i]
		if h := at(k.HourAngle, *p.Transit); math.Abs(h) > 1e-3 {
			t.Errorf("%s: hour angle %.4f h at transit", k.Name, h)
		}
		if h := at(k.Altitude, *p.Transit); math.Abs(h-p.MaxAltitude) > 0.05 {
			t.Errorf("%s: %.3f° at transit, highest %.3f°", k.Name, h, p.MaxAltitude)
		}
	}
	if got := s.get(422, "POST", "/api/altitudes", `{"id": "karoo-newtonian", "targets": "- Nowhere 17\n"}`); !strings.Contains(got, "Nowhere 17") {
		t.Error(got)
	}
}

// listed is the set-up list of a document with a yes to every line.
func listed(d report.ConfirmDoc) SetupSeen {
	out := SetupSeen{Night: d.Night, Fingerprint: d.Fingerprint}
	for _, l := range d.Lines {
		out.Lines = append(out.Lines, l.SetupLine)
	}
	return out
}

// The set-up list is confirmed for the rig as it stands on disk and as the owner saw it, and for no other.
func TestSetup(t *testing.T) {
	s := newSite(t)
	const at = "/api/rigs/karoo-newtonian/setup"
	get := func(method string) (d report.ConfirmDoc) {
		text := s.get(200, method, at, "")
		if err := json.Unmarshal([]byte(text), &d); err != nil {
			t.Fatal(err)
		}
		return d
	}
	d := get("GET")
	if d.Confirmed || d.Unconfirmed == "" || len(d.Lines) == 0 || d.SetupFile != "karoo-newtonian.setup.json" || d.File != "karoo-newtonian.yaml" {
		t.Fatalf("%+v", d)
	}
	seen := listed(d)
	other := seen
	other.Fingerprint = "0000-0000-0000"
	s.post(409, "PUT", at, other, nil)
	other = seen
	other.Lines = append([]rig.SetupLine{}, seen.Lines[1:]...)
	s.post(422, "PUT", at, other, nil)
	other = seen
	other.Night = "2020-01-01"
	s.post(422, "PUT", at, other, nil)
	if d := get("GET"); d.Confirmed {
		t.Error("a refused list confirms")
	}
	var done report.ConfirmDoc
	s.post(200, "PUT", at, seen, &done)
	if !done.Confirmed || done.ConfirmedAt == nil || done.Night != seen.Night {
		t.Errorf("%+v", done)
	}
	var limits report.LimitsDoc
	s.post(200, "POST", "/api/limits", map[string]any{"id": "karoo-newtonian", "row_deg": 30}, &limits)
	if !limits.Confirmed {
		t.Error("limits do not know of the confirmation")
	}
	if d := get("DELETE"); d.Confirmed {
		t.Errorf("%+v", d)
	}
}

// A rig that a check finds errors in is not confirmed, and what was confirmed before is withdrawn: as it was once more, it has to
// be gone through again.
func TestSetupRefusesWhatCannotBe(t *testing.T) {
	s := newSite(t)
	const at, file = "/api/rigs/karoo-newtonian/setup", "karoo-newtonian.yaml"
	var d report.ConfirmDoc
	s.post(200, "GET", at, nil, &d)
	text, first := s.file(file), listed(d)
	s.post(200, "PUT", at, first, nil)
	const weight = "at_mm: 360 ± 3, diameter_mm: 160 ± 1"
	wrong := strings.Replace(text, weight, "at_mm: 360 ± 3, diameter_mm: 1200 ± 1", 1)
	if wrong == text {
		t.Fatalf("no %q", weight)
	}
	s.write(file, wrong)
	s.post(409, "PUT", at, first, nil) // the list of another rig tells nothing of this one
	if !strings.Contains(s.names(), "setup.json") {
		t.Error("a list of another rig withdraws")
	}
	s.post(200, "GET", at, nil, &d)
	body, err := json.Marshal(listed(d))
	if err != nil {
		t.Fatal(err)
	}
	if got := s.get(409, "PUT", at, string(body)); !strings.Contains(got, "and counterweight 2 (mount.counterweights.weights[1], line 45) overlap") || strings.Contains(got, s.dir) {
		t.Error(got)
	}
	s.write(file, text)
	s.post(200, "GET", at, nil, &d)
	if d.Confirmed || strings.Contains(s.names(), "setup.json") {
		t.Errorf("still confirmed: %+v", d)
	}
}
