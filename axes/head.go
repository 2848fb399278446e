package axes

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/solid"
)

// Head is the mount's head: where its axes cross and where its polar axis points.
type Head struct {
	Latitude float64 // radians, north positive
	Crossing r3.Vec  // O, world frame, mm
	X, W, P  r3.Vec  // x̂, W and p of this head, world frame, orthonormal
	// Aligned tells that the polar axis points to the pole, so that the sky's hour angle and declination are the head's.
	Aligned bool

	s float64
}

// NewHead returns the head at latitude lat whose polar axis' elevated end has the given altitude, and azimuth
// azimuthError away from the pole's, clockwise seen from above. All radians; crossing in mm, world frame.
func NewHead(lat, altitude, azimuthError float64, crossing r3.Vec) Head {
	h := Head{Latitude: lat, Crossing: crossing, s: Hemisphere(lat)}
	h.Aligned = altitude == math.Abs(lat) && azimuthError == 0
	sa, ca := math.Sincos(altitude)
	p := r3.Vec{Y: h.s * ca, Z: sa}
	x := r3.Vec{Y: -h.s * sa, Z: ca}
	w := r3.Vec{X: -1}
	if azimuthError != 0 {
		// Clockwise seen from above is a turn by −azimuthError about z.
		sz, cz := math.Sincos(-azimuthError)
		turn := func(v r3.Vec) r3.Vec { return r3.Vec{X: cz*v.X - sz*v.Y, Y: sz*v.X + cz*v.Y, Z: v.Z} }
		p, x, w = turn(p), turn(x), turn(w)
	}
	h.X, h.W, h.P = x, w, p
	return h
}

// A returns a(θ), from the crossing towards the saddle.
func (h *Head) A(ra float64) r3.Vec {
	s, c := math.Sincos(ra)
	return r3.Add(r3.Scale(c, h.X), r3.Scale(s, h.W))
}

// B returns b(θ).
func (h *Head) B(ra float64) r3.Vec {
	s, c := math.Sincos(ra)
	return r3.Sub(r3.Scale(s, h.X), r3.Scale(c, h.W))
}

// Pointing returns u(θ,β), where the tube points, world frame.
func (h *Head) Pointing(g Angles) r3.Vec {
	s, c := math.Sincos(g.Dec)
	return r3.Add(r3.Scale(c, h.P), r3.Scale(s, h.B(g.RA)))
}

// PolarFrame returns polar frame → world: columns x̂, p × x̂, p.
func (h *Head) PolarFrame() solid.Pose { return h.ArmFrame(0) }

// ArmFrame returns arm frame → world: columns a, p × a, p.
func (h *Head) ArmFrame(ra float64) solid.Pose {
	a := h.A(ra)
	return columns(a, r3.Cross(h.P, a), h.P, h.Crossing)
}

// TubeFrame returns tube frame → world: columns a, v = u × a, u.
func (h *Head) TubeFrame(g Angles) solid.Pose { return h.TubeFrameOn(h.ArmFrame(g.RA), g.Dec) }

// TubeFrameOn returns TubeFrame for an arm frame that is there already. With y = p × a, b = s·y: u = cosβ·p + s·sinβ·y and
// v = cosβ·y − s·sinβ·p.
func (h *Head) TubeFrameOn(arm solid.Pose, dec float64) solid.Pose {
	sβ, cβ := math.Sincos(dec)
	sβ *= h.s
	r := &arm.R
	return solid.Pose{R: [9]float64{
		r[0], cβ*r[1] - sβ*r[2], cβ*r[2] + sβ*r[1],
		r[3], cβ*r[4] - sβ*r[5], cβ*r[5] + sβ*r[4],
		r[6], cβ*r[7] - sβ*r[8], cβ*r[8] + sβ*r[7],
	}, T: arm.T}
}

func columns(x, y, z, t r3.Vec) solid.Pose {
	return solid.Pose{R: [9]float64{x.X, y.X, z.X, x.Y, y.Y, z.Y, x.Z, y.Z, z.Z}, T: t}
}

// Angles returns the axis angles of a pose. The RA axis angle is hour angle ± 90° unwrapped, so that a continuous hour angle
// gives a continuous angle; for a head off the pole it lies within half a turn of that.
func (h *Head) Angles(p Pose) Angles {
	H, P := p.HourAngle, quarter-h.s*p.Dec
	if !h.Aligned {
		H, P = h.own(p.HourAngle, p.Dec)
	}
	if p.Side == West {
		return Angles{RA: H + quarter, Dec: P}
	}
	return Angles{RA: H - quarter, Dec: -P}
}

// own turns the sky's hour angle and declination into the head's own hour angle and polar distance.
func (h *Head) own(hourAngle, dec float64) (ownH, polarDistance float64) {
	u := Direction(h.Latitude, hourAngle, dec)
	x, w, z := r3.Dot(u, h.X), r3.Dot(u, h.W), r3.Dot(u, h.P)
	ownH = math.Atan2(w, x)
	ownH = hourAngle + Wrap(ownH-hourAngle)
	return ownH, math.Atan2(math.Hypot(x, w), z)
}

// Pose returns the pose of two axis angles. β in [0°, 180°] is side west, in (−180°, 0°) side east. The hour angle is
// unwrapped like the RA axis angle for an aligned head, and within half a turn of that otherwise.
func (h *Head) Pose(g Angles) Pose {
	β := Wrap(g.Dec)
	if β == -math.Pi {
		β = math.Pi
	}
	p := Pose{Side: West, HourAngle: g.RA - quarter}
	if β < 0 {
		p = Pose{Side: East, HourAngle: g.RA + quarter}
	}
	if h.Aligned {
		p.Dec = h.s * (quarter - math.Abs(β))
		return p
	}
	H, δ := HourAngleDec(h.Latitude, h.Pointing(g))
	p.HourAngle += Wrap(H - p.HourAngle)
	p.Dec = δ
	return p
}

// Misalignment is the angle between the polar axis and the celestial pole, radians.
func (h *Head) Misalignment() float64 {
	if h.Aligned {
		return 0
	}
	s, c := math.Sincos(math.Abs(h.Latitude))
	pole := r3.Vec{Y: h.s * c, Z: s}
	return math.Atan2(r3.Norm(r3.Cross(pole, h.P)), r3.Dot(pole, h.P))
}
