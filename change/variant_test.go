package change

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"legroom/rig"
)

// A changed document says the same but for the change, with its comments; a plain number keeps the tolerance that was there.
func TestApply(t *testing.T) {
	for _, c := range []struct {
		name  string
		file  string
		edits []Edit
		says  []string
		value func(*rig.Rig) rig.Quantity
		want  rig.Quantity
	}{
		{"a value of a section from a file", terrace, []Edit{{Path: "support.legs.foot_radius_mm", Value: "600"}},
			[]string{"# A terrace in southern Spain", "from: terrace/support.yaml"},
			func(r *rig.Rig) rig.Quantity { return r.Support.Legs.FootRadiusMM.Quantity }, rig.Quantity{Value: 600, Tol: 3}},
		{"with its own tolerance", terrace, []Edit{{Path: "support.legs.foot_radius_mm", Value: "600 ± 8"}}, nil,
			func(r *rig.Rig) rig.Quantity { return r.Support.Legs.FootRadiusMM.Quantity }, rig.Quantity{Value: 600, Tol: 8}},
		{"an entry by its name", terrace, []Edit{{Path: "tube.train.items[filter wheel].offset_x_mm", Value: "55"}}, []string{"# A terrace"},
			func(r *rig.Rig) rig.Quantity { return r.Tube.Train.Items[4].OffsetXMM.Quantity }, rig.Quantity{Value: 55, Tol: 1}},
		{"a short name", terrace, []Edit{{Path: "rotator", Value: "30"}}, nil,
			func(r *rig.Rig) rig.Quantity { return r.Tube.Train.Rotator.AngleDeg.Quantity }, rig.Quantity{Value: 30, Tol: 1}},
		{"what is added to", terrace, []Edit{{Path: "saddle-riser", Value: "25"}}, nil,
			func(r *rig.Rig) rig.Quantity { return r.Tube.AxisDistanceMM.Quantity }, rig.Quantity{Value: 137, Tol: 2}},
		{"a riser where there is none", terrace, []Edit{{Path: "riser", Value: "120"}}, nil,
			func(r *rig.Rig) rig.Quantity { return r.Support.Extension.HeightMM.Quantity }, rig.Quantity{Value: 120, Tol: 1}},
		{"two changes", "../examples/karoo-newtonian.yaml", []Edit{{Path: "slide", Value: "-20"}, {Path: "support.diameter_mm", Value: "220"}},
			[]string{"tape held level", "slide_mm: -20 ± 2", "diameter_mm: 220 ± 3"},
			func(r *rig.Rig) rig.Quantity { return r.Tube.SlideMM.Quantity }, rig.Quantity{Value: -20, Tol: 2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := document(t, c.file)
			before, err := d.Rig()
			if err != nil {
				t.Fatal(err)
			}
			r, _, err := (&Variant{Edits: c.edits}).Apply(d)
			if err != nil {
				t.Fatal(err)
			}
			if q := c.value(r); math.Abs(q.Value-c.want.Value) > 1e-9 || q.Tol != c.want.Tol {
				t.Errorf("%v, want %v ± %v", q.String(), c.want.Value, c.want.Tol)
			}
			if r.Fingerprint() == before.Fingerprint() {
				t.Error("the rig is the same")
			}
			for _, s := range c.says {
				if !strings.Contains(string(d.Bytes()), s) {
					t.Errorf("the document does not say %q:\n%s", s, d.Bytes())
				}
			}
		})
	}
}

// What a rig lacks is said of the rig, and no fault is found with its file.
func TestApplyWhatIsNotThere(t *testing.T) {
	for file, paths := range map[string][]string{"../examples/karoo-newtonian.yaml": {"leg-azimuth", "leg-spread", "support.legs.width_mm"}} {
		for _, path := range paths {
			e := Edit{Path: path, Value: "30"}
			_, _, err := (&Variant{Edits: []Edit{e}}).Apply(document(t, file))
			if want := e.String() + ": this rig stands on a pier, which has no legs"; err == nil || err.Error() != want {
				t.Errorf("%v, want %s", err, want)
			}
		}
	}
}

func TestRiserTakenAway(t *testing.T) {
	d := document(t, "../examples/terrace-riser.yaml")
	r, _, err := (&Variant{Edits: []Edit{{Path: "riser", Value: "0"}}}).Apply(d)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := document(t, terrace).Rig()
	if err != nil {
		t.Fatal(err)
	}
	if r.Support.Extension != nil || r.Fingerprint() != plain.Fingerprint() {
		t.Error("the rig without its riser is not the rig that never had one")
	}
}

// A section is taken from a file, anything else is written out.
func TestSwap(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	if err := os.CopyFS(dir, os.DirFS("../examples")); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "terrace-long-refractor.yaml")
	legs := put("legs.yaml", "legs:\n  first_azimuth_deg: 60 ± 1 # turned\n  hip_radius_mm: 85 ± 3\n  foot_radius_mm: 500 ± 3\n  section: round\n  width_mm: 40 ± 1\n")
	r, _, err := (&Variant{Edits: []Edit{{Path: "support.legs", File: legs}}}).Apply(document(t, file))
	if err != nil {
		t.Fatal(err)
	}
	if g := r.Support.Legs; g.FootRadiusMM.Value != 500 || g.FirstAzimuthDeg.Tol != 1 {
		t.Errorf("legs %+v", g)
	}
	support := put("other.yaml", "support:\n  kind: pier\n  height_mm: 1000 ± 3\n  diameter_mm: 150 ± 2\n")
	d := document(t, file)
	if r, _, err = (&Variant{Edits: []Edit{{Path: "support", File: support}}}).Apply(d); err != nil {
		t.Fatal(err)
	}
	if r.Support.Kind != rig.Pier || !strings.Contains(string(d.Bytes()), "other.yaml") {
		t.Errorf("support %v:\n%s", r.Support.Kind, d.Bytes())
	}
	_, _, err = (&Variant{Edits: []Edit{{Path: "support", File: "/elsewhere/support.yaml"}}}).Apply(document(t, file))
	contains(t, err, "/elsewhere/support.yaml", "copy it there")
}

// What cannot be is refused with the variant's name, and nothing else is measured.
func TestCompareRefuses(t *testing.T) {
	for _, c := range []struct {
		edit Edit
		says []string
	}{
		{Edit{Path: "support.legs.foot_radius", Value: "600"}, []string{"bad one", "foot_radius"}},
		{Edit{Path: "support.legs.foot_radius_mm", Value: "wide"}, []string{"bad one", "foot_radius_mm"}},
		{Edit{Path: "support.legs.foot_radius_mm", Value: "-600"}, []string{"bad one", "foot_radius_mm"}},
		{Edit{Path: "tube.train.items[no such thing].length_mm", Value: "6"}, []string{"bad one", "no such thing"}},
	} {
		_, err := Compare(context.Background(), document(t, terrace), []Variant{{Name: "bad one", Edits: []Edit{c.edit}}},
			Ask{CellDeg: 5, Targets: []Target{{Name: "x", Dec: 0.6, Half: dither}}}, nil)
		contains(t, err, c.says...)
	}
}

func TestCompareStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Compare(ctx, document(t, terrace), nil, Ask{}, nil); err != context.Canceled {
		t.Error(err)
	}
}

func TestRanges(t *testing.T) {
	r, err := ParseRange("riser=0..100..25")
	if err != nil {
		t.Fatal(err)
	}
	list := r.Variants(Variant{Name: "turned", Edits: []Edit{{Path: "leg-azimuth", Value: "60"}}})
	if len(list) != 5 || list[4].Name != "turned, riser=100" || len(list[4].Edits) != 2 {
		t.Errorf("%+v", list)
	}
	for _, s := range []string{"riser", "riser=1..2", "riser=0..10..0", "riser=10..0..1", "riser=0..1e9..1", "=0..1..1", "riser=a..b..c"} {
		_, err := ParseRange(s)
		contains(t, err, "range")
	}
	for _, s := range []string{"riser", "riser=0", "riser=5..5", "riser=9..1", "=0..1", "riser=0..10@", "riser=0..10@-1", "riser=0..nan"} {
		_, err := ParseVariable(s)
		contains(t, err, "variable")
	}
	v, err := ParseVariable(" slide = -20 .. 20 @ 0.5")
	if err != nil || v.Path != "slide" || v.From != -20 || v.To != 20 || v.Price != 0.5 {
		t.Errorf("%+v %v", v, err)
	}
}

func TestAims(t *testing.T) {
	for _, s := range []string{"most-room", "least-idle", "no-idle", "no-idle above 30", "past=20", "past=7.5 above 12.5"} {
		a, err := ParseAim(s)
		if err != nil || a.String() != s {
			t.Errorf("%q: %q, %v", s, a, err)
		}
	}
	for _, s := range []string{"", "most-room above 30", "no-idle=3", "past", "past=", "past=9999", "no-idle above", "no-idle above 90", "more-room", "past=1..2"} {
		_, err := ParseAim(s)
		contains(t, err, "aim", "most-room")
	}
}

// The solver refuses what it cannot bound, in words.
func TestSolveRefuses(t *testing.T) {
	for _, c := range []struct{ vary, says string }{
		{"site.latitude_deg=0..10", "no length or angle"},
		{"mount.polar_axis.altitude_deg=30..40", "the sky or the pole"},
		{"mount.zero_errors.cone_deg=-1..1", "the sky or the pole"},
		{"margin_mm=0..30", "the sky or the pole"},
		{"mount.park.ra_axis_deg=0..10", "no length or angle"},
		{"tube.no_such=0..10", "no length or angle"},
		{"support.extension.diameter_mm=50..100", "no length or angle"},
		{"mount.base.mass_kg=1..5", "kg"},
	} {
		p := problem(t, terrace, "most-room", c.vary)
		_, err := Solve(context.Background(), p, nil)
		contains(t, err, c.says)
	}
	p := problem(t, terrace, "most-room", "riser=0..10")
	p.Variables = nil
	_, err := Solve(context.Background(), p, nil)
	contains(t, err, "one to three")
}
