package rig

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// support makes the parts that stand on the ground. The support's own are built upright and relative to the point of the
// centre line at the crossing's height, H above the ground, so that a height that raises part and crossing together
// moves neither against the other.
func (b *assembler) support() {
	s, m := &b.r.Support, &b.r.Mount
	cross := &m.CrossingMM.HeightMM.Quantity
	var ext []*Quantity // heights between the support's face and the one that the mount stands on
	face := -cross.Value
	if e := s.Extension; e != nil {
		// Both ends hang from the crossing: the lower one by the extension and the crossing's height, the upper by the latter.
		p := rod("pier extension", "support.extension", Ground, face-e.HeightMM.Value, face, e.DiameterMM.Value).
			sized(&e.DiameterMM.Quantity).along(&e.HeightMM.Quantity, cross)
		b.addUpright(p, true, &e.MassKg)
		ext = append(ext, &e.HeightMM.Quantity)
		face -= e.HeightMM.Value
	}
	hang := append(ext, cross) // what moves the support's face against the crossing
	ground := face - s.HeightMM.Value

	switch s.Kind {
	case Tripod:
		b.tripod(face, ground, hang)
	case Pier:
		top, below := face, hang
		if t := s.TopPlate; t != nil {
			b.plate("top plate", "support.top_plate", t, face, hang)
			top -= t.ThicknessMM.Value
			below = append(below[:len(below):len(below)], &t.ThicknessMM.Quantity)
		}
		p := rod("pier", "support", Ground, ground, top, s.DiameterMM.Value).
			sized(&s.DiameterMM.Quantity).along(below...).along(&s.HeightMM.Quantity)
		b.addUpright(p, true, nil)
	default:
		b.fail("support.kind", "it is tripod or pier", "there is no support %q", s.Kind)
		return
	}
	if base := m.Base; base != nil {
		p := rod("mount base", "mount.base", Ground, -cross.Value, -cross.Value+base.HeightMM.Value, base.DiameterMM.Value).
			sized(&base.DiameterMM.Quantity).along(&base.HeightMM.Quantity, cross)
		b.addUpright(p, true, &base.MassKg)
	}
	b.extras(s.Obstacles, Ground, "support.obstacles")
}

// plate is a round plate under a face.
func (b *assembler) plate(name, from string, d *Disc, face float64, hang []*Quantity) {
	p := rod(name, from, Ground, face-d.ThicknessMM.Value, face, d.DiameterMM.Value).
		sized(&d.DiameterMM.Quantity).along(hang...).along(&d.ThicknessMM.Quantity)
	b.addUpright(p, true, nil)
}

func (b *assembler) tripod(face, ground float64, hang []*Quantity) {
	s := &b.r.Support
	height := &s.HeightMM.Quantity
	if s.Legs == nil {
		b.fail("support.legs", "give their azimuth, radii and width", "a tripod has legs, and here are none")
		return
	}
	under, hangUnder := face, hang // the head's underside
	if s.Head != nil {
		b.plate("tripod head", "support.head", s.Head, face, hang)
		under -= s.Head.ThicknessMM.Value
		hangUnder = append(hang[:len(hang):len(hang)], &s.Head.ThicknessMM.Quantity)
	}
	l := newLegLine(s, under, ground, hang, hangUnder)
	b.legs(l)
	if c := s.Column; c != nil {
		if !s.Legs.HipHeightMM.Set() {
			b.fail("support.legs.hip_height_mm", "give the height of the hips above the ground", "a column stands on the hips, whose height is not given")
			return
		}
		if l.hip.Z >= under {
			b.fail("support.legs.hip_height_mm", "put the hips below the head, or leave the column out", "the hips are at %g mm, not below the head's underside at %g mm, so that there is no column", l.hip.Z-ground, under-ground)
			return
		}
		// From the hips, which hang from the crossing by every height and stand on the ground by their own, to the head.
		p := rod("column", "support.column", Ground, l.hip.Z, under, c.DiameterMM.Value).
			sized(&c.DiameterMM.Quantity).along(hangUnder...).along(height, &s.Legs.HipHeightMM.Quantity)
		b.addUpright(p, true, &c.MassKg)
	}
	if t := s.Tray; t != nil {
		top := ground + t.HeightMM.Value
		p := rod("tray", "support.tray", Ground, top-t.ThicknessMM.Value, top, t.DiameterMM.Value).
			sized(&t.DiameterMM.Quantity).along(hang...).along(height, &t.HeightMM.Quantity, &t.ThicknessMM.Quantity)
		b.addUpright(p, true, nil)
	}
	if s.Spreader != nil {
		b.spreader(l)
	}
}

// legLine is the centre line of a leg towards azimuth 0 (+y), and how the quantities move its two ends, each way of
// which is (y, z) in mm per mm.
type legLine struct {
	hip, foot r3.Vec
	ends      []endRate
	shortest  float64 // least length in the tolerance box, mm
}

type endRate struct {
	q         *Quantity
	hip, foot [2]float64
}

func newLegLine(s *Support, under, ground float64, hang, hangUnder []*Quantity) legLine {
	g := s.Legs
	l := legLine{foot: r3.Vec{Y: g.FootRadiusMM.Value, Z: ground}}
	l.ends = []endRate{
		{&g.HipRadiusMM.Quantity, [2]float64{1, 0}, [2]float64{}},
		{&g.FootRadiusMM.Quantity, [2]float64{}, [2]float64{1, 0}},
	}
	down := [2]float64{0, -1}
	if g.HipHeightMM.Set() {
		// The hips stand on the ground: whatever raises the crossing lowers both ends against it.
		l.hip = r3.Vec{Y: g.HipRadiusMM.Value, Z: ground + g.HipHeightMM.Value}
		l.ends = append(l.ends,
			endRate{&g.HipHeightMM.Quantity, [2]float64{0, 1}, [2]float64{}},
			endRate{&s.HeightMM.Quantity, down, down})
		for _, q := range hang {
			l.ends = append(l.ends, endRate{q, down, down})
		}
	} else {
		// The hips hang under the head: the support's height lowers the feet alone, the head's thickness the hips alone.
		l.hip = r3.Vec{Y: g.HipRadiusMM.Value, Z: under}
		l.ends = append(l.ends, endRate{&s.HeightMM.Quantity, [2]float64{}, down})
		for i, q := range hangUnder {
			if i < len(hang) {
				l.ends = append(l.ends, endRate{q, down, down})
			} else {
				l.ends = append(l.ends, endRate{q, down, [2]float64{}})
			}
		}
	}
	l.shortest = r3.Norm(r3.Sub(l.hip, l.foot))
	for _, e := range l.ends {
		l.shortest -= e.apart() * e.q.Tol
	}
	return l
}

// apart is how fast the two ends move against each other.
func (e endRate) apart() float64 { return math.Hypot(e.hip[0]-e.foot[0], e.hip[1]-e.foot[1]) }

// legs makes the legs: from the hips to the feet, ends square to the leg.
//
// A point of a leg is c + R·σ with c on the centre line and σ in the cross-section. A change moves c by no more than the
// faster of the two ends, and turns the section with the centre line by (speed of the ends against each other)/length, so
// that σ, no longer than the section's radius, moves by that much times its length.
func (b *assembler) legs(l legLine) {
	s := &b.r.Support
	g := s.Legs
	count := g.Count
	if count == 0 {
		count = 3
	}
	length := r3.Norm(r3.Sub(l.hip, l.foot))
	if !(l.shortest > 0) {
		b.fail("support.legs", "measure its ends better", "a leg from %g mm out at %g mm up to %g mm out on the ground is shorter than its tolerances", l.hip.Y, l.hip.Z-l.foot.Z, l.foot.Y)
		return
	}
	// The leg towards azimuth 0: z up along it, x tangential, y = z × x in the leg's upright plane.
	up := r3.Scale(1/length, r3.Sub(l.hip, l.foot))
	at := columns(xAxis, r3.Cross(up, xAxis), up, r3.Scale(0.5, r3.Add(l.hip, l.foot)))
	var north *piece
	radius := 0.0 // of the section, largest in the tolerance box
	switch g.Section {
	case Square:
		depth := &g.DepthMM.Quantity
		if !depth.Set() {
			depth = &g.WidthMM.Quantity
		}
		north = newPiece("", "support.legs", Ground, Box, g.WidthMM.Value, depth.Value, length).
			sized(&g.WidthMM.Quantity, depth)
		radius = math.Hypot(g.WidthMM.Value+g.WidthMM.Tol, depth.Value+depth.Tol) / 2
	case Round, "":
		north = newPiece("", "support.legs", Ground, Cylinder, g.WidthMM.Value, length).sized(&g.WidthMM.Quantity)
		radius = (g.WidthMM.Value + g.WidthMM.Tol) / 2
	default:
		b.fail("support.legs.section", "it is round or square", "there is no section %q", g.Section)
		return
	}
	for _, e := range l.ends {
		faster := math.Max(math.Hypot(e.hip[0], e.hip[1]), math.Hypot(e.foot[0], e.foot[1]))
		north.by(e.q, faster+radius*e.apart()/l.shortest)
	}
	north.moved(at)
	b.around("leg", north, count)
}

// around sets copies of a piece, which was built towards azimuth 0, to the azimuths of the legs.
func (b *assembler) around(name string, north *piece, count int) {
	g := b.r.Support.Legs
	az, withHead := g.FirstAzimuthDeg.Value, false
	if g.MeasuredFrom == PolarAxis {
		withHead = true
		az += math.Atan2(b.toPole.X, b.toPole.Y) / rad
	}
	// The azimuth turns the legs about the centre line, which is the z axis here.
	north.by(&g.FirstAzimuthDeg.Quantity, (north.reach(r3.Vec{}, zAxis)+north.slack)*rad)
	for i := range count {
		p := north.clone()
		p.part.Name = fmt.Sprintf("%s %d", name, i+1)
		p.moved(turnAbout(r3.Vec{}, zAxis, -(az+360*float64(i)/float64(count))*rad))
		b.addUpright(p, withHead, nil)
	}
}

// spreader makes the bars from the centre line out to the legs, at one height h: to R = foot + (hip − foot)·t at
// t = h/hip height. The bar's free end moves along itself by the derivative of R, and the bar as a whole up or down, so
// that a quantity that does both moves it by the hypotenuse. Slopes and t are taken at their largest in the box.
func (b *assembler) spreader(l legLine) {
	s := &b.r.Support
	sp, g := s.Spreader, s.Legs
	h, hipH := sp.HeightMM.Value, l.hip.Z-l.foot.Z
	if !(h > 0 && h < hipH) {
		b.fail("support.spreader.height_mm", fmt.Sprintf("it is between the ground and the hips at %g mm", hipH), "the spreader is at %g mm", h)
		return
	}
	slackHip, slackRadii := 0.0, g.HipRadiusMM.Tol+g.FootRadiusMM.Tol
	for _, e := range l.ends {
		slackHip += math.Abs(e.hip[1]-e.foot[1]) * e.q.Tol // of the hips' height above the ground
	}
	least := hipH - slackHip
	if !(least > h+sp.HeightMM.Tol) {
		b.fail("support.spreader.height_mm", "measure the two heights better", "the spreader at %g mm is within the tolerances of the hips at %g mm", h, hipH)
		return
	}
	slope := (math.Abs(l.hip.Y-l.foot.Y) + slackRadii) / least // |dR/dh|
	tMax := (h + sp.HeightMM.Tol) / least
	tMin := math.Max(0, (h-sp.HeightMM.Tol)/(hipH+slackHip))
	out := l.foot.Y + (l.hip.Y-l.foot.Y)*h/hipH

	p := newPiece("", "support.spreader", Ground, Cylinder, sp.WidthMM.Value, out).sized(&sp.WidthMM.Quantity)
	p.by(&sp.HeightMM.Quantity, math.Hypot(1, slope))
	for _, e := range l.ends {
		// Out by dR, up or down with the ground (the foot's own rate, as the bar's height is measured from the ground).
		dHip := math.Abs(e.hip[1] - e.foot[1])
		dR := math.Abs(e.hip[0])*tMax + math.Abs(e.foot[0])*(1-tMin) + dHip*slope*tMax
		p.by(e.q, math.Hypot(dR, e.foot[1]))
	}
	// z outwards (+y), x as it is, in the middle of the bar.
	p.moved(columns(xAxis, r3.Scale(-1, zAxis), yAxis, r3.Vec{Y: out / 2, Z: l.foot.Z + h}))
	count := g.Count
	if count == 0 {
		count = 3
	}
	b.around("spreader", p, count)
}

// leanChord bounds how far the lean takes a unit vector: 2·sin(λ/2) at the largest lean of the tolerance box.
func (b *assembler) leanChord() float64 {
	v := b.r.Support.Level
	if v == nil {
		return 0
	}
	return 2 * math.Sin(math.Min(180, math.Abs(v.LeanDeg.Value)+v.LeanDeg.Tol)/2*rad)
}

// addUpright closes a part of the support, built upright about the centre line, its origin at the crossing's height. withHead
// tells that it turns with the head about the centre line: round parts on it (a turn does not change them) and legs whose
// azimuth is measured from the polar axis.
//
// Against the crossing o (upright) a point stands at y − o, and after the lean R at R·(y − o).
//   - The offset of the crossing moves it by its own change.
//   - The lean turns it about a horizontal axis through the crossing: the distance from the crossing bounds the arm. Its
//     azimuth A gives ∂/∂A [R·w] = (ẑ − R·ẑ) × R·w, at most 2·sin(λ/2)·|w|.
//   - The head's azimuth: see byHead; for what turns with the head only the lean is turned against the head, as by A.
func (b *assembler) addUpright(p *piece, withHead bool, mass *Mass) {
	m := &b.r.Mount
	p.moved(shiftBy(r3.Vec{X: -b.upright.X, Y: -b.upright.Y})).along(&m.CrossingMM.OffsetMM.Quantity)
	if v := b.r.Support.Level; v != nil {
		arm := p.far(r3.Vec{})
		p.by(&v.LeanDeg.Quantity, (arm+p.slack)*rad)
		p.by(&v.AzimuthDeg.Quantity, b.leanChord()*(arm+p.slack)*rad)
		p.moved(b.lean)
	}
	if withHead {
		p.by(&m.PolarAxis.AzimuthErrorDeg.Quantity, b.leanChord()*(p.far(r3.Vec{})+p.slack)*rad)
	} else {
		b.byHeadAzimuth(p)
	}
	b.byHeadAltitude(p)
	b.add(p.moved(shiftBy(b.o)), "", mass)
}

// addObstacle closes a ground part that is fixed to the world, which the support's lean does not tilt. Against it the crossing
// moves by its heights and offset 1:1, and about the world's origin by the lean, at the arm |o| (with its slack), and by
// the lean's azimuth at 2·sin(λ/2)·|o|.
func (b *assembler) addObstacle(p *piece, condition string, mass *Mass) {
	s, m := &b.r.Support, &b.r.Mount
	p.along(b.crossingHeights()...).along(&m.CrossingMM.OffsetMM.Quantity)
	if v := s.Level; v != nil {
		arm := r3.Norm(b.upright) + m.CrossingMM.OffsetMM.Tol
		for _, q := range b.crossingHeights() {
			arm += q.Tol
		}
		p.by(&v.LeanDeg.Quantity, arm*rad)
		p.by(&v.AzimuthDeg.Quantity, b.leanChord()*arm*rad)
	}
	p.moved(shiftBy(r3.Scale(-1, b.o)))
	b.byHeadAzimuth(p)
	b.byHeadAltitude(p)
	b.add(p.moved(shiftBy(b.o)), condition, mass)
}

// byHeadAzimuth: seen from the head, f = T(ψ)·(x − o(ψ)) with T a turn about the vertical and o the crossing, whose offset
// turns with the head. |∂f/∂ψ| ≤ (distance of x from the vertical through the crossing) + |offset|. p is relative to the
// crossing.
func (b *assembler) byHeadAzimuth(p *piece) {
	m := &b.r.Mount
	off := &m.CrossingMM.OffsetMM
	p.by(&m.PolarAxis.AzimuthErrorDeg.Quantity, (p.reach(r3.Vec{}, zAxis)+p.slack+math.Abs(off.Value)+off.Tol)*rad)
}

// byHeadAltitude: a turn about the head's horizontal axis through the crossing, to which p is relative. The azimuth, the
// step before, is in the slack.
func (b *assembler) byHeadAltitude(p *piece) {
	p.by(&b.r.Mount.PolarAxis.AltitudeDeg.Quantity, (p.reach(r3.Vec{}, b.west)+p.slack)*rad)
}
