package rig

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// train makes the imaging train. In its own frame the stack grows along −z from the origin; at rotator angle 0 an item's x
// and y are the frame's.
//
//	back outlet: origin at station from_mm of the tube's axis; x, y, z are the tube's, so that the stack leads backwards
//	side outlet: origin start_mm from the tube's axis at station from_mm; z points back to the axis, x forward along the tube,
//	             y round it towards increasing side angle
//
// In both, seen from the train's far end towards the tube, a positive rotator angle turns clockwise. The side angle is 0
// away from the saddle (tube frame +x) and 90° at +y.
//
// toAxis places the tube's axis, carry are the quantities that move it 1:1.
func (b *assembler) train(t *Train, toAxis placing, carry []*Quantity) {
	// out carries a piece from the train's frame to the tube's axis, noting what moves it.
	out := func(p *piece) *piece {
		return p.moved(shiftBy(r3.Vec{Z: t.FromMM.Value})).along(&t.FromMM.Quantity)
	}
	switch t.Outlet {
	case Back, "":
	case Side:
		out = func(p *piece) *piece {
			// Out to the start at side angle 0 (x forward, y as the tube's y, z towards the axis), then about the tube's axis.
			p.moved(columns(zAxis, yAxis, r3.Scale(-1, xAxis), r3.Vec{X: t.StartMM.Value})).along(&t.StartMM.Quantity)
			p.turned(r3.Vec{}, zAxis, &t.SideAngleDeg.Quantity)
			return p.moved(shiftBy(r3.Vec{Z: t.FromMM.Value})).along(&t.FromMM.Quantity)
		}
	default:
		b.fail("tube.train.outlet", "it is back or side", "there is no outlet %q", t.Outlet)
		return
	}
	end := 0.0             // of the stack so far
	var before []*Quantity // lengths, and travels, of the items so far
	racked := 0.0          // how much further out it may be, by the focuser's travel
	for i := range t.Items {
		it := &t.Items[i]
		s := span{from: end, to: end + it.LengthMM.Value}
		if it.Beside {
			s = span{from: end - it.LengthMM.Value, to: end}
		}
		// Each length before moves both ends, its own one end: 1:1 either way.
		s.by = append(before[:len(before):len(before)], &it.LengthMM.Quantity)
		if it.TravelMM.Value > 0 && b.c[FocuserTravel] != HoldsNot {
			racked += it.TravelMM.Value
			s.by = append(s.by, &it.TravelMM.Quantity)
		}
		s.to += racked // swept outwards along the axis: the hull of both ends of the travel, exactly
		if !it.Beside {
			end += it.LengthMM.Value
			before = s.by
		} else if it.TravelMM.Value > 0 {
			b.fail(fmt.Sprintf("tube.train.items[%d].travel_mm", i), "give the travel to the focuser", "%s sits beside the train, so that its travel moves nothing", it.Name)
			return
		}
		mass := &it.MassKg
		for _, p := range b.cover(it, fmt.Sprintf("tube.train.items[%d]", i), &t.Rotator, s) {
			p.part.TravelMM = racked
			b.addTube(out(p).moved(toAxis).along(carry...), it.Condition, mass)
			mass = nil // the first of several covers has it all
			if p.part.Name != it.Name {
				b.item[p.part.Name] = it.Name
			}
		}
	}
}

// span is what an item takes up along the train, outwards, and the quantities that move an end of it, 1:1.
type span struct {
	from, to float64
	by       []*Quantity
}

// sweep returns the middle and half width of the angles that the rotator may take, degrees.
func (r *Rotator) sweep() (mid, half float64, ok bool) {
	if r.SweepFromDeg == nil || r.SweepToDeg == nil {
		return 0, 0, false
	}
	from, to := *r.SweepFromDeg, *r.SweepToDeg
	for to < from { // by way of 360°
		to += 360
	}
	return (from + to) / 2, (to - from) / 2, true
}

// coverDeg is how far a rotator turns an item inside one of the shapes that cover its sweep.
const coverDeg = 30

// cover returns the shapes that hold an item, in the train's frame: one as measured, or several that together hold it at
// every angle of the rotator's sweep.
func (b *assembler) cover(it *Item, from string, r *Rotator, s span) []*piece {
	along := func(p *piece) *piece {
		return p.moved(shiftBy(r3.Vec{Z: -(s.from + s.to) / 2})).along(s.by...)
	}
	size, ok := it.section()
	if !ok {
		b.fail(from+".section", "it is round or square", "there is no section %q", it.Section)
		return nil
	}
	offset := r3.Vec{X: it.OffsetXMM.Value, Y: it.OffsetYMM.Value}
	off := math.Hypot(offset.X, offset.Y)
	shape := func(name string, size ...float64) *piece {
		size = append(size, s.to-s.from)
		if len(size) == 3 {
			return newPiece(name, from, TubeFrame, Box, size...)
		}
		return newPiece(name, from, TubeFrame, Cylinder, size...)
	}
	widths := []*Quantity{&it.DiameterMM.Quantity}
	if len(size) == 2 {
		widths = []*Quantity{&it.WidthMM.Quantity, &it.HeightMM.Quantity}
	}
	offsets := []*Quantity{&it.OffsetXMM.Quantity, &it.OffsetYMM.Quantity}
	centred := len(size) == 1 && off == 0 && it.OffsetXMM.Tol == 0 && it.OffsetYMM.Tol == 0

	mid, half, sweeps := r.sweep()
	switch {
	case !it.Turns || centred || !sweeps || b.c[RotatorSweep] == HoldsNot:
		p := shape(it.Name, size...).sized(widths...).moved(shiftBy(offset)).along(offsets...)
		if it.Turns && len(size) == 2 {
			p.turned(r3.Vec{}, zAxis, &r.AngleDeg.Quantity)
		} else if it.Turns {
			// Round and parallel to the rotator's axis: the angle carries its own axis along an arc of the offset's radius.
			p.by(&r.AngleDeg.Quantity, math.Hypot(math.Abs(offset.X)+it.OffsetXMM.Tol, math.Abs(offset.Y)+it.OffsetYMM.Tol)*rad)
			p.moved(turnAbout(r3.Vec{}, zAxis, r.AngleDeg.Value*rad))
		}
		return []*piece{along(p)}

	case half >= 90:
		// Half a turn or more: the round about the axis through the farthest point, R = √(x² + y²) out (of a round item: of its
		// centre, and its radius more). ∂R/∂x = x/R, at most at the largest x and the least y of the tolerance box.
		ox, oy := &it.OffsetXMM.Quantity, &it.OffsetYMM.Quantity
		x, y, tx, ty := math.Abs(offset.X), math.Abs(offset.Y), ox.Tol, oy.Tol
		if len(size) == 2 {
			x, y = x+size[0]/2, y+size[1]/2
			tx, ty = tx+it.WidthMM.Tol/2, ty+it.HeightMM.Tol/2
		}
		byX := (x + tx) / math.Hypot(x+tx, math.Max(0, y-ty))
		byY := (y + ty) / math.Hypot(y+ty, math.Max(0, x-tx))
		reach := math.Hypot(x, y)
		if len(size) == 1 {
			reach += size[0] / 2
		}
		p := shape(it.Name, 2*reach)
		if len(size) == 1 {
			p.sized(&it.DiameterMM.Quantity)
		} else {
			p.by(&it.WidthMM.Quantity, byX/2)
			p.by(&it.HeightMM.Quantity, byY/2)
		}
		p.by(ox, byX)
		p.by(oy, byY)
		p.part.Swept = true
		return []*piece{along(p)}
	}
	n := math.Max(1, math.Ceil(2*half/coverDeg))
	α := half / n * rad
	var out []*piece
	for k := range int(n) {
		deg := mid - half + (2*float64(k)+1)*half/n
		name := it.Name
		if n > 1 {
			name = fmt.Sprintf("%s at %.4g°", it.Name, deg)
		}
		var p *piece
		if len(size) == 1 {
			// Its centre strays from the middle one by a chord, at most 2·off·sin(α/2): a round that much thicker.
			chord := 2 * math.Sin(α/2)
			p = shape(name, size[0]+2*off*chord).sized(widths...).moved(shiftBy(offset))
			for _, q := range offsets {
				p.by(q, 1+chord)
			}
		} else {
			// The rectangle round the arcs of its four corners. A width moves a corner by half of its change and so each of
			// the rectangle's sides by no more, and a corner of that by √2 of it; an offset likewise by all of it.
			lo, hi := cornerArcs(offset, size[0]/2, size[1]/2, α)
			p = shape(name, hi.X-lo.X, hi.Y-lo.Y).moved(shiftBy(r3.Scale(0.5, r3.Add(lo, hi))))
			for _, q := range widths {
				p.by(q, math.Sqrt2/2)
			}
			for _, q := range offsets {
				p.by(q, math.Sqrt2)
			}
		}
		p.part.Swept = true
		out = append(out, along(p.moved(turnAbout(r3.Vec{}, zAxis, deg*rad))))
	}
	return out
}

// section returns an item's widths: one for a round, two for a square one.
func (it *Item) section() ([]float64, bool) {
	switch it.Section {
	case Round, "":
		return []float64{it.DiameterMM.Value}, true
	case Square:
		return []float64{it.WidthMM.Value, it.HeightMM.Value}, true
	}
	return nil, false
}

// cornerArcs returns the bounds of a rectangle of half widths w, h at an offset when it turns about the origin by ±α.
func cornerArcs(offset r3.Vec, w, h, α float64) (lo, hi r3.Vec) {
	most := func(mid float64) float64 { // greatest cosine within α of mid
		return math.Cos(math.Max(0, math.Abs(math.Remainder(mid, 2*math.Pi))-α))
	}
	lo, hi = r3.Vec{X: math.Inf(1), Y: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, c := range [4][2]float64{{w, h}, {-w, h}, {-w, -h}, {w, -h}} {
		x, y := offset.X+c[0], offset.Y+c[1]
		ρ, ψ := math.Hypot(x, y), math.Atan2(y, x)
		hi.X = math.Max(hi.X, ρ*most(ψ))
		lo.X = math.Min(lo.X, -ρ*most(ψ+math.Pi))
		hi.Y = math.Max(hi.Y, ρ*most(ψ-math.Pi/2))
		lo.Y = math.Min(lo.Y, -ρ*most(ψ+math.Pi/2))
	}
	return lo, hi
}
