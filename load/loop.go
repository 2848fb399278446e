package load

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/solid"
)

// Loop is what a length of cable between two ties may get caught on as the axes turn. Of a curve of length ℓ between A and B two things
// are known:
//
//   - However it lies, |XA| + |XB| ≤ ℓ for each of its points X: they lie in an ellipsoid with the ties as foci.
//   - Hanging still and free, its weight is all that pulls on it besides the ties. Then it lies in the vertical plane of A and B, between
//     the plumb lines through them, below the straight line from one to the other, and in the ellipsoid, however its weight is spread
//     along it.
//
// The second is cut into boxes upright in that plane (see strips), which hold any cable of that length or less.
//
// A loop is no part of the room map: it is no solid of one frame, and most lie on something by construction. It does not stop a mount.
type Loop struct {
	LengthMM float64 // the most cable between the ties, over all used poses
	Below    Reach   // how far its lowest point is below the lower tie, at most
	// Parts are all parts but those that hold the ties and those that move with both: first what it may touch, then what is nearest.
	Parts []Near
}

// Touch says whether a loop may touch a part.
type Touch string

const (
	MayTouch Touch = "may touch"    // hanging still, it is not proven to stay clear
	Clear    Touch = "clear"        // hanging still, it does not touch it in any used pose
	NoReach  Touch = "out of reach" // it cannot touch it in any used pose, however it lies
)

// Near is how near a loop may come to a part.
type Near struct {
	Part string
	Touch
	Gap Reach // the least over all used poses: hanging still, found, and proven to be no less; of NoReach however it lies. 0 when it touches
}

// cableRadius is what a cable is thick on each side of its middle, mm, at most.
const cableRadius = 5.0

// hang is a cable that hangs between two ties.
type hang struct {
	a, b    r3.Vec // the ties
	along   r3.Vec // horizontal, unit, from a towards b
	w, rise float64
	length  float64 // of the cable, no less than |ab|
	lowest  float64 // of the ellipse, height from a
	at      float64 // and there along
}

// newHang is a cable of a length, or the straight one where that is too short. Over the horizontal w and with s = √(ℓ² − w²), the
// ellipse's lowest point is (s − rise)/2 below a: a bead on the cable would slide there, to where both halves are as steep.
func newHang(a, b r3.Vec, length float64) hang {
	d := r3.Sub(b, a)
	h := hang{a: a, b: b, w: math.Hypot(d.X, d.Y), rise: d.Z, length: math.Max(length, r3.Norm(d)), along: r3.Vec{X: 1}}
	if h.w > 0 {
		h.along = r3.Vec{X: d.X / h.w, Y: d.Y / h.w}
	}
	s := math.Max(math.Sqrt(math.Max(0, (h.length-h.w)*(h.length+h.w))), math.Abs(h.rise))
	h.lowest = -(s - h.rise) / 2
	if s > 0 {
		h.at = -h.lowest / s * h.w
	}
	return h
}

// sag is how far the lowest point of the ellipse is below the lower tie, for ties of which one is so much higher than the other, and
// slack = ℓ² − d² with d the distance of the ties.
func sag(rise, slack float64) float64 {
	return (math.Sqrt(rise*rise+math.Max(0, slack)) - math.Abs(rise)) / 2
}

// bottom is the height of the ellipse's lower half from a, x along. With c = (ℓ² − d²)/2ℓ + x·w/ℓ + z·rise/ℓ the distance from a, by
// |XB|² = (ℓ − |XA|)²: a quadratic in z. Where the plane is so narrow that it is nearly degenerate, its lowest point has to do.
func (h *hang) bottom(x float64) float64 {
	ℓ := h.length
	if h.w < ℓ/1000 {
		return h.lowest
	}
	u := h.rise / ℓ
	steep := (ℓ - h.rise) * (ℓ + h.rise) / (ℓ * ℓ) // 1 − u²
	c := ((ℓ-h.w)*(ℓ+h.w)-h.rise*h.rise)/(2*ℓ) + x*h.w/ℓ
	z := (u*c - math.Sqrt(math.Max(0, c*c-steep*x*x))) / steep
	return math.Max(h.lowest, z)
}

// mostStrips and stripMM say into how many boxes a loop is cut: each holds a corner that the loop does not have.
const (
	mostStrips = 8
	stripMM    = 40.0
)

// strips calls f for each box of the shape, grown by r to every side. The lower half is convex, so that over a strip it is lowest at an
// end, or at its lowest point.
func (h *hang) strips(r float64, f func(*solid.Placed)) {
	n := min(mostStrips, 1+int(h.w/stripMM))
	up := r3.Vec{Z: 1}
	side := r3.Cross(up, h.along)
	turn := [9]float64{h.along.X, side.X, 0, h.along.Y, side.Y, 0, 0, 0, 1}
	const slop = 1e-3 // rounding, mm
	for k := range n {
		from, to := h.w*float64(k)/float64(n), h.w*float64(k+1)/float64(n)
		low := math.Min(h.bottom(from), h.bottom(to))
		if from <= h.at && h.at <= to {
			low = h.lowest
		}
		top := math.Max(h.rise*float64(k)/float64(n), h.rise*float64(k+1)/float64(n))
		at := r3.Add(h.a, r3.Add(r3.Scale((from+to)/2, h.along), r3.Scale((low+top)/2, up)))
		box, err := solid.NewBox(to-from+2*r+slop, 2*r+slop, top-low+2*r+slop)
		if err != nil {
			panic("load: " + err.Error()) // sizes are between r and the greatest cable
		}
		placed := box.At(solid.Pose{R: turn, T: at})
		f(&placed)
	}
}

// loose is one span of a cable with what bounds the loop in it.
type loose struct {
	l      *Load
	ends   []hold
	others [][]hold // the other spans, whose straight lines most is less than by at each pose
	most   float64
}

// moves bounds how far a hold moves while each axis turns by up to h, mm.
func (a *hold) moves(h float64) float64 { return h * (a.byRA + a.byDec) }

// at gives the loop at a pose, and one that holds every loop within h of it once it is grown by grow: for such a loop with ties A′, B′,
// and X′ on it so far below its straight line at share t of that, take Y as far below the line from A to B at the same share. Then
// |YA − X′A′| ≤ t·m and |YB − X′B′| ≤ (1 − t)·m, where m is how much B − A changes: so Y is in the shape of a cable longer by m, and
// |X′Y| is no more than the ties move.
func (s *loose) at(g axes.Angles, h float64) (now, outer hang, grow float64) {
	var at places
	at.polar, at.arm, at.tube = s.l.Model.Frames(g)
	exact, more := s.left(&at, h)
	a, b := &s.ends[0], &s.ends[1]
	x, y := at.of(a), at.of(b)
	now = newHang(x, y, exact)
	m := s.turns(h)
	// A loop that is taut somewhere within h is as long as its straight line there.
	outer = newHang(x, y, math.Max(more, r3.Norm(r3.Sub(y, x))+m)+m)
	return now, outer, math.Max(a.moves(h), b.moves(h))
}

// left is how much cable the other spans leave, and the most that they do within h.
func (s *loose) left(at *places, h float64) (exact, most float64) {
	exact, most = s.most, s.most
	for _, o := range s.others {
		d, least, _ := s.l.distance(&o[0], &o[1], at, h)
		exact, most = exact-d, most-least
	}
	return exact, most
}

// turns bounds how much the vector from one tie to the other changes within h.
func (s *loose) turns(h float64) float64 {
	a, b := &s.ends[0], &s.ends[1]
	m := a.moves(h) + b.moves(h)
	if a.frame == b.frame { // it turns, and does not change otherwise
		d := newHold("", a.frame, r3.Sub(b.at, a.at))
		m = math.Min(m, d.moves(h))
	}
	return m
}

// size gives the loop's length and sag at a pose, and the most of each within h of it. Of the ties' distance it knows more than of
// their places: two that turn together stay as far apart.
func (s *loose) size(g axes.Angles, h float64) (length, longest, sags, deepest float64) {
	var at places
	at.polar, at.arm, at.tube = s.l.Model.Frames(g)
	exact, more := s.left(&at, h)
	a, b := &s.ends[0], &s.ends[1]
	d, least, most := s.l.distance(a, b, &at, h)
	rise, least := at.of(b).Z-at.of(a).Z, math.Max(0, least)
	length, longest = math.Max(exact, d), math.Max(more, most)
	sags = sag(rise, (length-d)*(length+d))
	// Where the loop is taut it does not sag at all, so that the cable to spare is that of the one that is not.
	more = math.Max(more, least)
	return length, longest, sags, sag(math.Max(0, math.Abs(rise)-s.turns(h)), (more-least)*(more+least))
}

// partMoves bounds how far a part moves while each axis turns by up to h, mm.
func partMoves(p *axes.Part, h float64) float64 {
	switch p.Frame {
	case rig.Arm:
		return h * p.FromPolarAxis
	case rig.TubeFrame:
		return h * (p.FromPolarAxis + p.FromDecAxis)
	}
	return 0
}

// hanging is the gap of a shape and a placed part: a lower bound of it, 0 when they may touch.
func (h *hang) hanging(part *solid.Placed) float64 {
	least := math.Inf(1)
	h.strips(cableRadius, func(box *solid.Placed) {
		if least > 0 {
			least = math.Min(least, solid.Bracket(box, part, 0, least, 0.1, r3.Vec{}).Lower)
		}
	})
	return math.Max(0, least)
}

// anyhow is a lower bound of the gap of the ellipsoid and a placed part, 0 when they may touch. Its points are no farther from the
// straight line than √(ℓ² − d²)/2; and |XA| + |XB| grows by no more than twice what X moves.
func (h *hang) anyhow(part *solid.Placed) float64 {
	d := r3.Norm(r3.Sub(h.b, h.a))
	ball, err := solid.NewSphere(2 * cableRadius)
	if err != nil {
		panic("load: " + err.Error())
	}
	gap := func(at r3.Vec) float64 {
		p := ball.At(solid.Pose{R: solid.Identity().R, T: at})
		return math.Max(-cableRadius, solid.Bracket(&p, part, 0, math.Inf(1), 0.1, r3.Vec{}).Lower)
	}
	foci := (gap(h.a)+gap(h.b)+2*cableRadius-h.length)/2 - cableRadius
	if d < 1 {
		return math.Max(0, foci)
	}
	rod, err := solid.NewCapsule(2*cableRadius, d)
	if err != nil {
		panic("load: " + err.Error())
	}
	line := rod.At(solid.Pose{R: along(r3.Scale(1/d, r3.Sub(h.b, h.a))), T: r3.Scale(0.5, r3.Add(h.a, h.b))})
	beside := solid.Bracket(&line, part, 0, math.Inf(1), 0.1, r3.Vec{}).Lower - math.Sqrt(math.Max(0, (h.length-d)*(h.length+d)))/2
	return math.Max(0, math.Max(foci, beside))
}

// along is a turn that takes z to a unit vector.
func along(z r3.Vec) [9]float64 {
	other := r3.Vec{X: 1}
	if math.Abs(z.X) > 0.7 {
		other = r3.Vec{Y: 1}
	}
	x := r3.Unit(r3.Cross(other, z))
	y := r3.Cross(z, x)
	return [9]float64{x.X, y.X, z.X, x.Y, y.Y, z.Y, x.Z, y.Z, z.Z}
}

// Loops looks at what hangs of each span of cables that Cables has looked at, over the same poses.
//
// How much cable is between two ties the document does not say: Left is what the span is told to be left, held fast; Loose is all that
// the straight rest of the cable leaves it at each pose, its tolerance added, which no way to tie it exceeds. It calls progress with the
// share of the work that is done.
func (l *Load) Loops(ctx context.Context, p *Poses, cables []Cable, progress func(done float64)) error {
	loops, done := 0, 0
	for i := range cables {
		loops += 2 * len(cables[i].Spans)
	}
	step := func() {
		done++
		progress(float64(done) / float64(loops))
	}
	for i := range cables {
		holds, err := l.holds(i)
		if err != nil {
			return err
		}
		k := &l.Model.Rig.Cables[i].LengthMM
		for j := range cables[i].Spans {
			span := &cables[i].Spans[j]
			s := &loose{l: l, ends: holds[j : j+2], most: k.Value + k.Tol}
			for n := 1; n < len(holds); n++ {
				if n != j+1 {
					s.others = append(s.others, holds[n-1:n+1])
				}
			}
			if span.Loose, err = s.loop(ctx, p, nil); err != nil {
				return err
			}
			step()
			s.others, s.most = nil, math.Ceil(span.Longest.BoundMM)
			beyond := span.Loose
			if s.most > beyond.LengthMM {
				beyond = nil // the cable is too short to be left so
			}
			if span.Left, err = s.loop(ctx, p, beyond); err != nil {
				return err
			}
			step()
		}
	}
	return nil
}

// loop answers for one span. What a longer one there cannot reach, this one cannot.
func (s *loose) loop(ctx context.Context, p *Poses, longer *Loop) (*Loop, error) {
	most := func(f func(g axes.Angles, h float64) (value, bound float64)) (Reach, error) {
		e, err := p.leastTo(ctx, deepest, relative(0.02, 5), func(g axes.Angles, h float64) (float64, float64) {
			value, bound := f(g, h)
			return -value, -bound
		})
		if err == nil && !e.Any {
			err = ErrNoPose
		}
		return Reach{At: e.At, ValueMM: -e.Value, BoundMM: -e.Bound}, err
	}
	out := &Loop{}
	long, err := most(func(g axes.Angles, h float64) (float64, float64) {
		length, longest, _, _ := s.size(g, h)
		return length, longest
	})
	if err != nil {
		return nil, err
	}
	out.LengthMM = long.BoundMM
	out.Below, err = most(func(g axes.Angles, h float64) (float64, float64) {
		_, _, sags, deepest := s.size(g, h)
		return sags, deepest
	})
	if err != nil {
		return nil, err
	}
	beyond := map[string]Near{}
	if longer != nil {
		for _, n := range longer.Parts {
			if n.Touch == NoReach {
				beyond[n.Part] = n
			}
		}
	}
	parts := s.l.Model.Parts
	near, errs := make([]Near, len(parts)), make([]error, len(parts))
	room.InParallel(len(parts), func(i int) {
		n, known := beyond[parts[i].Name]
		if !known && !s.holds(i) {
			n, errs[i] = s.near(ctx, p, i)
		}
		near[i] = n
	})
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	out.Parts = slices.DeleteFunc(near, func(n Near) bool { return n.Part == "" })
	order := []Touch{MayTouch, Clear, NoReach}
	slices.SortStableFunc(out.Parts, func(a, b Near) int {
		return cmp.Or(cmp.Compare(slices.Index(order, a.Touch), slices.Index(order, b.Touch)), cmp.Compare(a.Gap.BoundMM, b.Gap.BoundMM))
	})
	return out, nil
}

// holds tells whether part i holds a tie, or moves with both: such a part it may lie on, and is not caught on.
func (s *loose) holds(i int) bool {
	part := &s.l.Model.Parts[i]
	if part.Name == s.ends[0].part || part.Name == s.ends[1].part {
		return true
	}
	still := func(f rig.Frame) rig.Frame {
		if f == rig.Polar {
			return rig.Ground
		}
		return f
	}
	return still(part.Frame) == still(s.ends[0].frame) && still(part.Frame) == still(s.ends[1].frame)
}

// gapTol is how closely the least gap of a loop is looked for, and deepest the level of the smallest cells: 0.18° half width, over which
// a tie a metre out moves 3 mm. What is undecided there may touch.
const deepest = 10

var gapTol = relative(0.1, 5)

// near looks for the least gap of the loop and part i.
func (s *loose) near(ctx context.Context, p *Poses, i int) (Near, error) {
	part := &s.l.Model.Parts[i]
	least := func(tol func(float64) float64, gap func(*hang, *solid.Placed) float64) (Reach, error) {
		e, err := p.leastTo(ctx, deepest, tol, func(g axes.Angles, h float64) (value, bound float64) {
			placed := part.Solid.At(s.l.Model.PartPose(i, g))
			now, outer, grow := s.at(g, h)
			bound = math.Max(0, gap(&outer, &placed)-grow-partMoves(part, h))
			return gap(&now, &placed), bound
		})
		return Reach{At: e.At, ValueMM: e.Value, BoundMM: e.Bound}, err
	}
	n := Near{Part: part.Name, Touch: NoReach}
	var err error
	if n.Gap, err = least(relative(0.5, 5), (*hang).anyhow); err != nil || n.Gap.BoundMM > 0 {
		return n, err
	}
	n.Touch = Clear
	if n.Gap, err = least(gapTol, (*hang).hanging); err == nil && n.Gap.BoundMM <= 0 {
		n.Touch = MayTouch
	}
	return n, err
}
