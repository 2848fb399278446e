package load

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/rig"
	"legroom/solid"
)

// AirDensity is what EN 1991-1-4 takes for air, kg/m³ [mem].
const AirDensity = 1.25

// Drag coefficients in a wind across the part, by its slenderness: F. M. White, Fluid Mechanics, table 7.3 [mem].
var (
	// A cylinder across the wind, by length over diameter.
	acrossCylinder = [][2]float64{{1, 0.64}, {2, 0.68}, {3, 0.72}, {5, 0.74}, {10, 0.82}, {20, 0.91}, {math.Inf(1), 1.20}}
	// A rectangular plate square to the wind, by its longer side over its shorter: no less than a box's.
	plate = [][2]float64{{1, 1.18}, {5, 1.2}, {10, 1.3}, {20, 1.5}, {math.Inf(1), 2.0}}
)

const (
	endCylinder = 1.15 // a cylinder's flat end to the wind, the greatest over its lengths
	ball        = 0.5  // a sphere, laminar: the greater one
)

// coefficient reads a table, linear between its rows; beyond the last finite one it takes the last.
func coefficient(table [][2]float64, slender float64) float64 {
	if slender <= table[0][0] {
		return table[0][1]
	}
	for i := 1; i < len(table); i++ {
		a, b := table[i-1], table[i]
		if math.IsInf(b[0], 1) {
			return b[1]
		}
		if slender <= b[0] {
			return a[1] + (b[1]-a[1])*(slender-a[0])/(b[0]-a[0])
		}
	}
	return table[len(table)-1][1]
}

// sail is what the wind sees of a part: drag areas (coefficient × projected area, mm²) of its faces, each with the direction that
// shows it whole, in the part's own frame. A round side shows area × √(1 − (w·z)²), a flat face area × |w·n|.
type sail struct {
	round    float64    // of the side of a body of revolution about z
	flat     [3]float64 // of the faces across x, y, z
	constant float64    // of a ball: from everywhere the same
	greatest float64    // no direction shows more
	steepest float64    // the drag area changes by no more a radian
}

// sailOf returns the drag areas of a shape.
func sailOf(p *rig.Part) sail {
	var s sail
	size := p.SizeMM
	body := func(d0, d1, length float64) {
		d := (d0 + d1) / 2
		if length > 0 && d > 0 {
			// As short as a disc: the table's first row holds.
			s.round = coefficient(acrossCylinder, length/d) * d * length
		}
		s.flat[2] = endCylinder * math.Pi / 4 * math.Max(d0, d1) * math.Max(d0, d1)
	}
	switch p.Shape {
	case rig.Box:
		for i := range 3 {
			a, b := size[(i+1)%3], size[(i+2)%3]
			s.flat[i] = coefficient(plate, math.Max(a, b)/math.Min(a, b)) * a * b
		}
	case rig.Cylinder:
		body(size[0], size[0], size[1])
	case rig.Cone:
		body(size[0], size[1], size[2])
	case rig.Capsule:
		body(size[0], size[0], size[1]+size[0])
	case rig.Sphere:
		s.constant = ball * math.Pi / 4 * size[0] * size[0]
	}
	s.greatest = s.round + s.flat[0] + s.flat[1] + s.flat[2] + s.constant
	s.steepest = s.round + s.flat[0] + s.flat[1] + s.flat[2]
	return s
}

// dragArea is the drag area, mm², of a part at pose p in a wind along the unit vector w.
func (s *sail) dragArea(p *solid.Pose, w r3.Vec) float64 {
	r := &p.R
	x := math.Abs(r[0]*w.X + r[3]*w.Y + r[6]*w.Z)
	y := math.Abs(r[1]*w.X + r[4]*w.Y + r[7]*w.Z)
	z := math.Abs(r[2]*w.X + r[5]*w.Y + r[8]*w.Z)
	return s.constant + s.round*math.Sqrt(math.Max(0, 1-z*z)) + s.flat[0]*x + s.flat[1]*y + s.flat[2]*z
}

// pressure is the dynamic pressure of the air at v m/s, N/mm².
func pressure(density, v float64) float64 { return density * v * v / 2 * 1e-6 }
