package report

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// pixels paints with anti-aliased edges.
type pixels struct {
	img   *image.NRGBA
	scale float64 // pixels per mm
	r     vector.Rasterizer
	buf   sfnt.Buffer
}

func newPixels(w, h, dpi float64) *pixels {
	scale := dpi / 25.4
	p := &pixels{scale: scale, img: image.NewNRGBA(image.Rect(0, 0, int(math.Round(w*scale)), int(math.Round(h*scale))))}
	draw.Draw(p.img, p.img.Bounds(), image.White, image.Point{}, draw.Src)
	return p
}

func (p *pixels) writeTo(w io.Writer) error { return png.Encode(w, p.img) }

// outline is a closed shape in pixels: lines, or curves as the font has them.
type outline struct {
	op   sfnt.SegmentOp
	args [3]point
}

// paint fills outlines by the non-zero rule.
func (p *pixels) paint(shape []outline, c color.NRGBA) {
	if len(shape) == 0 {
		return
	}
	lo, hi := point{math.Inf(1), math.Inf(1)}, point{math.Inf(-1), math.Inf(-1)}
	for _, s := range shape {
		for _, q := range s.args[:operands(s.op)] {
			lo = point{math.Min(lo.x, q.x), math.Min(lo.y, q.y)}
			hi = point{math.Max(hi.x, q.x), math.Max(hi.y, q.y)}
		}
	}
	r := image.Rect(int(math.Floor(lo.x)), int(math.Floor(lo.y)), int(math.Ceil(hi.x))+1, int(math.Ceil(hi.y))+1)
	at := r.Intersect(p.img.Bounds())
	if at.Empty() {
		return
	}
	p.r.Reset(r.Dx(), r.Dy())
	f := func(q point) (float32, float32) {
		return float32(q.x - float64(r.Min.X)), float32(q.y - float64(r.Min.Y))
	}
	for _, s := range shape {
		ax, ay := f(s.args[0])
		bx, by := f(s.args[1])
		cx, cy := f(s.args[2])
		switch s.op {
		case sfnt.SegmentOpMoveTo:
			p.r.ClosePath()
			p.r.MoveTo(ax, ay)
		case sfnt.SegmentOpLineTo:
			p.r.LineTo(ax, ay)
		case sfnt.SegmentOpQuadTo:
			p.r.QuadTo(ax, ay, bx, by)
		case sfnt.SegmentOpCubeTo:
			p.r.CubeTo(ax, ay, bx, by, cx, cy)
		}
	}
	p.r.ClosePath()
	// A rasteriser draws from its own corner: paint a picture of its size, and put that down.
	mask := image.NewAlpha(image.Rect(0, 0, r.Dx(), r.Dy()))
	p.r.DrawOp = draw.Src
	p.r.Draw(mask, mask.Bounds(), image.Opaque, image.Point{})
	draw.DrawMask(p.img, at, image.NewUniform(c), image.Point{}, mask, at.Min.Sub(r.Min), draw.Over)
}

func operands(op sfnt.SegmentOp) int {
	switch op {
	case sfnt.SegmentOpQuadTo:
		return 2
	case sfnt.SegmentOpCubeTo:
		return 3
	}
	return 1
}

func (p *pixels) fill(areas []path, c color.NRGBA) {
	var shape []outline
	for _, a := range areas {
		shape = p.add(shape, a, false)
	}
	p.paint(shape, c)
}

// add appends a closed path in mm, turned so that all run the same way round when oriented.
func (p *pixels) add(shape []outline, a path, oriented bool) []outline {
	area := 0.0
	for i, q := range a {
		n := a[(i+1)%len(a)]
		area += q.x*n.y - q.y*n.x
	}
	for i := range a {
		q := a[i]
		if oriented && area < 0 {
			q = a[len(a)-1-i]
		}
		op := sfnt.SegmentOpLineTo
		if i == 0 {
			op = sfnt.SegmentOpMoveTo
		}
		shape = append(shape, outline{op, [3]point{{q.x * p.scale, q.y * p.scale}}})
	}
	return shape
}

func (p *pixels) stroke(lines []path, width float64, c color.NRGBA) {
	h := math.Max(width, 0.8/p.scale) / 2
	for _, l := range lines {
		var shape []outline
		for i, b := range l {
			shape = p.add(shape, dot(b, h), true)
			if i == 0 {
				continue
			}
			a := l[i-1]
			d := math.Hypot(b.x-a.x, b.y-a.y)
			if d == 0 {
				continue
			}
			n := point{-(b.y - a.y) / d * h, (b.x - a.x) / d * h}
			shape = p.add(shape, path{{a.x + n.x, a.y + n.y}, {b.x + n.x, b.y + n.y}, {b.x - n.x, b.y - n.y}, {a.x - n.x, a.y - n.y}}, true)
		}
		p.paint(shape, c)
	}
}

// dot is a small round area.
func dot(c point, r float64) path {
	const n = 12
	p := make(path, n)
	for i := range p {
		s, k := math.Sincos(2 * math.Pi * float64(i) / n)
		p[i] = point{c.x + r*k, c.y + r*s}
	}
	return p
}

func (p *pixels) text(at point, s string, l lettering) {
	f := l.font()
	em := fixed.I(int(f.UnitsPerEm()))
	unit := l.size * p.scale / float64(em)
	x := -l.align * l.width(s) * p.scale
	var shape []outline
	for _, r := range s {
		g, err := f.GlyphIndex(&p.buf, r)
		if err != nil {
			continue
		}
		segments, err := f.LoadGlyph(&p.buf, g, em, nil)
		if err != nil {
			continue
		}
		for _, seg := range segments {
			o := outline{op: seg.Op}
			for k, a := range seg.Args {
				q := point{x + float64(a.X)*unit, float64(a.Y) * unit}
				if l.up {
					q = point{q.y, -q.x}
				}
				o.args[k] = point{q.x + at.x*p.scale, q.y + at.y*p.scale}
			}
			shape = append(shape, o)
		}
		if a, err := f.GlyphAdvance(&p.buf, g, em, 0); err == nil {
			x += float64(a) * unit
		}
	}
	p.paint(shape, l.color)
}

func (p *pixels) picture(img *image.NRGBA, at box) {
	x0, y0 := int(math.Round(at.x*p.scale)), int(math.Round(at.y*p.scale))
	x1, y1 := int(math.Round((at.x+at.w)*p.scale)), int(math.Round((at.y+at.h)*p.scale))
	draw.Draw(p.img, image.Rect(x0, y0, x1, y1), resized(img, x1-x0, y1-y0), image.Point{}, draw.Over)
}

// resized takes for each of w × h pixels the nearest of a picture's.
func resized(img *image.NRGBA, w, h int) *image.NRGBA {
	b := img.Bounds()
	out := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			out.SetNRGBA(x, y, img.NRGBAAt(b.Min.X+x*b.Dx()/w, b.Min.Y+y*b.Dy()/h))
		}
	}
	return out
}
