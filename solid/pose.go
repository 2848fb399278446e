package solid

import "gonum.org/v1/gonum/spatial/r3"

// Pose is a rigid motion: a point x of the local frame is at R·x + T. R is row-major and must be a rotation.
type Pose struct {
	R [9]float64
	T r3.Vec
}

// Identity returns the pose that moves nothing.
func Identity() Pose { return Pose{R: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}} }

// FromPlace reads 12 numbers, a row-major 3×4 matrix [R | T].
func FromPlace(m [12]float64) Pose {
	return Pose{
		R: [9]float64{m[0], m[1], m[2], m[4], m[5], m[6], m[8], m[9], m[10]},
		T: r3.Vec{X: m[3], Y: m[7], Z: m[11]},
	}
}

// Place returns the pose as 12 numbers, a row-major 3×4 matrix [R | T].
func (p Pose) Place() [12]float64 {
	r := &p.R
	return [12]float64{r[0], r[1], r[2], p.T.X, r[3], r[4], r[5], p.T.Y, r[6], r[7], r[8], p.T.Z}
}

// Mul returns the pose that applies q first and then p.
func (p Pose) Mul(q Pose) Pose {
	a, b := &p.R, &q.R
	return Pose{
		R: [9]float64{
			a[0]*b[0] + a[1]*b[3] + a[2]*b[6], a[0]*b[1] + a[1]*b[4] + a[2]*b[7], a[0]*b[2] + a[1]*b[5] + a[2]*b[8],
			a[3]*b[0] + a[4]*b[3] + a[5]*b[6], a[3]*b[1] + a[4]*b[4] + a[5]*b[7], a[3]*b[2] + a[4]*b[5] + a[5]*b[8],
			a[6]*b[0] + a[7]*b[3] + a[8]*b[6], a[6]*b[1] + a[7]*b[4] + a[8]*b[7], a[6]*b[2] + a[7]*b[5] + a[8]*b[8],
		},
		T: p.Apply(q.T),
	}
}

// Apply moves the point x.
func (p Pose) Apply(x r3.Vec) r3.Vec {
	r := &p.R
	return r3.Vec{
		X: r[0]*x.X + r[1]*x.Y + r[2]*x.Z + p.T.X,
		Y: r[3]*x.X + r[4]*x.Y + r[5]*x.Z + p.T.Y,
		Z: r[6]*x.X + r[7]*x.Y + r[8]*x.Z + p.T.Z,
	}
}

// Rotate turns the direction d; T does not matter.
func (p Pose) Rotate(d r3.Vec) r3.Vec {
	r := &p.R
	return r3.Vec{
		X: r[0]*d.X + r[1]*d.Y + r[2]*d.Z,
		Y: r[3]*d.X + r[4]*d.Y + r[5]*d.Z,
		Z: r[6]*d.X + r[7]*d.Y + r[8]*d.Z,
	}
}

// Inverse returns the pose that undoes p.
func (p Pose) Inverse() Pose {
	r := &p.R
	q := Pose{R: [9]float64{r[0], r[3], r[6], r[1], r[4], r[7], r[2], r[5], r[8]}}
	t := q.Rotate(p.T)
	q.T = r3.Vec{X: -t.X, Y: -t.Y, Z: -t.Z}
	return q
}
