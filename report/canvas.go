package report

import (
	"image"
	"image/color"
	"math"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// point is a place on the paper, mm from its top left corner, y down.
type point struct{ x, y float64 }

// box is a rectangle on the paper.
type box struct{ x, y, w, h float64 }

// path is a line through points; a filled path is closed.
type path []point

// lettering says how a text stands.
type lettering struct {
	size  float64 // mm, of the em
	bold  bool
	color color.NRGBA
	align float64 // 0: starts at the point, 0.5: centred on it, 1: ends there
	up    bool    // reads upwards
}

// canvas is a sheet to draw on: SVG, PDF or pixels.
type canvas interface {
	stroke(lines []path, width float64, c color.NRGBA) // round ends and corners
	fill(areas []path, c color.NRGBA)
	text(at point, s string, l lettering) // at is on the base line
	picture(img *image.NRGBA, at box)
}

// The letters of every output: the Go fonts (Bigelow & Holmes, BSD licence), which hold δ, ±, −, ≥ and °.
var regular, bold = mustFont(goregular.TTF), mustFont(gobold.TTF)

func mustFont(ttf []byte) *sfnt.Font {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic(err)
	}
	return f
}

func (l lettering) font() *sfnt.Font {
	if l.bold {
		return bold
	}
	return regular
}

// width returns how wide a text is, mm.
func (l lettering) width(s string) float64 {
	var b sfnt.Buffer
	f := l.font()
	em := fixed.I(int(f.UnitsPerEm()))
	sum := fixed.Int26_6(0)
	for _, r := range s {
		if g, err := f.GlyphIndex(&b, r); err == nil {
			if a, err := f.GlyphAdvance(&b, g, em, 0); err == nil {
				sum += a
			}
		}
	}
	return float64(sum) / float64(em) * l.size
}

// fitted returns the lettering made smaller until s is no wider than w.
func (l lettering) fitted(s string, w float64) lettering {
	if have := l.width(s); have > w {
		l.size *= w / have
	}
	return l
}

func (b box) outline() path {
	return path{{b.x, b.y}, {b.x + b.w, b.y}, {b.x + b.w, b.y + b.h}, {b.x, b.y + b.h}, {b.x, b.y}}
}

func circle(c point, r float64) path {
	const n = 96
	var p path
	for i := range n + 1 {
		s, k := math.Sincos(2 * math.Pi * float64(i) / n)
		p = append(p, point{c.x + r*k, c.y + r*s})
	}
	return p
}

// dashed cuts a line into dashes.
func dashed(p path, on, off float64) []path {
	var out []path
	left, drawing := on, true
	cur := path{p[0]}
	for i := 1; i < len(p); i++ {
		a, b := p[i-1], p[i]
		d := math.Hypot(b.x-a.x, b.y-a.y)
		for d > left {
			t := left / d
			a = point{a.x + t*(b.x-a.x), a.y + t*(b.y-a.y)}
			d -= left
			if drawing {
				out = append(out, append(cur, a))
			}
			cur = path{a}
			drawing = !drawing
			left = off
			if drawing {
				left = on
			}
		}
		left -= d
		if drawing {
			cur = append(cur, b)
		}
	}
	if drawing && len(cur) > 1 {
		out = append(out, cur)
	}
	return out
}

// hatch returns diagonal lines over the part of a box that holds, every spacing mm across; falling is the other diagonal.
func hatch(b box, spacing float64, falling bool, holds func(point) bool) []path {
	const step = 0.15 // mm along a line
	dir := 1.0
	if falling {
		dir = -1
	}
	var out []path
	for k := math.Floor((b.x - b.h - b.y) / (spacing * math.Sqrt2)); ; k++ {
		c := k * spacing * math.Sqrt2 // x + dir·(y − b.y) = c, shifted so that neighbouring boxes line up
		if c > b.x+b.w+b.h {
			break
		}
		var cur path
		flush := func() {
			if len(cur) > 1 {
				out = append(out, path{cur[0], cur[len(cur)-1]})
			}
			cur = cur[:0]
		}
		for y := 0.0; y <= b.h; y += step / math.Sqrt2 {
			x := c - y
			if dir < 0 {
				x = c - (b.h - y)
			}
			p := point{x, b.y + y}
			if x < b.x || x > b.x+b.w || !holds(p) {
				flush()
				continue
			}
			cur = append(cur, p)
		}
		flush()
	}
	return out
}

// contour returns the line where f crosses 0, by marching squares over n × m fields of a box. A field with a NaN corner is
// left out.
func contour(b box, n, m int, f func(point) float64) []path {
	at := func(i, j int) point { return point{b.x + b.w*float64(i)/float64(n), b.y + b.h*float64(j)/float64(m)} }
	v := make([]float64, (n+1)*(m+1))
	for j := range m + 1 {
		for i := range n + 1 {
			v[j*(n+1)+i] = f(at(i, j))
		}
	}
	var out []path
	for j := range m {
		for i := range n {
			p := [4]point{at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)}
			w := [4]float64{v[j*(n+1)+i], v[j*(n+1)+i+1], v[(j+1)*(n+1)+i+1], v[(j+1)*(n+1)+i]}
			var cross path
			for k := range 4 {
				a, c := w[k], w[(k+1)%4]
				if (a < 0) != (c < 0) {
					t := a / (a - c)
					q, r := p[k], p[(k+1)%4]
					cross = append(cross, point{q.x + t*(r.x-q.x), q.y + t*(r.y-q.y)})
				}
			}
			if math.IsNaN(w[0] + w[1] + w[2] + w[3]) {
				continue
			}
			for k := 0; k+1 < len(cross); k += 2 {
				out = append(out, path{cross[k], cross[k+1]})
			}
		}
	}
	return chain(out)
}

// chain joins segments end to end into longer lines.
func chain(segments []path) []path {
	type key struct{ x, y int64 }
	of := func(p point) key { return key{int64(math.Round(p.x * 1e6)), int64(math.Round(p.y * 1e6))} }
	ends := map[key][]int{}
	for i, s := range segments {
		ends[of(s[0])] = append(ends[of(s[0])], i)
		ends[of(s[1])] = append(ends[of(s[1])], i)
	}
	used := make([]bool, len(segments))
	var out []path
	for i := range segments {
		if used[i] {
			continue
		}
		used[i] = true
		line := path{segments[i][0], segments[i][1]}
		for range 2 {
			for {
				end := line[len(line)-1]
				found := false
				for _, j := range ends[of(end)] {
					if used[j] {
						continue
					}
					used[j], found = true, true
					next := segments[j][0]
					if of(next) == of(end) {
						next = segments[j][1]
					}
					line = append(line, next)
					break
				}
				if !found {
					break
				}
			}
			for a, b := 0, len(line)-1; a < b; a, b = a+1, b-1 {
				line[a], line[b] = line[b], line[a]
			}
		}
		out = append(out, line)
	}
	return out
}
