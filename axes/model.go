package axes

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/rig"
	"legroom/solid"
)

// Part is one solid of the model, with what is needed to place it and to bound how it moves.
type Part struct {
	Name  string
	Frame rig.Frame
	Solid solid.Solid
	Place solid.Pose // part → frame, with the document's axis zero errors and cone put in
	Rig   *rig.Part  // what it was made from

	// FromDecAxis bounds the distance of its points from the declination axis (tube parts), FromPolarAxis from the polar
	// axis (arm parts; tube parts at any β), FromCrossing from the crossing (arm and tube parts). mm.
	FromDecAxis, FromPolarAxis, FromCrossing float64
}

// Model is a rig whose parts can be placed at any axis angles.
type Model struct {
	Rig      *rig.Rig
	Assembly *rig.Assembly
	Head     Head
	Parts    []Part
	Travel   Travel
}

// Travel is how far the axes may turn, radians, unwrapped.
type Travel struct{ RAFrom, RATo, DecFrom, DecTo float64 }

// Contains tells whether the axes can reach g.
func (t Travel) Contains(g Angles) bool {
	return t.RAFrom <= g.RA && g.RA <= t.RATo && t.DecFrom <= g.Dec && g.Dec <= t.DecTo
}

// NewModel builds the model of a rig under what is known of its conditions.
func NewModel(r *rig.Rig, c rig.Conditions) (*Model, error) {
	asm, err := r.Assemble(c)
	if err != nil {
		return nil, err
	}
	return FromAssembly(r, asm)
}

// FromAssembly builds the model of parts that stand already.
func FromAssembly(r *rig.Rig, asm *rig.Assembly) (*Model, error) {
	m := &Model{
		Rig:      r,
		Assembly: asm,
		Head:     newHead(asm),
		Travel:   travel(r.Mount.Travel),
	}
	cone := coneTurn(m.quantity(asm.Cone))
	m.Parts = make([]Part, len(asm.Parts))
	for i := range asm.Parts {
		p := &asm.Parts[i]
		s, err := solid.New(string(p.Shape), p.SizeMM)
		if err != nil {
			return nil, fmt.Errorf("%s: %s: %w", p.From, p.Name, err)
		}
		q := Part{Name: p.Name, Frame: p.Frame, Solid: s, Place: solid.FromPlace(p.Place), Rig: p}
		if p.Frame == rig.TubeFrame {
			q.Place = cone.Mul(q.Place)
		}
		q.bound()
		m.Parts[i] = q
	}
	return m, nil
}

// newHead takes the polar axis from an assembly; one that is set to the latitude is aligned exactly, whatever its rounding.
func newHead(asm *rig.Assembly) Head {
	lat, alt := Rad(asm.LatitudeDeg), Rad(asm.AltitudeDeg)
	if asm.AltitudeDeg == math.Abs(asm.LatitudeDeg) {
		alt = math.Abs(lat)
	}
	return NewHead(lat, alt, Rad(asm.AzimuthErrorDeg), vec(asm.CrossingMM))
}

// coneTurn is the turn of the tube parts about the tube frame's y by the cone error.
func coneTurn(cone float64) solid.Pose {
	s, c := math.Sincos(cone)
	return solid.Pose{R: [9]float64{c, 0, s, 0, 1, 0, -s, 0, c}}
}

// quantity returns the value of an angle of the document, radians.
func (m *Model) quantity(id int) float64 { return Rad(m.Rig.Quantities[id].Value) }

func (p *Part) bound() {
	at := p.Solid.At(p.Place)
	s, e, r := at.OuterCapsule()
	p.FromCrossing = outward(math.Max(r3.Norm(s), r3.Norm(e)) + r)
	switch p.Frame {
	case rig.Arm:
		p.FromPolarAxis = outward(math.Max(math.Hypot(s.X, s.Y), math.Hypot(e.X, e.Y)) + r)
	case rig.TubeFrame:
		p.FromDecAxis = outward(math.Max(math.Hypot(s.Y, s.Z), math.Hypot(e.Y, e.Z)) + r)
		p.FromPolarAxis = p.FromCrossing
	}
}

// outward rounds a bound in mm up past the rounding of its own computation (a few ulp of values below 1e5).
func outward(x float64) float64 { return x*(1+1e-14) + 1e-10 }

// Zero returns the RA and declination zero errors of the document, radians: poses are what the mount believes, and the parts
// stand where the axes really are.
func (m *Model) Zero() Angles {
	return Angles{RA: m.quantity(m.Assembly.RAZero), Dec: m.quantity(m.Assembly.DecZero)}
}

// Frames returns the poses of the polar, arm and tube frames at g, with the document's zero errors put in.
func (m *Model) Frames(g Angles) (polar, arm, tube solid.Pose) {
	z := m.Zero()
	g.RA += z.RA
	g.Dec += z.Dec
	return m.Head.PolarFrame(), m.Head.ArmFrame(g.RA), m.Head.TubeFrame(g)
}

// PartPose returns the pose of part i in the world at g.
func (m *Model) PartPose(i int, g Angles) solid.Pose {
	polar, arm, tube := m.Frames(g)
	p := &m.Parts[i]
	switch p.Frame {
	case rig.Polar:
		return polar.Mul(p.Place)
	case rig.Arm:
		return arm.Mul(p.Place)
	case rig.TubeFrame:
		return tube.Mul(p.Place)
	}
	return p.Place
}

// Place puts every part where it is at g, world frame, in dst (which must have len(m.Parts)).
func (m *Model) Place(g Angles, dst []solid.Placed) {
	polar, arm, tube := m.Frames(g)
	for i := range m.Parts {
		p := &m.Parts[i]
		at := p.Place
		switch p.Frame {
		case rig.Polar:
			at = polar.Mul(at)
		case rig.Arm:
			at = arm.Mul(at)
		case rig.TubeFrame:
			at = tube.Mul(at)
		}
		p.Solid.Put(&at, &dst[i])
	}
}

func travel(t rig.Travel) Travel {
	or := func(p *float64, d float64) float64 {
		if p == nil {
			return Rad(d)
		}
		return Rad(*p)
	}
	return Travel{or(t.RAFromDeg, -180), or(t.RAToDeg, 180), or(t.DecFromDeg, -180), or(t.DecToDeg, 180)}
}

func vec(a [3]float64) r3.Vec { return r3.Vec{X: a[0], Y: a[1], Z: a[2]} }

// Reach returns g by whole turns of each axis within travel, nearest to counterweight-down.
func (m *Model) Reach(g Angles) (Angles, error) {
	ra, okRA := within(g.RA, m.Travel.RAFrom, m.Travel.RATo)
	dec, okDec := within(g.Dec, m.Travel.DecFrom, m.Travel.DecTo)
	if !okRA || !okDec {
		return g, fmt.Errorf("RA axis %.2f°, declination axis %.2f°: outside the travel of the axes, RA %.1f° to %.1f°, declination %.1f° to %.1f°",
			Deg(g.RA), Deg(g.Dec), Deg(m.Travel.RAFrom), Deg(m.Travel.RATo), Deg(m.Travel.DecFrom), Deg(m.Travel.DecTo))
	}
	return Angles{ra, dec}, nil
}

// within returns x by whole turns in [from, to], nearest to 0.
func within(x, from, to float64) (float64, bool) {
	x = Wrap(x)
	for _, k := range []float64{0, -1, 1} {
		if y := x + k*2*math.Pi; from <= y && y <= to {
			return y, true
		}
	}
	return x, false
}
