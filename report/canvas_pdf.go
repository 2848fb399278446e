package report

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// pdf writes one page. The same drawing with the same date gives the same bytes.
type pdf struct {
	f      *fpdf.Fpdf
	widths map[int]bool // of its pictures, pixels
}

func newPDF(w, h float64, title string, date time.Time) *pdf {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	f.SetCatalogSort(true)
	f.SetCreationDate(date)
	f.SetModificationDate(date)
	f.SetTitle(title, true)
	f.SetCreator("legroom", true)
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes("go", "", goregular.TTF)
	f.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	f.AddPage()
	f.SetLineCapStyle("round")
	f.SetLineJoinStyle("round")
	return &pdf{f: f, widths: map[int]bool{}}
}

func (p *pdf) writeTo(w io.Writer) error { return p.f.Output(w) }

func (p *pdf) stroke(lines []path, width float64, c color.NRGBA) {
	p.f.SetLineWidth(width)
	p.f.SetDrawColor(int(c.R), int(c.G), int(c.B))
	p.trace(lines, "D")
}

func (p *pdf) fill(areas []path, c color.NRGBA) {
	p.f.SetFillColor(int(c.R), int(c.G), int(c.B))
	p.trace(areas, "F")
}

func (p *pdf) trace(lines []path, style string) {
	drawn := false
	for _, l := range lines {
		for i, q := range l {
			if i == 0 {
				p.f.MoveTo(q.x, q.y)
				continue
			}
			p.f.LineTo(q.x, q.y)
			drawn = true
		}
	}
	if drawn {
		p.f.DrawPath(style)
	}
}

func (p *pdf) text(at point, s string, l lettering) {
	style := ""
	if l.bold {
		style = "B"
	}
	p.f.SetFont("go", style, l.size*72/25.4)
	p.f.SetTextColor(int(l.color.R), int(l.color.G), int(l.color.B))
	w := l.width(s)
	if l.up {
		p.f.TransformBegin()
		p.f.TransformRotate(90, at.x, at.y)
		defer p.f.TransformEnd()
	}
	p.f.Text(at.x-l.align*w, at.y, s)
}

func (p *pdf) picture(img *image.NRGBA, at box) {
	// Pictures stand in the file in the order of their widths, and those of one width in no order at all: give each its own.
	width := img.Bounds().Dx()
	for p.widths[width] {
		width++
	}
	p.widths[width] = true
	var b bytes.Buffer
	if err := png.Encode(&b, opaque(resized(img, width, img.Bounds().Dy()))); err != nil {
		p.f.SetError(err)
		return
	}
	name := fmt.Sprintf("picture %d", width)
	o := fpdf.ImageOptions{ImageType: "png"}
	p.f.RegisterImageOptionsReader(name, o, &b)
	p.f.ImageOptions(name, at.x, at.y, at.w, at.h, false, o, 0, "")
}

// opaque puts a picture on paper: a PDF page needs no transparency for it.
func opaque(img *image.NRGBA) *image.NRGBA {
	out := image.NewNRGBA(img.Bounds())
	for i := 0; i < len(img.Pix); i += 4 {
		a := int(img.Pix[i+3])
		for k := range 3 {
			out.Pix[i+k] = uint8((int(img.Pix[i+k])*a + 255*(255-a)) / 255)
		}
		out.Pix[i+3] = 255
	}
	return out
}
