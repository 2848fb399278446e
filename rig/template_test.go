package rig

import (
	"strings"
	"testing"
)

// everyTemplate combines the templates so that each is there at least once.
func everyTemplate() []NewOptions {
	by := map[string][]string{}
	for _, t := range Templates() {
		by[t.Kind] = append(by[t.Kind], t.Name)
	}
	var out []NewOptions
	for i, u := range by["tube"] {
		for j, m := range by["mount"] {
			o := NewOptions{Name: "trial", LatitudeDeg: 51, LongitudeDeg: 0.5, TimeZone: "Europe/London", Support: by["support"][(i+j)%3], Mount: m, Tube: u}
			if i%2 == 0 {
				o.Extension = by["extension"][0]
			}
			out = append(out, o)
		}
	}
	return out
}

func TestTemplates(t *testing.T) {
	kinds := map[string]int{}
	for _, tm := range Templates() {
		kinds[tm.Kind]++
		if tm.Title == "" || strings.HasPrefix(tm.Title, "#") {
			t.Errorf("%s %s: title %q", tm.Kind, tm.Name, tm.Title)
		}
	}
	if kinds["support"] != 3 || kinds["mount"] != 3 || kinds["tube"] != 5 || kinds["extension"] != 1 {
		t.Errorf("templates: %v", kinds)
	}
	for _, o := range everyTemplate() {
		name := o.Support + " " + o.Extension + " " + o.Mount + " " + o.Tube
		text, err := NewDocument(o)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		r, err := Parse(text, "")
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, q := range r.Quantities {
			if q.Source == Measured && q.Path != "margin_mm" {
				t.Errorf("%s: %s says that it is measured", name, q.Path)
			}
		}
		if _, err := r.Assemble(nil); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, f := range r.Findings() {
			// That nothing has been measured yet is the one thing to say of a template.
			if f.Level != FindingNote && !strings.Contains(f.Text, "never measured") {
				t.Errorf("%s: %+v", name, f)
			}
		}
	}
}

// With every question answered the answers are in the document, measured, and what is scaled adds up to them.
func TestNewDocumentWithAnswers(t *testing.T) {
	for _, o := range everyTemplate() {
		asked, err := Questions(o.Support, o.Extension, o.Mount, o.Tube)
		if err != nil {
			t.Fatal(err)
		}
		if len(asked) < 8 || len(asked) > 12 {
			t.Errorf("%s %s: %d questions", o.Support, o.Tube, len(asked))
		}
		plain, err := NewDocument(o)
		if err != nil {
			t.Fatal(err)
		}
		o.Answers = map[string]string{}
		answer := map[string]float64{}
		for _, q := range asked {
			usual, err := q.Usual(o)
			if err != nil {
				t.Fatal(err)
			}
			a := Quantity{Unit: q.Unit}
			if problem, _ := parseQuantity(&a, usual, ""); problem != "" {
				t.Fatalf("%s: the usual answer %q: %s", q.Name, usual, problem)
			}
			answer[q.Name] = a.Value + 12
			o.Answers[q.Name] = format(a.Value+12) + " ± 4"
		}
		text, err := NewDocument(o)
		if err != nil {
			t.Fatalf("%s %s %s: %v", o.Support, o.Mount, o.Tube, err)
		}
		r, err := Parse(text, "")
		if err != nil {
			t.Fatal(err)
		}
		if a, b := commentsOf(string(plain)), commentsOf(string(text)); a != b {
			t.Errorf("comments changed:\n%s\n%s", a, b)
		}
		d, err := EditDocument(text)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range asked {
			if q.whole {
				sum, err := q.usual(d)
				if err != nil || sum < answer[q.Name]-0.5 || sum > answer[q.Name]+0.5 {
					t.Errorf("%s: %g, want %g (%v)", q.Name, sum, answer[q.Name], err)
				}
				continue
			}
			got, err := d.number(q.Path)
			if err != nil {
				t.Fatal(err)
			}
			if q.back {
				got = -got
			}
			if got != answer[q.Name] {
				t.Errorf("%s: %g, want %g", q.Name, got, answer[q.Name])
			}
			if !measuredAt(r, got, q.back) {
				t.Errorf("%s is not measured ± 4", q.Name)
			}
		}
	}
}

// A rig that is much smaller or larger than its template is a whole rig all the same: what nobody measured goes with what was, and
// nothing looks wrong.
func TestNewDocumentOfAnotherSize(t *testing.T) {
	for i, o := range everyTemplate() {
		if i%3 != i/3%3 { // each template once or twice
			continue
		}
		asked, err := Questions(o.Support, o.Extension, o.Mount, o.Tube)
		if err != nil {
			t.Fatal(err)
		}
		for _, factor := range []float64{0.45, 1.6} {
			all := map[string]string{}
			for _, q := range asked {
				if q.Unit != "mm" {
					continue
				}
				usual, err := q.Usual(o)
				if err != nil {
					t.Fatal(err)
				}
				a := Quantity{Unit: "mm"}
				if problem, _ := parseQuantity(&a, usual, ""); problem != "" {
					t.Fatal(problem)
				}
				all[q.Name] = format(a.Value * factor)
			}
			// All of it, and then the groups of lengths that are measured together.
			for _, group := range [][]string{nil, {"height", "foot-radius"}, {"crossing-height"}, {"saddle-distance"}, {"bar-end"}, {"front"}, {"back"}, {"tube-diameter", "axis-distance"}} {
				o.Answers = all
				if group != nil {
					o.Answers = map[string]string{}
					for _, name := range group {
						if a, ok := all[name]; ok {
							o.Answers[name] = a
						}
					}
				}
				text, err := NewDocument(o)
				if err != nil {
					t.Errorf("%+v: %v", o, err)
					continue
				}
				r, err := Parse(text, "")
				if err != nil {
					t.Fatal(err)
				}
				for _, f := range r.Findings() {
					if f.Level != FindingNote && !strings.Contains(f.Text, "never measured") {
						t.Errorf("%v: %+v", o, f)
					}
				}
			}
		}
	}
	o := NewOptions{TimeZone: "UTC", Support: "tripod", Mount: "counterweighted", Tube: "short-refractor", Answers: map[string]string{"height": "425", "tube-diameter": "184 ± 2"}}
	text, err := NewDocument(o)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"height_mm: 190 ± 19 unmeasured", "diameter_mm: 184 ± 2", "diameter_mm: 216 ± 60 unmeasured", "beside_mm: 190 ± 60 unmeasured"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
}

func measuredAt(r *Rig, value float64, back bool) bool {
	if back {
		value = -value
	}
	for _, q := range r.Quantities {
		if q.Value == value && q.Source == Measured && q.Tol == 4 {
			return true
		}
	}
	return false
}

func TestNewDocumentRefuses(t *testing.T) {
	good := NewOptions{Name: "trial", LatitudeDeg: 51, TimeZone: "UTC", Support: "tripod", Mount: "strain-wave", Tube: "camera-lens"}
	for want, change := range map[string]func(*NewOptions){
		`mount: there is no template "fork"; take centre-balanced, counterweighted or strain-wave`: func(o *NewOptions) { o.Mount = "fork" },
		`tube: there is no template "../new"`:                                                      func(o *NewOptions) { o.Tube = "../new" },
		`colour: nothing of that name is asked for; answer height, `:                               func(o *NewOptions) { o.Answers = map[string]string{"colour": "3"} },
		`height: "90 cm" carries the unit cm`:                                                      func(o *NewOptions) { o.Answers = map[string]string{"height": "90 cm"} },
		`back: -20 mm is no length; write the distance`:                                            func(o *NewOptions) { o.Answers = map[string]string{"back": "-20"} },
		`site.latitude_deg: 99 is not possible here`:                                               func(o *NewOptions) { o.LatitudeDeg = 99 },
		`site.time_zone: there is no time zone "Mars"`:                                             func(o *NewOptions) { o.TimeZone = "Mars" },
		`mount.own_rules.side_choice: "left" is not one of its values`:                             func(o *NewOptions) { o.SideChoice = "left" },
		`mount.own_rules.earliest_flip_min: "soon" is not a number`:                                func(o *NewOptions) { o.EarliestFlip = "soon" },
		`height: -5 mm is no length; write the distance, a number above 0`:                         func(o *NewOptions) { o.Answers = map[string]string{"height": "-5"} },
	} {
		o := good
		change(&o)
		if _, err := NewDocument(o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v\nwant %s", err, want)
		}
	}
	good.SideChoice, good.EarliestFlip = "by_hour_angle", "-20"
	if text, err := NewDocument(good); err != nil || !strings.Contains(string(text), "side_choice: by_hour_angle") || !strings.Contains(string(text), "earliest_flip_min: -20") {
		t.Errorf("%v\n%s", err, text)
	}
	good.Name, good.Horizon = `a "name": #1, [x]`, "my horizon.txt"
	text, err := NewDocument(good)
	if err != nil || !strings.Contains(string(text), "horizon: my horizon.txt #") {
		t.Errorf("%v\n%s", err, text)
	}
}

// commentsOf gives the comments of a text, one a line.
func commentsOf(text string) string {
	var out []string
	for line := range strings.Lines(text) {
		if _, c, ok := strings.Cut(line, "#"); ok {
			out = append(out, strings.TrimSpace(c))
		}
	}
	return strings.Join(out, "\n")
}
