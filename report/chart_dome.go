package report

import (
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/room"
)

// dome is the sky of one side, or of the better of both: zenith in the centre, the distance from it in proportion to the
// zenith distance, north up, east left.
type dome struct {
	chart *Chart
	title string
	grids []*Grid
}

// sky returns where a place on a dome of radius 1 points: hour angle and declination. ok is false below altitude 0.
func (d *dome) sky(q point) (hourAngle, dec float64, ok bool) {
	ρ := math.Hypot(q.x, q.y)
	if ρ > 1 {
		return 0, 0, false
	}
	sz, cz := math.Sincos(ρ * math.Pi / 2)
	u := r3.Vec{Z: cz}
	if ρ > 0 {
		u.X, u.Y = -q.x/ρ*sz, -q.y/ρ*sz
	}
	hourAngle, dec = axes.HourAngleDec(d.chart.Model.Head.Latitude, u)
	return hourAngle, dec, true
}

// risen tells whether a point of the unit disc stands above the site's horizon.
func (d *dome) risen(q point) bool {
	altitude := math.Pi / 2 * (1 - math.Hypot(q.x, q.y))
	return altitude >= axes.Rad(d.chart.Model.Rig.Site.Horizon.Altitude(axes.Deg(math.Atan2(-q.x, -q.y))))
}

// place is the inverse of sky for a world direction.
func place(u r3.Vec) point {
	alt, az := axes.AltAz(u)
	ρ := (math.Pi/2 - alt) / (math.Pi / 2)
	s, c := math.Sincos(az)
	return point{-ρ * s, -ρ * c}
}

// at returns the best of the grids at a pose.
func (d *dome) at(hourAngle, dec float64) (Point, float64) {
	best, gap := Point{Unreachable: true}, math.NaN()
	for _, g := range d.grids {
		n, x := g.Near(hourAngle, dec), g.Across(hourAngle, dec)
		if n.Unreachable {
			continue
		}
		if math.IsNaN(x) {
			x = float64(n.AcrossMM)
		}
		better := best.Unreachable || rank(n.State) > rank(best.State) || (n.State == best.State && x > gap)
		if better {
			best, gap = n, x
		}
	}
	return best, gap
}

// rank orders states by how much is proven for the owner: free, undecided, blocked.
func rank(s room.State) int {
	switch s {
	case room.Free:
		return 2
	case room.Blocked:
		return 0
	}
	return 1
}

// draw puts the dome on a canvas; u is the size of its letters, mm.
func (d *dome) draw(c canvas, centre point, r, u, top float64) {
	p := d.chart
	b := box{centre.x - r, centre.y - r, 2 * r, 2 * r}
	unit := func(q point) point { return point{(q.x - centre.x) / r, (q.y - centre.y) / r} }
	on := func(q point) point { return point{centre.x + r*q.x, centre.y + r*q.y} }
	pose := func(q point) (h, δ float64, above bool) {
		q = unit(q)
		h, δ, ok := d.sky(q)
		return h, δ, ok && d.risen(q)
	}
	paintField(c, b, func(q point) color.NRGBA {
		q = unit(q)
		h, δ, ok := d.sky(q)
		switch {
		case !ok:
			return color.NRGBA{255, 255, 255, 0}
		case !d.risen(q):
			return ground
		}
		n, gap := d.at(h, δ)
		if n.Unreachable || n.State != room.Free {
			return paper
		}
		return p.shade(gap, top)
	})
	is := func(want func(Point) bool) func(point) bool {
		return func(q point) bool {
			h, δ, above := pose(q)
			if !above {
				return false
			}
			n, _ := d.at(h, δ)
			return want(n)
		}
	}
	c.stroke(hatch(b, 0.45*u, false, is(blocked)), 0.05*u, ink)
	c.stroke(hatch(b, 0.45*u, true, is(unreachable)), 0.05*u, rule)
	halo(c, clipped(contour(b, 180, 180, func(q point) float64 {
		h, δ, ok := d.sky(unit(q))
		if !ok {
			return math.NaN()
		}
		n, gap := d.at(h, δ)
		if n.Unreachable {
			return math.NaN()
		}
		return gap - p.Basis.MarginMM
	}), func(q point) bool { _, _, above := pose(q); return above }), 0.13*u, ink)
	c.stroke(contour(b, 180, 180, func(q point) float64 {
		h, δ, ok := d.sky(unit(q))
		if !ok {
			return math.NaN()
		}
		return p.above(h, δ)
	}), 0.16*u, blue)
	c.fill(d.dots(on, math.Max(0.12, r*math.Pi/180/math.Pi)), vermilion)
	d.limitLines(c, on, u)
	d.frame(c, centre, r, u)
}

// dots marks the undecided points.
func (d *dome) dots(on func(point) point, r float64) []path {
	var out []path
	g := d.grids[0]
	for j := range g.Rows {
		for i := range g.Columns {
			h, δ := g.HourAngle(i), g.Dec(j)
			if !edge(g.At(i, j)) || d.chart.above(h, δ) < 0 {
				continue
			}
			if best, _ := d.at(h, δ); edge(best) {
				u := axes.Direction(d.chart.Model.Head.Latitude, h, δ)
				if u.Z > 0 {
					out = append(out, dot(on(place(u)), r))
				}
			}
		}
	}
	return out
}

// limitLines draws the two numbers on a dome of one side.
func (d *dome) limitLines(c canvas, on func(point) point, u float64) {
	p := d.chart
	if p.Two == nil || len(d.grids) != 1 {
		return
	}
	for _, l := range p.limits() {
		var line path
		tagged := false
		flush := func() {
			if len(line) > 1 {
				halo(c, dashed(line, 0.8*u, 0.45*u), 0.16*u, ink)
				if !tagged {
					tagged = true
					q := line[len(line)-1]
					if line[0].y > q.y {
						q = line[0]
					}
					tag(c, point{q.x, q.y - 0.5*u}, l.name, lettering{size: 0.85 * u, bold: true, color: ink, align: 0.5})
				}
			}
			line = nil
		}
		for _, q := range p.limitPoses(l, d.grids[0].Side) {
			if p.above(q.HourAngle, q.Dec) < 0 {
				flush()
				continue
			}
			line = append(line, on(place(axes.Direction(p.Model.Head.Latitude, q.HourAngle, q.Dec))))
		}
		flush()
	}
}

func (d *dome) frame(c canvas, centre point, r, u float64) {
	for _, k := range []float64{1. / 3, 2. / 3} {
		for _, dash := range dashed(circle(centre, k*r), 0.3*u, 0.5*u) {
			c.stroke([]path{dash}, 0.04*u, quiet)
		}
	}
	c.stroke([]path{circle(centre, r)}, 0.08*u, ink)
	if d.chart.Model.Head.P.Z >= 0 {
		q := place(d.chart.Model.Head.P)
		q = point{centre.x + r*q.x, centre.y + r*q.y}
		k := 0.4 * u
		halo(c, []path{{{q.x - k, q.y}, {q.x + k, q.y}}, {{q.x, q.y - k}, {q.x, q.y + k}}}, 0.1*u, ink)
	}
	l := lettering{size: 1.1 * u, bold: true, color: ink, align: 0.5}
	c.text(point{centre.x, centre.y - r - 0.5*u}, "N", l)
	c.text(point{centre.x, centre.y + r + 1.3*u}, "S", l)
	c.text(point{centre.x - r - 0.9*u, centre.y + 0.4*u}, "E", l)
	c.text(point{centre.x + r + 0.9*u, centre.y + 0.4*u}, "W", l)
	l.size = 1.2 * u
	c.text(point{centre.x, centre.y - r - 2*u}, d.title, l)
}
