package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"legroom/night"
)

// WritePlan writes a night as one sheet of A4: the picture, what to enter for each target, the schedule, cautions. The same plan gives the
// same bytes.
func WritePlan(w io.Writer, p PlanChart) error {
	date, err := time.Parse(time.DateOnly, p.Doc.Night)
	if err != nil {
		return fmt.Errorf("a plan is for one night, and %q is not its date: give year-month-day", p.Doc.Night)
	}
	c := newPDF(210, 297, p.title(), date)
	s := planSheet{PlanChart: &p, c: c, clock: clocksOf(p.Doc.TimeZone, p.Doc.Night)}
	s.draw()
	return c.writeTo(w)
}

// planSheet is the page being drawn.
type planSheet struct {
	*PlanChart
	c     canvas
	clock clocks
	lines int // at most so many blocks, and targets without a row
}

const (
	sheetTop    = 10.0
	sheetBottom = 288.0
	sheetNames  = 33.0 // left of the time axis
)

func (s *planSheet) draw() {
	y := s.head(sheetTop)
	y = s.setUp(y + 2.5)
	// From the bottom: cautions, then the pair and the notes, the schedule's lines and the table; the curves have the rest, and what
	// has many lines is cut until they have enough.
	foot := s.foot()
	const u, row, least = 2.35, 4.4, 38
	rows := float64(len(s.shown()))
	var blocks []string
	curves := 0.0
	for s.lines = 16; curves < least && s.lines > 2; s.lines -= 2 {
		blocks = s.blocks()
		table := 7.4 + tableRow*rows + s.more(0, true)
		list := 7 + listRow*float64(len(blocks))
		curves = foot - y - table - list - s.pair(0, true) - 9 - row*(rows+1) - 10*u
	}
	s.lines += 2
	f := s.frame(box{cardLeft + sheetNames, y + 8, cardWidth - sheetNames - 9, math.Min(curves, 105)}, cardLeft, u)
	y = f.draw(s.c, row)
	y += f.legend(s.c, box{cardLeft, y + 0.5, cardWidth, 0}) + 1.5
	y = s.table(y)
	y += s.more(y, false)
	y = s.list(y+0.5, blocks)
	s.pair(y, false)
}

const (
	tableRow  = 4.6
	columnGap = 2.5 // at least, between what stands in two columns
	listRow   = 3.5
)

// head writes the rig's name, the night and the fingerprint, and returns where it ends.
func (s *planSheet) head(y float64) float64 {
	d := &s.Doc
	name := lettering{size: 7, bold: true, color: ink}
	s.c.text(point{cardLeft, y + 6}, d.Rig, name.fitted(d.Rig, 120))
	right := lettering{size: 4.2, bold: true, color: ink, align: 1}
	s.c.text(point{cardLeft + cardWidth, y + 3.4}, "Night of "+bothDays(d.Night), right)
	small := lettering{size: 2.7, color: ink, align: 1}
	words := zoneWords(d) + "; fingerprint " + d.Fingerprint
	s.c.text(point{cardLeft + cardWidth, y + 7.2}, words, small.fitted(words, 95))
	s.c.stroke([]path{{{cardLeft, y + 9}, {cardLeft + cardWidth, y + 9}}}, 0.5, ink)
	return y + 9
}

// setUp says whether the plan holds yet, and what Sun and Moon do.
func (s *planSheet) setUp(y float64) float64 {
	d := &s.Doc
	b := box{cardLeft, y, cardWidth, 17}
	s.c.stroke([]path{b.outline()}, 0.5, ink)
	title, rest := "PLANNED, NOT CONFIRMED", d.Unconfirmed+". Go through the set-up list at the rig (legroom confirm) before this holds."
	if d.Confirmed {
		title, rest = "SET-UP CONFIRMED", "for the night of "+bothDays(d.Night)+"."
	}
	big := lettering{size: 4.2, bold: true, color: ink}
	s.c.text(point{b.x + 3, y + 5.4}, title, big)
	x := b.x + 6 + big.width(title)
	l := lettering{size: 2.8, color: ink}
	s.c.text(point{x, y + 5.4}, rest, l.fitted(rest, b.x+b.w-x-2))
	for i, words := range []string{
		fmt.Sprintf("Sun: %s. Moon: %s.", sunWords(d, s.clock.at), moonWords(d, s.clock.at)),
		fmt.Sprintf("Limits %s. Asked: %s.", limitsKept(d), askedWords(d)),
	} {
		s.c.text(point{b.x + 3, y + 10.4 + 4*float64(i)}, words, l.fitted(words, b.w-6))
	}
	return y + b.h
}

// table writes what to enter for each target, and returns where it ends.
func (s *planSheet) table(y float64) float64 {
	heads := [8]string{"target", "usable", "stop, from meridian", "flip, from meridian", "sub-exposures", "(" + limitWords(s.Doc.OtherLimits.Mode) + ")", "rig costs", "Moon"}
	xs := [9]float64{cardLeft, cardLeft + 27, cardLeft + 66, cardLeft + 95, cardLeft + 127, cardLeft + 145, cardLeft + 162, cardLeft + 177, cardLeft + cardWidth}
	head := lettering{size: 2.4, bold: true, color: ink}
	for i, h := range heads {
		s.c.text(point{xs[i] + 1, y + 4}, h, head.fitted(h, xs[i+1]-xs[i]-columnGap))
	}
	top := y + 5.4
	s.c.stroke([]path{{{cardLeft, top}, {cardLeft + cardWidth, top}}}, 0.35, ink)
	for i, k := range s.shown() {
		t := &s.Doc.Targets[k]
		at := top + tableRow*float64(i)
		if i%2 == 1 {
			s.c.fill([]path{box{cardLeft, at, cardWidth, tableRow}.outline()}, stripe)
		}
		write := func(from, to int, words string, bold bool) {
			l := lettering{size: 2.7, bold: bold, color: ink}
			wide, where := xs[to]-xs[from]-columnGap, point{xs[from] + 1, at + tableRow*0.5 + l.size*0.36}
			if from == 0 {
				named(s.c, where, words, l, wide)
				return
			}
			s.c.text(where, words, l.fitted(words, wide))
		}
		write(0, 1, fmt.Sprintf("%d  %s", i+1, t.Name), false)
		stop, flip := s.enter(t)
		switch {
		case t.WhyNot != "":
			write(1, 4, "nothing: "+t.WhyNot, false)
		case noWayAcross(t):
			write(2, 3, stop, true)
			write(3, 4, "not proven *", true)
		case t.Advice.FlipFromMin == nil:
			write(2, 4, t.Advice.Text, true)
		default:
			write(2, 3, stop, true)
			write(3, 4, flip, true)
		}
		if t.WhyNot == "" {
			write(1, 2, s.clock.spans(t.Usable), false)
		}
		write(4, 5, fmt.Sprintf("%d × %s s", t.SubCount, plain(t.SubS, 1)), false)
		write(5, 6, fmt.Sprint(t.Other.SubCount), false)
		write(6, 7, duration(int(math.Ceil(t.LostMin))), false)
		write(7, 8, whole(t.MoonSeparation), false)
	}
	end := top + tableRow*float64(len(s.shown()))
	s.c.stroke([]path{{{cardLeft, end}, {cardLeft + cardWidth, end}}}, 0.35, ink)
	return end + 1
}

// noWayAcross tells whether a target can be exposed, has a stop, and no proven way from there to the second side.
func noWayAcross(t *TargetPlan) bool {
	return t.WhyNot == "" && t.Advice.Kind == night.NoFlipProven
}

// enter is a target's advice for the columns of the table, with the clock's times where they are in the dark.
func (s *planSheet) enter(t *TargetPlan) (stop, flip string) {
	a := &t.Advice
	stop = "none needed"
	if a.StopMin != nil {
		stop = night.FromMeridian(*a.StopMin) + bracketed(s.clock.advised(&s.Doc, t, a.StopMin))
	}
	if a.FlipFromMin != nil && a.FlipUntilMin != nil && *a.FlipFromMin < *a.FlipUntilMin {
		from, to := s.clock.advised(&s.Doc, t, a.FlipFromMin), s.clock.advised(&s.Doc, t, a.FlipUntilMin)
		if from != "" && to != "" {
			from += "…" + to
		}
		return stop, strings.TrimSuffix(night.FromMeridian(*a.FlipFromMin), " min") + "…" + night.FromMeridian(*a.FlipUntilMin) + bracketed(from)
	}
	if a.FlipFromMin != nil {
		flip = night.FromMeridian(*a.FlipFromMin) + bracketed(s.clock.advised(&s.Doc, t, a.FlipFromMin))
	}
	return stop, flip
}

// more names the targets that have no row, in as many words as a few lines hold, and returns how high that is.
func (s *planSheet) more(y float64, measure bool) float64 {
	var left []*TargetPlan
	has := map[int]bool{}
	for _, k := range s.shown() {
		has[k] = true
	}
	for i := range s.Doc.Targets {
		if !has[i] {
			left = append(left, &s.Doc.Targets[i])
		}
	}
	high := 0.0
	if slices.ContainsFunc(s.shown(), func(k int) bool { return noWayAcross(&s.Doc.Targets[k]) }) {
		high = s.set(y, measure, starNote, 2.4, false)
	}
	if len(left) == 0 {
		return high
	}
	most := s.lines
	var words []string
	for _, t := range left[:min(most, len(left))] {
		words = append(words, fmt.Sprintf("%s %d × %s s, %s", cut(t.Name, 24), t.SubCount, plain(t.SubS, 1), t.Advice.Text))
	}
	text := fmt.Sprintf("%d more without a row: %s", len(left), strings.Join(words, "; "))
	if n := len(left) - most; n > 0 {
		text += fmt.Sprintf("; and %d more: see the text", n)
	}
	return high + s.set(y+high, measure, text, 2.4, false)
}

// set writes a paragraph, or only measures it, and returns how high it is.
func (s *planSheet) set(y float64, measure bool, words string, size float64, bold bool) float64 {
	t := writing{at: box{cardLeft, y, cardWidth, 0}, y: y}
	if !measure {
		t.c = s.c
	}
	t.words(words, size, bold)
	return t.y - y
}

// blocks writes each block of the schedule in one line.
func (s *planSheet) blocks() []string {
	var out []string
	for i := range s.Doc.Schedule {
		if n := len(s.Doc.Schedule) - i; i == s.lines-1 && n > 1 {
			out = append(out, fmt.Sprintf("and %d more blocks: see the text", n))
			break
		}
		b := &s.Doc.Schedule[i]
		out = append(out, fmt.Sprintf("%s…%s  %s, %s, %d × %s s; %s; %s", s.clock.at(b.From), s.clock.at(b.To), b.Target, sideWords(b), b.SubCount, plain(b.SubS, 1), moveWords(s.clock, &b.Come), b.Why))
	}
	return out
}

// list writes the schedule, and returns where it ends.
func (s *planSheet) list(y float64, blocks []string) float64 {
	title := "Schedule: " + scheduleWords(&s.Doc, "")
	if m := s.Doc.Park; m != nil {
		title += " Then " + moveWords(s.clock, m) + "."
	}
	head := lettering{size: 2.9, bold: true, color: ink}
	s.c.text(point{cardLeft, y + 3.4}, title, head.fitted(title, cardWidth))
	l := lettering{size: 2.6, color: ink}
	for i, b := range blocks {
		s.c.text(point{cardLeft, y + 7.2 + listRow*float64(i)}, b, l.fitted(b, cardWidth))
	}
	return y + 6 + listRow*float64(len(blocks))
}

// pair writes the one pair, what the other limits make of the night, and the notes; it returns how high that is.
func (s *planSheet) pair(y float64, measure bool) float64 {
	from := y
	y += s.set(y, measure, "One pair for all of them: "+s.Doc.Pair.Text+".", 3.3, true)
	y += s.set(y, measure, otherWords(&s.Doc), 2.5, false)
	if len(s.Doc.Schedule) > 0 {
		y += s.set(y, measure, "Tried for the schedule: "+tried+".", 2.5, false)
	}
	for _, n := range s.Doc.Notes {
		y += s.set(y, measure, "Note: "+n+".", 2.5, false)
	}
	return y - from
}

// foot writes what the plan holds for and the cautions, and returns where it begins.
func (s *planSheet) foot() float64 {
	words := []string{
		upperFirst(basisWords(s.Doc.Basis)) + ". Every slew of the schedule is proven for a start up to a minute late, and for this rig as measured: changed anything? Plan again.",
		cautions + " A motor drive can pinch and crush; counterweights and tubes fall; a tall support tips. Never sweep an uncovered tube near the Sun. Mains outdoors, footings and roofs follow local codes and licensed practice.",
	}
	if u := unmeasured(s.Doc.Unmeasured); u != "" {
		words = append([]string{u + "."}, words...)
	}
	height := 0.0
	for _, w := range words {
		height += s.set(0, true, w, 2.5, false)
	}
	y := sheetBottom - height
	s.c.stroke([]path{{{cardLeft, y - 1}, {cardLeft + cardWidth, y - 1}}}, 0.3, ink)
	at := y
	for _, w := range words {
		at += s.set(at, false, w, 2.5, false)
	}
	return y - 2
}
