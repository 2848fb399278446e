package report

import (
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"slices"
	"strings"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Chart is the room of a rig as a picture: gap by pose, with what is not free hatched.
type Chart struct {
	Model      *axes.Model
	Basis      Basis
	West, East *Grid
	Two        *room.TwoNumber // drawn on top when there
	Setup      rig.Setup
}

// View says which picture of the sky.
type View string

const (
	Hours View = "hours" // hour angle by declination, a panel a side
	Dome  View = "dome"  // the sky from below: zenith in the centre, north up, east left
)

// ParseView reads "hours" or "dome".
func ParseView(s string) (View, error) {
	if v := View(s); v == Hours || v == Dome {
		return v, nil
	}
	return "", fmt.Errorf("view %q: give hours or dome", s)
}

// size is that of a view's sheet, mm.
func (v View) size() (w, h float64) {
	if v == Dome {
		return 290, 150
	}
	return 290, 146
}

// WriteSVG writes a view as Scalable Vector Graphics.
func (p *Chart) WriteSVG(w io.Writer, v View) error {
	width, height := v.size()
	c := newSVG(width, height, p.title(v), p.describe(v))
	p.sheet(c, v)
	return c.writeTo(w)
}

// WritePNG writes a view as pixels; 150 dots per inch make it 1700 pixels wide.
func (p *Chart) WritePNG(w io.Writer, v View, dpi float64) error {
	if !(dpi >= 36 && dpi <= 600) {
		return fmt.Errorf("resolution of %v dots per inch: give 36 to 600", dpi)
	}
	width, height := v.size()
	c := newPixels(width, height, dpi)
	p.sheet(c, v)
	return c.writeTo(w)
}

func (p *Chart) title(v View) string {
	if v == Dome {
		return p.Model.Rig.Name + ": room in the sky"
	}
	return p.Model.Rig.Name + ": room by hour angle and declination"
}

// describe says in words what the picture shows.
func (p *Chart) describe(v View) string {
	var b strings.Builder
	if v == Dome {
		b.WriteString("The sky seen from below, zenith in the centre, north up, east left, for side west, side east and either. ")
	} else {
		b.WriteString("Hour angle from left to right, declination upwards, for side west and side east. ")
	}
	fmt.Fprintf(&b, "Lighter means a wider gap of tube and counterweights to the support and of the tube to the head. Hatched means not free, dotted undecided. Margin %s mm. ", plain(p.Basis.MarginMM, 1))
	if p.Two != nil {
		b.WriteString(p.limitWords() + " ")
	}
	b.WriteString(p.basisWords())
	return b.String()
}

func (p *Chart) limitWords() string {
	step := p.Model.Rig.Mount.EntryStepDeg
	return fmt.Sprintf("Two-number limit: west %s°, east %s° of RA axis from counterweight-down.", entry(room.Entry(p.Two.West, step)), entry(room.Entry(p.Two.East, step)))
}

func (p *Chart) basisWords() string {
	return basisWords(p.Basis) + ", fingerprint " + p.Basis.Fingerprint
}

func basisWords(b Basis) string {
	s := fmt.Sprintf("margin %s mm, tolerances %s", plain(b.MarginMM, 1), b.Mode)
	if b.ToleranceMM > 0 {
		s += fmt.Sprintf(" (up to %s mm taken off)", plain(math.Ceil(b.ToleranceMM*10)/10, 1))
	}
	if n := len(b.Unmeasured); n > 0 {
		s += fmt.Sprintf(", %d %s UNMEASURED", n, plural(n, "length", "lengths"))
	}
	if w := onlyWithout(b); w != "" {
		s += ", " + w
	}
	return s
}

// onlyWithout says which conditions a result leaves out; "" when none.
func onlyWithout(b Basis) string {
	if len(b.Without) == 0 {
		return ""
	}
	return "ONLY WITHOUT " + strings.Join(b.Without, ", ")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func (p *Chart) sheet(c canvas, v View) {
	w, h := v.size()
	heading := lettering{size: 5, bold: true, color: ink}
	c.text(point{10, 11}, p.title(v), heading.fitted(p.title(v), w-20))
	sub := p.basisWords()
	if p.Setup.Confirmed {
		sub = "set-up confirmed for the night of " + bothDays(p.Setup.Night) + "; " + sub
	} else {
		sub = "planned, not confirmed; " + sub
	}
	c.text(point{10, 16.5}, sub, lettering{size: 3, color: quiet}.fitted(sub, w-20))
	top := p.top()
	if v == Dome {
		r := 41.0
		for i, d := range []dome{{p, "Side west", []*Grid{p.West}}, {p, "Side east", []*Grid{p.East}}, {p, "Either side", []*Grid{p.West, p.East}}} {
			d.draw(c, point{50 + 95*float64(i), 74}, r, 3, top)
		}
		c.text(point{w / 2, 126}, "Seen from below, as you look up: north is up, east is LEFT. Circles at 30° and 60° of altitude.", lettering{size: 3, color: quiet, align: 0.5})
	} else {
		p.panel(c, box{24, 32, 116, 84}, p.West, 3, top)
		p.panel(c, box{165, 32, 116, 84}, p.East, 3, top)
	}
	p.legend(c, box{10, h - 13, w - 20, 10}, 3, top)
}

// top is the gap at which the scale is lightest: a round number that nine of ten free poses of the sky stay below.
func (p *Chart) top() float64 {
	var free []float64
	for _, g := range []*Grid{p.West, p.East} {
		for j := range g.Rows {
			for i := range g.Columns {
				if q := g.At(i, j); !q.Unreachable && q.State == room.Free && p.above(g.HourAngle(i), g.Dec(j)) > 0 {
					free = append(free, float64(q.AcrossMM))
				}
			}
		}
	}
	if len(free) == 0 || math.IsInf(slices.Min(free), 0) {
		return 2*p.Basis.MarginMM + 100
	}
	slices.Sort(free)
	want := math.Max(free[len(free)*9/10], p.Basis.MarginMM+20)
	for unit := 10.0; ; unit *= 10 {
		for _, k := range []float64{1, 2, 3, 4, 5, 6, 8} {
			if k*unit >= want {
				return k * unit
			}
		}
	}
}

func (p *Chart) shade(gap, top float64) color.NRGBA {
	return cividis((gap - p.Basis.MarginMM) / (top - p.Basis.MarginMM))
}

// above returns how far a direction stands above the site's horizon, radians.
func (p *Chart) above(hourAngle, dec float64) float64 {
	return aboveHorizon(p.Model, hourAngle, dec)
}

func aboveHorizon(m *axes.Model, hourAngle, dec float64) float64 {
	alt, az := axes.AltAz(axes.Direction(m.Head.Latitude, hourAngle, dec))
	return alt - axes.Rad(m.Rig.Site.Horizon.Altitude(axes.Deg(az)))
}

// pixelsPerMM of the pictures under the lines.
const pixelsPerMM = 6

// paintField fills a box pixel by pixel.
func paintField(c canvas, b box, shade func(point) color.NRGBA) {
	w, h := int(b.w*pixelsPerMM), int(b.h*pixelsPerMM)
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetNRGBA(x, y, shade(point{b.x + (float64(x)+0.5)*b.w/float64(w), b.y + (float64(y)+0.5)*b.h/float64(h)}))
		}
	}
	c.picture(img, b)
}

// halo strokes lines that must be seen on light and on dark.
func halo(c canvas, lines []path, width float64, col color.NRGBA) {
	c.stroke(lines, width+0.5, paper)
	c.stroke(lines, width, col)
}

// tag writes a label on paper.
func tag(c canvas, at point, s string, l lettering) {
	w := l.width(s)
	b := box{at.x - l.align*w - 0.6, at.y - l.size*0.85, w + 1.2, l.size * 1.15}
	c.fill([]path{b.outline()}, paper)
	c.text(at, s, l)
}
