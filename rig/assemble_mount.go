package rig

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

var (
	xAxis = r3.Vec{X: 1}
	yAxis = r3.Vec{Y: 1}
	zAxis = r3.Vec{Z: 1}

	// alongX takes a shape's z axis to x (and its x to y, y to z).
	alongX = columns(yAxis, zAxis, xAxis, r3.Vec{})
)

// mount makes the parts of the head and of the arm.
func (b *assembler) mount() {
	m := &b.r.Mount

	// A barrel is the hull of its two end discs: a station moves one of them, by its own change.
	ph := &m.PolarHousing
	p := barrel("polar housing", "mount.polar_housing", Polar, ph)
	b.add(p, "", &ph.MassKg) // fixed to the head: none of the five turns moves it

	dh := &m.DeclinationHousing
	p = barrel("declination housing", "mount.declination_housing", Arm, dh).moved(alongX)
	b.addArm(p, "", &dh.MassKg)

	if cw := m.Counterweights; cw != nil {
		// The bar runs from the declination housing's far end to its own: two end discs again.
		from, to := -cw.BarEndMM.Value, dh.FromMM.Value
		if from >= to {
			b.fail("mount.counterweights.bar_end_mm", "measure from the crossing to the bar's end", "the bar ends %g mm from the crossing, inside the declination housing, which reaches %g mm that way", -from, -to)
			return
		}
		p = rod("counterweight bar", "mount.counterweights", Arm, from, to, cw.BarDiameterMM.Value).
			sized(&cw.BarDiameterMM.Quantity).along(&cw.BarEndMM.Quantity, &dh.FromMM.Quantity).moved(alongX)
		b.addArm(p, "", &cw.BarMassKg)
		for i := range cw.Weights {
			w := &cw.Weights[i]
			at, half := -w.AtMM.Value, w.ThicknessMM.Value/2
			p = rod(fmt.Sprintf("counterweight %d", i+1), fmt.Sprintf("mount.counterweights.weights[%d]", i), Arm, at-half, at+half, w.DiameterMM.Value).
				sized(&w.DiameterMM.Quantity, &w.ThicknessMM.Quantity).along(&w.AtMM.Quantity).moved(alongX)
			b.addArm(p, "", &w.MassKg)
		}
	}
	b.extras(m.Parts, Arm, "mount.parts")
	b.extras(b.r.Parts, Ground, "parts")
}

// rod is a cylinder along z between two stations.
func rod(name, from string, frame Frame, z0, z1, diameter float64) *piece {
	return newPiece(name, from, frame, Cylinder, diameter, z1-z0).moved(shiftBy(r3.Vec{Z: (z0 + z1) / 2}))
}

func barrel(name, from string, frame Frame, h *Barrel) *piece {
	return rod(name, from, frame, h.FromMM.Value, h.ToMM.Value, h.DiameterMM.Value).
		sized(&h.DiameterMM.Quantity).along(&h.FromMM.Quantity, &h.ToMM.Quantity)
}

// addArm closes a part of the arm. The zero error of the RA axis turns it about the polar axis, the arm's z.
func (b *assembler) addArm(p *piece, condition string, mass *Mass) {
	p.by(&b.r.Mount.Zero.RADeg.Quantity, (p.reach(r3.Vec{}, zAxis)+p.slack)*rad)
	b.add(p, condition, mass)
}

// addTube closes a part of the tube, whose origin is the crossing. Inside out, three turns move it about axes through the
// crossing: the cone error about the tube's y (its nominal value is put in by the axes, so that it is put in here for what
// the next turns see, not for the part's place); the zero error of the declination axis about x; and that of the RA axis
// about the polar axis, which at some β is as far from any point square to the y–z plane's as can be, so that the distance
// from the crossing bounds it.
func (b *assembler) addTube(p *piece, condition string, mass *Mass) {
	z := b.r.Mount.Zero
	place := p.part.Place
	p.turned(r3.Vec{}, yAxis, &z.ConeDeg.Quantity)
	p.by(&z.DecDeg.Quantity, (p.reach(r3.Vec{}, xAxis)+p.slack)*rad)
	p.by(&z.RADeg.Quantity, (p.far(r3.Vec{})+p.slack)*rad)
	p.part.Place = place
	b.add(p, condition, mass)
}

// extras makes the extra parts of a list, in the frame that each names, or the list's own.
//
// A part's z axis points along its direction: the shortest turn takes the frame's z there (for the exact opposite, half a
// turn about the frame's x), after the part has been turned about its own z by turn_deg.
func (b *assembler) extras(list []ExtraPart, frame Frame, path string) {
	for i := range list {
		e, from := &list[i], fmt.Sprintf("%s[%d]", path, i)
		f := e.Frame
		if f == "" {
			f = frame
		}
		p := b.extra(e, f, from)
		if p == nil {
			return
		}
		switch f {
		case Ground:
			b.addObstacle(p, e.Condition, &e.MassKg)
		case Polar:
			b.add(p, e.Condition, &e.MassKg)
		case Arm:
			b.addArm(p, e.Condition, &e.MassKg)
		case TubeFrame:
			// Measured from the centre of the saddle's face, which the saddle's distance moves along x.
			d := &b.r.Mount.SaddleDistanceMM.Quantity
			b.addTube(p.moved(shiftBy(r3.Vec{X: d.Value})).along(d), e.Condition, &e.MassKg)
		default:
			b.fail(from+".frame", "it is ground, polar, arm or tube", "there is no frame %q", f)
			return
		}
	}
}

// sizes is how many sizes a shape has.
var sizes = map[ShapeKind]int{Box: 3, Cylinder: 2, Cone: 3, Capsule: 2, Sphere: 1}

func (b *assembler) extra(e *ExtraPart, frame Frame, from string) *piece {
	n, ok := sizes[e.Shape]
	if !ok {
		b.fail(from+".shape", "it is box, cylinder, cone, capsule or sphere", "there is no shape %q", e.Shape)
		return nil
	}
	if len(e.SizeMM) != n {
		b.fail(from+".size_mm", fmt.Sprintf("a %s has %d", e.Shape, n), "here are %d sizes", len(e.SizeMM))
		return nil
	}
	if len(e.AtMM) != 3 {
		b.fail(from+".at_mm", "a centre has three", "here are %d coordinates", len(e.AtMM))
		return nil
	}
	size := make([]float64, len(e.SizeMM))
	for i := range size {
		size[i] = e.SizeMM[i].Value
	}
	p := newPiece(e.Name, from, frame, e.Shape, size...)
	for i := range e.SizeMM {
		p.sized(&e.SizeMM[i].Quantity) // every size is a whole width about the centre
	}
	if !p.revolution() { // others turn into themselves
		p.turned(r3.Vec{}, zAxis, &e.TurnDeg.Quantity)
	}
	turn, ok := pointZ(e.Direction)
	if !ok {
		b.fail(from+".direction", "give three numbers, not all 0", "%v points nowhere", e.Direction)
		return nil
	}
	at := r3.Vec{X: e.AtMM[0].Value, Y: e.AtMM[1].Value, Z: e.AtMM[2].Value}
	return p.moved(turn).moved(shiftBy(at)).along(&e.AtMM[0].Quantity, &e.AtMM[1].Quantity, &e.AtMM[2].Quantity)
}

// pointZ is the shortest turn that takes z to a direction; none for an empty one.
func pointZ(d []float64) (placing, bool) {
	if len(d) == 0 {
		return identity, true
	}
	if len(d) != 3 {
		return identity, false
	}
	v := r3.Vec{X: d[0], Y: d[1], Z: d[2]}
	n := r3.Norm(v)
	if !(n > 0) || math.IsInf(n, 0) {
		return identity, false
	}
	axis := r3.Cross(zAxis, v)
	if s := r3.Norm(axis); s > 0 {
		return turnAbout(r3.Vec{}, r3.Scale(1/s, axis), math.Atan2(s, v.Z)), true
	}
	if v.Z < 0 {
		return turnAbout(r3.Vec{}, xAxis, math.Pi), true
	}
	return identity, true
}
