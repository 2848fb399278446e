package load

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// Moduli of elasticity, GPa: EN 1999-1-1 takes 70 and EN 1993-1-1 210 [mem]; 69 is the usual figure of the 6000 alloys.
var modulusGPa = map[rig.Material]float64{rig.Aluminium: 69, rig.Steel: 210}

// Cantilever is a round tube held at its foot, bent by what acts on its top: Euler–Bernoulli beam, W. C. Young, R. G. Budynas,
// Roark's Formulas for Stress and Strain, table 8.1 cases 1a and 3a. Its joints, its flanges and what it stands on count as
// rigid, which they are not.
type Cantilever struct {
	DiameterMM, WallMM, LengthMM float64
	ModulusGPa                   float64
}

// SecondMomentMM4 is the second moment of area of the section, π(D⁴ − d⁴)/64.
func (c Cantilever) SecondMomentMM4() float64 {
	inner := math.Max(0, c.DiameterMM-2*c.WallMM)
	return math.Pi / 64 * (math.Pow(c.DiameterMM, 4) - math.Pow(inner, 4))
}

// stiffness is EI, N·mm².
func (c Cantilever) stiffness() float64 { return c.ModulusGPa * 1000 * c.SecondMomentMM4() }

// Top returns how far the top goes, mm, and by how much it tilts, radians, under a force in N and a moment in N·mm on it.
func (c Cantilever) Top(force, moment float64) (deflection, tilt float64) {
	l, ei := c.LengthMM, c.stiffness()
	return force*l*l*l/(3*ei) + moment*l*l/(2*ei), force*l*l/(2*ei) + moment*l/ei
}

// Burden is what a cantilever carries, moving with its top: mass, first and second moment about the top.
type Burden struct {
	MassKg       float64
	FirstKgMM    float64 // Σ mass × height above the top
	SecondKgMM2  float64 // Σ mass × squared distance from the axis through the top about which it rocks, own inertia included
	CantileverKg float64 // the upright's own mass; 33/140 of it counts at the top
}

// FrequencyHz is the first frequency of bending: the lesser of the two of a rigid body on the cantilever's top, from
// ω⁻² = the greater eigenvalue of flexibility × mass. With the burden as a point on the top it is
// (1/2π)·√(3EI/(L³(m + 33/140·m_b))), Roark, table 16.1.
func (c Cantilever) FrequencyHz(b Burden) float64 {
	l, ei := c.LengthMM, c.stiffness()*1000 // kg·mm/s² is a thousandth of a newton: kg, mm, s
	f11, f12, f22 := l*l*l/(3*ei), l*l/(2*ei), l/ei
	m, s, j := b.MassKg+33.0/140*b.CantileverKg, b.FirstKgMM, b.SecondKgMM2
	// F·M of [[f11, f12], [f12, f22]] and [[m, s], [s, j]].
	trace := f11*m + 2*f12*s + f22*j
	det := (f11*f22 - f12*f12) * (m*j - s*s)
	λ := (trace + math.Sqrt(math.Max(0, trace*trace-4*det))) / 2
	return 1 / (2 * math.Pi * math.Sqrt(λ))
}

// Bending is how one upright bends, at its worst over all used poses.
type Bending struct {
	Name      string // of its part: pier extension, column or pier
	Unknown   string // what the document does not say, so that nothing could be computed; empty when it could
	Missing   []string
	Upright   Cantilever
	TopMM     float64 // height of its top above the ground
	CarriesKg float64

	Push      Tilt      // under the wanted push, sideways at the height of the axes' crossing
	Wind      Tilt      // under the wanted wind
	Frequency Frequency // lowest
}

// Tilt is how the top of an upright gives way.
type Tilt struct {
	At           axes.Angles
	DeflectionMM float64
	TiltRad      float64 // as found; BoundRad is proven: in no used pose more
	BoundRad     float64
}

// Frequency is the lowest first frequency over all used poses: found, and proven to be no lower.
type Frequency struct {
	At           axes.Angles
	Value, Bound float64 // Hz; 0 when a mass is not known
}

// Bending looks at each upright that the document has, the lowest first: the pier, the column of a half pier, the pier extension.
//
// What stands on it counts as one rigid body. It leaves out what gives way as well, mostly more: the feet, legs, bolts and the
// mount itself, whose part no formula gives; and torsion.
func (l *Load) Bending(ctx context.Context, p *Poses, w Wanted) ([]Bending, error) {
	var out []Bending
	for _, u := range l.uprights() {
		if u.b.Unknown == "" {
			if err := l.bend(ctx, p, w, &u); err != nil {
				return nil, err
			}
		}
		out = append(out, u.b)
	}
	return out, nil
}

// upright is a cantilever of the support with what stands on it.
type upright struct {
	b       Bending
	top     r3.Vec
	kg      float64
	unknown bool // its own mass
	above   []int
}

// uprights lists the cantilevers with what the document says of them.
func (l *Load) uprights() []upright {
	s := &l.Model.Rig.Support
	var out []upright
	add := func(name string, diameter, wall rig.Length, material rig.Material, gpa float64, mass rig.Mass) {
		i := l.index(name)
		if i < 0 {
			return
		}
		part := &l.Model.Parts[i]
		u := upright{kg: mass.Value, unknown: !mass.Set(), top: part.Place.Apply(r3.Vec{Z: part.Rig.SizeMM[1] / 2})}
		if gpa == 0 {
			gpa = modulusGPa[material]
		}
		u.b = Bending{Name: name, TopMM: u.top.Z, Upright: Cantilever{diameter.Value, wall.Value, part.Rig.SizeMM[1], gpa}}
		switch {
		case !wall.Set() && gpa == 0:
			u.b.Unknown = "wall_mm and material"
		case !wall.Set():
			u.b.Unknown = "wall_mm"
		case gpa == 0:
			u.b.Unknown = "material or modulus_gpa"
		}
		for k := range l.Model.Parts {
			q := &l.Model.Parts[k]
			from := q.Rig.From
			over := q.Frame != rig.Ground || from == "mount.base" || from == "support.extension" && name != "pier extension"
			if over {
				u.above = append(u.above, k)
				u.b.CarriesKg += q.Rig.MassKg
				if q.Rig.Unweighed {
					u.b.Missing = append(u.b.Missing, q.Name)
				}
			}
		}
		out = append(out, u)
	}
	if s.Kind == rig.Pier {
		add("pier", s.DiameterMM, s.WallMM, s.Material, s.ModulusGPa, s.MassKg)
	}
	if c := s.Column; c != nil {
		add("column", c.DiameterMM, c.WallMM, c.Material, c.ModulusGPa, c.MassKg)
	}
	if e := s.Extension; e != nil {
		add("pier extension", e.DiameterMM, e.WallMM, e.Material, e.ModulusGPa, e.MassKg)
	}
	return out
}

// bend computes one upright.
func (l *Load) bend(ctx context.Context, p *Poses, w Wanted, u *upright) error {
	c, b := u.b.Upright, &u.b
	lever := l.Model.Head.Crossing.Z - u.top.Z
	d, tilt := c.Top(w.PushN, w.PushN*lever)
	b.Push = Tilt{DeflectionMM: d, TiltRad: tilt, BoundRad: tilt}

	k := l.newTipper()
	carried := map[int]bool{}
	for _, i := range u.above {
		carried[i] = true
	}
	kept := k.parts[:0]
	for _, s := range k.parts {
		if carried[l.index(s.part.Name)] {
			kept = append(kept, s)
		}
	}
	k.parts = kept
	k.settle(u.top.Z)

	// The least of minus the tilt is the greatest tilt.
	q := pressure(AirDensity, w.WindMS)
	blown := func(g axes.Angles, h float64) (deflection, tilt, most float64) {
		exact, outer := k.at(g, h, true)
		for i := range exact.areas {
			x, y := &exact.areas[i], &outer.areas[i]
			d, a := c.Top(q*x.area, q*x.moment)
			if a > tilt {
				deflection, tilt = d, a
			}
			_, a = c.Top(q*y.area, q*y.moment)
			most = math.Max(most, a)
		}
		return deflection, tilt, most
	}
	e, err := p.least(ctx, relative(0.06, 0), func(g axes.Angles, h float64) (float64, float64) {
		_, tilt, most := blown(g, h)
		return -tilt, -most
	})
	if err != nil {
		return err
	}
	if !e.Any {
		return ErrNoPose
	}
	d, tilt, _ = blown(e.At, 0)
	b.Wind = Tilt{At: e.At, DeflectionMM: d, TiltRad: tilt, BoundRad: -e.Bound}

	if u.unknown || b.CarriesKg == 0 {
		return nil
	}
	e, err = p.least(ctx, relative(0.02, 0), func(g axes.Angles, h float64) (float64, float64) {
		now, most := l.burden(u, k.parts, g, h)
		return c.FrequencyHz(now), c.FrequencyHz(most)
	})
	if err != nil {
		return err
	}
	b.Frequency = Frequency{At: e.At, Value: e.Value, Bound: e.Bound}
	return nil
}

// burden adds up what rocks on the top of an upright, about the worst horizontal axis through it, and bounds it from above within h
// of the pose on each axis.
func (l *Load) burden(u *upright, parts []sailing, g axes.Angles, h float64) (now, most Burden) {
	_, arm, tube := l.Model.Frames(g)
	now.CantileverKg, most.CantileverKg = u.kg, u.kg
	var xx, xy, yy, own, zz float64 // Σ m·x², …
	for i := range parts {
		s := &parts[i]
		m := s.part.Rig.MassKg
		if m == 0 {
			continue
		}
		at, _ := s.place(&arm, &tube)
		r := r3.Sub(at.T, u.top)
		moves := h * (s.raMM + s.decMM)
		gyration := m * gyrationMM2(s.part.Rig)
		now.MassKg += m
		now.FirstKgMM += m * r.Z
		xx, xy, yy, zz, own = xx+m*r.X*r.X, xy+m*r.X*r.Y, yy+m*r.Y*r.Y, zz+m*r.Z*r.Z, own+gyration
		far := r3.Norm(r) + moves
		most.MassKg += m
		most.FirstKgMM += m * (r.Z + moves)
		most.SecondKgMM2 += m*(far*far-r3.Dot(r, r)) + gyration
	}
	// The greatest Σ m·s² over the horizontal directions s.
	most.FirstKgMM = math.Abs(now.FirstKgMM) + (most.FirstKgMM - now.FirstKgMM) // then every entry bounds its own, and Perron–Frobenius the eigenvalue
	aside := (xx+yy)/2 + math.Hypot((xx-yy)/2, xy)
	now.SecondKgMM2 = zz + aside + own
	most.SecondKgMM2 += zz + aside
	return now, most
}

// gyrationMM2 is the greatest squared radius of gyration of a homogeneous part about an axis through its centre, or more: a round
// shape counts as the cylinder around it.
func gyrationMM2(p *rig.Part) float64 {
	s := p.SizeMM
	round := func(d, length float64) float64 { return math.Max(d*d/8, d*d/16+length*length/12) }
	switch p.Shape {
	case rig.Box:
		x, y, z := s[0]*s[0], s[1]*s[1], s[2]*s[2]
		return (x + y + z - math.Min(x, math.Min(y, z))) / 12
	case rig.Cylinder:
		return round(s[0], s[1])
	case rig.Cone:
		return round(math.Max(s[0], s[1]), s[2])
	case rig.Capsule:
		return round(s[0], s[1]+s[0])
	case rig.Sphere:
		return s[0] * s[0] / 10
	}
	panic(fmt.Sprintf("load: no shape %q", p.Shape))
}
