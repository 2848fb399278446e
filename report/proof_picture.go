package report

import (
	"image"
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// look is a parallel view of the world: right and up on the picture, and towards the eye.
type look struct {
	right, up, eye r3.Vec
	from           string // the compass direction that the eye is in
	downDeg        float64
	centre         r3.Vec
	wide, high     float64 // mm of the world
}

// lookFrom is the view from an azimuth, clockwise from north, and an altitude, degrees.
func lookFrom(azDeg, altDeg float64) look {
	sinA, cosA := math.Sincos(azDeg * math.Pi / 180)
	sinH, cosH := math.Sincos(altDeg * math.Pi / 180)
	eye := r3.Vec{X: cosH * sinA, Y: cosH * cosA, Z: sinH}
	right := r3.Vec{X: -cosA, Y: sinA} // z × eye, level
	winds := [8]string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}
	return look{right: right, up: r3.Cross(eye, right), eye: eye, from: winds[int(math.Round(azDeg/45))%8], downDeg: altDeg}
}

// bestLook finds the view in which the line between two points shows best: long on the picture, and with nothing in front of it. a and b
// are the parts that it ends at.
func bestLook(m *axes.Model, placed []solid.Placed, p, q r3.Vec) look {
	along := r3.Sub(q, p)
	length := r3.Norm(along)
	best, score := lookFrom(180, 15), -1.0
	for _, alt := range []float64{15, 5, 30, -10, 45} {
		for az := 0.0; az < 360; az += 15 {
			l := lookFrom(az, alt)
			flat := math.Hypot(r3.Dot(along, l.right), r3.Dot(along, l.up)) / length
			if flat < 0.5 {
				continue
			}
			const points = 7
			seen := 0
			for k := range points {
				x := r3.Add(p, r3.Scale((float64(k)+0.5)/points, along))
				if !hidden(m, placed, x, l.eye) {
					seen++
				}
			}
			s := float64(seen)/points + 0.4*flat - 0.004*math.Abs(alt-15)
			if s > score {
				best, score = l, s
			}
		}
	}
	return best
}

// hidden tells whether a part stands between a point and the eye.
func hidden(m *axes.Model, placed []solid.Placed, x, eye r3.Vec) bool {
	const far, thin = 4000.0, 1.0
	ray, err := solid.NewCapsule(thin, far)
	if err != nil {
		return true
	}
	side := r3.Cross(eye, r3.Vec{Z: 1})
	if r3.Norm(side) < 0.1 {
		side = r3.Vec{X: 1}
	}
	side = r3.Unit(side)
	third := r3.Cross(eye, side)
	at := ray.At(solid.Pose{R: [9]float64{side.X, third.X, eye.X, side.Y, third.Y, eye.Y, side.Z, third.Z, eye.Z}, T: r3.Add(x, r3.Scale(far/2+3, eye))})
	var axis r3.Vec
	for i := range m.Parts {
		if !solid.ClearBy(&at, &placed[i], 0.01, &axis) {
			return true
		}
		axis = r3.Vec{}
	}
	return false
}

// framed centres a view on points, with a border about them.
func (l look) framed(points []r3.Vec, border, aspect float64) look {
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	deep := 0.0
	for _, p := range points {
		for k, x := range [2]float64{r3.Dot(p, l.right), r3.Dot(p, l.up)} {
			lo[k], hi[k] = math.Min(lo[k], x), math.Max(hi[k], x)
		}
		deep += r3.Dot(p, l.eye) / float64(len(points))
	}
	l.centre = r3.Add(r3.Add(r3.Scale((lo[0]+hi[0])/2, l.right), r3.Scale((lo[1]+hi[1])/2, l.up)), r3.Scale(deep, l.eye))
	l.wide, l.high = hi[0]-lo[0]+2*border, hi[1]-lo[1]+2*border
	if l.wide < l.high*aspect {
		l.wide = l.high * aspect
	}
	l.high = l.wide / aspect
	return l
}

// onto gives where a point of the world is on the picture in a box on paper.
func (l look) onto(p r3.Vec, b box) point {
	d := r3.Sub(p, l.centre)
	return point{b.x + b.w*(0.5+r3.Dot(d, l.right)/l.wide), b.y + b.h*(0.5-r3.Dot(d, l.up)/l.high)}
}

// pixel is what is nearest to the eye there.
type pixel struct {
	depth  float64
	part   int // −1: nothing
	normal r3.Vec
}

// draw paints a rig's parts as they stand at ax, n pixels wide: shaded, with dark outlines where a part or a face ends; strong lists the
// parts that keep their colour, the others are pale.
func (l look) draw(m *axes.Model, ax axes.Angles, n int, strong []int) (*image.NRGBA, error) {
	const fine = 2 // pixels of the drawing to each of the picture, along each side
	w := n * fine
	h := int(math.Round(float64(w) * l.high / l.wide))
	h -= h % fine
	buffer := make([]pixel, w*h)
	for i := range buffer {
		buffer[i] = pixel{depth: math.Inf(-1), part: -1}
	}
	scale := float64(w) / l.wide
	for i := range m.Parts {
		s, err := meshAt(m, i, ax)
		if err != nil {
			return nil, err
		}
		flat := make([]r3.Vec, len(s.vertices)) // x right, y down in pixels, z towards the eye
		for k, v := range s.vertices {
			d := r3.Sub(v, l.centre)
			flat[k] = r3.Vec{X: float64(w)/2 + scale*r3.Dot(d, l.right), Y: float64(h)/2 - scale*r3.Dot(d, l.up), Z: r3.Dot(d, l.eye)}
		}
		for _, t := range s.triangles {
			normal := r3.Cross(r3.Sub(s.vertices[t[1]], s.vertices[t[0]]), r3.Sub(s.vertices[t[2]], s.vertices[t[0]]))
			if size := r3.Norm(normal); size > 0 && r3.Dot(normal, l.eye) > 0 {
				paint(buffer, w, h, [3]r3.Vec{flat[t[0]], flat[t[1]], flat[t[2]]}, i, r3.Scale(1/size, normal))
			}
		}
	}
	bold := map[int]bool{}
	for _, i := range strong {
		bold[i] = true
	}
	out := image.NewNRGBA(image.Rect(0, 0, w/fine, h/fine))
	for y := range h / fine {
		for x := range w / fine {
			var sum [3]float64
			for k := range fine * fine {
				c := l.shade(m, buffer, w, h, x*fine+k%fine, y*fine+k/fine, bold)
				sum[0], sum[1], sum[2] = sum[0]+c[0], sum[1]+c[1], sum[2]+c[2]
			}
			const share = 1.0 / (fine * fine)
			out.SetNRGBA(x, y, color.NRGBA{uint8(sum[0]*share + 0.5), uint8(sum[1]*share + 0.5), uint8(sum[2]*share + 0.5), 255})
		}
	}
	return out, nil
}

// paint fills in a triangle where it is nearer to the eye than what is there: the pixels whose centres lie in it.
func paint(buffer []pixel, w, h int, t [3]r3.Vec, part int, normal r3.Vec) {
	area := (t[1].X-t[0].X)*(t[2].Y-t[0].Y) - (t[2].X-t[0].X)*(t[1].Y-t[0].Y)
	if area == 0 {
		return
	}
	y0 := max(0, int(math.Floor(min(t[0].Y, t[1].Y, t[2].Y))))
	y1 := min(h-1, int(math.Ceil(max(t[0].Y, t[1].Y, t[2].Y))))
	for y := y0; y <= y1; y++ {
		py := float64(y) + 0.5
		x0, x1 := inRow(t, py, w)
		for x := x0; x <= x1; x++ {
			px := float64(x) + 0.5
			a := ((t[1].X-px)*(t[2].Y-py) - (t[2].X-px)*(t[1].Y-py)) / area
			b := ((t[2].X-px)*(t[0].Y-py) - (t[0].X-px)*(t[2].Y-py)) / area
			c := 1 - a - b
			if a < 0 || b < 0 || c < 0 {
				continue
			}
			if z := a*t[0].Z + b*t[1].Z + c*t[2].Z; z > buffer[y*w+x].depth {
				buffer[y*w+x] = pixel{z, part, normal}
			}
		}
	}
}

// inRow is from where to where, of w pixels, a triangle may reach in the row at py; a pixel more at both ends.
func inRow(t [3]r3.Vec, py float64, w int) (x0, x1 int) {
	left, right := math.Inf(1), math.Inf(-1)
	for i := range t {
		a, b := t[i], t[(i+1)%3]
		if (a.Y > py) == (b.Y > py) {
			continue
		}
		x := a.X + (py-a.Y)/(b.Y-a.Y)*(b.X-a.X)
		left, right = math.Min(left, x), math.Max(right, x)
	}
	if left > right {
		return 0, -1
	}
	return int(math.Max(0, math.Floor(left)-1)), int(math.Min(float64(w-1), math.Ceil(right)+1))
}

// shade is the colour of a pixel of the drawing.
func (l look) shade(m *axes.Model, buffer []pixel, w, h, x, y int, bold map[int]bool) [3]float64 {
	here := &buffer[y*w+x]
	// An outline belongs to the nearer of two neighbours.
	for _, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
		nx, ny := x+d[0], y+d[1]
		if nx < 0 || ny < 0 || nx >= w || ny >= h {
			continue
		}
		there := &buffer[ny*w+nx]
		ends := here.part != there.part && here.depth > there.depth
		bends := here.part == there.part && here.part >= 0 && r3.Dot(here.normal, there.normal) < 0.8
		if here.part >= 0 && (ends || bends) {
			if bold[here.part] {
				return [3]float64{17, 17, 17}
			}
			return [3]float64{110, 110, 110}
		}
	}
	if here.part < 0 {
		return [3]float64{255, 255, 255}
	}
	var base color.NRGBA
	for _, f := range frames {
		if f.frame == m.Parts[here.part].Frame {
			base = f.colour
		}
	}
	light := r3.Unit(r3.Add(r3.Add(l.eye, r3.Scale(0.5, l.up)), r3.Scale(-0.4, l.right)))
	bright := 0.6 + 0.4*math.Max(0, r3.Dot(here.normal, light))
	pale := 0.75 // towards the paper
	if bold[here.part] {
		pale = 0.1
	}
	mix := func(c uint8) float64 { return (float64(c)*(1-pale) + 255*pale) * bright }
	return [3]float64{mix(base.R), mix(base.G), mix(base.B)}
}

// rigPoints are corners about every part but what stands around the support, to frame a picture of the whole rig by.
func rigPoints(m *axes.Model, ax axes.Angles) []r3.Vec {
	var out []r3.Vec
	for i := range m.Parts {
		p := &m.Parts[i]
		if p.Frame == rig.Ground && len(p.Rig.From) >= len(obstacles) && p.Rig.From[:len(obstacles)] == obstacles {
			continue
		}
		at := p.Solid.At(m.PartPose(i, ax))
		for _, d := range []r3.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}} {
			out = append(out, at.Support(d))
		}
	}
	return out
}

const obstacles = "support.obstacles"
