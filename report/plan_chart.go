package report

import (
	"fmt"
	"image/color"
	"io"
	"math"
	"strings"
	"time"

	"legroom/axes"
	"legroom/night"
	"legroom/sky"
)

// PlanChart is a night as a picture: altitudes of the targets and the Moon over twilight, when each target is usable on each side, its
// stop, flip and idle time, and the schedule.
type PlanChart struct {
	Plan *night.Plan
	Doc  NightDoc // of Plan
}

// maxPlanRows is how many targets have a curve and a row.
const maxPlanRows = 12

// Size of the sheet alone, mm; its height grows with the rows.
const (
	planWidth  = 290.0
	planLabels = 44.0 // left of the time axis
	planRow    = 6.5
	planCurves = 92.0
	planTop    = 27.0
)

func (p *PlanChart) height() float64 {
	return planTop + planCurves + planRow*float64(len(p.shown())+1) + 32
}

// WriteSVG writes the picture as Scalable Vector Graphics.
func (p *PlanChart) WriteSVG(w io.Writer) error {
	c := newSVG(planWidth, p.height(), p.title(), p.describe())
	p.sheet(c)
	return c.writeTo(w)
}

// WritePNG writes the picture as pixels.
func (p *PlanChart) WritePNG(w io.Writer, dpi float64) error {
	if !(dpi >= 36 && dpi <= 600) {
		return fmt.Errorf("resolution of %v dots per inch: give 36 to 600", dpi)
	}
	c := newPixels(planWidth, p.height(), dpi)
	p.sheet(c)
	return c.writeTo(w)
}

func (p *PlanChart) title() string { return p.Doc.Rig + ": the night of " + bothDays(p.Doc.Night) }

// describe says in words what the picture shows.
func (p *PlanChart) describe() string {
	d := &p.Doc
	k := clocksOf(d.TimeZone, d.Night)
	var b strings.Builder
	fmt.Fprintf(&b, "Time from left to right, altitude upwards; below it a row for each target. %s. ", upperFirst(p.state()))
	for i := range d.Targets {
		t := &d.Targets[i]
		fmt.Fprintf(&b, "%s: %s, %d sub-exposures, %s. ", t.Name, k.spans(t.Usable), t.SubCount, t.Advice.Text)
	}
	b.WriteString("Schedule: ")
	for i := range d.Schedule {
		s := &d.Schedule[i]
		fmt.Fprintf(&b, "%s to %s %s, side %s. ", k.at(s.From), k.at(s.To), s.Target, s.Side)
	}
	return b.String()
}

// state says whether the set-up is confirmed, in a few words.
func (p *PlanChart) state() string {
	if p.Doc.Confirmed {
		return "set-up confirmed for the night of " + p.Doc.Night
	}
	return "planned, not confirmed: " + p.Doc.Unconfirmed
}

func (p *PlanChart) sheet(c canvas) {
	heading := lettering{size: 5, bold: true, color: ink}
	c.text(point{10, 11}, p.title(), heading.fitted(p.title(), planWidth-20))
	sub := p.state() + "; " + basisWords(p.Doc.Basis) + ", fingerprint " + p.Doc.Fingerprint
	c.text(point{10, 16.5}, sub, lettering{size: 3, color: quiet}.fitted(sub, planWidth-20))
	f := p.frame(box{planLabels, planTop, planWidth - planLabels - 18, planCurves}, 10, 3)
	bottom := f.draw(c, planRow)
	f.legend(c, box{10, bottom + 3, planWidth - 20, 10})
}

// shown lists the targets that have a curve and a row, in their order: when there are too many, those of the schedule first.
func (p *PlanChart) shown() []int {
	n := len(p.Plan.Targets)
	chosen := map[int]bool{}
	for _, b := range p.Plan.Schedule.Blocks {
		if len(chosen) < maxPlanRows {
			chosen[b.Target] = true
		}
	}
	for i := 0; i < n && len(chosen) < maxPlanRows; i++ {
		chosen[i] = true
	}
	var out []int
	for i := range n {
		if chosen[i] {
			out = append(out, i)
		}
	}
	return out
}

// frame is a picture of a night being drawn: where its moments stand on the paper.
type frame struct {
	p        *PlanChart
	b        box     // of the curves; what stands below has its x
	labels   float64 // where the rows' names begin, mm
	u        float64 // size of the letters, mm
	from, to time.Time
	clock    clocks
	shown    []int
}

// frame spans the time from half an hour before sunset to half an hour after sunrise, or from noon to noon.
func (p *PlanChart) frame(b box, labels, u float64) *frame {
	n := &p.Plan.Night
	f := &frame{p: p, b: b, labels: labels, u: u, from: n.Noon, to: n.NextNoon, clock: clocksOf(p.Doc.TimeZone, p.Doc.Night), shown: p.shown()}
	if t := n.Set.Begin; !t.IsZero() {
		f.from = t.Add(-30 * time.Minute)
	}
	if t := n.Set.End; !t.IsZero() {
		f.to = t.Add(30 * time.Minute)
	}
	return f
}

// x is where a moment stands, kept inside the frame.
func (f *frame) x(t time.Time) float64 {
	share := float64(t.Sub(f.from)) / float64(f.to.Sub(f.from))
	return f.b.x + f.b.w*math.Min(1, math.Max(0, share))
}

// y is where an altitude stands, radians.
func (f *frame) y(alt float64) float64 { return f.b.y + f.b.h*(1-alt/(math.Pi/2)) }

func (f *frame) inside(t time.Time) bool { return !t.Before(f.from) && !t.After(f.to) }

// draw draws curves, rows, the schedule's row and the hours, and returns where they end.
func (f *frame) draw(c canvas, row float64) float64 {
	rows := box{f.b.x, f.b.y + f.b.h + 1.2*f.u, f.b.w, row * float64(len(f.shown)+1)}
	f.shade(c, f.b)
	f.shade(c, rows)
	f.altitudes(c)
	label := f.moon(c)
	for i, k := range f.shown {
		f.curve(c, i, k)
	}
	label()
	for i := range f.shown {
		f.number(c, i)
	}
	f.dusk(c)
	for i, k := range f.shown {
		f.row(c, box{rows.x, rows.y + row*float64(i), rows.w, row}, i, k)
	}
	f.schedule(c, box{rows.x, rows.y + row*float64(len(f.shown)), rows.w, row})
	c.stroke([]path{f.b.outline(), rows.outline()}, 0.08*f.u, ink)
	return f.hours(c, rows.y+rows.h)
}

// twilights are greys from day to dark, the lightest next to dark, which is paper.
var twilights = [4]color.NRGBA{{0xC8, 0xC8, 0xC8, 255}, {0xD9, 0xD9, 0xD9, 255}, {0xE8, 0xE8, 0xE8, 255}, {0xF4, 0xF4, 0xF4, 255}}

// shade paints day and twilight behind what is to be drawn.
func (f *frame) shade(c canvas, b box) {
	n := &f.p.Plan.Night
	c.fill([]path{b.outline()}, twilights[0])
	for i, ws := range [][]sky.Window{n.Set.Windows, n.Civil.Windows, n.Nautical.Windows, n.Dark.Windows} {
		col := paper
		if i+1 < len(twilights) {
			col = twilights[i+1]
		}
		for _, w := range ws {
			if a, z := f.x(w.From), f.x(w.To); a < z {
				c.fill([]path{box{a, b.y, z - a, b.h}.outline()}, col)
			}
		}
	}
}

// dusk writes the Sun's times above the curves, and draws where exposures may begin and end.
func (f *frame) dusk(c canvas) {
	d := &f.p.Doc
	type mark struct {
		t     *time.Time
		words string
		round func(time.Time) time.Time
		dark  bool
	}
	end := f.b.x
	for _, m := range []mark{{d.Sunset, "sunset", near60, false}, {d.DarkFrom, "dark from", up60, true}, {d.DarkTo, "dark until", down60, true}, {d.Sunrise, "sunrise", near60, false}} {
		if m.t == nil || !f.inside(*m.t) {
			continue
		}
		x := f.x(*m.t)
		line := path{{x, f.b.y - 0.4*f.u}, {x, f.b.y + f.b.h}}
		if m.dark {
			c.stroke(dashed(line, 0.5*f.u, 0.35*f.u), 0.08*f.u, ink)
		} else {
			c.stroke([]path{line}, 0.05*f.u, ink)
		}
		l := lettering{size: 0.85 * f.u, color: ink, align: 0.5}
		s := m.words + " " + f.clock.at(m.round(*m.t))
		at := math.Max(x, end+l.width(s)/2)
		if right := f.b.x + f.b.w + 4*f.u; at+l.width(s)/2 > right {
			at = right - l.width(s)/2
		}
		c.text(point{at, f.b.y - 0.7*f.u}, s, l)
		end = at + l.width(s)/2 + 0.8*f.u
	}
	var words string
	switch {
	case d.Dark == "never":
		words = "It does not get dark: the Sun never is below " + angle(d.DarkBelow, 2)
	case d.Sun == "never_rises":
		words = "Polar night: the Sun does not rise"
	}
	if words != "" {
		tag(c, point{f.b.x + f.b.w/2, f.b.y + 1.4*f.u}, words, lettering{size: f.u, bold: true, color: ink, align: 0.5})
	}
}

// altitudes draws the scale of altitude, and the least altitude that was asked for.
func (f *frame) altitudes(c canvas) {
	small := lettering{size: 0.85 * f.u, color: ink, align: 1}
	for deg := 0.0; deg <= 90; deg += 30 {
		y := f.y(axes.Rad(deg))
		if deg > 0 && deg < 90 {
			c.stroke([]path{{{f.b.x, y}, {f.b.x + f.b.w, y}}}, 0.03*f.u, rule)
		}
		c.text(point{f.b.x - 0.5*f.u, y + 0.3*f.u}, plain(deg, 0)+"°", small)
	}
	small.up, small.align = true, 0.5
	c.text(point{f.b.x - 2.6*f.u, f.b.y + f.b.h/2}, "altitude", small)
	if least := f.p.Plan.Options.MinAltitude; least > 0 {
		y := f.y(least)
		c.stroke(dashed(path{{f.b.x, y}, {f.b.x + f.b.w, y}}, 1.2*f.u, 0.6*f.u), 0.08*f.u, blue)
		s := "least altitude " + plain(axes.Deg(least), 1) + "°"
		c.text(point{f.b.x + 0.4*f.u, y - 0.3*f.u}, s, lettering{size: 0.8 * f.u, color: blue})
	}
}

// above follows an altitude through the frame and returns its parts above 0.
func (f *frame) above(alt func(time.Time) float64) []path {
	var all path
	const n = 240
	step := f.to.Sub(f.from) / n
	for i := range n + 1 {
		t := f.from.Add(time.Duration(i) * step)
		all = append(all, point{f.x(t), f.y(alt(t))})
	}
	ground := f.y(0)
	return clipped([]path{all}, func(q point) bool { return q.y <= ground })
}

// moon draws the Moon's altitude; label then draws its disk, lit as it is, where it stands highest.
func (f *frame) moon(c canvas) (label func()) {
	n := &f.p.Plan.Night
	moon := n.Site.MoonPath(n.Noon, n.NextNoon)
	var lines []path
	top := point{y: math.Inf(1)}
	for _, l := range f.above(func(t time.Time) float64 { alt, _ := n.Site.AltAz(t, moon.At(t)); return alt }) {
		lines = append(lines, dashed(l, 0.25*f.u, 0.5*f.u)...)
		for _, q := range l {
			if q.y < top.y {
				top = q
			}
		}
	}
	if len(lines) == 0 {
		return func() {}
	}
	c.stroke(lines, 0.3*f.u, quiet)
	return func() { f.moonLabel(c, top) }
}

func (f *frame) moonLabel(c canvas, top point) {
	r := 1.1 * f.u
	at := point{math.Min(math.Max(top.x, f.b.x+2*r), f.b.x+f.b.w-2*r), math.Max(top.y, f.b.y+1.5*r)}
	disk(c, at, r, f.p.Plan.Moon.Lit)
	l := lettering{size: 0.85 * f.u, color: ink}
	s := fmt.Sprintf("Moon, %.0f %% lit", 100*f.p.Plan.Moon.Lit)
	x := at.x + 1.5*r
	if x+l.width(s) > f.b.x+f.b.w {
		x, l.align = at.x-1.5*r, 1
	}
	tag(c, point{x, at.y + 0.3*f.u}, s, l)
}

// disk draws the Moon: dark, with its lit share of paper on the right.
func disk(c canvas, at point, r, lit float64) {
	c.fill([]path{circle(at, r)}, quiet)
	var bright path
	const n = 32
	for i := range n + 1 {
		s, k := math.Sincos(math.Pi * float64(i) / n)
		bright = append(bright, point{at.x + r*s, at.y - r*k})
	}
	for i := range n + 1 {
		s, k := math.Sincos(math.Pi * float64(n-i) / n)
		bright = append(bright, point{at.x + r*s*(1-2*lit), at.y - r*k})
	}
	c.fill([]path{bright}, paper)
	c.stroke([]path{circle(at, r)}, 0.25, ink)
}

// pale mixes a colour with paper, for letters to stand on it.
func pale(c color.NRGBA) color.NRGBA {
	mix := func(x uint8) uint8 { return uint8((int(x) + 2*255) / 3) }
	return color.NRGBA{mix(c.R), mix(c.G), mix(c.B), 255}
}

// lineColors tell curves apart besides their numbers.
var lineColors = [...]color.NRGBA{blue, vermilion, {0x00, 0x9E, 0x73, 255}, {0xCC, 0x79, 0xA7, 255}, orange, skyBlue, ink}

// curve draws target k, number i+1 of the picture: dashed, solid while usable, thick in the schedule's blocks.
func (f *frame) curve(c canvas, i, k int) {
	t := &f.p.Plan.Targets[k]
	alt := f.altitude(k)
	col := lineColors[i%len(lineColors)]
	var thin []path
	for _, l := range f.above(alt) {
		thin = append(thin, dashed(l, 0.6*f.u, 0.4*f.u)...)
	}
	c.stroke(thin, 0.06*f.u, col)
	part := func(w sky.Window) path {
		const n = 60
		var out path
		for j := range n + 1 {
			at := w.From.Add(time.Duration(float64(j) / n * float64(w.Length())))
			if f.inside(at) {
				out = append(out, point{f.x(at), f.y(math.Max(0, alt(at)))})
			}
		}
		return out
	}
	for _, w := range t.Usable {
		c.stroke([]path{part(w)}, 0.17*f.u, col)
	}
	for _, b := range f.p.Plan.Schedule.Blocks {
		if b.Target == k {
			c.stroke([]path{part(sky.Window{From: b.From, To: b.To})}, 0.42*f.u, col)
		}
	}
	if t := f.p.Doc.Targets[k].Stop; t != nil && f.inside(*t) {
		f.stopMark(c, point{f.x(*t), f.y(math.Max(0, alt(*t)))})
	}
}

// number writes number i+1 on its curve, each at its own share of the night, so that crowded tops stay apart.
func (f *frame) number(c canvas, i int) {
	longest := path{}
	for _, l := range f.above(f.altitude(f.shown[i])) {
		if len(l) > len(longest) {
			longest = l
		}
	}
	if n := len(longest); n > 0 {
		f.badge(c, longest[n*(2+(i*5)%7)/10], i+1, lettering{size: 0.8 * f.u, bold: true, color: ink, align: 0.5})
	}
}

// altitude is that of target k.
func (f *frame) altitude(k int) func(time.Time) float64 {
	n := &f.p.Plan.Night
	track := n.Site.Track(n.Midnight, f.p.Plan.Targets[k].Apparent)
	return func(t time.Time) float64 { h, _ := track.AltAz(t); return h }
}

// named writes a name no wider than w: smaller, and when that would be hard to read, cut.
func named(c canvas, at point, s string, l lettering, w float64) {
	small := l
	small.size *= 0.8
	if l.width(s) > w && small.width(s) > w {
		r := []rune(s)
		for len(r) > 1 && small.width(string(r)+"…") > w {
			r = r[:len(r)-1]
		}
		s = string(r) + "…"
	}
	c.text(at, s, l.fitted(s, w))
}

// badge draws a target's number in a ring.
func (f *frame) badge(c canvas, at point, n int, l lettering) {
	r := 0.72 * l.size
	c.fill([]path{circle(at, r)}, paper)
	c.stroke([]path{circle(at, r)}, 0.08*l.size, ink)
	c.text(point{at.x, at.y + 0.35*l.size}, fmt.Sprint(n), l)
}

// stopMark is a bar with a triangle on it that points down.
func (f *frame) stopMark(c canvas, at point) {
	s := 0.5 * f.u
	c.fill([]path{{{at.x - s, at.y - 1.5*s}, {at.x + s, at.y - 1.5*s}, at}}, ink)
	c.stroke([]path{{{at.x, at.y - 1.5*s}, {at.x, at.y + s}}}, 0.1*f.u, ink)
}

// startMark is the same upside down.
func (f *frame) startMark(c canvas, at point) {
	s := 0.5 * f.u
	c.stroke([]path{{{at.x - s, at.y + 1.5*s}, {at.x + s, at.y + 1.5*s}, at, {at.x - s, at.y + 1.5*s}}}, 0.1*f.u, ink)
	c.stroke([]path{{{at.x, at.y + 1.5*s}, {at.x, at.y - s}}}, 0.1*f.u, ink)
}
