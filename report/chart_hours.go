package report

import (
	"fmt"
	"image/color"
	"math"

	"legroom/axes"
	"legroom/room"
)

// decRange is the part of the declinations that ever stands above the horizon, to the next ten degrees outwards.
func (p *Chart) decRange() (lo, hi float64) {
	lo, hi = math.Pi/2, -math.Pi/2
	for d := -90; d <= 90; d++ {
		for h := -180; h < 180; h += 2 {
			δ := axes.Rad(float64(d))
			if p.above(axes.Rad(float64(h)), δ) >= 0 {
				lo, hi = math.Min(lo, δ), math.Max(hi, δ)
			}
		}
	}
	if lo >= hi {
		return -math.Pi / 2, math.Pi / 2
	}
	return axes.Rad(math.Floor(axes.Deg(lo)/10+1e-9) * 10), axes.Rad(math.Ceil(axes.Deg(hi)/10-1e-9) * 10)
}

// panel draws one side, hour angle by declination; u is the size of its letters, mm.
func (p *Chart) panel(c canvas, b box, g *Grid, u, top float64) {
	lo, hi := p.decRange()
	pose := func(q point) (h, d float64) {
		return -math.Pi + 2*math.Pi*(q.x-b.x)/b.w, hi - (hi-lo)*(q.y-b.y)/b.h
	}
	x := func(h float64) float64 { return b.x + b.w*(h+math.Pi)/(2*math.Pi) }
	y := func(d float64) float64 { return b.y + b.h*(hi-d)/(hi-lo) }

	paintField(c, b, func(q point) color.NRGBA {
		h, d := pose(q)
		n := g.Near(h, d)
		switch {
		case p.above(h, d) < 0:
			return ground
		case n.Unreachable || n.State != room.Free:
			return paper
		}
		gap := g.Across(h, d)
		if math.IsNaN(gap) {
			gap = float64(n.AcrossMM)
		}
		return p.shade(gap, top)
	})
	is := func(want func(Point) bool) func(point) bool {
		return func(q point) bool {
			h, d := pose(q)
			return p.above(h, d) >= 0 && want(g.Near(h, d))
		}
	}
	c.stroke(hatch(b, 0.45*u, false, is(blocked)), 0.05*u, ink)
	c.stroke(hatch(b, 0.45*u, true, is(unreachable)), 0.05*u, rule)
	var dots []path
	r := math.Min(b.w/float64(g.Columns), b.h/180*axes.Deg(hi-lo)/float64(g.Rows)) * 0.45
	r = math.Max(r, 0.12)
	for j := range g.Rows {
		for i := range g.Columns {
			if h, d := g.HourAngle(i), g.Dec(j); d > lo && d < hi && edge(g.At(i, j)) && p.above(h, d) >= 0 {
				dots = append(dots, dot(point{x(h), y(d)}, r))
			}
		}
	}

	halo(c, clipped(contour(b, 240, 160, func(q point) float64 {
		h, d := pose(q)
		return g.Across(h, d) - p.Basis.MarginMM
	}), func(q point) bool { h, d := pose(q); return p.above(h, d) >= 0 }), 0.13*u, ink)
	c.stroke(contour(b, 360, 180, func(q point) float64 { h, d := pose(q); return p.above(h, d) }), 0.16*u, blue)
	c.fill(dots, vermilion)
	p.limitLines(c, b, g.Side, x, y, u)
	p.hourAxes(c, b, g.Side, lo, hi, x, y, u)
}

func blocked(q Point) bool     { return !q.Unreachable && q.State == room.Blocked }
func edge(q Point) bool        { return !q.Unreachable && q.State != room.Free && q.State != room.Blocked }
func unreachable(q Point) bool { return q.Unreachable }

// clipped keeps of lines what holds.
func clipped(lines []path, holds func(point) bool) []path {
	var out []path
	for _, l := range lines {
		var cur path
		for _, q := range l {
			if holds(q) {
				cur = append(cur, q)
				continue
			}
			if len(cur) > 1 {
				out = append(out, cur)
			}
			cur = nil
		}
		if len(cur) > 1 {
			out = append(out, cur)
		}
	}
	return out
}

// limit is one of the two numbers on one side: the poses with that RA axis angle.
type limit struct {
	name string
	ra   float64
}

func (p *Chart) limits() []limit {
	step := p.Model.Rig.Mount.EntryStepDeg
	w, e := room.Entry(p.Two.West, step), room.Entry(p.Two.East, step)
	return []limit{{"west " + entry(w) + "°", axes.Rad(w)}, {"east " + entry(e) + "°", -axes.Rad(e)}}
}

// limitPoses follows a limit over the declinations of a side.
func (p *Chart) limitPoses(l limit, side axes.Side) []axes.Pose {
	var out []axes.Pose
	for β := 0.5; β < 180; β++ {
		dec := axes.Rad(β)
		if side == axes.East {
			dec = -dec
		}
		out = append(out, p.Model.Head.Pose(axes.Angles{RA: l.ra, Dec: dec}))
	}
	return out
}

func (p *Chart) limitLines(c canvas, b box, side axes.Side, x, y func(float64) float64, u float64) {
	if p.Two == nil {
		return
	}
	for _, l := range p.limits() {
		var line path
		for _, q := range p.limitPoses(l, side) {
			if math.Abs(q.HourAngle) <= math.Pi && y(q.Dec) >= b.y && y(q.Dec) <= b.y+b.h && p.above(q.HourAngle, q.Dec) >= 0 {
				line = append(line, point{x(q.HourAngle), y(q.Dec)})
			}
		}
		if len(line) < 2 {
			continue
		}
		low := line[0]
		if last := line[len(line)-1]; last.y > low.y {
			low = last
		}
		halo(c, dashed(line, 0.8*u, 0.45*u), 0.16*u, ink)
		s, t := "limit "+l.name, lettering{size: 0.9 * u, bold: true, color: ink}
		at := point{low.x + 0.4*u, low.y - 0.5*u}
		if at.x+t.width(s) > b.x+b.w {
			at.x, t.align = low.x-0.4*u, 1
		}
		tag(c, at, s, t)
	}
}

func (p *Chart) hourAxes(c canvas, b box, side axes.Side, lo, hi float64, x, y func(float64) float64, u float64) {
	small := lettering{size: 0.85 * u, color: ink, align: 0.5}
	var ticks []path
	every := 2
	if b.w < 26*u {
		every = 3
	}
	for h := -12; h <= 12; h += every {
		at := x(axes.FromHours(float64(h)))
		ticks = append(ticks, path{{at, b.y + b.h}, {at, b.y + b.h + 0.4*u}}, path{{at, b.y}, {at, b.y - 0.4*u}})
		c.text(point{at, b.y + b.h + 1.3*u}, plain(float64(h), 0), small)
		θ := h*axes.DegPerHour + 90
		if side == axes.East {
			θ = h*axes.DegPerHour - 90
		}
		c.text(point{at, b.y - 0.65*u}, plain(float64(θ), 0)+"°", small)
	}
	for d := math.Ceil(axes.Deg(lo)/30-1e-9) * 30; d <= axes.Deg(hi)+1e-6; d += 30 {
		at := y(axes.Rad(d))
		ticks = append(ticks, path{{b.x, at}, {b.x - 0.4*u, at}})
		l := small
		l.align = 1
		c.text(point{b.x - 0.65*u, at + 0.3*u}, angle(d, 0), l)
	}
	c.stroke(ticks, 0.06*u, ink)
	c.stroke([]path{{{x(0), b.y}, {x(0), b.y + b.h}}}, 0.05*u, rule)
	c.stroke([]path{b.outline()}, 0.08*u, ink)
	title := "Side " + side.String() + map[axes.Side]string{axes.West: ": tube west at transit, works the eastern sky", axes.East: ": tube east at transit, works the western sky"}[side]
	c.text(point{b.x, b.y - 3.1*u}, title, lettering{size: 1.1 * u, bold: true, color: ink}.fitted(title, b.w))
	above := lettering{size: 0.8 * u, color: quiet, align: 0.5}
	s := "RA axis from counterweight-down"
	if !p.Model.Head.Aligned {
		s += " (near enough: the head is off the pole)"
	}
	c.text(point{b.x + b.w/2, b.y - 1.85*u}, s, above.fitted(s, b.w))
	s = fmt.Sprintf("hour angle, hours; 1 h = %d° (before the meridian −, past it +)", axes.DegPerHour)
	c.text(point{b.x + b.w/2, b.y + b.h + 2.5*u}, s, above.fitted(s, b.w))
	above.up = true
	c.text(point{b.x - 3.3*u, b.y + b.h/2}, "declination", above)
}
