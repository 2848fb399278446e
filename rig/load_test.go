package rig

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

func load(t testing.TB, path string) *Rig {
	t.Helper()
	r, err := Load(path)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func write(t *testing.T, path, text string) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func goodText(t testing.TB) string {
	t.Helper()
	b, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// quantity finds one by its path.
func quantity(t *testing.T, r *Rig, path string) *Quantity {
	t.Helper()
	for _, q := range r.Quantities {
		if q.Path == path {
			return q
		}
	}
	t.Fatalf("no quantity %s", path)
	return nil
}

func TestLoad(t *testing.T) {
	r := load(t, "testdata/good.yaml")
	for i, q := range r.Quantities {
		if q.ID != i || !q.Set() {
			t.Errorf("%d: %+v", i, q)
		}
	}
	for path, want := range map[string]Quantity{
		"margin_mm":                               {Value: 30, Source: Measured},
		"support.height_mm":                       {Value: 900, Tol: 3, Source: Measured},
		"support.legs.foot_radius_mm":             {Value: 550, Tol: 5, Source: Measured},
		"support.legs.width_mm":                   {Value: 60, Tol: 2, Source: Measured},
		"support.tray.thickness_mm":               {Value: 20, Tol: 30, Source: Unmeasured},
		"support.legs.hip_radius_mm":              {Value: 80, Tol: 5, Source: Measured},
		"support.out_of_level.lean_deg":           {Value: 0.5, Tol: 1, Source: Measured},
		"mount.crossing.offset_mm":                {Value: 60, Tol: 5, Source: Measured},
		"mount.polar_axis.altitude_deg":           {Value: 36.9, Tol: 0.5, Source: Default},
		"mount.polar_axis.azimuth_error_deg":      {Value: 0.2, Tol: 0.5, Source: Measured},
		"mount.zero_errors.ra_deg":                {Value: 0, Tol: 0.3, Source: Measured},
		"mount.zero_errors.dec_deg":               {Value: 0, Tol: 0.5, Source: Default},
		"mount.zero_errors.cone_deg":              {Value: 0.1, Tol: 0.5, Source: Measured},
		"mount.saddle.at_mm":                      {Value: 0, Tol: 0, Source: Default},
		"mount.counterweights.weights[0].mass_kg": {Value: 5, Tol: 0, Source: Measured},
		"tube.slide_mm":                           {Value: 0, Tol: 1, Source: Measured},
		"tube.train.items[1].offset_x_mm":         {Value: 0, Tol: 0, Source: Default},
		"tube.parts[0].turn_deg":                  {Value: 10, Tol: 1, Source: Measured},
		"support.obstacles[0].size_mm[2]":         {Value: 1500, Tol: 5, Source: Measured},
	} {
		got := quantity(t, r, path)
		if got.Value != want.Value || got.Tol != want.Tol || got.Source != want.Source {
			t.Errorf("%s: %s %s, want %s %s", path, got, got.Source, &want, want.Source)
		}
	}
	if p := quantity(t, r, "support.height_mm").Pos; p != (Position{"testdata/good.yaml", 13, 14}) {
		t.Errorf("support.height_mm stands at %v", p)
	}
	if r.Support.Obstacles[0].Frame != Ground || r.Mount.Parts[0].Frame != Arm || r.Tube.Parts[0].Frame != TubeFrame {
		t.Error("frames are not filled in")
	}
	if *r.Mount.Travel.DecFromDeg != -180 || *r.Mount.Travel.RAToDeg != 110 || r.Mount.Slew.SettleS != 12 || r.Legroom != 1 {
		t.Errorf("%+v %+v", r.Mount.Travel, r.Mount.Slew)
	}
}

// Every way to write a quantity, and its default tolerance by kind [DESIGN section 3].
func TestQuantityForms(t *testing.T) {
	for text, want := range map[string]Quantity{
		"460": {Value: 460, Tol: 5}, "460.0": {Value: 460, Tol: 5}, "-.5": {Value: -.5, Tol: 5}, "4.6e2": {Value: 460, Tol: 5}, "0460": {Value: 460, Tol: 5},
		"460 ± 3": {Value: 460, Tol: 3}, "460±3": {Value: 460, Tol: 3}, "460 +- 3": {Value: 460, Tol: 3}, "460 +/- 3": {Value: 460, Tol: 3}, "460+/-3.5": {Value: 460, Tol: 3.5}, "460 ± 0": {Value: 460},
		"460 unmeasured": {Value: 460, Tol: 46}, "100 unmeasured": {Value: 100, Tol: 30}, "-900 unmeasured": {Value: -900, Tol: 90}, "460 ± 9 unmeasured": {Value: 460, Tol: 9}, "460±9 unmeasured": {Value: 460, Tol: 9},
		"460 ± 9 fitted": {Value: 460, Tol: 9}, "460+-0 fitted": {Value: 460},
	} {
		q := Quantity{Unit: "mm"}
		if problem, _ := parseQuantity(&q, text, ""); problem != "" || q.Value != want.Value || q.Tol != want.Tol {
			t.Errorf("%q: %s %s", text, problem, &q)
		}
		if (q.Source == Unmeasured) != strings.Contains(text, "unmeasured") {
			t.Errorf("%q: %s", text, q.Source)
		}
		if (q.Source == Fitted) != strings.Contains(text, "fitted") {
			t.Errorf("%q: %s", text, q.Source)
		}
		again := Quantity{Unit: "mm"}
		if problem, _ := parseQuantity(&again, q.String(), ""); problem != "" || again.Value != q.Value || q.Tol > 0 && again != q {
			t.Errorf("%q reads back as %s", q.String(), &again)
		}
	}
	for _, text := range []string{"", "±", "460 ±", "± 5", "460 5", "460 ± 5 mm", "460unmeasured", "460 fitted", "460 ± 5 fitted unmeasured", "460 - 5", "4 60", "1_000", "0x10", "nan", "460 ± nan", "460 ± 5 ± 5", "--5", "٤٦٠"} {
		q := Quantity{Unit: "mm"}
		if problem, remedy := parseQuantity(&q, text, ""); problem == "" || remedy == "" {
			t.Errorf("%q is taken as %s", text, &q)
		}
	}
}

func TestDefaultsListed(t *testing.T) {
	got := map[string]DefaultUsed{}
	for _, d := range load(t, "testdata/good.yaml").Defaults() {
		if _, twice := got[d.Path]; twice {
			t.Errorf("%s is listed twice", d.Path)
		}
		if d.Why == "" || d.Value == "" {
			t.Errorf("%+v", d)
		}
		got[d.Path] = d
	}
	for path, value := range map[string]string{
		"mount.polar_axis.altitude_deg": "36.9 ± 0.5", "mount.travel.dec_from_deg": "-180", "tube.train.items[0].section": "round",
		"support.obstacles[0].frame": "ground", "mount.saddle.at_mm": "0", "mount.zero_errors.dec_deg": "0 ± 0.5",
		"support.tray.height_mm": "± 5 mm", "support.tray.thickness_mm": "± 30 mm", "support.out_of_level.lean_deg": "± 1 deg",
	} {
		if got[path].Value != value {
			t.Errorf("%s: %q, want %q", path, got[path].Value, value)
		}
	}
	for _, path := range []string{"margin_mm", "support.height_mm", "mount.slew.settle_s", "mount.own_rules.at_limit"} {
		if d, listed := got[path]; listed {
			t.Errorf("%+v is in the document", d)
		}
	}
}

func TestFromFiles(t *testing.T) {
	dir := t.TempDir()
	good := goodText(t)
	a, b := strings.Index(good, "mount:\n"), strings.Index(good, "tube:\n")
	mount := good[a:b]
	body := strings.ReplaceAll(strings.TrimPrefix(mount, "mount:\n"), "\n  ", "\n")[2:]
	root := func(section string) string { return good[:a] + section + good[b:] }
	whole := load(t, write(t, filepath.Join(dir, "whole.yaml"), good))

	for name, section := range map[string]string{"under its key": mount, "at top level": body} {
		write(t, filepath.Join(dir, "parts", "mount.yaml"), section)
		r := load(t, write(t, filepath.Join(dir, "split.yaml"), root("mount:\n  from: parts/mount.yaml\n")))
		if r.Fingerprint() != whole.Fingerprint() {
			t.Errorf("%s: another fingerprint", name)
		}
		if p := quantity(t, r, "mount.base.height_mm").Pos; p.File != filepath.Join(dir, "parts", "mount.yaml") {
			t.Errorf("%s: it stands at %v", name, p)
		}
	}
	// Keys beside it override, mapping by mapping; lists as a whole.
	r := load(t, write(t, filepath.Join(dir, "over.yaml"), root("mount:\n  from: parts/mount.yaml\n  crossing: {height_mm: 333}\n  counterweights:\n    weights: []\n")))
	if m := r.Mount; m.CrossingMM.HeightMM.Value != 333 || m.CrossingMM.OffsetMM.Value != 60 || len(m.Counterweights.Weights) != 0 || m.Counterweights.BarEndMM.Value != 420 {
		t.Errorf("%+v", m)
	}
	// A file may lead to another, from where it lies.
	write(t, filepath.Join(dir, "parts", "far.yaml"), "from: mount.yaml\ncrossing: {offset_mm: 11}\n")
	r = load(t, write(t, filepath.Join(dir, "chain.yaml"), root("mount:\n  from: parts/far.yaml\n")))
	if r.Mount.CrossingMM.OffsetMM.Value != 11 || r.Mount.CrossingMM.HeightMM.Value != 290 {
		t.Errorf("%+v", r.Mount.CrossingMM)
	}
	// What-if works on the whole.
	w, err := r.With("mount.counterweights.weights[0].at_mm", "250 ± 1")
	if err != nil || w.Mount.Counterweights.Weights[0].AtMM.Value != 250 || w.Mount.CrossingMM.OffsetMM.Value != 11 {
		t.Errorf("%v", err)
	}

	outside := t.TempDir()
	write(t, filepath.Join(outside, "mount.yaml"), mount)
	link := os.Symlink(outside, filepath.Join(dir, "away")) == nil
	_ = os.Symlink(filepath.Join(dir, "parts", "mount.yaml"), filepath.Join(dir, "absolute.yaml"))
	write(t, filepath.Join(dir, "loop.yaml"), "from: parts/loop.yaml\n")
	write(t, filepath.Join(dir, "parts", "loop.yaml"), "from: ../loop.yaml\n")
	write(t, filepath.Join(dir, "wrong.yaml"), strings.Replace(mount, "bar_end_mm: 420", "bar_end_mm: -420", 1))
	write(t, filepath.Join(dir, "broken.yaml"), "mount: [\n")
	for file, want := range map[string]string{
		"loop.yaml":              "parts/loop.yaml:1:7: mount.from: \"../loop.yaml\" leads back to itself",
		"wrong.yaml":             "wrong.yaml:13:17: mount.counterweights.bar_end_mm: -420 mm is not possible here",
		"broken.yaml":            "broken.yaml:1:8: this is not YAML",
		"none.yaml":              "bad.yaml:30:9: mount.from: there is no file \"none.yaml\"; name a file",
		"../x.yaml":              "\"../x.yaml\" leads out of the document's folder; name a file in the document's own folder",
		"parts/../../x.yaml":     "leads out of the document's folder",
		"/etc/passwd":            "\"/etc/passwd\" leads out of the document's folder",
		"parts":                  "\"parts\" is not a plain file",
		"away/mount.yaml":        "\"away/mount.yaml\" cannot be read",
		`"parts\\mount.yaml"`:    "leads out of the document's folder",
		"[a]":                    "it is a list, but the name of a file is expected",
		"bad.yaml # the root":    "leads back to itself",
		"parts/empty/m.yaml":     "there is no file",
		"\"\"":                   "is not a plain file",
		"./parts/.././loop.yaml": "leads back to itself",
	} {
		if !link && strings.HasPrefix(file, "away") {
			continue
		}
		_, err := Load(write(t, filepath.Join(dir, "bad.yaml"), root("mount:\n  from: "+file+"\n")))
		var e *Error
		if err == nil || !strings.Contains(err.Error(), want) || !errors.As(err, &e) {
			t.Errorf("%s:\n got %v\nwant %s", file, err, want)
		}
	}
	if _, err := Parse([]byte(root("mount:\n  from: parts/mount.yaml\n")), ""); err == nil || !strings.Contains(err.Error(), "was not read from a folder") {
		t.Errorf("%v", err)
	}
}

func TestLoadOfNoDocument(t *testing.T) {
	for path, want := range map[string]string{
		"testdata/none.yaml": "testdata/none.yaml: the file cannot be read: no such file or directory; name a rig document",
		"testdata":           "testdata: the file cannot be read: it is not a plain file; name a rig document",
	} {
		if _, err := Load(path); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %s", err, want)
		}
	}
	huge := filepath.Join(t.TempDir(), "huge.yaml")
	f, err := os.Create(huge)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Truncate(1 << 30); err != nil { // sparse
		t.Skip(err)
	}
	f.Close()
	if _, err := Load(huge); err == nil || !strings.Contains(err.Error(), "larger than 1 MiB") {
		t.Errorf("%v", err)
	}
}

func TestWith(t *testing.T) {
	r := load(t, "testdata/good.yaml")
	before := r.Fingerprint()
	for _, c := range []struct {
		path, value string
		got         func(*Rig) any
		want        any
	}{
		{"support.legs.first_azimuth_deg", "60 ± 1", func(r *Rig) any { return r.Support.Legs.FirstAzimuthDeg.String() }, "60 ± 1"},
		{"tube.train.items[filter wheel].length_mm", "44", func(r *Rig) any { return r.Tube.Train.Items[1].LengthMM.Value }, 44.0},
		{"tube.train.items[2].length_mm", "130", func(r *Rig) any { return r.Tube.Train.Items[2].LengthMM.Value }, 130.0},
		{"tube.train.items[3]", "{name: plug, length_mm: 60, diameter_mm: 40}", func(r *Rig) any { return r.Tube.Train.Items[3].Name }, "plug"},
		{"tube.guide_tubes[0]", "null", func(r *Rig) any { return len(r.Tube.GuideTubes) }, 0},
		{"support.extension", "null", func(r *Rig) any { return r.Support.Extension == nil }, true},
		{"mount.home.ra_axis_deg", "5", nil, "dec_axis_deg is missing"},
		{"mount.home", "{ra_axis_deg: 5, dec_axis_deg: 6}", func(r *Rig) any { return *r.Mount.Home }, AxisPose{5, 6}},
		{"support.height_mm", "-4", nil, "set support.height_mm=-4:1:1: support.height_mm: -4 mm is not possible here; write a number above 0"},
		{"support.height", "4", nil, "did you mean height_mm, which is there already?"},
		{"tube.train.items[9].length_mm", "4", nil, "[9] is no entry of the list, which has 3"},
		{"tube.train.items[nothing].length_mm", "4", nil, "[nothing] is no entry of the list"},
		{"support.legs[0]", "4", nil, "[0] is no entry of the list"},
		{"support..legs", "4", nil, `"support..legs" is not a path`},
		{"", "4", nil, "the path is empty"},
		{"support.height_mm", "[", nil, "this is not YAML"},
		{"support.height_mm", "", nil, "the file is empty"},
		{"tube.top_rail", "null", nil, "there is no such key to take away"},
	} {
		w, err := r.With(c.path, c.value)
		switch {
		case c.got == nil:
			if err == nil || !strings.Contains(err.Error(), c.want.(string)) {
				t.Errorf("%s=%s:\n got %v\nwant %v", c.path, c.value, err, c.want)
			}
		case err != nil:
			t.Errorf("%s=%s: %v", c.path, c.value, err)
		case !reflect.DeepEqual(c.got(w), c.want):
			t.Errorf("%s=%s: %v", c.path, c.value, c.got(w))
		case w.Fingerprint() == before:
			t.Errorf("%s=%s: the fingerprint has not changed", c.path, c.value)
		}
	}
	if r.Fingerprint() != before {
		t.Error("the rig itself has changed")
	}
}

func TestCloneSharesNothing(t *testing.T) {
	r := load(t, "testdata/good.yaml")
	before := r.Fingerprint()
	c := r.Clone()
	if !reflect.DeepEqual(r, c) || c.Fingerprint() != before {
		t.Fatal("the copy differs")
	}
	if len(c.Quantities) != len(r.Quantities) {
		t.Fatal("the copy has other quantities")
	}
	for i, q := range c.Quantities {
		if q == r.Quantities[i] || q.ID != i {
			t.Fatalf("%s is shared", q.Path)
		}
		q.Value += 1
	}
	c.Site.Horizon[0][1] = 33
	*c.Mount.Travel.RAToDeg = 5
	c.Mount.Park.RAAxisDeg = 7
	c.Support.Bearings[0] = 9
	c.Tube.Parts[0].Direction[2] = 5
	c.Joints[0][0] = "x"
	c.Conditions[0].Name = "x"
	if r.Fingerprint() != before {
		t.Error("a change in the copy shows in the rig")
	}
	if c.Support.HeightMM.Value != 901 || c.Tube.Train.Items[0].LengthMM.Value != 151 {
		t.Error("the copy's quantities do not point into it")
	}
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		load(b, "testdata/good.yaml")
	}
}

func BenchmarkClone(b *testing.B) {
	r := load(b, "testdata/good.yaml")
	b.ReportAllocs()
	for b.Loop() {
		r.Clone()
	}
}
