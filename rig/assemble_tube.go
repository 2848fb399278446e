package rig

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// tube makes the parts that turn with both axes: the saddle and all that it carries. Frame: x from the crossing out along
// the declination axis, z where the tube points, y = z × x.
//
// Along x: the clamping face is at the saddle's distance, the saddle under it, the dovetail on it, the tube's axis at the
// axis distance from it. The rings hold the tube in the middle between their two seats, so that the top rail's seat is as
// far beyond the tube's axis as the dovetail's is before it.
func (b *assembler) tube() {
	m, t := &b.r.Mount, &b.r.Tube
	face := &m.SaddleDistanceMM.Quantity
	axis := []*Quantity{face, &t.AxisDistanceMM.Quantity} // what moves the tube's axis along x, 1:1
	x := face.Value + t.AxisDistanceMM.Value

	// A plate's own thickness moves one face, by itself; length and width are about its centre.
	if p := m.Saddle; p != nil {
		b.addTube(plateAlong("saddle", "mount.saddle", p, face.Value-p.ThicknessMM.Value).along(face, &p.ThicknessMM.Quantity), "", &p.MassKg)
	}
	seat := t.AxisDistanceMM.Value
	if p := t.Dovetail; p != nil {
		b.addTube(plateAlong("dovetail", "tube.dovetail", p, face.Value).along(face, &p.ThicknessMM.Quantity), "", &p.MassKg)
		seat -= p.ThicknessMM.Value
	}
	if p := t.TopRail; p != nil {
		// Its seat is at face + 2·axis distance − dovetail's thickness: rates 1, 2, 1.
		q := plateAlong("top rail", "tube.top_rail", p, x+seat).along(axis...).along(&t.AxisDistanceMM.Quantity, &p.ThicknessMM.Quantity)
		if t.Dovetail != nil {
			q.along(&t.Dovetail.ThicknessMM.Quantity)
		}
		b.addTube(q, "", &p.MassKg)
	}
	toAxis := shiftBy(r3.Vec{X: x, Z: t.SlideMM.Value})
	carry := append(axis[:2:2], &t.SlideMM.Quantity) // what moves all that the rings hold
	for i := range t.Sections {
		s, from := &t.Sections[i], fmt.Sprintf("tube.sections[%d]", i)
		length, mid := s.ToMM.Value-s.FromMM.Value, (s.FromMM.Value+s.ToMM.Value)/2
		// The hull of two end discs: each station moves one, each diameter the rim of one (both when there is only one).
		p := newPiece(s.Name, from, TubeFrame, Cylinder, s.DiameterMM.Value, length)
		if s.EndDiameterMM.Set() && s.EndDiameterMM.Value != s.DiameterMM.Value {
			p = newPiece(s.Name, from, TubeFrame, Cone, s.DiameterMM.Value, s.EndDiameterMM.Value, length)
		}
		p.sized(&s.DiameterMM.Quantity, &s.EndDiameterMM.Quantity).along(&s.FromMM.Quantity, &s.ToMM.Quantity)
		b.addTube(p.moved(shiftBy(r3.Vec{Z: mid})).moved(toAxis).along(carry...), s.Condition, &s.MassKg)
	}
	if t.Train != nil {
		b.train(t.Train, toAxis, carry)
	}
	for i := range t.GuideTubes {
		g := &t.GuideTubes[i]
		// Round and parallel to the tube: the angle about the tube carries its axis along an arc of radius beside_mm.
		sin, cos := math.Sincos(g.AngleDeg.Value * rad)
		p := rod(g.Name, fmt.Sprintf("tube.guide_tubes[%d]", i), TubeFrame, g.FromMM.Value, g.ToMM.Value, g.DiameterMM.Value).
			sized(&g.DiameterMM.Quantity).along(&g.FromMM.Quantity, &g.ToMM.Quantity, &g.BesideMM.Quantity).
			moved(shiftBy(r3.Scale(g.BesideMM.Value, r3.Vec{X: cos, Y: sin})))
		p.by(&g.AngleDeg.Quantity, (math.Abs(g.BesideMM.Value)+g.BesideMM.Tol)*rad)
		b.addTube(p.moved(toAxis).along(carry...), "", &g.MassKg)
	}
	b.extras(t.Parts, TubeFrame, "tube.parts")
}

// plateAlong is a flat bar along the tube whose inner face is at x.
func plateAlong(name, from string, p *Plate, x float64) *piece {
	return newPiece(name, from, TubeFrame, Box, p.ThicknessMM.Value, p.WidthMM.Value, p.LengthMM.Value).
		sized(&p.WidthMM.Quantity, &p.LengthMM.Quantity).along(&p.AtMM.Quantity).
		moved(shiftBy(r3.Vec{X: x + p.ThicknessMM.Value/2, Z: p.AtMM.Value}))
}
