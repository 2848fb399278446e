package report

import (
	"fmt"
	"image/color"
	"math"
)

// legend explains scale, hatches and lines in one strip; u is the size of its letters, mm. It wraps to more lines when the
// strip is narrow, and returns how high it became.
func (p *Chart) legend(c canvas, b box, u, top float64) float64 {
	l := lettering{size: 0.9 * u, color: ink}
	bar := box{b.x, b.y, math.Min(22*u, b.w), 1.1 * u}
	paintField(c, bar, func(q point) color.NRGBA { return cividis((q.x - bar.x) / bar.w) })
	c.stroke([]path{bar.outline()}, 0.06*u, ink)
	m := p.Basis.MarginMM
	for _, v := range scaleTicks(m, top) {
		s, t := plain(v, 1), l
		t.align = (v - m) / (top - m)
		at := bar.x + bar.w*t.align
		if v == top {
			s = "≥ " + s
		}
		c.stroke([]path{{{at, b.y + bar.h}, {at, b.y + bar.h + 0.25*u}}}, 0.06*u, ink)
		c.text(point{at, b.y + 2.2*u}, s, t)
	}
	s := "gap to support and head, tolerances off, mm"
	c.text(point{bar.x + bar.w/2, b.y + 3.2*u}, s, lettering{size: 0.85 * u, color: quiet, align: 0.5})

	type item struct {
		words string
		draw  func(swatch box)
	}
	line := func(q box) path { return path{{q.x, q.y + q.h/2}, {q.x + q.w, q.y + q.h/2}} }
	all := func(point) bool { return true }
	frame := func(q box) { c.stroke([]path{q.outline()}, 0.05*u, ink) }
	items := []item{
		{"not free", func(q box) { c.stroke(hatch(q, 0.45*u, false, all), 0.05*u, ink); frame(q) }},
		{"edge: undecided, counts as not free", func(q box) {
			for k := range 4 {
				c.fill([]path{dot(point{q.x + q.w*(float64(k)+0.5)/4, q.y + q.h/2}, 0.13*u)}, vermilion)
			}
			frame(q)
		}},
		{fmt.Sprintf("gap = margin %s mm", plain(m, 1)), func(q box) { c.stroke([]path{line(q)}, 0.13*u, ink) }},
		{"below the horizon", func(q box) { c.fill([]path{q.outline()}, ground); frame(q) }},
		{"horizon", func(q box) { c.stroke([]path{line(q)}, 0.16*u, blue) }},
	}
	if p.Two != nil {
		items = append(items, item{"two-number limit, to enter", func(q box) { c.stroke(dashed(line(q), 0.8*u, 0.45*u), 0.16*u, ink) }})
	}
	if p.anyUnreachable() {
		items = append(items, item{"outside the axes' travel", func(q box) { c.stroke(hatch(q, 0.45*u, true, all), 0.05*u, rule); frame(q) }})
	}
	left := b.x + bar.w + 2*u
	x, y := left, b.y
	if b.w < 40*u {
		left = b.x
		x, y = left, b.y+4.1*u
	}
	for _, i := range items {
		w := 3*u + l.width(i.words)
		if x+w > b.x+b.w && x > left {
			x, y = left, y+1.75*u
		}
		i.draw(box{x, y, 2.4 * u, 1.1 * u})
		c.text(point{x + 2.9*u, y + 0.85*u}, i.words, l.fitted(i.words, b.x+b.w-x-2.9*u))
		x += w + 1.6*u
	}
	return y + 1.75*u - b.y
}

// scaleTicks are the figures on the scale: its ends, and round numbers between that leave them room.
func scaleTicks(from, to float64) []float64 {
	step := 10.0
	for _, k := range []float64{20, 25, 50, 100, 200, 250, 500, 1000, 2000, 5000, 1e4, 1e5} {
		if (to-from)/step <= 5 {
			break
		}
		step = k
	}
	out := []float64{from}
	for v := math.Ceil(from/step) * step; v < to-0.7*step; v += step {
		if v > from+0.45*step {
			out = append(out, v)
		}
	}
	return append(out, to)
}

func (p *Chart) anyUnreachable() bool {
	for _, g := range []*Grid{p.West, p.East} {
		for _, q := range g.Points {
			if q.Unreachable {
				return true
			}
		}
	}
	return false
}
