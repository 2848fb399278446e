package report

import (
	"fmt"
	"io"
	"math"
	"time"
)

// SeasonChart is a season as a picture: a row a target, and in it a cell a month with three bars of hours.
type SeasonChart struct{ Doc SeasonDoc }

// Of the sheet, mm.
const (
	seasonTop   = 36.0
	seasonRow   = 9.4
	seasonFoot  = 24.0
	seasonNames = 44.0 // width of the column with the names
	seasonCell  = 17.0
	seasonSums  = 24.0 // of the column with the whole season
)

// width holds a year at least, for the legend's sake.
func (p *SeasonChart) width() float64 {
	return 20 + seasonNames + seasonCell*float64(max(12, len(p.Doc.Months))) + seasonSums
}

func (p *SeasonChart) height() float64 {
	return seasonTop + seasonRow*float64(len(p.Doc.Targets)) + seasonFoot
}

// WriteSVG writes the picture as Scalable Vector Graphics.
func (p *SeasonChart) WriteSVG(w io.Writer) error {
	c := newSVG(p.width(), p.height(), p.title(), p.describe())
	p.sheet(c)
	return c.writeTo(w)
}

// WritePNG writes the picture as pixels.
func (p *SeasonChart) WritePNG(w io.Writer, dpi float64) error {
	if !(dpi >= 36 && dpi <= 600) {
		return fmt.Errorf("resolution of %v dots per inch: give 36 to 600", dpi)
	}
	c := newPixels(p.width(), p.height(), dpi)
	p.sheet(c)
	return c.writeTo(w)
}

// WritePDF writes the picture as one page, as long as it needs. Its date is the season's first, so that the same season gives the
// same bytes.
func (p *SeasonChart) WritePDF(w io.Writer) error {
	date, err := time.Parse("2006-01", p.Doc.From)
	if err != nil {
		return fmt.Errorf("a season from %q: give year-month", p.Doc.From)
	}
	c := newPDF(p.width(), p.height(), p.title(), date)
	p.sheet(c)
	return c.writeTo(w)
}

func (p *SeasonChart) title() string {
	return p.Doc.Rig + ": hours, " + periodWords(p.Doc)
}

// describe says in words what the picture shows.
func (p *SeasonChart) describe() string {
	s := "A row a target, a cell a month, with three bars of hours: without the rig, with its limits by declination, and with the " +
		"two-number limit. " + seasonTerms(p.Doc)
	for _, t := range p.Doc.Targets {
		s += fmt.Sprintf(" %s: %.0f h without the rig, %.0f h with it, %.0f h with the two numbers.", t.Name,
			math.Floor(t.All.SkyH), math.Floor(t.All.By.Hours), math.Floor(t.All.Two.Hours))
	}
	return s + " " + upperFirst(basisWords(p.Doc.Basis)) + "."
}

func (p *SeasonChart) sheet(c canvas) {
	d := &p.Doc
	heading := lettering{size: 5, bold: true, color: ink}
	c.text(point{10, 11}, p.title(), heading.fitted(p.title(), p.width()-20))
	small := lettering{size: 3, color: quiet}
	sub := "planned, not confirmed; " + basisWords(d.Basis) + ", fingerprint " + d.Fingerprint
	c.text(point{10, 16.5}, sub, small.fitted(sub, p.width()-20))
	sub = seasonTerms(*d)
	c.text(point{10, 21}, sub, small.fitted(sub, p.width()-20))

	most := p.most()
	const wide, left = seasonCell, 10 + seasonNames
	for k, m := range d.Months {
		name := monthWords(m.Month)
		if k > 0 && m.Month[:4] == d.Months[k-1].Month[:4] {
			name = name[:3]
		}
		l := lettering{size: 3, bold: true, color: ink}
		c.text(point{left + wide*float64(k) + 1, seasonTop - 6.2}, name, l.fitted(name, wide-2))
		l.bold, l.size, l.color = false, 2.4, quiet
		dark := fmt.Sprintf("%.0f h dark", m.DarkH)
		c.text(point{left + wide*float64(k) + 1, seasonTop - 2.2}, dark, l.fitted(dark, wide-2))
	}
	c.text(point{p.width() - 10, seasonTop - 6.2}, "season", lettering{size: 3, bold: true, color: ink, align: 1})
	for i := range d.Targets {
		t := &d.Targets[i]
		y := seasonTop + seasonRow*float64(i)
		if i%2 == 1 {
			c.fill([]path{box{10, y, p.width() - 20, seasonRow}.outline()}, stripe)
		}
		p.name(c, box{10, y, seasonNames, seasonRow}, t)
		for k, h := range t.ByMonth {
			b := box{left + wide*float64(k), y, wide, seasonRow}
			hourBars(c, b, h, most)
			if t.BestMonth != nil && *t.BestMonth == d.Months[k].Month {
				c.stroke([]path{box{b.x + 0.3, b.y + 0.3, b.w - 0.6, b.h - 0.6}.outline()}, 0.45, ink)
			}
		}
		p.sums(c, box{p.width() - 10 - seasonSums, y, seasonSums, seasonRow}, t.All)
	}
	rows := box{10, seasonTop, p.width() - 20, seasonRow * float64(len(d.Targets))}
	lines := []path{rows.outline()}
	for k := range len(d.Months) + 1 {
		x := left + wide*float64(k)
		lines = append(lines, path{{x, rows.y}, {x, rows.y + rows.h}})
	}
	c.stroke(lines, 0.12, rule)
	p.legend(c, point{10, rows.y + rows.h + 5}, most)
}

// most is the hours of the longest bar.
func (p *SeasonChart) most() float64 {
	most := 1.0
	for _, t := range p.Doc.Targets {
		for _, h := range t.ByMonth {
			most = math.Max(most, h.SkyH)
		}
	}
	return most
}

func (p *SeasonChart) name(c canvas, b box, t *SeasonTarget) {
	l := lettering{size: 3, bold: true, color: ink}
	c.text(point{b.x + 1, b.y + 3.9}, t.Name, l.fitted(t.Name, b.w-2))
	s := angle(t.DecDeg, 1)
	switch {
	case !t.Rises:
		s += ", never up"
	case t.All.SkyH == 0:
		s += ", never up when it is dark"
	case t.BestMonth == nil:
		s += ", no room"
	}
	l = lettering{size: 2.5, color: quiet}
	c.text(point{b.x + 1, b.y + 7.6}, s, l.fitted(s, b.w-2))
}

// hourBars draws a cell: without the rig, with it, with the two numbers, each with its hours.
func hourBars(c canvas, b box, h HoursDoc, most float64) {
	if h.SkyH == 0 {
		c.text(point{b.x + b.w/2, b.y + b.h/2 + 1}, "–", lettering{size: 3, color: quiet, align: 0.5})
		return
	}
	const gap, figure = 0.9, 6.2
	high := (b.h - 2*gap) / 3
	for k, x := range []float64{h.SkyH, h.By.Hours, h.Two.Hours} {
		bar := box{b.x + gap, b.y + gap + high*float64(k) + 0.25, (b.w - 2*gap - figure) * x / most, high - 0.5}
		if x > 0 {
			drawBar(c, bar, k)
		}
		s, l := hourFigure(x), lettering{size: 2.3, bold: k == 1, color: ink}
		c.text(point{bar.x + bar.w + 0.6, bar.y + bar.h - 0.15}, s, l)
	}
}

// drawBar draws one of the three bars: outlined, solid, hatched.
func drawBar(c canvas, b box, kind int) {
	switch kind {
	case 0:
		c.fill([]path{b.outline()}, paper)
	case 1:
		c.fill([]path{b.outline()}, ink)
	case 2:
		c.fill([]path{b.outline()}, paper)
		c.stroke(hatch(b, 0.6, false, func(point) bool { return true }), 0.12, ink)
	}
	c.stroke([]path{b.outline()}, 0.12, ink)
}

// sums writes the whole season of a target.
func (p *SeasonChart) sums(c canvas, b box, h HoursDoc) {
	cost := func(l LimitedDoc) string {
		if l.CostH == 0 {
			return ""
		}
		return fmt.Sprintf(" −%s %%", costPct(*l.CostPercent))
	}
	if h.SkyH == 0 {
		return
	}
	limited := func(l LimitedDoc) string { return hourFigure(l.Hours) + " h" + cost(l) }
	for k, s := range []string{hourFigure(h.SkyH) + " h", limited(h.By), limited(h.Two)} {
		l := lettering{size: 2.5, bold: k == 1, color: ink, align: 1}
		c.text(point{b.x + b.w - 1, b.y + 3 + 2.6*float64(k)}, s, l.fitted(s, b.w-2))
	}
}

func (p *SeasonChart) legend(c canvas, at point, most float64) {
	l := lettering{size: 2.8, color: ink}
	x := at.x
	for k, s := range []string{"without the rig", "with its limits by declination from a proven slew there on, less flips and idle",
		fmt.Sprintf("with one RA axis limit a side for these targets alone, west %s°, east %s°",
			entry(p.Doc.WestDeg), entry(p.Doc.EastDeg))} {
		drawBar(c, box{x, at.y - 2, 9, 2.2}, k)
		c.text(point{x + 10.5, at.y}, s, l)
		x += 16 + l.width(s)
	}
	c.stroke([]path{box{x, at.y - 2.2, 9, 2.6}.outline()}, 0.45, ink)
	c.text(point{x + 10.5, at.y}, "best month", l)
	s := fmt.Sprintf("Figures are hours, rounded down; the longest bar is %s h. Behind − in the last column is what the rig costs of the "+
		"sky's hours. The two angles are not to be left in the mount: legroom limits gives that pair.", hourFigure(most))
	c.text(point{at.x, at.y + 5.5}, s, lettering{size: 2.8, color: quiet})
	c.text(point{at.x, at.y + 11}, cautions, lettering{size: 2.8, color: quiet}.fitted(cautions, p.width()-20))
}
