package report

import (
	"strings"
	"testing"
)

// What of a variant's load leaves out parts without a mass says so: marked lines, the parts by name, once for all of which it is true;
// and so does a variant of which nothing is known.
func TestChangesNameWhatHasNoMass(t *testing.T) {
	doc := func(missing []string, unknown string) VariantsDoc {
		d := VariantsDoc{Rig: "made up", PushN: 10}
		for _, name := range []string{"present", "riser=100", "bare"} {
			v := VariantDoc{Name: name, Tipping: &ChangeTipping{PushN: 74, WindMS: 19, Missing: missing}, Counterweights: []ChangeWeight{{Name: "weight", AtMM: 250}}, WeightsFit: true, unbalanced: name == "riser=100" && missing != nil}
			if name == "bare" && unknown != "" {
				v.Tipping, v.TippingUnknown = nil, unknown
			}
			d.Variants = append(d.Variants, v)
		}
		return d
	}
	text := func(d VariantsDoc) string {
		var b strings.Builder
		if err := WriteChanges(&b, d); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	got := text(doc([]string{"tripod", "saddle"}, "no part has a mass"))
	for _, want := range []string{"tips: push, N !", "tips: wind, m/s !", "weight 1 goes to, mm !", "  ! 0, 1: NO MASS IN THE DOCUMENT, counted as nothing: tripod, saddle.",
		"  ! 2: what tips it is not known: no part has a mass."} {
		if strings.Count(got, want) != 1 {
			t.Errorf("%q is not there once:\n%s", want, got)
		}
	}
	if all := text(doc(nil, "")); strings.Contains(all, " !\n") || strings.Contains(all, "N !") || strings.Contains(all, "MASS") {
		t.Errorf("nothing is missing:\n%s", all)
	}
	var b strings.Builder
	if err := WriteChangesCSV(&b, doc([]string{"tripod", "saddle"}, "")); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "no_mass") || !strings.Contains(b.String(), "tripod, saddle") {
		t.Errorf("%s", b.String())
	}
}

// A target that one side holds by itself needs no flip: only what changes sides without a proven one is marked.
func TestChangesMarkFlipsThatAreNeeded(t *testing.T) {
	stop, resume := 3.0, -3.0
	target := func(name string, alone bool) ChangeTarget {
		return ChangeTarget{Name: name, Rises: true, StopH: &stop, ResumeH: &resume, alone: alone}
	}
	d := VariantsDoc{Rig: "made up", Variants: []VariantDoc{{Name: "present", Targets: []ChangeTarget{target("low", true), target("high", false)}}}}
	var b strings.Builder
	if err := WriteChanges(&b, d); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "! 0: no flip is proven for high.\n") {
		t.Errorf("%s", b.String())
	}
}
