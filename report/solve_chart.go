package report

import (
	"fmt"
	"image/color"
	"io"
	"math"

	changes "legroom/change"
)

// SolveChart draws what one or two variables bring: curves over one, maps over two. Doc may be that of a solution of the same variables,
// whose best is marked then.
type SolveChart struct {
	Doc  SolveDoc
	Scan *changes.Scan
}

// Of the sheet, mm.
const (
	solveWide  = 210.0
	solveTop   = 30.0
	solvePanel = 62.0 // of a curve
	solveSide  = 78.0 // of a map
	solveFoot  = 10.0
)

// curves are the panels: room, and what an aim of idle time or minutes is missed by.
type curve struct {
	name  string
	value func(changes.ScanCell) float64
	up    bool // more is better
	aim   bool // 0 meets an aim to be met
}

func (q curve) met(c changes.ScanCell) bool { return q.aim && c.Bad == "" && c.Miss <= 1e-6 }

func (p *SolveChart) curves() []curve {
	out := []curve{{"room on either side, % of the sky above the horizon", func(c changes.ScanCell) float64 { return c.Room }, true, false}}
	if p.Doc.MissUnit == "min" {
		out = append(out, curve{"misses the aim by, min in the mean", func(c changes.ScanCell) float64 { return c.Miss }, false, p.Doc.Certified.Of == "price"})
	}
	return out
}

func (p *SolveChart) height() float64 {
	if len(p.Scan.At) == 1 {
		return solveTop + solvePanel*float64(len(p.curves())) + solveFoot
	}
	return solveTop + solveSide + 26 + solveFoot
}

// WriteSVG writes the picture as Scalable Vector Graphics.
func (p *SolveChart) WriteSVG(w io.Writer) error {
	c := newSVG(solveWide, p.height(), p.title(), p.describe())
	p.sheet(c)
	return c.writeTo(w)
}

// WritePNG writes the picture as pixels.
func (p *SolveChart) WritePNG(w io.Writer, dpi float64) error {
	if !(dpi >= 36 && dpi <= 600) {
		return fmt.Errorf("resolution of %v dots per inch: give 36 to 600", dpi)
	}
	c := newPixels(solveWide, p.height(), dpi)
	p.sheet(c)
	return c.writeTo(w)
}

func (p *SolveChart) title() string { return p.Doc.Rig + ": " + p.Doc.Aim }

// describe says in words what the picture shows.
func (p *SolveChart) describe() string {
	s := "Over "
	for i, v := range p.Scan.Variables {
		if i > 0 {
			s += " and "
		}
		s += fmt.Sprintf("%s from %s to %s %s", v.Path, plain(v.From, 2), plain(v.To, 2), p.Scan.Units[i])
	}
	s += ":"
	for _, q := range p.curves() {
		lo, hi := p.span(q)
		s += fmt.Sprintf(" %s, %s to %s.", q.name, plain(lo, 2), plain(hi, 2))
	}
	return s + " " + p.marks()
}

func (p *SolveChart) marks() string {
	s := "The rig as it is is marked by a ring"
	if p.Doc.Best != nil {
		s += ", the best by a cross"
	}
	return s + "."
}

// span is the least and the greatest of what is drawn.
func (p *SolveChart) span(q curve) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, c := range p.Scan.Cells {
		if c.Bad == "" {
			lo, hi = math.Min(lo, q.value(c)), math.Max(hi, q.value(c))
		}
	}
	if lo > hi {
		return 0, 1
	}
	return lo, hi
}

func (p *SolveChart) sheet(c canvas) {
	heading := lettering{size: 5, bold: true, color: ink}
	c.text(point{10, 11}, p.title(), heading.fitted(p.title(), solveWide-20))
	small := lettering{size: 3, color: quiet}
	b := p.Doc.Variants[0].Basis
	for k, s := range []string{"planned, not confirmed; " + basisWords(b) + ", fingerprint of the rig as it is " + b.Fingerprint,
		"What is free is proven at each point that is drawn; between them nothing is. " + p.marks()} {
		c.text(point{10, 16.5 + 4.5*float64(k)}, s, small.fitted(s, solveWide-20))
	}
	y := solveTop
	if len(p.Scan.At) == 1 {
		for _, q := range p.curves() {
			p.curve(c, box{26, y + 4, solveWide - 40, solvePanel - 18}, q)
			y += solvePanel
		}
	} else {
		list := p.curves()
		wide := (solveWide - 20) / 2
		for k, q := range list {
			p.field(c, box{26 + wide*float64(k), y + 4, wide - 24, solveSide}, q)
		}
	}
	c.text(point{10, p.height() - 6}, cautions, lettering{size: 2.8, color: quiet}.fitted(cautions, solveWide-20))
}

// axis gives round figures between two ends, about five of them.
func axis(lo, hi float64) []float64 {
	step := math.Pow(10, math.Floor(math.Log10((hi-lo)/4)))
	for _, k := range []float64{5, 2} {
		if (hi-lo)/(step*k) >= 3.5 {
			step *= k
			break
		}
	}
	var out []float64
	for v := math.Ceil(lo/step-1e-9) * step; v <= hi+1e-9*step; v += step {
		out = append(out, v)
	}
	return out
}

// portion maps a value between two ends to a share.
func portion(x, lo, hi float64) float64 { return (x - lo) / (hi - lo) }

func (p *SolveChart) curve(c canvas, b box, q curve) {
	lo, hi := p.span(q)
	if hi-lo < 1e-6 {
		lo, hi = lo-0.5, hi+0.5
	}
	pad := 0.06 * (hi - lo)
	lo, hi = lo-pad, hi+pad
	at := p.Scan.At[0]
	from, to := at[0], at[len(at)-1]
	if from == to {
		from, to = from-1, to+1
	}
	c.text(point{b.x - 16, b.y - 2.5}, q.name, lettering{size: 3.2, bold: true, color: ink})
	label := lettering{size: 2.8, color: ink}
	for _, v := range axis(lo, hi) {
		y := b.y + b.h*(1-portion(v, lo, hi))
		c.stroke([]path{{{b.x, y}, {b.x + b.w, y}}}, 0.1, rule)
		l := label
		l.align = 1
		c.text(point{b.x - 1.5, y + 1}, plain(v, 3), l)
	}
	for _, v := range axis(from, to) {
		x := b.x + b.w*portion(v, from, to)
		c.stroke([]path{{{x, b.y + b.h}, {x, b.y + b.h + 1.2}}}, 0.15, ink)
		l := label
		l.align = 0.5
		c.text(point{x, b.y + b.h + 4.4}, plain(v, 3), l)
	}
	l := label
	l.align = 0.5
	c.text(point{b.x + b.w/2, b.y + b.h + 8.4}, p.Scan.Variables[0].Path+", "+p.Scan.Units[0], l)
	var lines []path
	var dots []path
	var cur path
	for _, x := range p.Scan.Cells {
		if x.Bad != "" {
			lines, cur = append(lines, cur), nil
			continue
		}
		pt := point{b.x + b.w*portion(x.X[0], from, to), b.y + b.h*(1-portion(q.value(x), lo, hi))}
		cur = append(cur, pt)
		dots = append(dots, circle(pt, 0.5))
	}
	lines = append(lines, cur)
	if len(p.Scan.Variables[0].Only) == 0 { // between pegs there is nothing
		for _, line := range lines {
			if len(line) > 1 {
				c.stroke([]path{line}, 0.4, blue)
			}
		}
	}
	c.fill(dots, blue)
	c.stroke([]path{b.outline()}, 0.15, ink)
	put := func(v float64, draw func(point)) {
		if v >= from && v <= to {
			draw(point{b.x + b.w*portion(v, from, to), b.y + b.h*(1-portion(p.at(q, v), lo, hi))})
		}
	}
	put(p.Scan.Present[0], func(pt point) { c.stroke([]path{circle(pt, 1.6)}, 0.4, ink) })
	if p.Doc.Best != nil {
		put(p.Doc.Best.Values[p.Scan.Variables[0].Path], func(pt point) { c.stroke(cross(pt, 1.6), 0.5, vermilion) })
	}
}

// at reads a curve between its points.
func (p *SolveChart) at(q curve, x float64) float64 {
	list := p.Scan.Cells
	for i := 1; i < len(list); i++ {
		a, b := list[i-1], list[i]
		if x >= a.X[0] && x <= b.X[0] && b.X[0] > a.X[0] {
			t := portion(x, a.X[0], b.X[0])
			return q.value(a)*(1-t) + q.value(b)*t
		}
	}
	return q.value(list[0])
}

// cross is a mark of two strokes.
func cross(at point, r float64) []path {
	return []path{{{at.x - r, at.y - r}, {at.x + r, at.y + r}}, {{at.x - r, at.y + r}, {at.x + r, at.y - r}}}
}

// field draws a map over two variables, light where it is good.
func (p *SolveChart) field(c canvas, b box, q curve) {
	lo, hi := p.span(q)
	if hi-lo < 1e-6 {
		lo, hi = lo-0.5, hi+0.5
	}
	good := func(v float64) float64 {
		if q.up {
			return portion(v, lo, hi)
		}
		return 1 - portion(v, lo, hi)
	}
	c.text(point{b.x - 16, b.y - 2.5}, q.name, lettering{size: 3.2, bold: true, color: ink}.fitted(q.name, b.w+20))
	nx, ny := len(p.Scan.At[0]), len(p.Scan.At[1])
	// Each point is the middle of its field.
	edge := func(at []float64, k int) float64 {
		switch k {
		case 0:
			return at[0] - (at[1]-at[0])/2
		case len(at):
			return at[len(at)-1] + (at[len(at)-1]-at[len(at)-2])/2
		}
		return (at[k-1] + at[k]) / 2
	}
	if nx < 2 || ny < 2 {
		c.text(point{b.x, b.y + 6}, "one value only: no map", lettering{size: 3, color: ink})
		return
	}
	x0, x1, y0, y1 := edge(p.Scan.At[0], 0), edge(p.Scan.At[0], nx), edge(p.Scan.At[1], 0), edge(p.Scan.At[1], ny)
	to := func(x, y float64) point {
		return point{b.x + b.w*portion(x, x0, x1), b.y + b.h*(1-portion(y, y0, y1))}
	}
	met := false
	for j := range ny {
		for i := range nx {
			a, d := to(edge(p.Scan.At[0], i), edge(p.Scan.At[1], j+1)), to(edge(p.Scan.At[0], i+1), edge(p.Scan.At[1], j))
			f := box{a.x, a.y, d.x - a.x, d.y - a.y}
			wide := box{f.x, f.y, math.Min(f.w+0.1, b.x+b.w-f.x), math.Min(f.h+0.1, b.y+b.h-f.y)} // no seams
			cell := p.Scan.Cells[j*nx+i]
			if cell.Bad != "" {
				c.stroke(hatch(f, 1.2, false, func(point) bool { return true }), 0.12, ink)
				continue
			}
			c.fill([]path{wide.outline()}, cividis(good(q.value(cell))))
			if met = met || q.met(cell); q.met(cell) {
				c.fill([]path{circle(point{f.x + f.w/2, f.y + f.h/2}, 0.45)}, ink)
			}
		}
	}
	c.stroke([]path{b.outline()}, 0.15, ink)
	l := lettering{size: 2.8, color: ink, align: 0.5}
	for _, v := range axis(p.Scan.At[0][0], p.Scan.At[0][nx-1]) {
		at := to(v, y0)
		c.stroke([]path{{at, {at.x, at.y + 1.2}}}, 0.15, ink)
		c.text(point{at.x, at.y + 4.4}, plain(v, 3), l)
	}
	c.text(point{b.x + b.w/2, b.y + b.h + 8.4}, p.Scan.Variables[0].Path+", "+p.Scan.Units[0], l)
	for _, v := range axis(p.Scan.At[1][0], p.Scan.At[1][ny-1]) {
		at := to(x0, v)
		right := l
		right.align = 1
		c.stroke([]path{{at, {at.x - 1.2, at.y}}}, 0.15, ink)
		c.text(point{at.x - 1.8, at.y + 1}, plain(v, 3), right)
	}
	side := l
	side.up = true
	c.text(point{b.x - 11.5, b.y + b.h/2}, p.Scan.Variables[1].Path+", "+p.Scan.Units[1], side)
	put := func(x, y float64, draw func(point)) {
		if x >= x0 && x <= x1 && y >= y0 && y <= y1 {
			draw(to(x, y))
		}
	}
	put(p.Scan.Present[0], p.Scan.Present[1], func(at point) {
		c.stroke([]path{circle(at, 1.7)}, 1, paper)
		c.stroke([]path{circle(at, 1.7)}, 0.4, ink)
	})
	if best := p.Doc.Best; best != nil {
		put(best.Values[p.Scan.Variables[0].Path], best.Values[p.Scan.Variables[1].Path], func(at point) {
			c.stroke(cross(at, 1.7), 1.2, paper)
			c.stroke(cross(at, 1.7), 0.6, vermilion)
		})
	}
	if met {
		c.fill([]path{circle(point{b.x + b.w - 27, b.y + b.h + 7.6}, 0.45)}, ink)
		c.text(point{b.x + b.w - 25.5, b.y + b.h + 8.4}, "meets the aim", lettering{size: 2.8, color: ink})
	}
	bar := box{b.x, b.y + b.h + 12, b.w, 3}
	paintField(c, bar, func(at point) color.NRGBA { return cividis(good(lo + (hi-lo)*(at.x-bar.x)/bar.w)) })
	c.stroke([]path{bar.outline()}, 0.12, ink)
	for k, v := range []float64{lo, hi} {
		e := l
		e.align = float64(k)
		c.text(point{bar.x + bar.w*float64(k), bar.y + 6}, plain(v, 2), e)
	}
}
