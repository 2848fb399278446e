package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"legroom/axes"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

const terrace = `"id": "terrace-long-refractor"`

// Requests, their answers, and what they leave behind, on the real server.
func TestScenarios(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	outside := t.TempDir()
	if err := os.WriteFile(filepath.Join(outside, "secret.yaml"), []byte("legroom: 1\nname: Secret\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for link, to := range map[string]string{"file.yaml": filepath.Join(outside, "secret.yaml"), "dir": outside, "terrace/link.yaml": filepath.Join(outside, "secret.yaml")} {
		if err := os.Symlink(to, filepath.Join(s.dir, link)); err != nil {
			t.Fatal(err)
		}
	}
	s.write("bad.yaml", "legroom: 1\nname: [\n")
	s.write("notes.yaml", "just: notes\n")
	s.write(".hidden.yaml", "legroom: 1\n")
	const short = `legroom: 1\nname: x\nsite: {latitude_deg: 95, longitude_deg: 0, time_zone: UTC}\n`
	before := s.names()
	for _, c := range []struct {
		name, method, path, body string
		status                   int
		want                     []string // all of these are in the answer; with a ! in front: it is not
	}{
		{"health", "GET", "/api/health", "", 200, []string{`"program":"legroom"`, s.host}},
		{"the list", "GET", "/api/rigs", "", 200, []string{`"id":"terrace-riser"`, `"id":"bad"`, `"problem":"bad.yaml:2:`, "!terrace/tube", "!Secret", "!hidden", "!notes"}},
		{"a rig", "GET", "/api/rigs/terrace-long-refractor", "", 200, []string{`"fingerprint":"`, "from: terrace/tube.yaml", `"mount":"terrace/mount.yaml"`, `"note":"ring's inner radius and shoe, by calliper"`}},
		{"no rig", "GET", "/api/rigs/nothing", "", 404, []string{"no such file"}},
		{"a rig that cannot be read", "GET", "/api/rigs/bad", "", 200, []string{`"errors":[{"file":"bad.yaml","line":2`}},
		{"templates", "GET", "/api/templates", "", 200, []string{`"long-refractor"`}},
		{"lengths", "POST", "/api/lengths", `{"support": "tripod", "mount": "counterweighted", "tube": "newtonian"}`, 200, []string{`"name":"height"`}},
		{"lengths of no template", "POST", "/api/lengths", `{"support": "tripod", "mount": "counterweighted", "tube": "zz"}`, 422, []string{`no template \"zz\"`}},

		{"read", "POST", "/api/read", `{` + terrace + `}`, 200, []string{`"errors":[]`, `"path":"tube.train.items[4].offset_x_mm","group":"train","of":"filter wheel","label":"offset x"`, `"line":`,
			`"joints":[{"path":"mount.joints[0]","a":"mount base","b":"counterweight bar"},`}},
		{"read what is wrong", "POST", "/api/read", `{"id": "new", "text": "` + short + `"}`, 200, []string{`"path":"site.latitude_deg"`, `"line":3`, `"remedy":"`, `"quantities":[]`}},
		{"read no YAML", "POST", "/api/read", `{"id": "new", "text": "a: ["}`, 200, []string{`not YAML`}},
		{"read out of the folder", "POST", "/api/read", `{"id": "../x", "text": "a: 1"}`, 404, []string{"no path in the served folder"}},
		{"read through a link", "POST", "/api/read", `{"id": "dir/x", "text": "legroom: 1\ntube: {from: secret.yaml}\n"}`, 404, []string{"no path in the served folder", "!Secret"}},
		{"a section through a link", "POST", "/api/read", `{"id": "new", "text": "legroom: 1\ntube: {from: terrace/link.yaml}\n"}`, 200, []string{`"errors":[{`, "cannot be read", "!" + outside, "!" + s.dir}},
		{"a section from above", "POST", "/api/read", `{"id": "new", "text": "legroom: 1\ntube: {from: ../../etc/passwd}\n"}`, 200, []string{"leads out of the document's folder"}},

		{"edit", "POST", "/api/edit", `{"id": "karoo-newtonian", "changes": [{"op": "set", "path": "margin_mm", "value": "41"}]}`, 200, []string{`margin_mm: 41`, `"margin_mm":41`, `# `}},
		{"edit what stands in a file", "POST", "/api/edit", `{` + terrace + `, "changes": [{"op": "set", "path": "tube.slide_mm", "value": "12 ± 2"}]}`, 200,
			[]string{`from: terrace/tube.yaml\n  slide_mm: 12 ± 2`, `"path":"tube.slide_mm","group":"tube","of":"tube","label":"slide"`}},
		{"edit a list that stands in a file", "POST", "/api/edit", `{` + terrace + `, "changes": [{"op": "set", "path": "tube.train.items[filter wheel].diameter_mm", "value": "151 ± 1"},
			{"op": "move", "path": "tube.train.items[off-axis guider]", "value": "0"}, {"op": "duplicate", "path": "tube.train.items[flattener]", "value": "second flattener"},
			{"op": "delete", "path": "tube.train.items[guide camera]"}, {"op": "insert", "path": "tube.train.items[0]", "value": "{name: ring, length_mm: 10, diameter_mm: 50}"},
			{"op": "note", "path": "tube.train.items[ring]", "value": "by calliper"}]}`, 200,
			[]string{`diameter_mm: 151 ± 1`, `# at tonight's focus`, `items:\n      - {name: ring, length_mm: 10, diameter_mm: 50} # by calliper\n      - {name: off-axis guider`, `second flattener`, `"errors":[]`, "!guide camera"}},
		{"edit, all or none", "POST", "/api/edit", `{` + terrace + `, "changes": [{"op": "set", "path": "margin_mm", "value": "41"}, {"op": "delete", "path": "nowhere"}]}`, 422, []string{"no such key"}},
		{"edit, no index", "POST", "/api/edit", `{` + terrace + `, "changes": [{"op": "move", "path": "conditions[0]", "value": "up"}]}`, 422, []string{"is no index"}},
		{"edit, no such change", "POST", "/api/edit", `{` + terrace + `, "changes": [{"op": "paint", "path": "margin_mm"}]}`, 422, []string{"body.changes[0].op"}},

		{"a pose off the range", "POST", "/api/pose", `{` + terrace + `, "side": "west", "hour_angle_h": 0, "dec_deg": 91}`, 422, []string{"body.dec_deg"}},
		{"a pose on no side", "POST", "/api/pose", `{` + terrace + `, "side": "up", "hour_angle_h": 0, "dec_deg": 1}`, 422, []string{"body.side"}},
		{"a pose of what cannot be read", "POST", "/api/pose", `{"id": "new", "text": "` + short + `", "side": "west", "hour_angle_h": 0, "dec_deg": 1}`, 422, []string{"site.latitude_deg", `"location":"new.yaml:3:`}},
		{"a pose in no condition", "POST", "/api/pose", `{` + terrace + `, "with": ["moon"], "side": "west", "hour_angle_h": 0, "dec_deg": 1}`, 422, []string{`\"moon\"`, `\"cap on\"`, "!" + s.dir}},
		{"a pose in a condition", "POST", "/api/pose", `{` + terrace + `, "without": ["cap on"], "side": "west", "hour_angle_h": 0, "dec_deg": 1}`, 200, []string{`"without":["cap on"]`, `!"name":"cap"`}},
		{"an unknown key", "POST", "/api/pose", `{` + terrace + `, "side": "west", "hour_angle_h": 0, "dec_deg": 1, "speed": 3}`, 422, []string{"body.speed"}},
		{"no JSON", "POST", "/api/pose", `{`, 400, nil},
		{"a track", "POST", "/api/swept", `{` + terrace + `, "side": "west", "dec_deg": 37, "from_h": -1, "to_h": 1, "steps": 3}`, 200, []string{`"hour_angle_h":[-1,0,1]`, `"name":"filter wheel"`, `!"name":"leg 1"`}},
		{"a track backwards", "POST", "/api/swept", `{` + terrace + `, "side": "west", "dec_deg": 37, "from_h": 1, "to_h": -1}`, 422, []string{"ends at -1 h"}},
		{"limits", "POST", "/api/limits", `{` + terrace + `, "dec_deg": [37.2], "mine": {"west_deg": 95, "east_deg": 92}}`, 200, []string{`"dec_deg":37.2`, `"mine":{"west_deg":95`}},
		{"limits of what never rises", "POST", "/api/limits", `{` + terrace + `, "dec_deg": [-80]}`, 422, []string{"never above the horizon"}},
		{"limits of half a range", "POST", "/api/limits", `{` + terrace + `, "dec_from_deg": 3}`, 422, []string{"both"}},
		{"check", "POST", "/api/check", `{` + terrace + `}`, 200, []string{`"ok":true`}},
		{"a slew", "POST", "/api/slew", `{` + terrace + `, "from": {"pose": {"side": "west", "hour_angle_h": -2, "dec_deg": 37}}, "to": {"named": "park"}}`, 200, []string{`"safe":`}},
		{"a slew from nowhere", "POST", "/api/slew", `{` + terrace + `, "from": {}, "to": {"named": "park"}}`, 422, []string{"from: give one of"}},
		{"a map of a bad step", "POST", "/api/map", `{` + terrace + `, "page": "p", "cell_deg": [1, 2]}`, 422, []string{"each smaller"}},
		{"a map of what cannot be read", "POST", "/api/map", `{"id": "bad", "page": "p"}`, 422, []string{"not YAML"}},

		{"search", "GET", "/api/targets?q=orion", "", 200, []string{`"designation":"M 42"`}},
		{"search with a slip", "GET", "/api/targets?q=andromda", "", 200, []string{`"designation":"M 31"`}},
		{"search a number", "GET", "/api/targets?q=ngc+7000", "", 200, []string{`{"objects":[{"name":"NGC 7000`}},
		{"search for nothing", "GET", "/api/targets?q=", "", 200, []string{`"objects":[]`}},
		{"targets of none", "GET", "/api/rigs/terrace-riser/targets", "", 200, []string{`"version":""`, `"targets":[]`}},
		{"targets of no rig", "GET", "/api/rigs/nothing/targets", "", 404, nil},
		{"a scene without a pose", "POST", "/api/export/scene.glb", `{` + terrace + `}`, 422, []string{"of one pose"}},
		{"no such export", "POST", "/api/export/hologram", `{` + terrace + `}`, 422, []string{"path.kind"}},

		{"escape", "GET", "/api/rigs/..%2Fsecret", "", 404, nil},
		{"escape by root", "GET", "/api/rigs/%2Fetc%2Fpasswd", "", 404, nil},
		{"escape by backslash", "GET", `/api/rigs/..%5Csecret`, "", 404, nil},
		{"escape through a link", "GET", "/api/rigs/file", "", 422, []string{"!Secret", "!" + outside}},
		{"escape through a linked folder", "GET", "/api/rigs/dir%2Fsecret", "", 404, []string{"!Secret"}},
		{"hidden", "GET", "/api/rigs/.hidden", "", 404, nil},
		{"a folder", "GET", "/api/rigs/terrace", "", 404, nil},
		{"write through a link", "PUT", "/api/rigs/file", `{"version": "", "text": "legroom: 1\n"}`, 422, []string{"!Secret"}},
		{"targets through a linked folder", "PUT", "/api/rigs/dir%2Fsecret/targets", `{"version": "", "text": "- M 42\n"}`, 404, nil},
		{"too large", "POST", "/api/read", `{"id": "new", "text": "` + strings.Repeat("x", maxBody) + `"}`, 413, []string{"larger than 1 MiB"}},

		{"nothing there", "GET", "/api/nothing", "", 404, []string{`"status":404`, "/api/nothing"}},
		{"the wrong way", "POST", "/api/rigs/terrace-riser", `{}`, 404, nil},
		{"the page", "GET", "/", "", 200, []string{"<html"}},
		{"no page", "GET", "/nothing.js", "", 404, nil},
		{"no list of files", "GET", "/assets/", "", 404, nil},
		{"not out of the page", "GET", "/..%2f..%2fkey.go", "", 404, nil},
		{"write the page", "PUT", "/index.js", "x", 405, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &site{t: t, dir: s.dir, host: s.host}
			got := s.get(c.status, c.method, c.path, c.body)
			for _, w := range c.want {
				if no, is := strings.CutPrefix(w, "!"); strings.Contains(got, strings.TrimPrefix(w, "!")) == is {
					t.Errorf("%q (in it: %v) in %s", no, is, got)
				}
			}
		})
	}
	if after := s.names(); after != before {
		t.Errorf("files came or went:\n%s\nbefore:\n%s", after, before)
	}
}

// A pose is what `legroom pose` says, to the last digit.
func TestSameAsCommand(t *testing.T) {
	s := newSite(t)
	for _, name := range []string{"terrace-long-refractor", "karoo-newtonian", "balcony-strain-wave"} {
		r, err := rig.Load(filepath.Join("../examples", name+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		m, err := axes.NewModel(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := room.NewGauge(m, room.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range []At{{"west", -0.3, 37}, {"east", 5, -12.5}} {
			side, err := axes.ParseSide(at.Side)
			if err != nil {
				t.Fatal(err)
			}
			p := axes.Pose{Side: side, HourAngle: axes.FromHours(at.HourAngleH), Dec: axes.Rad(at.DecDeg)}
			ax := m.Head.Angles(p)
			want := report.Pose(g, p, g.Gap(ax, g.NewScratch()), g.Nearest(ax, 10))
			var b bytes.Buffer
			if err := report.Write(&b, want); err != nil {
				t.Fatal(err)
			}
			got := s.get(200, "POST", "/api/pose", fmt.Sprintf(`{"id": %q, "side": %q, "hour_angle_h": %v, "dec_deg": %v}`, name, at.Side, at.HourAngleH, at.DecDeg))
			sameJSON(t, name, got, b.String())
		}
	}
}

func sameJSON(t *testing.T, what, got, want string) {
	t.Helper()
	var a, b any
	if err := json.Unmarshal([]byte(got), &a); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(want), &b); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(a, b) {
		t.Errorf("%s: got %s\nwant %s", what, clipped(got), clipped(want))
	}
}

// A rig is written whole over the version that was read, or not at all.
func TestSave(t *testing.T) {
	s := newSite(t)
	const path, file = "/api/rigs/terrace-long-refractor", "terrace-long-refractor.yaml"
	read := func() (r RigText) {
		t.Helper()
		if err := json.Unmarshal([]byte(s.get(200, "GET", path, "")), &r); err != nil {
			t.Fatal(err)
		}
		return r
	}
	first := read()
	changed := strings.Replace(first.Text, "margin_mm: 30", "margin_mm: 35 # mine", 1)
	var saved RigText
	s.post(200, "PUT", path, Saving{first.Version, changed}, &saved)
	if s.file(file) != changed || saved.Text != changed || saved.Version == first.Version || saved.Doc.MarginMM != 35 {
		t.Errorf("saved %q, version %s (was %s)", s.file(file), saved.Version, first.Version)
	}
	var c Conflict
	s.post(409, "PUT", path, Saving{first.Version, first.Text}, &c)
	if c.Text != changed || c.Version != saved.Version || s.file(file) != changed {
		t.Errorf("an old version was not refused: %+v", c)
	}
	byHand := changed + "# by hand\n"
	s.write(file, byHand)
	s.post(409, "PUT", path, Saving{saved.Version, first.Text}, &c)
	if c.Text != byHand || s.file(file) != byHand {
		t.Errorf("what was written by hand is gone: %q", s.file(file))
	}
	now := read()
	s.write("terrace/tube.yaml", s.file("terrace/tube.yaml")+"# by hand\n")
	s.post(409, "PUT", path, Saving{now.Version, first.Text}, &c)
	if c.Text != byHand {
		t.Error("a change of a file that a section comes from was not noticed")
	}
	now = read()
	s.post(422, "PUT", path, Saving{now.Version, "legroom: 1\nname: x\n"}, nil)
	s.post(422, "PUT", path, Saving{now.Version, "a: ["}, nil)
	if s.file(file) != byHand {
		t.Errorf("something that cannot be read was written: %q", s.file(file))
	}
	if err := os.Remove(filepath.Join(s.dir, file)); err != nil {
		t.Fatal(err)
	}
	s.post(404, "PUT", path, Saving{now.Version, first.Text}, nil)
	if strings.Contains(s.names(), file) {
		t.Error("a rig that was deleted meanwhile came back")
	}
	if strings.Contains(s.names(), ".yaml.") {
		t.Errorf("a file was left behind:\n%s", s.names())
	}
}

// A new rig gets a file of its own, and never another's.
func TestNewRig(t *testing.T) {
	s := newSite(t)
	choice := Choice{Name: "Gärten & Höfe", LatitudeDeg: 50, LongitudeDeg: 8, TimeZone: "Europe/Berlin", Support: "tripod", Mount: "counterweighted", Tube: "newtonian",
		Answers: map[string]string{"height": "900 ± 3"}}
	for _, want := range []string{"gärten-höfe", "gärten-höfe-2"} {
		var got RigText
		s.post(200, "POST", "/api/rigs", choice, &got)
		if got.ID != want || len(got.Doc.Errors) > 0 || got.Text != s.file(want+".yaml") || !strings.Contains(got.Text, "900 ± 3") {
			t.Errorf("%s: got %s, %v", want, got.ID, got.Doc.Errors)
		}
	}
	before := s.names()
	for _, c := range []struct {
		status int
		change func(*Choice)
	}{
		{409, func(c *Choice) { c.ID = "karoo-newtonian" }},
		{404, func(c *Choice) { c.ID = "../out" }},
		{404, func(c *Choice) { c.ID = "nowhere/rig" }},
		{422, func(c *Choice) { c.Tube = "zz" }},
		{422, func(c *Choice) { c.TimeZone = "Nowhere/City" }},
		{422, func(c *Choice) { c.Answers = map[string]string{"height": "tall"} }},
		{422, func(c *Choice) { c.Name = " " }},
		{422, func(c *Choice) { c.LatitudeDeg = 91 }},
	} {
		wrong := choice
		c.change(&wrong)
		s.post(c.status, "POST", "/api/rigs", wrong, nil)
	}
	if s.names() != before {
		t.Errorf("a wrong choice left files:\n%s", s.names())
	}
}

// The targets of a rig lie beside it and are written like it.
func TestTargets(t *testing.T) {
	s := newSite(t)
	const path, file = "/api/rigs/terrace-riser/targets", "terrace-riser.targets.yaml"
	var list TargetList
	s.post(200, "PUT", path, Saving{"", "- M 42 # first\n- {name: Mine, ra_deg: 10, dec_deg: 41, priority: 2, sub_s: 120}\n"}, &list)
	if len(list.Targets) != 2 || list.Targets[1].SubS != 120 || list.Version == "" || !strings.Contains(s.file(file), "# first") {
		t.Errorf("%+v", list)
	}
	for _, p := range []string{path, "/api/targets?q=galaxy", "/api/targets?q=ngc+2"} {
		if got := s.get(200, "GET", p, ""); strings.Contains(got, "null") {
			t.Errorf("%s: a list that is null: %s", p, clipped(got))
		}
	}
	s.post(409, "PUT", path, Saving{"", "- M 31\n"}, nil)
	s.post(422, "PUT", path, Saving{list.Version, "- Nowhere 17\n"}, nil)
	if !strings.Contains(s.file(file), "M 42") {
		t.Errorf("the list was written: %q", s.file(file))
	}
	s.write(file, "- Nowhere 17\n")
	var broken TargetList
	if err := json.Unmarshal([]byte(s.get(200, "GET", path, "")), &broken); err != nil || len(broken.Errors) != 1 || broken.Errors[0].File != file {
		t.Errorf("%+v, %v", broken, err)
	}
	s.post(200, "PUT", path, Saving{broken.Version, ""}, &list)
	if strings.Contains(s.names(), file) || list.Version != "" {
		t.Error("an empty text did not take the list away")
	}
	if strings.Contains(s.get(200, "GET", "/api/rigs", ""), "targets") {
		t.Error("a list of targets counts as a rig")
	}
}

// What is exported is of its kind.
func TestExport(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	for kind, c := range map[string][2]string{"card.pdf": {"application/pdf", "%PDF-"}, "map.svg": {"image/svg+xml", "<svg"}, "dome.png": {"image/png", "\x89PNG"},
		"map.csv": {"text/csv; charset=utf-8", "side,hour_angle_h,dec_deg"}, "limits.csv": {"text/csv; charset=utf-8", "dec_from_deg"}, "scene.glb": {"model/gltf-binary", "glTF"}, "scene.stl": {"model/stl", ""}} {
		a := s.ask("POST", "/api/export/"+kind, `{"id": "karoo-newtonian", "at": {"side": "west", "hour_angle_h": 0, "dec_deg": 10}, "date": "2026-03-14"}`)
		data := new(bytes.Buffer)
		_, err := data.ReadFrom(a.Body)
		a.Body.Close()
		if err != nil || a.StatusCode != 200 || a.Header.Get("Content-Type") != c[0] || !bytes.Contains(data.Bytes()[:min(data.Len(), 400)], []byte(c[1])) || data.Len() < 500 ||
			a.Header.Get("Content-Disposition") != "attachment; filename=karoo-newtonian-"+kind {
			t.Errorf("%s: status %d, %s, %s, %d bytes: %s", kind, a.StatusCode, a.Header.Get("Content-Type"), a.Header.Get("Content-Disposition"), data.Len(), clipped(data.String()))
		}
	}
}
