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

// No figure of the table is better than it is: room, gaps, what tips the rig and slack go down, idle and lost time and bending up. The
// differences are those of the figures that stand there.
func TestChangesRoundToTheSafeSide(t *testing.T) {
	variant := func(name string, up float64) VariantDoc {
		lost, way, gap, bends, slack := 20.1+up, 3.1+up, -2.66+up, 7.21+up, 18.9+up
		v := VariantDoc{Name: name, BalanceMissing: []string{}, RoomPercent: ShareDoc{80.009 + up, 70.009 + up, 90.009 + up}, IdleSum: 12.41 + up, LostSum: &lost, NoWaySum: &way, WorstGapMM: &gap,
			Targets: []ChangeTarget{{Name: "M 31", Rises: true, IdleMin: 12.41 + up, LostMin: &lost}}}
		v.loads(&changes.Load{Tipping: &load.Tipping{Push: load.Edge{Bound: 13.502 + up}, Wind: load.Edge{Bound: 11.0856 + up}},
			Balance: load.Balance{RA: load.RABalance{Fits: true, Weights: []load.WeightPlace{{Name: "weight", AtMM: 250.6}}}}})
		v.Bending, v.Cables = []ChangeBending{{PushArcsec: &bends}}, []ChangeCable{{SlackMM: &slack}}
		return v
	}
	var b strings.Builder
	if err := WriteChanges(&b, VariantsDoc{Rig: "made up", PushN: 10, LostOver: "one night", Variants: []VariantDoc{variant("present", 0), variant("taller", 1.6)}}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"room, %                              90    91.6 (+1.6)\n",
		"  side west                          80    81.6 (+1.6)\n",
		"idle, min, all targets             12.5    14.1 (+1.6)\n",
		"  M 31                             12.5    14.1 (+1.6)\n",
		"lost, min, all targets               21        22 (+1)\n",
		"  of that: way                        4         5 (+1)\n",
		"  M 31                               21        22 (+1)\n",
		"worst gap, mm                      −2.7    −1.1 (+1.6)\n",
		"tips: push, N                        13        15 (+2)\n",
		"tips: wind, m/s                      11    12.6 (+1.6)\n",
		"bends at 10 N, arcsec               7.3     8.9 (+1.6)\n",
		"weight 1 goes to, mm                251            251\n",
		"least cable slack, mm                18        20 (+2)\n",
	} {
		if strings.Count(b.String(), want) != 1 {
			t.Errorf("%q is not there once:\n%s", want, b.String())
		}
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
