package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"
)

// WriteSolved writes what the solver found as text of at most 100 columns.
func WriteSolved(w io.Writer, d SolveDoc) error {
	p := &page{}
	p.line("%s", d.Rig)
	p.para("", "", "PLANNED, NOT CONFIRMED: what a change of the rig would bring.")
	b := d.Variants[0].Basis
	p.para("", "", upperFirst(basisWords(b))+". Fingerprint of the rig as it is "+b.Fingerprint+".")
	if u := unmeasured(b.Unmeasured); u != "" {
		p.para("", "  ", u)
	}
	p.line("")
	p.para("Aim: ", "     ", d.Aim+".")
	for _, v := range d.Variables {
		s := fmt.Sprintf("%s from %s to %s %s, now %s; price %s a %s.", v.Path, plain(v.From, 2), plain(v.To, 2), v.Unit, plain(v.Present, 2), plain(v.Price, 3), v.Unit)
		if len(v.Only) > 0 {
			s += " Only " + degreesList(v.Only) + "."
		}
		p.para("  ", "     ", s)
	}
	for _, a := range d.Assumed {
		p.para("  ", "     ", "Assumed: "+a+".")
	}
	p.line("")
	p.line("BEST")
	p.line("")
	p.best(d)
	if d.Turning != nil {
		p.line("")
		p.para("  ", "  ", d.Turning.Text)
	}
	if len(d.Front) > 1 {
		p.line("")
		p.tradeOff(&d)
	}
	p.line("")
	p.variants(VariantsDoc{Rig: d.Rig, PushN: d.PushN, WindMS: d.WindMS, Variants: d.Variants})
	p.line("")
	p.para("", "", cautions)
	return p.writeTo(w)
}

// tradeOff writes the front, with the best among it.
func (p *page) tradeOff(d *SolveDoc) {
	first := d.Variables[0].Path
	p.line("TRADE-OFF with %s, %s", first, d.Variables[0].Unit)
	p.line("")
	word := bestWord(d)
	// How far it is moved stands before what it is moved to, but for a riser, whose height is both.
	moved := slices.ContainsFunc(d.Front, func(f FrontDoc) bool { return f.Takes != f.First })
	row := func(takes, x, leaves, least, mark, with string) {
		x = padLeft(x, 12)
		if moved {
			x = padLeft(takes, 10) + "  " + x
		}
		p.line("  %s  %s  %s  %s  %s", x, padLeft(leaves, 14), padLeft(least, 10), pad(mark, len(word)), with)
	}
	head := ""
	if len(d.Variables) > 1 {
		head = "with"
	}
	leaves := "leaves, min"
	if d.MissUnit == "percent" {
		leaves = "leaves, %"
	}
	row("moved by", first, leaves, "at least", "", head)
	for _, f := range thinned(d.Front, 12) {
		var with []string
		for _, v := range d.Variables[1:] {
			with = append(with, v.Path+" "+plain(f.Point.Values[v.Path], 6))
		}
		mark := ""
		if f.Best {
			mark = word
		}
		row(plain(f.Takes, 2), plain(f.First, 2), missFigure(f.Point.Miss), boundFigure(f.AtLeast), mark, strings.Join(with, ", "))
	}
	p.line("")
	none := "nothing with a lower or equal " + first + " leaves less"
	if moved {
		none = fmt.Sprintf("nothing as near to the present %s, %s, or nearer, leaves less", first, plain(d.Variables[0].Present, 2))
	}
	p.para("  ", "  ", "Of what was looked at, "+none+"; only the "+word+" stands here wherever it lies. At least: proven, "+
		"nothing within the bounds leaves less. The "+word+" is measured with the finest cells. The others may be with coarser ones, which never say less.")
}

// thinned keeps at most n of a front, the first and the last among them, and the best.
func thinned(list []FrontDoc, n int) []FrontDoc {
	if len(list) <= n {
		return list
	}
	var out []FrontDoc
	kept := 0
	for i := range list {
		if i == kept*(len(list)-1)/(n-1) {
			kept++
		} else if !list[i].Best {
			continue
		}
		out = append(out, list[i])
	}
	return out
}

// bestWord says of the best whether it is one, or only comes nearest to an aim that it may not meet.
func bestWord(d *SolveDoc) string {
	if d.Certified.Of == "price" && d.Best != nil && !d.Best.Meets {
		return "nearest"
	}
	return "best"
}

// missFigure writes what a point leaves or is off, rounded up, and boundFigure a proven lower bound, rounded down.
func missFigure(x *float64) string {
	if x == nil {
		return "–"
	}
	return plain(rounding(csvUp).figure(*x, 2), 2)
}

func boundFigure(x float64) string { return plain(rounding(csvDown).figure(x, 2), 2) }

// best writes the best point with its certificate.
func (p *page) best(d SolveDoc) {
	if d.Best == nil {
		p.para("  ", "  ", "Nothing that holds what is asked for besides was found.")
		return
	}
	var with []string
	for _, v := range d.Variables {
		with = append(with, v.Path+" "+plain(d.Best.Values[v.Path], 6)+" "+v.Unit)
	}
	unit := " min in the mean"
	if d.MissUnit == "percent" {
		unit = " % of the sky without room"
	}
	c := &d.Certified
	s := strings.Join(with, ", ")
	switch {
	case c.Of == "miss":
		s += fmt.Sprintf(": leaves %s%s, where the rig as it is leaves %s.", missFigure(d.Best.Miss), unit, missFigure(d.Present.Miss))
	case d.Best.Meets:
		s += fmt.Sprintf(": meets the aim, proven anew from the changed document, at a price of %s.", plain(d.Best.Price, 2))
	case d.Best.Breaks != "":
		s += fmt.Sprintf(": comes nearest, but whether it meets the aim is not known: %s.", d.Best.Breaks)
	default:
		s += fmt.Sprintf(": comes nearest and does NOT meet the aim: it misses it by %s%s, the rig as it is by %s.", missFigure(d.Best.Miss), unit, missFigure(d.Present.Miss))
	}
	p.para("  ", "  ", s)
	switch {
	case c.Impossible:
		p.para("  ", "  ", "Proven: nothing within these bounds meets the aim.")
	case c.Bound == nil:
		p.para("  ", "  ", "How far that is from the best that can be is not known.")
	case c.Of == "miss":
		p.para("  ", "  ", fmt.Sprintf("Proven: nothing within these bounds leaves less than %s; the best is at most %s off.", boundFigure(*c.Bound), missFigure(c.Off)))
	case d.Best.Meets:
		p.para("  ", "  ", fmt.Sprintf("Proven: nothing within these bounds meets it for less than %s; the best is at most %s off.", boundFigure(*c.Bound), missFigure(c.Off)))
	default:
		p.para("  ", "  ", "Whether anything within these bounds meets the aim is not known; look longer with --work.")
	}
	if d.Best.Meets && slices.ContainsFunc(d.Points, func(p SolvePoint) bool { return strings.HasPrefix(p.Breaks, "no flip") && p.Price < d.Best.Price }) {
		p.para("  ", "  ", "What is cheaper and leaves no idle time lacks a proven flip; that proof counts idle time alone.")
	}
	if !c.Done && !c.Impossible && c.Bound != nil {
		p.para("  ", "  ", "The search ended for want of work (--work).")
	}
}

// WriteSolvedCSV writes a row for each point that was looked at.
func WriteSolvedCSV(w io.Writer, d SolveDoc) error {
	c := csv.NewWriter(w)
	var head []string
	for _, v := range d.Variables {
		head = append(head, cell(v.Path+"_"+v.Unit))
	}
	c.Write(append(head, "price", "miss_"+d.MissUnit, "meets", "breaks"))
	for i := range d.Points {
		pt := &d.Points[i]
		var row []string
		for _, v := range d.Variables {
			row = append(row, number(pt.Values[v.Path]))
		}
		miss := ""
		if pt.Miss != nil {
			miss = csvUp(*pt.Miss, csvOther)
		}
		c.Write(append(row, csvUp(pt.Price, csvOther), miss, fmt.Sprint(pt.Meets), cell(pt.Breaks)))
	}
	c.Flush()
	return c.Error()
}
