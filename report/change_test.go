package report

import (
	"strings"
	"testing"

	"legroom/axes"
	changes "legroom/change"
	"legroom/load"
	"legroom/room"
)

// What of a variant's load leaves out parts without a mass says so: its own figures are marked and no other's, the parts stand below by name,
// once for all of which it is true; and so does a variant of which nothing is known.
func TestChangesNameWhatHasNoMass(t *testing.T) {
	variant := func(name string, missing, turning []string) VariantDoc {
		tips := &load.Tipping{Missing: missing, Push: load.Edge{Bound: 74}, Wind: load.Edge{Bound: 19}}
		v := VariantDoc{Name: name, BalanceMissing: []string{}}
		v.loads(&changes.Load{Tipping: tips, Balance: load.Balance{Missing: turning, RA: load.RABalance{Fits: true, Weights: []load.WeightPlace{{Name: "weight", AtMM: 250}}}}})
		return v
	}
	lacking := []string{"tripod", "saddle"}
	unknown := variant("bare", []string{"saddle"}, []string{"saddle"})
	unknown.Tipping, unknown.TippingUnknown = nil, "no part of the support has a mass"
	doc := VariantsDoc{Rig: "made up", PushN: 10, Variants: []VariantDoc{variant("present", nil, nil), variant("riser=100", lacking, nil), variant("turned", lacking, []string{"saddle"}), unknown}}
	text := func(d VariantsDoc) string {
		var b strings.Builder
		if err := WriteChanges(&b, d); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	got := text(doc)
	for _, want := range []string{
		"tips: push, N                        74           74 !            – !            – !\n",
		"tips: wind, m/s                      19           19 !            – !            – !\n",
		"weight 1 goes to, mm                250            250            – !            – !\n",
		"  ! 1: NO MASS IN THE DOCUMENT, counted as nothing: tripod, saddle. Give each its mass_kg before you\n  rely on the figures marked !.\n",
		"  ! 2: NO MASS IN THE DOCUMENT: saddle. What is marked ! is not known until each has its mass_kg;\n  without one as well: tripod.\n",
		"  ! 3: what tips it is not known: no part of the support has a mass.\n",
		"  ! 3: NO MASS IN THE DOCUMENT: saddle. What is marked ! is not known until each has its mass_kg.\n",
	} {
		if strings.Count(got, want) != 1 {
			t.Errorf("%q is not there once:\n%s", want, got)
		}
	}
	doc.Variants = doc.Variants[:1]
	if all := text(doc); strings.Contains(all, " !\n") || strings.Contains(all, "MASS") {
		t.Errorf("nothing is missing:\n%s", all)
	}
	doc.Variants = append(doc.Variants, variant("riser=100", lacking, nil))
	var b strings.Builder
	if err := WriteChangesCSV(&b, doc); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "no_mass") || !strings.Contains(b.String(), "tripod, saddle") {
		t.Errorf("%s", b.String())
	}
}

// A target that one side holds by itself needs no flip: only what changes sides without a proven one is marked.
func TestChangesMarkFlipsThatAreNeeded(t *testing.T) {
	target := func(name string, alone bool) ChangeTarget {
		row := room.Row{Stop: room.RunEnd{HourAngle: axes.FromHours(3), Reason: room.ByRoom}, Resume: room.RunEnd{HourAngle: axes.FromHours(-3), Reason: room.ByRoom}}
		return changeTarget(&changes.TargetResult{Target: changes.Target{Name: name}, Rises: true, Row: row, Alone: alone}, false)
	}
	d := VariantsDoc{Rig: "made up", Variants: []VariantDoc{{Name: "present", Targets: []ChangeTarget{target("low", true), target("high", false)}}}}
	var b strings.Builder
	if err := WriteChanges(&b, d); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "! 0: no flip is proven for high.\n") || !strings.Contains(b.String(), "  high                              0 !\n") ||
		strings.Contains(b.String(), "\n  low ") {
		t.Errorf("%s", b.String())
	}
}
