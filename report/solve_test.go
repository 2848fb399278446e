package report

import (
	"strings"
	"testing"
)

// The trade-off lists the best with a word to mark it, also where a lower first variable leaves no more, and also when it is long.
func TestTradeOffListsTheBest(t *testing.T) {
	point := func(riser, turn, miss float64) SolvePoint {
		return SolvePoint{Values: map[string]float64{"riser": riser, "leg-azimuth": turn}, Miss: &miss}
	}
	best := point(47, 12.5, 1.99)
	d := SolveDoc{Rig: "made up", MissUnit: "min", Variables: []VariableDoc{{Path: "riser", Unit: "mm"}, {Path: "leg-azimuth", Unit: "deg"}}, Best: &best, Certified: CertifiedDoc{Of: "miss"},
		Variants: []VariantDoc{{Name: "present"}}, Present: point(0, 0, 30)}
	for i := range 30 {
		riser := float64(2 * i)
		d.Front = append(d.Front, FrontDoc{First: riser, Takes: riser, Point: point(riser, 0, 30-float64(i))})
		if i == 23 {
			d.Front = append(d.Front, FrontDoc{First: 47, Takes: 47, Point: best, AtLeast: 1.5, Best: true})
		}
	}
	text := func() string {
		var b strings.Builder
		if err := WriteSolved(&b, d); err != nil {
			t.Fatal(err)
		}
		_, rest, _ := strings.Cut(b.String(), "TRADE-OFF")
		table, _, _ := strings.Cut(rest, "Of what was looked at")
		return table
	}
	got := text()
	for _, line := range []string{"             0              30           0        leg-azimuth 0\n", "            47            1.99         1.5  best  leg-azimuth 12.5\n",
		"            58               1           0        leg-azimuth 0\n"} {
		if strings.Count(got, line) != 1 {
			t.Errorf("%q is not there once:\n%s", line, got)
		}
	}
	if n := strings.Count(got, "leg-azimuth "); n < 12 || n > 13 {
		t.Errorf("%d lines:\n%s", n, got)
	}
	d.Certified.Of = "price"
	if got := text(); !strings.Contains(got, "1.5  nearest  leg-azimuth 12.5\n") {
		t.Errorf("one that does not meet the aim is called the best:\n%s", got)
	}
}

// A bearing has how far it is turned before it, and no lower one is spoken of.
func TestTradeOffOfABearing(t *testing.T) {
	point := func(turn, miss float64) SolvePoint {
		return SolvePoint{Values: map[string]float64{"leg-azimuth": turn}, Miss: &miss}
	}
	best := point(162, 24.8)
	d := SolveDoc{Rig: "made up", MissUnit: "min", Variables: []VariableDoc{{Path: "leg-azimuth", Unit: "deg", Present: 183}}, Best: &best, Certified: CertifiedDoc{Of: "miss"},
		Variants: []VariantDoc{{Name: "present"}}, Present: point(183, 35.6),
		Front: []FrontDoc{{First: 183, Point: point(183, 35.6), AtLeast: 22}, {First: 162, Takes: 21, Point: best, AtLeast: 17, Best: true}}}
	var b strings.Builder
	if err := WriteSolved(&b, d); err != nil {
		t.Fatal(err)
	}
	got := strings.Join(strings.Fields(b.String()), " ")
	for _, want := range []string{"moved by leg-azimuth leaves, min at least 0 183 35.6 22 21 162 24.8 17 best", "nothing as near to the present leg-azimuth, 183, or nearer, leaves less"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in\n%s", want, b.String())
		}
	}
}
