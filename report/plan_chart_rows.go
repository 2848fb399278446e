package report

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/sky"
)

// row draws one target's timeline: side west in the upper half, side east in the lower.
func (f *frame) row(c canvas, b box, i, k int) {
	t, d := &f.p.Plan.Targets[k], &f.p.Doc.Targets[k]
	l := lettering{size: math.Min(f.u, 0.62*b.h), color: ink}
	number := lettering{size: math.Min(0.8*f.u, 0.5*b.h), bold: true, color: ink, align: 0.5}
	c.stroke([]path{{{b.x, b.y}, {b.x + b.w, b.y}}}, 0.03*f.u, rule)
	f.badge(c, point{f.labels + number.size, b.y + b.h/2}, i+1, number)
	name := f.labels + 2.2*number.size
	named(c, point{name, b.y + b.h/2 + 0.35*l.size}, t.Name, l, b.x-1.6*f.u-name)
	half := lettering{size: 0.36 * b.h, color: quiet, align: 1}
	c.text(point{b.x - 0.3*f.u, b.y + 0.43*b.h}, "W", half)
	c.text(point{b.x - 0.3*f.u, b.y + 0.9*b.h}, "E", half)

	// What the sky gives is an outline over both halves; the runs that the rig leaves free are thin lines, and thick where both hold.
	for _, w := range t.Sky {
		if a, z := f.x(w.From), f.x(w.To); a < z {
			c.stroke([]path{box{a, b.y + 0.08*b.h, z - a, 0.84 * b.h}.outline()}, 0.04*f.u, quiet)
		}
	}
	lane := func(side axes.Side) float64 {
		if side == axes.West {
			return b.y + 0.29*b.h
		}
		return b.y + 0.71*b.h
	}
	for _, r := range t.Runs {
		if a, z := f.x(r.From), f.x(r.To); a < z {
			c.stroke([]path{{{a, lane(r.Side)}, {z, lane(r.Side)}}}, 0.04*f.u, quiet)
		}
	}
	col := lineColors[i%len(lineColors)]
	bars := func(side axes.Side, ws []Times) {
		for _, w := range ws {
			if a, z := f.x(w[0]), f.x(w[1]); a < z {
				bar := box{a, lane(side) - 0.13*b.h, z - a, 0.26 * b.h}
				c.fill([]path{bar.outline()}, col)
				c.stroke([]path{bar.outline()}, 0.05*f.u, ink)
			}
		}
	}
	bars(axes.West, d.UsableWest)
	bars(axes.East, d.UsableEast)
	for _, w := range t.Idle {
		// Another run, of the target's next pass, may hold part of it.
		for _, u := range t.Usable {
			if u.From.After(w.From) && u.From.Before(w.To) {
				f.hatched(c, b, sky.Window{From: w.From, To: u.From})
			}
			if u.To.After(w.From) && u.From.Before(w.To) {
				w.From = u.To
			}
		}
		f.hatched(c, b, w)
	}
	for _, w := range t.Flip {
		f.bracket(c, b, w)
	}
	if d.Stop != nil && f.inside(*d.Stop) {
		f.stopMark(c, point{f.x(*d.Stop), lane(axes.West)})
	}
	if d.Resume != nil && f.inside(*d.Resume) {
		f.startMark(c, point{f.x(*d.Resume), lane(axes.East)})
	}
	if d.WhyNot != "" {
		s := "nothing: " + d.WhyNot
		tag(c, point{b.x + b.w/2, b.y + b.h/2 + 0.3*l.size}, s, lettering{size: 0.85 * l.size, color: ink, align: 0.5}.fitted(s, 0.9*b.w))
	}
	s := fmt.Sprintf("%d ×", d.SubCount)
	c.text(point{b.x + b.w + 0.5*f.u, b.y + b.h/2 + 0.35*l.size}, s, l)
}

// hatched draws idle time.
func (f *frame) hatched(c canvas, b box, w sky.Window) {
	a, z := f.x(w.From), f.x(w.To)
	if a >= z {
		return
	}
	q := box{a, b.y + 0.1*b.h, z - a, 0.8 * b.h}
	c.fill([]path{q.outline()}, paper)
	c.stroke(hatch(q, 0.3*f.u, false, func(point) bool { return true }), 0.05*f.u, ink)
	c.stroke([]path{q.outline()}, 0.05*f.u, ink)
}

// bracket draws a flip window.
func (f *frame) bracket(c canvas, b box, w sky.Window) {
	if a, z := f.x(w.From), f.x(w.To); a < z {
		f.brackets(c, box{a, b.y + 0.12*b.h, z - a, 0.76 * b.h})
	}
}

// brackets draws a pair of brackets with a dashed line between.
func (f *frame) brackets(c canvas, q box) {
	in, right, low := math.Min(0.3*f.u, q.w/2), q.x+q.w, q.y+q.h
	c.stroke([]path{{{q.x + in, q.y}, {q.x, q.y}, {q.x, low}, {q.x + in, low}}, {{right - in, q.y}, {right, q.y}, {right, low}, {right - in, low}}}, 0.13*f.u, ink)
	c.stroke(dashed(path{{q.x, q.y + q.h/2}, {right, q.y + q.h/2}}, 0.2*f.u, 0.2*f.u), 0.09*f.u, ink)
}

// schedule draws the blocks with the numbers and sides of their targets; between them the mount slews or stands still.
func (f *frame) schedule(c canvas, b box) {
	c.stroke([]path{{{b.x, b.y}, {b.x + b.w, b.y}}}, 0.12*f.u, ink)
	l := lettering{size: math.Min(f.u, 0.62*b.h), bold: true, color: ink}
	c.text(point{f.labels, b.y + b.h/2 + 0.35*l.size}, "Schedule", l)
	for i := range f.p.Doc.Schedule {
		s, at := &f.p.Doc.Schedule[i], f.p.Plan.Schedule.Blocks[i].Target
		q := box{f.x(s.From), b.y + 0.12*b.h, f.x(s.To) - f.x(s.From), 0.76 * b.h}
		row := -1
		for j, k := range f.shown {
			if k == at {
				row = j
			}
		}
		name := map[string]string{"west": "W", "east": "E"}[s.Side]
		if s.Either {
			name = "W or E"
		}
		if row >= 0 {
			c.fill([]path{q.outline()}, pale(lineColors[row%len(lineColors)]))
			name = fmt.Sprintf("%d %s", row+1, name)
		} else {
			name = s.Target + " " + name
		}
		c.stroke([]path{q.outline()}, 0.14*f.u, ink)
		words := lettering{size: 0.6 * b.h, bold: true, color: ink, align: 0.5}
		words = words.fitted(name, q.w-0.2*f.u)
		c.text(point{q.x + q.w/2, b.y + b.h/2 + 0.35*words.size}, name, words)
	}
	if len(f.p.Doc.Schedule) == 0 {
		s := "nothing can be exposed tonight"
		tag(c, point{b.x + b.w/2, b.y + b.h/2 + 0.35*l.size}, s, lettering{size: 0.85 * l.size, color: ink, align: 0.5})
	}
	c.text(point{b.x + b.w + 0.5*f.u, b.y + b.h/2 + 0.35*l.size}, fmt.Sprintf("%d ×", f.p.Doc.SubCount), l)
}

// hours draws the clock's hours below, and UTC's below them; it returns where they end.
func (f *frame) hours(c canvas, y float64) float64 {
	small := lettering{size: 0.85 * f.u, color: ink, align: 0.5}
	every := 1
	if f.to.Sub(f.from).Hours()*2.2*f.u > f.b.w {
		every = 2
	}
	// Whole hours of the site's clock; a change of the clocks shows in the words.
	zone := f.p.Plan.Night.Site.Zone
	var ticks []path
	last := ""
	for t := f.from.Truncate(15 * time.Minute); !t.After(f.to); t = t.Add(15 * time.Minute) {
		at := t.In(zone)
		if at.Minute() != 0 || t.Before(f.from) || at.Hour()%every != 0 {
			continue
		}
		x := f.x(t)
		ticks = append(ticks, path{{x, y}, {x, y + 0.4*f.u}}, path{{x, f.b.y + f.b.h}, {x, f.b.y + f.b.h + 0.3*f.u}})
		hour := small
		hour.bold = at.Hour() == 0 // where the second day begins
		c.text(point{x, y + 1.35*f.u}, at.Format("15"), hour)
		if off := at.Format("-07:00"); off != last {
			if last != "" {
				c.stroke(dashed(path{{x, f.b.y}, {x, y}}, 0.3*f.u, 0.5*f.u), 0.06*f.u, ink)
				s := small
				s.bold = true
				c.text(point{x, y + 3.6*f.u}, "the clocks change: UTC"+off, s)
			}
			last = off
		}
		if f.clock.utc && at.UTC().Minute() == 0 {
			s := small
			s.color = quiet
			c.text(point{x, y + 2.4*f.u}, at.UTC().Format("15"), s)
		}
	}
	c.stroke(ticks, 0.06*f.u, ink)
	small.align = 1
	c.text(point{f.b.x - 0.8*f.u, y + 1.35*f.u}, "clock, h", small)
	if f.clock.utc {
		small.color = quiet
		c.text(point{f.b.x - 0.8*f.u, y + 2.4*f.u}, "UTC, h", small)
	}
	if f.clock.offset {
		return y + 4*f.u
	}
	return y + 2.8*f.u
}

// legend explains what is drawn, in lines that wrap; it returns how high it became.
func (f *frame) legend(c canvas, b box) float64 {
	l := lettering{size: 0.85 * f.u, color: ink}
	line := func(q box) path { return path{{q.x, q.y + q.h/2}, {q.x + q.w, q.y + q.h/2}} }
	x, y := b.x, b.y
	for _, it := range []struct {
		words string
		draw  func(q box)
	}{
		{"up, not usable", func(q box) { c.stroke(dashed(line(q), 0.6*f.u, 0.4*f.u), 0.06*f.u, ink) }},
		{"usable", func(q box) { c.stroke([]path{line(q)}, 0.17*f.u, ink) }},
		{"in the schedule", func(q box) { c.stroke([]path{line(q)}, 0.42*f.u, ink) }},
		{"Moon", func(q box) { c.stroke(dashed(line(q), 0.25*f.u, 0.5*f.u), 0.3*f.u, quiet) }},
		{"row: dark, up, Moon far enough", func(q box) { c.stroke([]path{q.outline()}, 0.04*f.u, quiet) }},
		{"free on that side", func(q box) { c.stroke([]path{line(q)}, 0.04*f.u, quiet) }},
		{"usable on side west (W), east (E)", func(q box) {
			c.fill([]path{box{q.x, q.y + 0.25*q.h, q.w, 0.5 * q.h}.outline()}, rule)
			c.stroke([]path{box{q.x, q.y + 0.25*q.h, q.w, 0.5 * q.h}.outline()}, 0.05*f.u, ink)
		}},
		{"stop", func(q box) { f.stopMark(c, point{q.x + q.w/2, q.y + 0.7*q.h}) }},
		{"side east may start", func(q box) { f.startMark(c, point{q.x + q.w/2, q.y + 0.3*q.h}) }},
		{"flip window", func(q box) { f.brackets(c, q) }},
		{"idle: stopped, waiting to flip", func(q box) {
			c.stroke(hatch(q, 0.3*f.u, false, func(point) bool { return true }), 0.05*f.u, ink)
			c.stroke([]path{q.outline()}, 0.05*f.u, ink)
		}},
		{"darker grey: day, civil, nautical, astronomical twilight", func(q box) {
			for i, col := range twilights {
				c.fill([]path{box{q.x + q.w*float64(i)/4, q.y, q.w / 4, q.h}.outline()}, col)
			}
			c.stroke([]path{q.outline()}, 0.04*f.u, ink)
		}},
	} {
		w := 3*f.u + l.width(it.words)
		if x+w > b.x+b.w && x > b.x {
			x, y = b.x, y+1.55*f.u
		}
		it.draw(box{x, y, 2.4 * f.u, 1.0 * f.u})
		c.text(point{x + 2.8*f.u, y + 0.8*f.u}, it.words, l)
		x += w + 1.2*f.u
	}
	return y + 1.55*f.u - b.y
}
