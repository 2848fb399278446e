package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every wrong use ends with code 2, nothing on standard output, no file, and one error that says where, what, and what would
// be right.
func TestWrongUse(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	write := func(name, text string) string {
		if err := os.WriteFile(in(name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return in(name)
	}
	bad := write("bad.yaml", "legroom: 1\nname: [x\n")
	low := write("low.yaml", strings.Replace(content(t, karoo), "height_mm: 1010 ± 3", "height_mm: -5", 1))
	list := write("list.csv", "name\nM 42\n")
	badList := write("bad-list.yaml", "- M 31\n- m331\n- {name: M 42, priority: first}\n")
	taken := write("taken.yaml", "legroom: 1\n")
	folder := in("folder.svg")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	nowhere := in("none/x")
	site := []string{"--latitude-deg", "36.9", "--longitude-deg", "-2.4"}
	pose := []string{"--hour-angle-h", "1", "--dec-deg", "2", "--side", "west"}

	for _, c := range []struct {
		args  []string
		input string
		want  []string
	}{
		{args: []string{"chekc"}, want: []string{`no command "chekc"`, "did you mean check?", "legroom --help"}},
		{args: []string{"--loud"}, want: []string{"unknown flag: --loud", "--help"}},
		{args: []string{"check"}, want: []string{"no rig document given", "legroom check examples/"}},
		{args: []string{"check", terrace, karoo}, want: []string{"one rig document at a time", "karoo"}},
		{args: []string{"check", in("none.yaml")}, want: []string{"none.yaml", "no such file", "legroom new"}},
		{args: []string{"check", bad}, want: []string{"bad.yaml:2:7", "this is not YAML"}},
		{args: []string{"limits", low}, want: []string{"low.yaml:15:14", "support.height_mm", "-5 mm is not possible", "write a number above 0"}},
		{args: []string{"check", terrace, "--loud"}, want: []string{"check: unknown flag: --loud", "legroom check --help"}},
		{args: []string{"check", terrace, "--tolerance", "some"}, want: []string{`--tolerance "some"`, "rss, worst or none"}},
		{args: []string{"check", terrace, "--margin", "-4"}, want: []string{"--margin -4", "from 0 to 1000"}},
		{args: []string{"check", terrace, "--margin", "NaN"}, want: []string{"--margin NaN", "from 0 to 1000"}},
		{args: []string{"check", terrace, "--margin", "wide"}, want: []string{`--margin "wide"`, "give a number"}},
		{args: []string{"check", terrace, "--format", "xml"}, want: []string{`--format "xml"`, "text or json"}},
		{args: []string{"check", terrace, "--with", "moon"}, want: []string{`condition "moon"`, `"cap on"`}},
		{args: []string{"check", terrace, "--with", "cap on", "--without", "cap on"}, want: []string{"both to hold and not to hold"}},
		{args: []string{"limits", terrace, "--mine", "west=95"}, want: []string{`--mine "west=95"`, "west=95,east=92"}},
		{args: []string{"limits", terrace, "--mine", "west=NaN,east=9"}, want: []string{"0 to 180"}},
		{args: []string{"limits", terrace, "--declinations", "60..-10"}, want: []string{`"60..-10"`, "the lower first"}},
		{args: []string{"limits", terrace, "--row-deg", "0"}, want: []string{"--row-deg 0", "0.5 to 30"}},
		{args: []string{"limits", terrace, "--cell-deg", "0"}, want: []string{"--cell-deg 0", "0.01 to 30"}},
		{args: []string{"pose", terrace}, want: []string{"--hour-angle-h, --dec-deg, --side missing", "--side west"}},
		{args: append([]string{"pose", terrace, "--pairs", "0"}, pose...), want: []string{"--pairs 0", "1 or more"}},
		{args: []string{"pose", terrace, "--hour-angle-h", "1", "--dec-deg", "2", "--side", "north"}, want: []string{`side "north"`, "west or east"}},
		{args: []string{"pose", terrace, "--hour-angle-h", "30", "--dec-deg", "2", "--side", "west"}, want: []string{"30 h", "−24 to 24"}},
		{args: []string{"pose", terrace, "--hour-angle-h", "1", "--dec-deg", "95", "--side", "west"}, want: []string{"95°", "−90 to 90"}},
		{args: []string{"poses", terrace}, want: []string{"--input missing"}},
		{args: []string{"poses", terrace, "--input", in("none.csv")}, want: []string{"none.csv", "no such file", "- for standard input"}},
		{args: []string{"poses", terrace, "--input", "-"}, input: "west,1\n", want: []string{"standard input:1", "three values, not 2"}},
		{args: []string{"poses", terrace, "--input", "-"}, input: "side,hour_angle_h,dec_deg\nwest,x,3\n", want: []string{"standard input:2", `"x" is no number`, "west,-1.5,37"}},
		{args: []string{"poses", terrace, "--input", "-"}, input: "side,dec_deg,hour_angle_h\nwest,1,3\n", want: []string{"standard input:1", "in this order"}},
		{args: []string{"poses", terrace, "--input", "-"}, input: "west,NaN,3\n", want: []string{"standard input:1", "−24 to 24"}},
		{args: []string{"map", terrace, "--output", in("m.gif")}, want: []string{"m.gif", ".svg or .png"}},
		{args: []string{"map", terrace, "--output", ""}, want: []string{".svg or .png"}},
		{args: []string{"map", terrace, "--output", nowhere + ".svg"}, want: []string{"there is no folder", "make it first"}},
		{args: []string{"map", terrace, "--output", folder}, want: []string{"is a folder", "give a file"}},
		{args: []string{"map", terrace, "--output", filepath.Join(bad, "m.svg")}, want: []string{"bad.yaml"}},
		{args: []string{"map", terrace, "--view", "moon"}, want: []string{`"moon"`, "hours or dome"}},
		{args: []string{"map", terrace, "--step-deg", "0"}, want: []string{"--step-deg 0", "0.1 to 10"}},
		{args: []string{"map", terrace, "--dpi", "1e9"}, want: []string{"--dpi", "36 to 600"}},
		{args: []string{"card", terrace, "--output", in("c.txt")}, want: []string{"c.txt", "ends in .pdf"}},
		{args: []string{"card", terrace, "--output", nowhere + ".pdf"}, want: []string{"there is no folder"}},
		{args: []string{"card", terrace, "--date", "2026-13-01"}, want: []string{`"2026-13-01"`, "year-month-day"}},
		{args: []string{"confirm"}, want: []string{"no rig document given", "legroom confirm examples/"}},
		{args: []string{"confirm", terrace, "--all", "--show"}, want: []string{"--all and --show at once", "one of them"}},
		{args: []string{"confirm", terrace, "--yes", "legs"}, want: []string{`--yes "legs"`, "leg-bearing,leg-extension,train,riser,saddle-mark,roof"}},
		{args: []string{"confirm", karoo, "--yes", "leg-bearing"}, want: []string{`--yes "leg-bearing"`, "train,riser,saddle-mark"}},
		{args: []string{"confirm", terrace, "--all", "--without", "moon"}, want: []string{`condition "moon"`, `"cap on"`}},
		{args: []string{"confirm", terrace, "--all", "--date", "2026-13-01"}, want: []string{`"2026-13-01"`, "year-month-day"}},
		{args: []string{"confirm", terrace, "--all", "--date", "2019-11-25"}, want: []string{"2019-11-25 cannot be confirmed now", "in the night itself"}},
		{args: []string{"night", terrace}, want: []string{"no targets", "--targets", "--target", "examples/terrace/targets.yaml"}},
		{args: []string{"night", terrace, "--date", "24.10.2026", "--target", "m31"}, want: []string{`"24.10.2026"`, "year-month-day"}},
		{args: []string{"night", terrace, "--date", "2026-02-30", "--target", "m31"}, want: []string{`"2026-02-30"`, "year-month-day"}},
		{args: []string{"night", terrace, "--target", "m331"}, want: []string{`--target "m331"`, "did you mean M 31", "ra and dec"}},
		{args: []string{"night", terrace, "--target", "field,83"}, want: []string{`--target "field,83"`, "name,ra_deg,dec_deg"}},
		{args: []string{"night", terrace, "--target", "field,83,91"}, want: []string{"91", "90"}},
		{args: []string{"night", terrace, "--target", "m31", "--target", "M31"}, want: []string{`"M31" is given twice`, "different names"}},
		{args: []string{"night", terrace, "--targets", list, "--target", "m 42"}, want: []string{`"m 42" is given twice`}},
		{args: []string{"night", terrace, "--targets", badList}, want: []string{"bad-list.yaml:2:", "m331", "bad-list.yaml:3:", "priority"}},
		{args: []string{"night", terrace, "--targets", in("none.csv")}, want: []string{"none.csv", "no such file"}},
		{args: []string{"night", terrace, "--target", "m31", "--sub-s", "0"}, want: []string{"--sub-s 0", "1 to 21600"}},
		{args: []string{"night", terrace, "--target", "m31", "--sub-s", "NaN"}, want: []string{"--sub-s NaN"}},
		{args: []string{"night", terrace, "--target", "m31", "--download-s", "-1"}, want: []string{"--download-s -1", "0 to 3600"}},
		{args: []string{"night", terrace, "--target", "m31", "--dither-s", "1e9"}, want: []string{"--dither-s", "0 to 3600"}},
		{args: []string{"night", terrace, "--target", "m31", "--least-block-min", "0"}, want: []string{"--least-block-min 0", "1 to 1440"}},
		{args: []string{"night", terrace, "--target", "m31", "--least-altitude-deg", "91"}, want: []string{"--least-altitude-deg 91", "0 to 90"}},
		{args: []string{"night", terrace, "--target", "m31", "--moon-apart-deg", "181"}, want: []string{"--moon-apart-deg 181"}},
		{args: []string{"night", terrace, "--target", "m31", "--moon-lit", "30"}, want: []string{"--moon-lit 30", "0 to 1"}},
		{args: []string{"night", terrace, "--target", "m31", "--sun", "dusk"}, want: []string{`--sun "dusk"`, "civil, nautical or astronomical"}},
		{args: []string{"night", terrace, "--target", "m31", "--sun", "0"}, want: []string{`--sun "0"`, "below 0"}},
		{args: []string{"night", terrace, "--target", "m31", "--limits", "none"}, want: []string{`--limits "none"`, "declination or two-number"}},
		{args: []string{"night", terrace, "--target", "m31", "--format", "pdf"}, want: []string{`--format "pdf"`, "text or json or csv or ics"}},
		{args: []string{"night", terrace, "--target", "m31", "--table", "moons", "--format", "csv"}, want: []string{`--table "moons"`, "schedule or targets"}},
		{args: []string{"night", terrace, "--target", "m31", "--table", "targets"}, want: []string{"--table", "--format csv"}},
		{args: []string{"night", terrace, "--target", "m31", "--output", in("n.doc")}, want: []string{"n.doc", ".pdf", ".ics"}},
		{args: []string{"night", terrace, "--target", "m31", "--output", nowhere + ".pdf"}, want: []string{"there is no folder"}},
		{args: []string{"night", terrace, "--target", "m31", "--without", "moon"}, want: []string{`condition "moon"`, `"cap on"`}},
		{args: []string{"target"}, want: []string{"no rig document given", "legroom target examples/"}},
		{args: []string{"target", terrace}, want: []string{"no target given", `"M 31"`}},
		{args: []string{"target", terrace, "M", "31"}, want: []string{"one target at a time", "in quotes", "legroom night"}},
		{args: []string{"target", terrace, "m31", "--target", "m42"}, want: []string{"one target at a time"}},
		{args: []string{"target", terrace, "m331"}, want: []string{`target "m331"`, "did you mean M 31"}},
		{args: []string{"target", terrace, "m31", "--nights", "0"}, want: []string{"--nights 0", "1 to 400"}},
		{args: []string{"target", terrace, "--search", "orion"}, want: []string{`--search "orion"`, "needs no rig"}},
		{args: []string{"slew", terrace}, want: []string{"--from, --to missing"}},
		{args: []string{"slew", terrace, "--from", "west,-2", "--to", "park"}, want: []string{"--from", `"west,-2"`, "side,hour_angle_h,dec_deg"}},
		{args: []string{"slew", terrace, "--from", "park", "--to", "west,x,37"}, want: []string{"--to", `"x" is no number`}},
		{args: []string{"slew", terrace, "--from", "park", "--to", "axis:900,0"}, want: []string{"900", "travel", "180"}},
		{args: []string{"slew", terrace, "--from", "park", "--to", "axis:NaN,0"}, want: []string{"NaN", "travel"}},
		{args: append([]string{"scene", terrace, "--output", in("s.obj")}, pose...), want: []string{"s.obj", ".glb or .stl"}},
		{args: append([]string{"scene", terrace, "--output", nowhere + ".glb"}, pose...), want: []string{"there is no folder"}},
		{args: []string{"schema", "sky"}, want: []string{`"sky"`, "limits", "pose"}},
		{args: []string{"schema", "rig", "pose"}, want: []string{"one name at a time"}},
		{args: []string{"new"}, want: []string{"--output, --latitude-deg, --longitude-deg missing", "--latitude-deg 36.9"}},
		{args: append([]string{"new", "--output", taken}, site...), want: []string{"taken.yaml", "exists already"}},
		{args: append([]string{"new", "--output", in("n.txt")}, site...), want: []string{".yaml or .yml"}},
		{args: append([]string{"new", "--output", nowhere + ".yaml"}, site...), want: []string{"there is no folder"}},
		{args: append([]string{"new", "--output", in("n.yaml"), "--support", "rock"}, site...), want: []string{`support: there is no template "rock"`, "tripod"}},
		{args: append([]string{"new", "--output", in("n.yaml"), "--time-zone", "Mars/X"}, site...), want: []string{"--time-zone", `"Mars/X"`, "Europe/Madrid"}},
		{args: []string{"new", "--output", in("n.yaml"), "--latitude-deg", "100", "--longitude-deg", "0"}, want: []string{"--latitude-deg: 100", "-90 to 90"}},
		{args: []string{"new", "--output", in("n.yaml"), "--latitude-deg", "NaN", "--longitude-deg", "0"}, want: []string{"--latitude-deg: NaN"}},
		{args: append([]string{"new", "--output", in("n.yaml"), "--name", " "}, site...), want: []string{"--name is empty"}},
		{args: append([]string{"new", "--output", in("n.yaml"), "--set", "height"}, site...), want: []string{"NAME=LENGTH", "--names"}},
		{args: append([]string{"new", "--output", in("n.yaml"), "--set", "girth=3"}, site...), want: []string{"girth", "leg-azimuth"}},
		{args: append([]string{"new", "--output", in("n.yaml"), "--set", "height=-3"}, site...), want: []string{"height: -3 mm is no length; write the distance", "above 0"}},
		{args: append([]string{"new", "--output", in("n.yaml"), "--set", "height=tall"}, site...), want: []string{"height", `"tall" is not a number`, "460"}},
		{args: []string{"new", "here"}, want: []string{`"here"`, "--help"}},
		{args: []string{"demo", "here"}, want: []string{`"here"`, "--help"}},
		{args: []string{"demo", "--out", bad}, want: []string{"--out", "bad.yaml", "give a new folder"}},
		{args: []string{"demo", "--format", "csv"}, want: []string{"text or json"}},
	} {
		before := files(t, dir)
		r := legroom(t, c.input, c.args...)
		name := strings.Join(c.args, " ")
		if r.code != wrongUse || r.out != "" {
			t.Errorf("legroom %s: code %d, output %q", name, r.code, r.out)
		}
		if !strings.HasPrefix(r.errors, "legroom: ") || strings.Contains(r.errors, "strconv") || strings.Contains(r.errors, ".legroom-") {
			t.Errorf("legroom %s: %s", name, r.errors)
		}
		for _, w := range c.want {
			if !strings.Contains(r.errors, w) {
				t.Errorf("legroom %s: %q is not in: %s", name, w, r.errors)
			}
		}
		if after := files(t, dir); after != before {
			t.Errorf("legroom %s: files were %s, now %s", name, before, after)
		}
	}
}

// files lists a folder.
func files(t *testing.T, dir string) string {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range list {
		names = append(names, f.Name())
	}
	return strings.Join(names, " ")
}

// A folder that may not be written to is told by the name of the file that was asked for.
func TestUnwritableFolder(t *testing.T) {
	if _, err := os.Stat("/proc/self"); err != nil {
		t.Skip("SKIPPED: this system has no folder that nobody may write to")
	}
	r := legroom(t, "", "map", karoo, "--step-deg", "10", "--output", "/proc/map.svg")
	if r.code != wrongUse || !strings.Contains(r.errors, "/proc/map.svg cannot be written: ") || strings.Contains(r.errors, ".legroom-") {
		t.Errorf("code %d: %s", r.code, r.errors)
	}
}
