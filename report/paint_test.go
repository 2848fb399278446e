package report

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
)

// A triangle fills the pixels whose centres lie on the inner side of its three edges, and no other; pixels on an edge, to rounding, may
// be either.
func TestPaintFillsTheTriangle(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	luck := rand.New(rand.NewPCG(seed, 0))
	const w, h = 40, 30
	for n := range 2000 {
		var c [3]r3.Vec
		for i := range c {
			c[i] = r3.Vec{X: luck.Float64()*60 - 10, Y: luck.Float64()*50 - 10}
			if n%3 == 0 { // corners on pixels' centres, level edges
				c[i] = r3.Vec{X: math.Floor(c[i].X) + 0.5, Y: math.Floor(c[i].Y) + 0.5}
			}
		}
		buffer := make([]pixel, w*h)
		for i := range buffer {
			buffer[i] = pixel{depth: math.Inf(-1), part: -1}
		}
		paint(buffer, w, h, c, 7, r3.Vec{Z: 1})
		area := (c[1].X-c[0].X)*(c[2].Y-c[0].Y) - (c[2].X-c[0].X)*(c[1].Y-c[0].Y)
		if math.Abs(area) < 1e-3 {
			continue
		}
		for y := range h {
			for x := range w {
				inner := math.Inf(1) // how far within the nearest edge, pixels
				for i := range c {
					a, b := c[i], c[(i+1)%3]
					px, py := float64(x)+0.5, float64(y)+0.5
					d := ((b.X-a.X)*(py-a.Y) - (b.Y-a.Y)*(px-a.X)) / math.Hypot(b.X-a.X, b.Y-a.Y)
					inner = math.Min(inner, math.Copysign(d, d*area))
				}
				if filled := buffer[y*w+x].part == 7; math.Abs(inner) > 1e-9 && filled != (inner > 0) {
					t.Fatalf("%v: pixel %d %d, %.2g within, filled %v", c, x, y, inner, filled)
				}
			}
		}
	}
}
