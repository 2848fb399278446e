package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// variantColumns is how many variants stand side by side.
const variantColumns = 5

// WriteChanges writes variants side by side as text of at most 100 columns. What is not as in the rig as it is stands with its difference.
func WriteChanges(w io.Writer, d VariantsDoc) error {
	p := &page{}
	p.line("%s", d.Rig)
	p.para("", "", "PLANNED, NOT CONFIRMED: what changes of the rig would bring.")
	b := d.Variants[0].Basis
	p.para("", "", upperFirst(basisWords(b))+". Fingerprint of the rig as it is "+b.Fingerprint+".")
	if u := unmeasured(b.Unmeasured); u != "" {
		p.para("", "  ", u)
	}
	p.line("")
	p.variants(d)
	p.line("")
	p.para("", "", cautions)
	return p.writeTo(w)
}

// variants writes the list of variants and the tables.
func (p *page) variants(d VariantsDoc) {
	p.line("VARIANTS")
	p.line("")
	for i, v := range d.Variants {
		p.para(fmt.Sprintf("%3d  ", i), "     ", v.Name+changeWords(v))
		for _, a := range v.Assumed {
			p.para("     ", "     ", "assumed: "+a)
		}
		if v.Saved != "" {
			p.para("     ", "     ", "saved as "+v.Saved)
		}
	}
	rest := d.Variants[1:]
	for first := 0; first == 0 || first < len(rest); first += variantColumns - 1 {
		list := append([]VariantDoc{d.Variants[0]}, rest[first:min(first+variantColumns-1, len(rest))]...)
		p.line("")
		p.variantTable(d, list, first)
	}
	p.line("")
	p.para("  ", "  ", "In brackets what differs from the rig as it is. Room: on either side, of the sky above the horizon. Idle: from stop to resume without a flip window, "+
		"a line with ! names the targets that both sides have room for, neither holds by itself, and no flip is proven for. "+
		"Worst gap: tightest pose of all targets, each on side west until its transit and on side east after, without limits, tolerances taken off. Tips: "+
		"the least push at the highest point and the least wind that tip the rig over in a free pose.")
}

// changeWords lists the changes of a variant whose name does not say them.
func changeWords(v VariantDoc) string {
	var out []string
	for _, c := range v.Changes {
		s := c.Path + "=" + c.Value
		if c.File != "" {
			s = c.Path + " from " + c.File
		}
		if !strings.Contains(v.Name, s) {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return ": " + strings.Join(out, ", ")
}

const (
	measureWide = 24
	variantWide = 15
)

// rounding writes a figure with so many decimals at most, to the safe side of what it is: csvDown, csvUp or csvNear.
type rounding func(x float64, decimals int) string

// variantFigure writes a figure and by how much it is another than before, when that is known, with a mark behind: with fewer decimals
// rather than into the next column. The difference is that of the figures as they stand.
func variantFigure(x float64, decimals int, before *float64, mark string, write rounding) string {
	for ; ; decimals-- {
		now := write.figure(x, decimals)
		s := plain(now, decimals)
		if before != nil {
			s += difference(now-write.figure(*before, decimals), decimals)
		}
		switch {
		case utf8.RuneCountInString(s+mark) < variantWide:
			return s + mark
		case decimals == 0:
			return plain(now, 0) + mark
		}
	}
}

// figure is the number as it is written.
func (write rounding) figure(x float64, decimals int) float64 {
	v, _ := strconv.ParseFloat(write(x, decimals), 64) // of what was written a moment ago
	return v
}

func (p *page) variantTable(d VariantsDoc, list []VariantDoc, first int) {
	number := func(i int) string { // the rig as it is stands first in every table
		if i == 0 {
			return "0"
		}
		return fmt.Sprint(first + i)
	}
	head := pad("", measureWide)
	for i := range list {
		head += padLeft(number(i), variantWide)
	}
	p.line("%s", head)
	markedRow := func(name string, decimals int, write rounding, pick func(*VariantDoc) *float64, marked func(*VariantDoc) bool) {
		l, any := pad(name, measureWide), false
		var before *float64
		for i := range list {
			x := pick(&list[i])
			mark := ""
			if marked(&list[i]) {
				mark, any = " !", true
			}
			s := "–" + mark
			if x != nil {
				any = true
				s = variantFigure(*x, decimals, before, mark, write)
			}
			if i == 0 {
				before = x
			}
			l += padLeft(s, variantWide)
		}
		if any {
			p.line("%s", l)
		}
	}
	row := func(name string, decimals int, write rounding, pick func(*VariantDoc) *float64) {
		markedRow(name, decimals, write, pick, func(*VariantDoc) bool { return false })
	}
	row("room, %", 2, csvDown, func(v *VariantDoc) *float64 { return &v.RoomPercent.Either })
	row("  side west", 2, csvDown, func(v *VariantDoc) *float64 { return &v.RoomPercent.West })
	row("  side east", 2, csvDown, func(v *VariantDoc) *float64 { return &v.RoomPercent.East })
	markedRow("idle, min, all targets", 1, csvUp, func(v *VariantDoc) *float64 { return &v.IdleSum }, func(v *VariantDoc) bool {
		return len(v.unproven()) > 0
	})
	for k, t := range list[0].Targets {
		if !slices.ContainsFunc(list, func(v VariantDoc) bool { return v.Targets[k].IdleMin > 0 || v.Targets[k].Unflipped }) {
			continue
		}
		markedRow("  "+t.Name, 1, csvUp, func(v *VariantDoc) *float64 { return &v.Targets[k].IdleMin }, func(v *VariantDoc) bool { return v.Targets[k].Unflipped })
	}
	if d.LostOver != "" {
		row("lost, min, all targets", 0, csvUp, func(v *VariantDoc) *float64 { return v.LostSum })
		row("  of that: way", 0, csvUp, func(v *VariantDoc) *float64 { return v.NoWaySum })
		for k, t := range list[0].Targets {
			row("  "+t.Name, 0, csvUp, func(v *VariantDoc) *float64 { return v.Targets[k].LostMin })
		}
	}
	row("worst gap, mm", 1, csvDown, func(v *VariantDoc) *float64 { return v.WorstGapMM })
	markedRow("tips: push, N", 0, csvDown, tips, tipsInDoubt)
	markedRow("tips: wind, m/s", 1, csvDown, func(v *VariantDoc) *float64 {
		if tips(v) == nil {
			return nil
		}
		return &v.Tipping.WindMS
	}, tipsInDoubt)
	row(fmt.Sprintf("bends at %s N, arcsec", plain(d.PushN, 1)), 1, csvUp, bends)
	markedRow("weight 1 goes to, mm", 0, csvNear, weighs, func(v *VariantDoc) bool { return len(v.BalanceMissing) > 0 || overBar(v) })
	row("least cable slack, mm", 0, csvDown, slack)
	if d.LostOver != "" {
		way := ""
		if list[0].NoWaySum != nil {
			way = " Way: free, but lost for want of a proven slew there from park."
		}
		p.para("  ", "  ", "Lost: what the rig costs of the sky's time, "+d.LostOver+"."+way)
	}
	for i := range list {
		v := &list[i]
		if unproven := v.unproven(); len(unproven) > 0 {
			p.para("  ", "  ", fmt.Sprintf("! %s: no flip is proven for %s.", number(i), strings.Join(unproven, ", ")))
		}
		if overBar(v) {
			p.para("  ", "  ", "! "+number(i)+": the counterweights cannot be put where they balance it.")
		}
	}
	told := map[string]bool{}
	for i := range list { // once for all of which it is true
		for _, words := range doubts(&list[i]) {
			if told[words] {
				continue
			}
			told[words] = true
			var of []string
			for k := range list {
				if slices.Contains(doubts(&list[k]), words) {
					of = append(of, number(k))
				}
			}
			p.para("  ", "  ", "! "+strings.Join(of, ", ")+": "+words)
		}
	}
}

// overBar tells whether the counterweights of a variant cannot be put where they balance it.
func overBar(v *VariantDoc) bool { return len(v.Counterweights) > 0 && !v.WeightsFit }

// tipsInDoubt tells whether what tips a variant is not known, or leaves something out.
func tipsInDoubt(v *VariantDoc) bool {
	return v.TippingUnknown != "" || len(v.TippingMissing) > 0
}

// doubts says what the figures of a variant's load leave out, and why nothing is known of what tips it.
func doubts(v *VariantDoc) []string {
	var out []string
	if v.TippingUnknown != "" {
		out = append(out, "what tips it is not known: "+v.TippingUnknown+".")
	}
	switch still := slices.DeleteFunc(slices.Clone(v.TippingMissing), func(s string) bool { return slices.Contains(v.BalanceMissing, s) }); {
	case len(v.BalanceMissing) > 0:
		words := "NO MASS IN THE DOCUMENT: " + strings.Join(v.BalanceMissing, ", ") + ". What is marked ! is not known until each has its mass_kg"
		if len(still) > 0 {
			words += "; without one as well: " + strings.Join(still, ", ")
		}
		out = append(out, words+".")
	case len(still) > 0:
		out = append(out, noMass(still, "the figures marked !"))
	}
	return out
}

// unproven lists the targets whose flip is not proven, so that no idle time is not proven either.
func (v *VariantDoc) unproven() []string {
	var out []string
	for _, t := range v.Targets {
		if t.Unflipped {
			out = append(out, t.Name)
		}
	}
	return out
}

// difference writes a difference in brackets; nothing when it rounds away.
func difference(x float64, decimals int) string {
	s := plain(math.Abs(x), decimals)
	if s == "0" {
		return ""
	}
	if x < 0 {
		return " (−" + s + ")"
	}
	return " (+" + s + ")"
}

// WriteChangesCSV writes a row a variant. What is not known is empty.
func WriteChangesCSV(w io.Writer, d VariantsDoc) error {
	c := csv.NewWriter(w)
	head := []string{"variant", "changes", "fingerprint", "room_west_percent", "room_east_percent", "room_either_percent", "idle_sum_min", "lost_sum_min", "no_way_sum_min", "flip_unproven", "worst_gap_mm",
		"tip_distance_mm", "tip_push_n", "tip_wind_m_per_s", "no_mass", "bending_arcsec", "counterweight_1_mm", "least_slack_mm", "differences"}
	for _, t := range d.Variants[0].Targets {
		head = append(head, cell("idle_min: "+t.Name))
	}
	c.Write(head)
	for i := range d.Variants {
		v := &d.Variants[i]
		var changes []string
		for _, e := range v.Changes {
			changes = append(changes, e.Path+"="+e.Value+e.File)
		}
		tip := []string{"", "", ""}
		if v.Tipping != nil {
			tip = []string{csvDown(v.Tipping.DistanceMM, csvMM), csvDown(v.Tipping.PushN, csvOther), csvDown(v.Tipping.WindMS, csvOther)}
		}
		row := append([]string{cell(v.Name), cell(strings.Join(changes, " ")), v.Fingerprint, csvDown(v.RoomPercent.West, csvOther), csvDown(v.RoomPercent.East, csvOther), csvDown(v.RoomPercent.Either, csvOther),
			csvUp(v.IdleSum, csvMinute), csvMaybe(v.LostSum, csvUp, csvMinute), csvMaybe(v.NoWaySum, csvUp, csvMinute), cell(strings.Join(v.unproven(), ", ")), csvMaybe(v.WorstGapMM, csvDown, csvMM)}, tip...)
		row = append(row, cell(strings.Join(v.TippingMissing, ", ")), csvMaybe(bends(v), csvUp, csvOther), csvMaybe(weighs(v), csvNear, csvMM), csvMaybe(slack(v), csvDown, csvMM), strings.Join(v.Differences, " "))
		for _, t := range v.Targets {
			row = append(row, csvUp(t.IdleMin, csvMinute))
		}
		c.Write(row)
	}
	c.Flush()
	return c.Error()
}
