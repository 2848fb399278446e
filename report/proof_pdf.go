package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/change/proof"
	"legroom/solid"
)

// WriteProofPDF writes a walk as a worksheet of A4: how to go about it, what to measure, and a page for each three steps with pictures. The
// same walk gives the same bytes.
func WriteProofPDF(w io.Writer, d ProofDoc, walk *proof.Walk) error {
	c := newPDF(210, 297, d.Rig+": proof walk", walk.Begin)
	s := proofSheet{d: d, walk: walk, c: c}
	s.first()
	for i := range d.Steps {
		if i%stepsOnPage == 0 {
			c.f.AddPage()
			s.head(fmt.Sprintf("steps %d to %d", i+1, min(i+stepsOnPage, len(d.Steps))))
		}
		if err := s.step(i, 24+float64(i%stepsOnPage)*stepHigh); err != nil {
			return err
		}
	}
	return c.writeTo(w)
}

const (
	stepsOnPage = 3
	stepHigh    = 88.5 // mm
)

// proofSheet is the worksheet being drawn.
type proofSheet struct {
	d    ProofDoc
	walk *proof.Walk
	c    *pdf
}

// head writes what every page begins with.
func (s *proofSheet) head(what string) {
	name := lettering{size: 5.5, bold: true, color: ink}
	s.c.text(point{cardLeft, 16}, s.d.Rig, name.fitted(s.d.Rig, 110))
	right := lettering{size: 3, bold: true, color: ink, align: 1}
	s.c.text(point{cardLeft + cardWidth, 13}, "Legroom proof walk, "+what, right)
	right.bold = false
	s.c.text(point{cardLeft + cardWidth, 17}, "fingerprint "+s.d.Fingerprint, right)
	s.c.stroke([]path{{{cardLeft, 19}, {cardLeft + cardWidth, 19}}}, 0.5, ink)
}

// first draws the first page: cautions, how to go about it, the steps in a table.
func (s *proofSheet) first() {
	s.head(fmt.Sprintf("%d steps", len(s.d.Steps)))
	t := writing{c: s.c, at: box{cardLeft, 20, cardWidth, 0}, y: 20}
	t.words(walkTimes(s.d), 3, true)
	top := t.y
	t.at, t.y = box{cardLeft + 3, top, cardWidth - 6, 0}, top+3
	for _, c := range s.d.Cautions {
		t.words("! "+c, 3, true)
	}
	s.c.stroke([]path{box{cardLeft, top, cardWidth, t.y + 1 - top}.outline()}, 0.7, ink)
	t.y += 3
	t.at = box{cardLeft, t.y, cardWidth, 0}
	t.words("How to", 3.6, true)
	for i, c := range []string{
		"Tick at the rig: " + s.setUp() + ".",
		fmt.Sprintf("Start from RA axis %s, declination axis %s, and end there: from the last step straight back. Drive to each step in turn, by way of the pose that it "+
			"names if it names one. Axis angles count from counterweight-down and from the elevated pole; a display gives hour angle and declination of date.",
			angle(s.d.Start.RAAxisDeg, 2), angle(s.d.Start.DecAxisDeg, 2)),
		"Tracking off. Measure the least distance between the two parts, to the millimetre: the two points say where to hold the rule. Take the rule " +
			"away, hold it anew, and write the second reading beside the first.",
		"A reading further from the sheet than its ± is news, not a mistake: write it down as it is. A step that you cannot drive to or measure stays empty.",
		"Type the readings into the file that came with this sheet, or on the page; then `legroom proof RIG --measured FILE` says what they tell.",
	} {
		t.words(fmt.Sprintf("%d. %s", i+1, c), 3, false)
	}
	t.words(upperFirst(basisWords(s.d.Basis))+".", 2.7, false)
	if u := unmeasured(s.d.Unmeasured); u != "" {
		t.words(u+".", 2.7, true)
	}
	s.table(t.y + 4)
}

// setUp names what has to stand as the document says, with its numbers, for a walk needs no darkness but the same rig.
func (s *proofSheet) setUp() string {
	var words []string
	for _, l := range s.walk.Gauge.Model.Rig.SetupList(s.d.Without) {
		words = append(words, l.Name+" ("+l.Text+")")
	}
	return strings.Join(words, "; ")
}

// table lists the steps.
func (s *proofSheet) table(y float64) {
	heads := [8]string{"step", "side", "hour angle", "decl.", "RA axis", "decl. axis", "measure, mm", "sheet says"}
	xs := [10]float64{0, 9, 20, 37, 50, 65, 82, 138, 157, cardWidth}
	for i := range xs {
		xs[i] += cardLeft
	}
	head := lettering{size: 2.7, bold: true, color: ink}
	for i, h := range heads {
		s.c.text(point{xs[i] + 1, y + 3}, h, head)
	}
	s.c.text(point{xs[8] + 1, y + 3}, "ruler", head)
	top := y + 4.5
	h := math.Min(7.5, (280-top)/float64(max(1, len(s.d.Steps))))
	s.c.stroke([]path{{{cardLeft, top}, {cardLeft + cardWidth, top}}}, 0.35, ink)
	l := lettering{size: 2.9, color: ink}
	for i := range s.d.Steps {
		st := &s.d.Steps[i]
		at := top + float64(i)*h
		if i%2 == 1 {
			s.c.fill([]path{box{cardLeft, at, cardWidth, h}.outline()}, stripe)
		}
		for k, words := range []string{fmt.Sprint(st.Step), st.Side, signedHours(st.HourAngleH) + " h", angle(st.DecDeg, 1),
			angle(st.RAAxisDeg, 1), angle(st.DecAxisDeg, 1), st.From.Part + " – " + st.To.Part, predictedWords(st)} {
			s.c.text(point{xs[k] + 1, at + h*0.5 + 1}, words, l.fitted(words, xs[k+1]-xs[k]-1.5))
		}
		for k := range 2 {
			s.c.stroke([]path{box{xs[8] + 1 + float64(k)*13.5, at + 0.9, 12.5, h - 1.8}.outline()}, 0.25, quiet)
		}
	}
	end := top + float64(len(s.d.Steps))*h
	s.c.stroke([]path{{{cardLeft, end}, {cardLeft + cardWidth, end}}}, 0.35, ink)
	s.tells(end + 6)
}

// tells lists, in two columns, which tolerances the walk should shrink, as many as there is room for.
func (s *proofSheet) tells(y float64) {
	const row = 4.4
	n := 0
	for n < len(s.d.Lengths) && s.d.Lengths[n].Left <= 0.9 {
		n++
	}
	n = min(n, 2*int(math.Max(0, (284-y-5)/row)), 24)
	if n == 0 {
		return
	}
	const title = "What it should tell, when every reading is taken"
	bold := lettering{size: 3.2, bold: true, color: ink}
	s.c.text(point{cardLeft, y + 3}, title, bold)
	const caution = "of each by itself; after few readings the corrected document may keep wider tolerances"
	x := cardLeft + bold.width(title) + 3
	s.c.text(point{x, y + 3}, caution, lettering{size: 2.7, color: ink}.fitted(caution, cardLeft+cardWidth-x))
	l := lettering{size: 2.7, color: ink}
	for i, q := range s.d.Lengths[:n] {
		x, at := cardLeft+float64(i%2)*94, y+8+float64(i/2)*row
		words := fmt.Sprintf("± %s → ± %s %s", plain(q.Tolerance, 2), plain(q.Tolerance*q.Left, 2), q.Unit)
		right := l
		right.align = 1
		s.c.text(point{x + 90, at}, words, right)
		s.c.text(point{x, at}, q.Path, l.fitted(q.Path, 88-l.width(words)))
	}
}

// step draws one step from y on.
func (s *proofSheet) step(i int, y float64) error {
	st := &s.d.Steps[i]
	number := fmt.Sprint(st.Step)
	big := lettering{size: 8, bold: true, color: ink}
	s.c.text(point{cardLeft, y + 6.2}, number, big)
	x := cardLeft + big.width(number) + 3
	title := fmt.Sprintf("Side %s, hour angle %s h, declination %s", st.Side, signedHours(st.HourAngleH), angle(st.DecDeg, 2))
	bold := lettering{size: 3.6, bold: true, color: ink}
	s.c.text(point{x, y + 3.2}, title, bold)
	axis := fmt.Sprintf("RA axis %s, declination axis %s", angle(st.RAAxisDeg, 2), angle(st.DecAxisDeg, 2))
	s.c.text(point{cardLeft + cardWidth, y + 3.2}, axis, lettering{size: 3.6, bold: true, color: ink, align: 1})
	words := upperFirst(stepWords(st))
	if way := wayWords(st); way != "" {
		words = upperFirst(way) + ". " + words
	}
	l := lettering{size: 2.8, color: ink}
	s.c.text(point{x, y + 7.4}, words+".", l.fitted(words+".", cardLeft+cardWidth-x))
	if err := s.pictures(i, box{cardLeft, y + 9.5, cardWidth, 58}); err != nil {
		return err
	}
	below := y + 9.5 + 58 + 3.6
	for k, p := range []ProofPointDoc{st.From, st.To} {
		at := below + float64(k)*4.4
		name := string(rune('A' + k))
		s.c.text(point{cardLeft, at}, name, lettering{size: 3.4, bold: true, color: vermilion})
		part := lettering{size: 3, bold: true, color: ink}
		s.c.text(point{cardLeft + 4, at}, p.Part+":", part)
		from := cardLeft + 5.5 + part.width(p.Part+":")
		s.c.text(point{from, at}, p.Where, lettering{size: 2.8, color: ink}.fitted(p.Where, cardLeft+cardWidth-56-from))
	}
	right := cardLeft + cardWidth
	says := "sheet: " + predictedWords(st) + " mm"
	s.c.text(point{right - 54, below + 2.4}, says, lettering{size: 3, bold: true, color: ink}.fitted(says, 26))
	for k := range 2 {
		b := box{right - 26.5 + float64(k)*13.5, below - 3, 13, 8.5}
		s.c.stroke([]path{b.outline()}, 0.4, ink)
		s.c.text(point{b.x + b.w - 1, b.y + b.h - 1}, "mm", lettering{size: 2.2, color: quiet, align: 1})
	}
	if (i+1)%stepsOnPage != 0 && i+1 < len(s.d.Steps) {
		s.c.stroke([]path{{{cardLeft, y + stepHigh - 4.5}, {cardLeft + cardWidth, y + stepHigh - 4.5}}}, 0.2, rule)
	}
	return nil
}

// pictures draws the whole rig, and beside it the two points from near, both as seen from where the line between them shows best.
func (s *proofSheet) pictures(i int, b box) error {
	m := s.walk.Gauge.Model
	st := &s.walk.Steps[i]
	placed := make([]solid.Placed, len(m.Parts))
	m.Place(st.Axes, placed)
	var strong []int
	for k := range m.Parts {
		if n := m.Parts[k].Name; n == st.A || n == st.B {
			strong = append(strong, k)
		}
	}
	view := bestLook(m, placed, st.PointA, st.PointB)
	const gap = 3.0
	whole := box{b.x, b.y, 76, b.h}
	near := box{b.x + whole.w + gap, b.y, b.w - whole.w - gap, b.h}
	const dots = 160 / 25.4 // a millimetre of paper
	for k, p := range []struct {
		at   box
		look look
	}{
		{whole, view.framed(append(rigPoints(m, st.Axes), st.PointA, st.PointB), 60, whole.w/whole.h)},
		{near, view.framed([]r3.Vec{st.PointA, st.PointB}, math.Max(110, 0.55*r3.Norm(r3.Sub(st.PointA, st.PointB))), near.w/near.h)},
	} {
		img, err := p.look.draw(m, st.Axes, int(p.at.w*dots), strong)
		if err != nil {
			return err
		}
		s.c.picture(img, p.at)
		s.c.stroke([]path{p.at.outline()}, 0.25, rule)
		s.mark(p.look, p.at, st, k == 1)
	}
	words := "seen from the " + view.from
	switch {
	case view.downDeg >= 25:
		words += ", from above"
	case view.downDeg < 0:
		words += ", from below"
	}
	l := lettering{size: 2.6, color: ink}
	s.plate(point{whole.x + 1.5, whole.y + whole.h - 1.5}, words, l)
	return nil
}

// mark draws the line to measure along, with its ends named.
func (s *proofSheet) mark(v look, b box, st *proof.Step, near bool) {
	a, z := v.onto(st.PointA, b), v.onto(st.PointB, b)
	long := math.Hypot(z.x-a.x, z.y-a.y)
	if long == 0 {
		return
	}
	dx, dy := (z.x-a.x)/long, (z.y-a.y)/long
	width, tick := 0.45, 1.6
	if !near {
		width, tick = 0.4, 1
	}
	lines := []path{{a, z}}
	for _, e := range []point{a, z} {
		lines = append(lines, path{{e.x - dy*tick, e.y + dx*tick}, {e.x + dy*tick, e.y - dx*tick}})
	}
	s.c.stroke(lines, width+0.7, paper)
	s.c.stroke(lines, width, vermilion)
	size := 3.4
	if !near {
		size = 2.9
	}
	l := lettering{size: size, bold: true, color: vermilion, align: 0.5}
	for k, e := range []point{a, z} {
		out := -1.0
		if k == 1 {
			out = 1
		}
		s.plate(point{e.x + out*dx*(size+0.6), e.y + out*dy*(size+0.6) + size*0.36}, string(rune('A'+k)), l)
	}
	if !near {
		return
	}
	l = lettering{size: 2.9, bold: true, color: ink, align: 0.5}
	mid := point{(a.x + z.x) / 2, (a.y + z.y) / 2}
	off := 4.2
	s.plate(point{mid.x + dy*(off+math.Abs(dy)*7), mid.y - dx*off + 1}, fmt.Sprintf("%.0f mm", st.GapMM), l)
	for k, name := range []string{st.A, st.B} {
		e := [2]point{a, z}[k]
		y := e.y + 8
		if k == 0 && a.y < z.y || k == 1 && z.y < a.y {
			y = e.y - 6
		}
		words := lettering{size: 2.7, color: ink, align: 0.5}
		half := words.width(name) / 2
		s.plate(point{math.Max(b.x+half+1.5, math.Min(b.x+b.w-half-1.5, e.x)), math.Max(b.y+4, math.Min(b.y+b.h-2, y))}, name, words)
	}
}

// plate writes words on a patch of paper.
func (s *proofSheet) plate(at point, words string, l lettering) {
	w := l.width(words)
	x := at.x - l.align*w
	s.c.fill([]path{box{x - 0.6, at.y - l.size*0.85, w + 1.2, l.size * 1.15}.outline()}, paper)
	s.c.text(at, words, l)
}
