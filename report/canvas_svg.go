package report

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"strings"
)

// svg writes Scalable Vector Graphics 1.1, mm as user units.
type svg struct{ b bytes.Buffer }

// newSVG starts a drawing with a title and a description for those who do not see it.
func newSVG(w, h float64, title, description string) *svg {
	s := &svg{}
	fmt.Fprintf(&s.b, `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" font-family="Go, 'DejaVu Sans', Verdana, sans-serif">`+"\n",
		mm(w), mm(h), mm(w), mm(h))
	fmt.Fprintf(&s.b, "<title>%s</title>\n<desc>%s</desc>\n", escape(title), escape(description))
	fmt.Fprintf(&s.b, `<rect width="%s" height="%s" fill="#ffffff"/>`+"\n", mm(w), mm(h))
	return s
}

func (s *svg) writeTo(w io.Writer) error {
	s.b.WriteString("</svg>\n")
	_, err := w.Write(s.b.Bytes())
	return err
}

func mm(x float64) string { return strings.ReplaceAll(plain(x, 3), "−", "-") }

func escape(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // a bytes.Buffer takes everything
	return b.String()
}

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

func (s *svg) data(lines []path, closed bool) string {
	var b strings.Builder
	for _, p := range lines {
		for i, q := range p {
			switch i {
			case 0:
				b.WriteByte('M')
			case 1:
				b.WriteByte('L')
			default:
				b.WriteByte(' ')
			}
			b.WriteString(mm(q.x) + " " + mm(q.y))
		}
		if closed {
			b.WriteByte('Z')
		}
	}
	return b.String()
}

func (s *svg) stroke(lines []path, width float64, c color.NRGBA) {
	if len(lines) > 0 {
		fmt.Fprintf(&s.b, `<path d="%s" fill="none" stroke="%s" stroke-width="%s" stroke-linecap="round" stroke-linejoin="round"/>`+"\n",
			s.data(lines, false), hex(c), mm(width))
	}
}

func (s *svg) fill(areas []path, c color.NRGBA) {
	if len(areas) > 0 {
		fmt.Fprintf(&s.b, `<path d="%s" fill="%s"/>`+"\n", s.data(areas, true), hex(c))
	}
}

func (s *svg) text(at point, t string, l lettering) {
	if t == "" {
		return
	}
	x, y := at.x, at.y
	w := l.width(t)
	turn := ""
	if l.up {
		turn = fmt.Sprintf(` transform="rotate(-90 %s %s)"`, mm(x), mm(y))
	}
	weight := ""
	if l.bold {
		weight = ` font-weight="bold"`
	}
	fmt.Fprintf(&s.b, `<text x="%s" y="%s" font-size="%s" fill="%s" textLength="%s" lengthAdjust="spacingAndGlyphs"%s%s>%s</text>`+"\n",
		mm(x-l.align*w), mm(y), mm(l.size), hex(l.color), mm(w), weight, turn, escape(t))
}

func (s *svg) picture(img *image.NRGBA, at box) {
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err) // an image in memory, written to memory
	}
	fmt.Fprintf(&s.b, `<image x="%s" y="%s" width="%s" height="%s" preserveAspectRatio="none" style="image-rendering:pixelated" xlink:href="data:image/png;base64,%s"/>`+"\n",
		mm(at.x), mm(at.y), mm(at.w), mm(at.h), base64.StdEncoding.EncodeToString(b.Bytes()))
}
