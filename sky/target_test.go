package sky

import (
	"errors"
	"fmt"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
)

func ExampleParseTarget() {
	t, err := ParseTarget("M 42,83.822,-5.391")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s %.3f %.3f\n", t.Name, axes.Deg(t.Place.RA), axes.Deg(t.Place.Dec))
	// Output: M 42 83.822 -5.391
}

func TestLoadTargets(t *testing.T) {
	got, err := LoadTargets("testdata/targets/terrace.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m31, _ := Find("M 31")
	field := Target{Name: "North field", Priority: 1, Sub: 300 * time.Second, Filters: []string{"Ha", "OIII"}, Wanted: 12 * time.Hour}
	if len(got) != 4 || got[0].Name != "M 31" || got[0].Place != m31.Place || got[0].Object.Designation != "M 31" {
		t.Fatalf("%+v", got)
	}
	f := got[1]
	if f.Name != field.Name || f.Priority != field.Priority || f.Sub != field.Sub || f.Wanted != field.Wanted || !reflect.DeepEqual(f.Filters, field.Filters) || f.Object != nil {
		t.Errorf("%+v", f)
	}
	near(t, "right ascension", axes.Deg(f.Place.RA), 15*(20+59/60.0+17.1/3600), 1e-10)
	near(t, "declination", axes.Deg(f.Place.Dec), 44+31/60.0+44/3600.0, 1e-10)
	near(t, "extent", axes.Deg(f.Extent), 1.5, 1e-12)
	near(t, "proper motion in RA", axes.Deg(got[2].Place.PMRA)*3600e3, -801.6, 1e-9)
	near(t, "proper motion in Dec", axes.Deg(got[2].Place.PMDec)*3600e3, 10362.4, 1e-9)
	if want := (rig.Position{File: "testdata/targets/terrace.yaml", Line: 4, Col: 5}); f.Pos != want {
		t.Errorf("at %s, want %s", f.Pos, want)
	}

	rows, err := LoadTargets("testdata/targets/terrace.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range got {
		got[i].Pos, rows[i].Pos = rig.Position{}, rig.Position{}
	}
	if !reflect.DeepEqual(got, rows) {
		t.Errorf("CSV: %+v\nYAML: %+v", rows, got)
	}
}

func TestTargetNotes(t *testing.T) {
	for text, want := range map[string]string{
		"- M 31":                           "the place of M 31 is the built-in list's, which was written from memory",
		"- {name: x, ra: 5.588, dec: 1}":   "ra 5.588 was read as degrees; if it is hours, write 5.588h or use the key ra_h|no proper motion is written: the place is taken as the same in every year",
		"- {name: x, ra: 5.588h, dec: 1}":  "no proper motion is written: the place is taken as the same in every year",
		"- {name: x, ra_deg: 5.5, dec: 1}": "no proper motion is written: the place is taken as the same in every year",
		"- {name: x, ra: 100, dec: 1, pm_ra_mas_yr: 5, pm_dec_mas_yr: 0}":                            "no epoch is written: ra and dec are taken as the place in 2000.0",
		"- {name: x, ra: 100, dec: 1, pm_ra_mas_yr: 5, pm_dec_mas_yr: 0, epoch: 2016}":               "",
		"- {name: m42, ra: 5:35:17, dec: +05 23 28, pm_ra_mas_yr: 0, pm_dec_mas_yr: 0, epoch: 2000}": "the written place is 10.8° away from the built-in place of M 42 (Orion Nebula): check ra and dec",
		"- {name: m42, ra: 5:35:17, dec: -05 50 28, pm_ra_mas_yr: 0, pm_dec_mas_yr: 0, epoch: 2000}": "",
	} {
		ts, err := ParseTargets([]byte(text), "t.yaml")
		if err != nil {
			t.Errorf("%s: %v", text, err)
		} else if got := strings.Join(ts[0].Notes, "|"); got != want {
			t.Errorf("%s: %s\nwant %s", text, got, want)
		}
	}
}

// TestTargetEpoch takes a fast star from its place in 2000 to 2016 and back. Barnard's star, J2000 and 2016 [mem]: the
// distance on the sky is 16 years of 10.393″.
func TestTargetEpoch(t *testing.T) {
	start := J2000{RA: axes.FromHours(17 + 57/60.0 + 48.5/3600), Dec: axes.Rad(4.6934), PMRA: axes.Rad(-801.6 / 3600e3), PMDec: axes.Rad(10362.4 / 3600e3)}
	later := direction(start.moved(16))
	near(t, "arc of 16 years, arc seconds", axes.Deg(Separation(Equatorial{start.RA, start.Dec}, later))*3600, 16*math.Hypot(0.8016, 10.3624), 1e-3)
	text := fmt.Sprintf("- {name: x, ra: %.10f, dec: %.10f, pm_ra_mas_yr: -801.6, pm_dec_mas_yr: 10362.4, epoch: 2016}", axes.Deg(later.RA), axes.Deg(later.Dec))
	ts, err := ParseTargets([]byte(text), "t.yaml")
	if err != nil {
		t.Fatal(err)
	}
	back := ts[0].Place
	// The meridian's turn over 16 years, 13″·sin δ = 5e-6, mixes the parts of the motion by 5e-6 of its 166″, 0.85 mas.
	near(t, "right ascension, mas", axes.Deg(back.RA-start.RA)*3600e3, 0, 1)
	near(t, "declination, mas", axes.Deg(back.Dec-start.Dec)*3600e3, 0, 1)
	for _, year := range []float64{0, 16, 26} {
		near(t, "place again, mas", axes.Deg(Separation(direction(back.moved(year)), direction(start.moved(year))))*3600e3, 0, 2)
	}
	for _, dec := range []float64{-89.999, -45, 0, 60, 89.9999} { // exact, near the poles too
		c := J2000{RA: 1, Dec: axes.Rad(dec), PMRA: 4e-5, PMDec: -3e-5}
		got := c.atJ2000(2016)
		near(t, "moved on to 2016", Separation(direction(got.moved(16)), Equatorial{c.RA, c.Dec}), 0, 1e-9)
	}
}

func TestParseTarget(t *testing.T) {
	more := func(text string) string {
		return fmt.Sprintf(`target: %q has more than two figures, or no name before them, as with decimal commas; write "name,ra_deg,dec_deg" with decimal points, `+
			`such as "M 42,83.822,-5.391", and no comma before a number that belongs to the name`, text)
	}
	for text, want := range map[string]string{
		"M 42,83.822,-5.391":     "M 42 83.8220 -5.3910",
		"a, b, and c , 10 , -20": "a, b, and c 10.0000 -20.0000",
		`x,05h35m17s,-05°23'28"`: "x 83.8208 -5.3911",
		"ngc7000":                "ngc7000 314.8208 44.5289",
		"x,5":                    `target: "x,5" has one comma; write "name,ra_deg,dec_deg" such as "M 42,83.822,-5.391", or the name of a built-in object`,
		// Decimal commas in both angles, in the second, in the first, in seconds; and a name that can't be told from them.
		"my,83,8,22,0":                     more("my,83,8,22,0"),
		"my,83.8,22,5":                     more("my,83.8,22,5"),
		"my, 83,8, -5.4":                   more("my, 83,8, -5.4"),
		"x,5h35m17,3s,-5.4":                more("x,5h35m17,3s,-5.4"),
		"Sh 2,155,344,62":                  more("Sh 2,155,344,62"),
		"Sh 2-155,344,62":                  "Sh 2-155 344.0000 62.0000",
		"83,8,5":                           more("83,8,5"),
		"":                                 "target.name: it has no value; write a name",
		",5,5":                             "target.name: it has no value; write a name",
		"x,400,5":                          `target.ra: the right ascension "400" is a whole turn or more; write less than 360 degrees`,
		"x,5,95":                           `target.dec: the declination "95" is beyond the pole; write -90 to 90 degrees`,
		"x,5,":                             `target.dec: "" is not an angle; write -5.391, -5:23:28 or -05°23'28"`,
		"x,NaN,5":                          `target.ra: "NaN" is not an angle; write 5h35m17.3s, 5:35:17.3 or degrees such as 83.822`,
		"ngc7":                             "",
		"x\ny,5,5":                         "target.name: the text holds a line break or a control character; write it on one line",
		"x,5,5" + strings.Repeat("0", 100): "",
	} {
		tg, err := ParseTarget(text)
		var got string
		if err != nil {
			var e *rig.Error
			if got = err.Error(); !errors.As(err, &e) {
				t.Errorf("%q: %T", text, err)
			}
			if want == "" {
				continue
			}
		} else {
			got = fmt.Sprintf("%s %.4f %.4f", tg.Name, axes.Deg(tg.Place.RA), axes.Deg(tg.Place.Dec))
		}
		if got != want {
			t.Errorf("%q: %s\nwant %s", text, got, want)
		}
	}
}

// TestBadTargets gives one defect a list, and the one message that it must have.
func TestBadTargets(t *testing.T) {
	n := len(Catalogue())
	for _, c := range []struct{ file, text, want string }{
		{"t.yaml", "- M 31\n- Andromdea\n", fmt.Sprintf(`t.yaml:2:3: targets[1]: "Andromdea" is not one of the %d built-in objects; did you mean M 31 (Andromeda Galaxy)? Otherwise write its ra and dec`, n)},
		{"t.yaml", "- name: x\n  ra: 5:35:17\n", "t.yaml:1:3: targets[0]: dec is missing; add it, such as `dec: -05°23'28\"`"},
		{"t.yaml", "- name: x\n  dec: 5\n", "t.yaml:1:3: targets[0]: ra is missing; add it, such as `ra: 05h35m17s`"},
		{"t.yaml", "- name: x\n  ra: 5:75:17\n  dec: 5\n", `t.yaml:2:7: targets[0].ra: "5:75:17" has 75 minutes, but 60 are the next unit; write 5h35m17.3s, 5:35:17.3 or degrees such as 83.822`},
		{"t.yaml", "- name: x\n  ra: 5h\n  ra_deg: 75\n  dec: 5\n", "t.yaml:3:3: targets[0].ra_deg: it is given by ra too; keep one of the two"},
		{"t.yaml", "- name: M 1\n  priorty: 1\n", `t.yaml:2:3: targets[0]: "priorty" is not a key of a target; did you mean priority?`},
		{"t.yaml", "- name: M 1\n  colour: 1\n", `t.yaml:2:3: targets[0]: "colour" is not a key of a target; its keys are name, ra, ra_h, ra_deg, dec, dec_deg, priority, sub_s, filters, wanted_h, extent_deg, pm_ra_mas_yr, pm_dec_mas_yr, epoch`},
		{"t.yaml", "- name: M 1\n  priority: 0\n", `t.yaml:2:13: targets[0].priority: "0" is not a priority; write a whole number from 1 (first) to 100`},
		{"t.yaml", "- name: M 1\n  priority: high\n", `t.yaml:2:13: targets[0].priority: "high" is not a priority; write a whole number from 1 (first) to 100`},
		{"t.yaml", "- name: M 1\n  sub_s: 5 min\n", `t.yaml:2:10: targets[0].sub_s: "5 min" is not a number; write seconds such as 300`},
		{"t.yaml", "- name: M 1\n  sub_s: 0\n", `t.yaml:2:10: targets[0].sub_s: 0 is not possible here; write seconds such as 300, above 0 and up to 7200`},
		{"t.yaml", "- name: M 1\n  wanted_h: .inf\n", `t.yaml:2:13: targets[0].wanted_h: ".inf" is not a number; write hours such as 8`},
		{"t.yaml", "- name: M 1\n  wanted_h: 1_0\n", `t.yaml:2:13: targets[0].wanted_h: "1_0" is not a number; write hours such as 8`},
		{"t.yaml", "- name: M 1\n  wanted_h: [8]\n", "t.yaml:2:3: targets[0].wanted_h: it is a list, but a single value is expected; write one value"},
		{"t.yaml", "- name: M 1\n  extent_deg: -1\n", `t.yaml:2:15: targets[0].extent_deg: -1 is not possible here; write degrees such as 0.5, from 0 and up to 20`},
		{"t.yaml", "- name: M 1\n  filters: [L, R, L]\n", `t.yaml:2:19: targets[0].filters: "L" is here for the second time; keep one of the two`},
		{"t.yaml", "- name: M 1\n  filters: []\n", "t.yaml:2:3: targets[0].filters: it has 0 filters; write 1 to 20, or remove the key"},
		{"t.yaml", "- name: M 1\n  filters: [[L]]\n", "t.yaml:2:3: targets[0].filters: its list holds something that is not a single value; write words such as [L, R, G, B]"},
		{"t.yaml", "- name: M 1\n  epoch: 2026\n", "t.yaml:2:3: targets[0].epoch: there is an epoch without a proper motion; ra and dec are always J2000; write pm_ra_mas_yr and pm_dec_mas_yr too, or remove epoch"},
		{"t.yaml", "- name: M 1\n  pm_ra_mas_yr: 2\n", "t.yaml:2:3: targets[0]: pm_dec_mas_yr is missing; write both parts of the proper motion"},
		{"t.yaml", "- name: M 1\n  pm_dec_mas_yr: 2\n", "t.yaml:2:3: targets[0]: pm_ra_mas_yr is missing; write both parts of the proper motion (μα·cos δ)"},
		{"t.yaml", "- name: M 1\n  pm_dec_mas_yr: 2\n  pm_ra_mas_yr: 1\n  epoch: 20\n", "t.yaml:4:10: targets[0].epoch: 20 is not possible here; write the year of the place, such as 2016, from 1850 and up to 2150"},
		{"t.yaml", "- ra: 5h\n  dec: 5\n", "t.yaml:1:3: targets[0]: name is missing; write one such as `name: M 42`"},
		{"t.yaml", "- name:\n  ra: 5h\n", "t.yaml:1:3: targets[0].name: it has no value; write one, or remove the key"},
		{"t.yaml", "- name: {a: b}\n", "t.yaml:1:3: targets[0].name: it is not a single value; write one, or remove the key"},
		{"t.yaml", "- name: M 1\n  name: M 2\n", "t.yaml:2:3: targets[0].name: the key is here for the second time, first in line 1; keep one of the two"},
		{"t.yaml", "- M 1\n- m 1\n", `t.yaml:2:3: targets[1]: "m 1" is here for the second time, first in line 1; keep one of the two, or give them different names`},
		{"t.yaml", "- [M 1]\n", "t.yaml:1:3: targets[0]: it is neither a name nor a mapping of keys; write `- M 42`, or `- name: M 42` with further keys below it"},
		{"t.yaml", "M 31\n", "t.yaml:1:1: a list of targets is expected; begin each target with a dash, such as `- M 42` or `- name: M 42`"},
		{"t.yaml", "name: M 31\n", "t.yaml:1:1: a list of targets is expected, but this is a mapping of keys; begin each target with a dash, below `targets:` or without it"},
		{"t.yaml", "", "t.yaml: the list holds no target; write one such as `- M 42` (YAML), or a line `name` and a line `M 42` (CSV)"},
		{"t.yaml", "- M 1\n---\n- M 2\n", "t.yaml:3:1: the file holds more than one YAML document, or a directive; write one list a file, without `---` and `%` lines"},
		{"t.yaml", strings.Repeat("[", 20), "t.yaml:1:1: lists and mappings are nested too deep; write one key a line, with a dash before each target"},
		{"t.yaml", "\xff", "t.yaml: the file is not UTF-8 text; save it as UTF-8"},
		{"t.txt", "M 31", "t.txt: the file's name says neither YAML nor CSV; name a list that ends in .yaml or .csv"},
		{"t.csv", "name,ra,dec\nx,5:35:17\n", `t.csv:2:1: the line has 2 fields, but the first line names 3; write as many, with nothing between two commas for what is not known; put a text with a comma in double quotes`},
		{"t.csv", "name,ra,dec\nx,5:35:17,+95\n", `t.csv:2:11: targets[0].dec: the declination "+95" is beyond the pole; write -90 to 90 degrees`},
		{"t.csv", "name,ra,dec\n\n# north\nx , 5:35:77,+9\n", `t.csv:4:5: targets[0].ra: "5:35:77" has 77 seconds, but 60 are the next unit; write 5h35m17.3s, 5:35:17.3 or degrees such as 83.822`},
		{"t.csv", "name,r a,dec\nx,5,9\n", `t.csv:1:6: first line: "r a" is not a key of a target; did you mean ra?`},
		{"t.csv", "name;ra;dec\nx;5;9\n", "t.csv:1:1: the fields are not divided by commas; write commas: name,ra,dec"},
		{"t.csv", "ra,dec\n5,9\n", "t.csv:1:1: first line: name is missing; begin with a line that names the keys, such as name,ra,dec,priority"},
		{"t.csv", "name,ra,ra\nx,5,9\n", `t.csv:1:9: first line: "ra" is here for the second time; keep one of the two`},
		{"t.csv", "name,ra,dec\n\"x,5,9\n", `t.csv:2:1: a double quote is opened and not closed in this line; close it; write "" for a quote inside`},
		{"t.csv", "name,ra,dec\n\"x\" y,5,9\n", `t.csv:2:5: there is text behind the closing quote; put the whole field in quotes; write "" for a quote inside`},
		{"t.csv", "name,ra,dec\n,5,9\n", "t.csv:2:1: targets[0]: name is missing; write one such as `name: M 42`"},
		{"t.csv", "name\n", "t.csv: the list holds no target; write one such as `- M 42` (YAML), or a line `name` and a line `M 42` (CSV)"},
	} {
		_, err := ParseTargets([]byte(c.text), c.file)
		var es rig.Errors
		if err == nil || err.Error() != c.want || !errors.As(err, &es) {
			t.Errorf("%q: %v\nwant %s", c.text, err, c.want)
		}
	}
}

func TestTargetLimits(t *testing.T) {
	var many strings.Builder
	for i := range maxTargets + 1 {
		fmt.Fprintf(&many, "- {name: t%d, ra: 5h, dec: 5, colour: red}\n", i)
	}
	var es rig.Errors
	if _, err := ParseTargets([]byte(many.String()), "t.yaml"); !errors.As(err, &es) || len(es) != 1 || es[0].Pos.Line != maxTargets+1 {
		t.Errorf("%v", err)
	}
	text := many.String()
	if _, err := ParseTargets([]byte(text[:strings.LastIndex(text, "- ")]), "t.yaml"); !errors.As(err, &es) || len(es) != maxTargetErrors {
		t.Errorf("%d errors, want %d", len(es), maxTargetErrors)
	}
	if _, err := ParseTargets(make([]byte, maxTargetBytes+1), "t.csv"); err == nil || !strings.Contains(err.Error(), "larger than 1 MiB") {
		t.Error(err)
	}
	if _, err := LoadTargets("testdata/targets/none.yaml"); err == nil || err.Error() != "testdata/targets/none.yaml: the file cannot be read: no such file or directory; name a list of targets that ends in .yaml or .csv" {
		t.Error(err)
	}
}

func TestTargetsInWindowsText(t *testing.T) {
	for _, text := range []string{"\ufeffname,ra,dec\r\nx,\"5h 30m\",\"+5°30'0\"\"\"\r\n"} {
		ts, err := ParseTargets([]byte(text), "t.CSV")
		if err != nil || len(ts) != 1 || math.Abs(axes.Deg(ts[0].Place.Dec)-5.5) > 1e-12 {
			t.Errorf("%v %v", ts, err)
		}
	}
}

func fuzzTargets(f *testing.F, file string, seeds ...string) {
	if data, err := os.ReadFile("testdata/targets/terrace" + file[strings.IndexByte(file, '.'):]); err != nil {
		f.Fatal(err)
	} else {
		f.Add(data)
	}
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		ts, err := ParseTargets(data, file)
		var es rig.Errors
		if err != nil {
			if !errors.As(err, &es) || len(es) == 0 || len(es) > maxTargetErrors || ts != nil {
				t.Fatalf("%T %v", err, err)
			}
			for _, e := range es {
				if e.Problem == "" || e.Remedy == "" || e.Pos.File != file || strings.ContainsAny(e.Error(), "\n\r") {
					t.Errorf("%q", e.Error())
				}
			}
			return
		}
		if len(ts) == 0 {
			t.Fatal("no target and no error")
		}
		for _, tg := range ts {
			p := tg.Place
			if tg.Name == "" || !(p.RA >= 0 && p.RA < 2*math.Pi && math.Abs(p.Dec) <= math.Pi/2) || !(math.Abs(p.PMRA) < 1e-3 && math.Abs(p.PMDec) < 1e-3) ||
				tg.Sub < 0 || tg.Wanted < 0 || !(tg.Extent >= 0) || tg.Priority < 0 || tg.Pos.Line < 1 {
				t.Errorf("%+v", tg)
			}
		}
	})
}

func FuzzTargetsYAML(f *testing.F) {
	fuzzTargets(f, "t.yaml", "- M 31", "targets: [M 31, {name: x, ra: 5h, dec: -5}]", "- &a b\n- *a", "- name: |\n   x", "- <<: {a: b}", "a: [", "- 1: 2", "- !!str x", "- ? x\n  : y")
}

func FuzzTargetsCSV(f *testing.F) {
	fuzzTargets(f, "t.csv", "name\nM 31", "name,ra,dec\nx,5h,\"-5\"", "name,ra_h,dec_deg\nx,5,5\n\"\"\"\",,", "name,filters\nM 1,;", ",")
}
