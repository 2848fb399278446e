package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"legroom/rig"
	"legroom/room"
	"legroom/watch"
)

// defaults writes the defaults that were used, but for the tolerances of unmeasured lengths, which have a list of their own.
func (p *page) defaults(d CheckDoc) {
	never := map[string]bool{}
	for _, q := range d.Lengths {
		never[q.Path] = true
	}
	var used []DefaultDoc
	for _, q := range d.Defaults {
		if !never[q.Path] {
			used = append(used, q)
		}
	}
	p.line("DEFAULTS USED (%d)", len(used))
	for _, q := range used {
		p.para(fmt.Sprintf("  %s  %s  ", pad(q.Path, 42), pad(q.Value, 16)), strings.Repeat(" ", 64), q.Why)
	}
}

// sizeWords gives a part's size, and says what of it nobody measured on the part itself.
func (q *CheckPartDoc) sizeWords() string {
	var sizes, with []string
	for _, s := range q.SizeMM {
		sizes = append(sizes, plain(s, 1))
	}
	if q.TravelMM > 0 {
		with = append(with, plain(q.TravelMM, 1)+" mm of travel")
	}
	if q.Swept {
		with = append(with, "the rotator's sweep")
	}
	words := strings.Join(sizes, " × ") + " mm"
	if len(with) > 0 {
		words += ", with " + strings.Join(with, " and ")
	}
	return words
}

// protect writes how fast a slew may be that the watch can stop in time.
func (p *page) protect(w watch.Protected) {
	p.line("SLEWS THAT THE WATCH CAN PROTECT")
	const usual = "that is with a look a second, one second for each answer and two to brake"
	if w.All {
		p.para("  ", "  ", "all that this mount does: from any free pose it can be stopped before the margin is used up; "+usual)
	} else {
		p.para("  ", "  ", fmt.Sprintf("up to %s°/s on the RA axis with %s°/s on the declination axis; %s. This mount slews faster (its parts by up to %.0f mm/s): such a slew is protected only when it goes through the guard, which proves it beforehand",
			plain(math.Floor(w.RADegPerS*100)/100, 2), plain(math.Floor(w.DecDegPerS*100)/100, 2), usual, math.Ceil(w.ClosingMMS)))
	}
	p.line("")
}

// words says where a part comes from, behind its name.
func (q PlaceDoc) words() string {
	switch {
	case q.Path == "":
		return ""
	case q.Line == 0:
		return " (" + q.Path + ")"
	}
	return fmt.Sprintf(" (%s, line %d)", q.Path, q.Line)
}

// pairErrors are the errors of pairs of parts, in words.
func (d *CheckDoc) pairErrors() []string {
	var out []string
	for _, o := range d.Overlaps {
		remedy := "correct a length"
		if o.MayJoin {
			remedy += ", or name them under mount.joints if they were built to pass each other"
		}
		out = append(out, fmt.Sprintf("%s%s and %s%s overlap by %.1f mm counterweight-down at the pole: %s", o.A, o.AFrom.words(), o.B, o.BFrom.words(), -o.GapMM, remedy))
	}
	for _, j := range d.Joints {
		if !j.Holds {
			rest := fmt.Sprintf("apart by %.0f mm at rest", j.RestMM)
			if j.RestMM < 0 {
				rest = fmt.Sprintf("%.1f mm deep at rest", -j.RestMM)
			}
			out = append(out, fmt.Sprintf("joint %s, %s (%s): the axes drive them more than %d mm further into each other: split the part that turns in, or take the joint out", j.A, j.B, rest, room.JointSlack))
		}
	}
	return out
}

// WriteCheck writes what a check found as text of at most 100 columns.
func WriteCheck(w io.Writer, d CheckDoc) error {
	p := &page{}
	if w := onlyWithout(d.Basis); w != "" {
		p.line("%s", w)
		p.line("")
	}
	p.line("%s", d.Rig)
	p.line("Fingerprint %s", d.Fingerprint)
	p.line("")
	if d.OK {
		p.line("No errors found.")
	} else {
		p.line("ERRORS FOUND: see below.")
	}
	told := 0 // the errors of pairs go behind the other errors and before what weighs less
	pairs := func() {
		for _, e := range d.pairErrors() {
			p.para("  ERROR    ", strings.Repeat(" ", 11), e)
		}
	}
	for i, f := range d.Findings {
		if f.Level == rig.FindingError {
			told = i + 1
		} else if i == told {
			pairs()
		}
		where := f.Path
		if f.Line > 0 {
			where += fmt.Sprintf(", line %d", f.Line)
		}
		if where != "" {
			where += ": "
		}
		p.para(fmt.Sprintf("  %s  ", pad(strings.ToUpper(string(f.Level)), 7)), strings.Repeat(" ", 11), where+f.Text)
	}
	if told == len(d.Findings) {
		pairs()
	}
	for _, r := range d.Rests {
		if r.Free {
			p.para("  NOTE     ", strings.Repeat(" ", 11), fmt.Sprintf("%s is proven free (%.0f mm at least, tolerances taken off)", r.Name, math.Floor(r.GapLowerMM)))
			continue
		}
		p.para("  WARNING  ", strings.Repeat(" ", 11), fmt.Sprintf("%s is not free: %s and %s; choose another pose to rest at", r.Name, r.A, r.B))
	}
	p.line("")
	p.protect(d.Protect)
	p.line("PARTS (%d)", len(d.Parts))
	for _, q := range d.Parts {
		p.para(fmt.Sprintf("  %s  %s  %s  ", pad(q.Name, 36), pad(string(q.Frame), 6), pad(string(q.Shape), 8)), strings.Repeat(" ", 58), q.sizeWords())
	}
	p.line("")
	p.line("JOINED BY CONSTRUCTION (%d): their gap does not count", len(d.Joints))
	for _, j := range d.Joints {
		p.line("  %s  %s", pad(j.A, 36), j.B)
	}
	p.line("")
	p.defaults(d)
	if len(d.Lengths) > 0 {
		p.line("")
		p.line("UNMEASURED (%d): from a template, with wide tolerances; the watch refuses them", len(d.Lengths))
		for _, q := range d.Lengths {
			p.line("  %s  %s ± %s %s", pad(q.Path, 42), plain(q.Value, 2), plain(q.Tolerance, 2), q.Unit)
		}
	}
	if len(d.Fitted) > 0 {
		p.line("")
		p.line("FITTED (%d): not read off a tape; from the gaps that a proof walk measured", len(d.Fitted))
		for _, q := range d.Fitted {
			p.line("  %s  %s ± %s %s", pad(q.Path, 42), plain(q.Value, 2), plain(q.Tolerance, 2), q.Unit)
		}
	}
	if len(d.Masses) > 0 {
		p.line("")
		p.line("UNMEASURED MASSES (%d): from a template; balance and tipping depend on them, no gap does", len(d.Masses))
		for _, q := range d.Masses {
			p.line("  %s  %s %s", pad(q.Path, 42), plain(q.Value, 2), q.Unit)
		}
	}
	// Better measures are of no use to a rig that cannot be.
	if len(d.Costs) > 0 && d.OK {
		p.line("")
		p.line("WHAT THE TOLERANCES COST (%s, up to %s mm): measure the first ones better", d.Mode, plain(math.Ceil(d.ToleranceMM*10)/10, 1))
		for i, c := range d.Costs {
			if i == 8 {
				p.line("  and %d more that cost less", len(d.Costs)-i)
				break
			}
			p.line("  %s  %s of %s mm  %s", pad(c.Path, 42), padLeft(fmt.Sprintf("%.1f", c.LossMM), 5), padLeft(fmt.Sprintf("%.1f", c.OfMM), 5), cut(c.A+" – "+c.B, Columns-64))
		}
	}
	return p.writeTo(w)
}
