package load

import (
	"context"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// ErrNoMass says that nothing of the rig has a mass, so that nothing can be said of its weight.
var ErrNoMass = errors.New("no part has a mass")

// ErrNoPose says that no pose is used, so that there is nothing to look at.
var ErrNoPose = errors.New("no pose at these declinations is above the horizon and proven free")

var errRow = errors.New("the feet are in a row: nothing stands on them")

// Tipping says what would tip the rig over an edge of its feet's polygon: weight × the distance of the centre of mass inside of the
// edge, seen from above, against a horizontal force × its height (statics of a rigid body).
//
// It leaves out what makes a rig fall sooner: ground and feet that give, an extension or legs that bend, cables that pull, gusts and
// the swing that they start, a pull that jerks; and one part sheltering another, which makes it fall later.
//
// What stands still and has no mass only adds to the moments that hold the rig, whatever it weighs, unless it stands beyond the feet:
// then it could tip it, and no bound below is one. Nor is one while something that turns has no mass.
type Tipping struct {
	Missing  []string // what has no mass in the document: it counted nothing
	Beyond   []string // those of Missing that stand still beyond the feet
	Anchored bool     // the document says that it is held down: then there are no edges below
	MassKg   float64

	Distance Edge // the centre of mass comes nearest to an edge
	Moment   Edge // the least moment that tips it
	Push     Edge // the least horizontal push, at the highest point of the rig
	Wind     Edge // the least wind
}

// Edge is the worst over all used poses.
type Edge struct {
	Value, Bound float64 // found at the pose At, and proven for all: mm, N·m, N or m/s
	At           axes.Angles
	Over         string  // the two feet
	TowardsDeg   float64 // where it would fall, or the wind blows to: azimuth clockwise from true north
	HeightMM     float64 // of the push above the edge, or of the middle of the wind's force; 0 for the others
}

// Wanted is what a rig is meant to stand.
type Wanted struct{ PushN, WindMS float64 }

// Remedy is what would let a rig stand what it is meant to: either of the two, alone. Both 0 when it stands it already.
type Remedy struct {
	// BallastKg hung or laid on the centre line, as low as can be.
	BallastKg float64
	// SpreadMM is how much further out the feet would have to stand, at the same height.
	SpreadMM float64
}

// windStep is how finely the wind's direction is looked at, radians. Between two, the drag areas and the arm are bounded by how
// fast they can change.
const windStep = 2 * math.Pi / 180

// stance is the rig at one pose, ready for questions about one edge.
type stance struct {
	centre r3.Vec
	top    float64 // height of its highest point, world
	areas  []windArea
}

// windArea is what a wind of one direction finds.
type windArea struct {
	to     r3.Vec
	area   float64 // Σ drag area, mm²
	moment float64 // Σ drag area × height, mm³, world
}

// tipper looks at poses.
type tipper struct {
	l     *Load
	edges []edge
	parts []sailing
	winds []r3.Vec // windStep apart, half of a turn
	low   float64  // the height that moments of the wind are about, world: the least of an edge, until settle takes another

	stillExact, stillOuter stance // what the parts add that no axis moves
}

// sailing is a part of the rig in the wind.
type sailing struct {
	part *axes.Part
	sail sail
	at   solid.Pose // of ground and polar parts, world
	top  float64    // and their highest points
	// How fast it moves and turns a radian of each axis.
	raMM, decMM, ra, dec float64
}

func (l *Load) newTipper() *tipper {
	t := &tipper{l: l, edges: polygon(l.feet)}
	polar, _, _ := l.Model.Frames(axes.Angles{})
	for i := range l.Model.Parts {
		p := &l.Model.Parts[i]
		if !p.Rig.OnSupport() {
			continue
		}
		s := sailing{part: p, sail: sailOf(p.Rig), at: p.Place}
		switch p.Frame {
		case rig.Polar:
			s.at = polar.Mul(p.Place)
		case rig.Arm:
			s.raMM, s.ra = p.FromPolarAxis, 1
		case rig.TubeFrame:
			s.raMM, s.decMM, s.ra, s.dec = p.FromCrossing, p.FromDecAxis, 1, 1
		}
		placed := p.Solid.At(s.at)
		s.top = placed.Extent(r3.Vec{Z: 1})
		t.parts = append(t.parts, s)
	}
	const n = 90 // half a turn: a wind and the opposite one find the same areas
	for k := range n {
		s, c := math.Sincos(float64(k) * windStep)
		t.winds = append(t.winds, r3.Vec{X: s, Y: c})
	}
	low := math.Inf(1)
	for i := range t.edges {
		low = math.Min(low, t.edges[i].height)
	}
	t.settle(low)
	return t
}

// settle takes a height for the wind's moments, and sums up what does not move; it is due whenever parts have been taken out.
func (t *tipper) settle(low float64) {
	t.low = low
	t.stillExact, t.stillOuter = t.none(), t.none()
	for i := range t.parts {
		if s := &t.parts[i]; s.still() {
			t.add(&t.stillExact, &t.stillOuter, s, &s.at, s.top, 0)
		}
	}
}

func (s *sailing) still() bool { return s.part.Frame != rig.Arm && s.part.Frame != rig.TubeFrame }

func (t *tipper) none() stance {
	none := stance{top: math.Inf(-1), areas: make([]windArea, len(t.winds))}
	for k, w := range t.winds {
		none.areas[k].to = w
	}
	return none
}

// place returns where a part stands at a pose, and its highest point.
func (s *sailing) place(arm, tube *solid.Pose) (at solid.Pose, top float64) {
	switch s.part.Frame {
	case rig.Arm:
		at = arm.Mul(s.part.Place)
	case rig.TubeFrame:
		at = tube.Mul(s.part.Place)
	default:
		return s.at, s.top
	}
	var placed solid.Placed
	s.part.Solid.Put(&at, &placed)
	return at, placed.Extent(r3.Vec{Z: 1})
}

// at looks at a pose and, with h above 0, bounds what may be within h of it on each axis: the highest top, and, where the wind is asked
// for, drag areas and their moments about the height low, which are no less than any there and in winds within half a step.
func (t *tipper) at(g axes.Angles, h float64, wind bool) (exact, outer stance) {
	_, arm, tube := t.l.Model.Frames(g)
	exact, outer = stance{top: t.stillExact.top}, stance{top: t.stillOuter.top}
	if wind {
		exact.areas, outer.areas = slices.Clone(t.stillExact.areas), slices.Clone(t.stillOuter.areas)
	}
	exact.centre = t.l.Centre(g)
	for i := range t.parts {
		if s := &t.parts[i]; !s.still() {
			at, top := s.place(&arm, &tube)
			t.add(&exact, &outer, s, &at, top, h)
		}
	}
	return exact, outer
}

// add adds a part that stands at a pose, its highest point at top.
func (t *tipper) add(exact, outer *stance, s *sailing, at *solid.Pose, top, h float64) {
	moves := h * (s.raMM + s.decMM)
	exact.top, outer.top = math.Max(exact.top, top), math.Max(outer.top, top+moves)
	if exact.areas == nil {
		return
	}
	z := at.T.Z - t.low
	turns := h*(s.ra+s.dec) + windStep/2
	for k := range exact.areas {
		e, o := &exact.areas[k], &outer.areas[k]
		a := s.sail.dragArea(at, e.to)
		b := min(s.sail.greatest, a+turns*s.sail.steepest)
		e.area += a
		e.moment += a * z
		o.area += b
		o.moment += b * max(0, z+moves)
	}
}

// Tipping looks for the worst over the used poses; for a support that is anchored there is nothing to look for. With nothing that
// has a mass it is ErrNoMass, and ErrNoPose without a pose.
func (l *Load) Tipping(ctx context.Context, p *Poses) (Tipping, error) {
	t := Tipping{Missing: l.Missing, Anchored: l.Model.Rig.Support.Anchored == "yes", MassKg: l.MassKg()}
	if t.Anchored {
		return t, nil
	}
	if t.MassKg == 0 {
		return t, ErrNoMass
	}
	k := l.newTipper()
	if len(k.edges) == 0 {
		return t, errRow
	}
	for _, q := range []struct {
		to   *Edge
		tol  func(float64) float64
		kind what
	}{
		{&t.Distance, func(float64) float64 { return 0.5 }, distance},
		{&t.Push, relative(0.01, 0.1), push},
		{&t.Wind, relative(0.06, 0.1), wind},
	} {
		e, err := p.least(ctx, q.tol, func(g axes.Angles, h float64) (float64, float64) {
			now, bound := k.tips(g, h, q.kind)
			return now.Value, bound
		})
		if err != nil {
			return t, err
		}
		if !e.Any {
			return t, ErrNoPose
		}
		found, _ := k.tips(e.At, 0, q.kind)
		found.At, found.Bound = e.At, e.Bound
		*q.to = found
	}
	t.Moment = t.Distance
	t.Moment.Value = nm(t.MassKg * t.Distance.Value)
	t.Moment.Bound = nm(t.MassKg * t.Distance.Bound)
	for _, u := range l.still { // a mass there draws the centre of mass towards itself, and no further
		d := math.Inf(1)
		for i := range k.edges {
			d = math.Min(d, k.edges[i].inside(u.at))
		}
		if d < 0 {
			t.Beyond = append(t.Beyond, u.name)
		}
		t.Distance.Bound = math.Min(t.Distance.Bound, d)
	}
	return t, nil
}

// relative is a tolerance that is a share of what was found, and no less than least.
func relative(share, least float64) func(float64) float64 {
	return func(x float64) float64 { return math.Max(least, share*math.Abs(x)) }
}

// Stand is how a rig stands at one pose.
type Stand struct {
	Centre               r3.Vec // of mass, world, mm
	Distance, Push, Wind Edge   // as in Tipping; Bound is the value itself
}

// Stands says how the rig stands at each of some poses.
func (l *Load) Stands(poses []axes.Angles) ([]Stand, error) {
	k := l.newTipper()
	switch {
	case l.MassKg() == 0:
		return nil, ErrNoMass
	case len(k.edges) == 0:
		return nil, errRow
	}
	out := make([]Stand, len(poses))
	for i, g := range poses {
		out[i].Centre = l.Centre(g)
		for kind, e := range map[what]*Edge{distance: &out[i].Distance, push: &out[i].Push, wind: &out[i].Wind} {
			*e, _ = k.tips(g, 0, kind)
			e.At, e.Bound = g, e.Value
		}
	}
	return out, nil
}

// what is asked of a stance.
type what int

const (
	distance what = iota
	push
	wind
)

// tips returns the least of a kind over the edges at a pose, and what bounds it from below within h of it.
func (t *tipper) tips(g axes.Angles, h float64, kind what) (Edge, float64) {
	best, bound := Edge{Value: math.Inf(1)}, math.Inf(1)
	weight := t.l.MassKg() * Gravity
	strays := t.l.centreMoves(h, h)
	var exact, outer stance
	if kind == distance {
		exact.centre = t.l.Centre(g) // what else there is at the pose does not count
	} else {
		exact, outer = t.at(g, h, kind == wind)
	}
	for i := range t.edges {
		e := &t.edges[i]
		d := e.inside(exact.centre)
		take := func(value, lower, height float64, to r3.Vec) {
			if value < best.Value {
				_, az := axes.AltAz(to)
				best = Edge{Value: value, Over: e.name(), TowardsDeg: axes.Deg(az), HeightMM: height}
			}
			bound = math.Min(bound, lower)
		}
		switch kind {
		case distance:
			take(d, d-strays, 0, e.normal)
		case push:
			height := exact.top - e.height
			take(weight*d/height, lowForce(weight, d-strays, outer.top-e.height, height), height, e.normal)
		case wind:
			for k := range exact.areas {
				x, y := &exact.areas[k], &outer.areas[k]
				to, c := x.to, r3.Dot(x.to, e.normal)
				if c < 0 { // the opposite wind
					to, c = r3.Scale(-1, to), -c
				}
				take(windSpeed(weight*d, x.moment*c), windSpeed(weight*(d-strays), y.moment*math.Min(1, c+windStep/2)), x.moment/x.area, to)
			}
		}
	}
	return best, bound
}

// lowForce is the least of weight·d/height over heights up to high: a negative d weighs most at the lowest height.
func lowForce(weight, d, high, here float64) float64 {
	if d < 0 {
		return weight * d / math.Max(1, 2*here-high)
	}
	return weight * d / high
}

// windSpeed is the wind, m/s, whose drag moment equals a righting moment in N·mm; drag area × height in mm³. 0 when the rig
// falls by itself.
func windSpeed(righting, areaHeight float64) float64 {
	if righting <= 0 {
		return 0
	}
	return math.Sqrt(righting / (pressure(AirDensity, 1) * areaHeight))
}

// Remedy says what would let the rig stand what is wanted in every used pose. Ballast and spread come from the greatest lack over the
// poses, proven: F·h − W·d, which ballast on the centre line makes up with its weight × the centre line's distance from the
// edge, and the spread with the weight × how far it moves the edge.
func (l *Load) Remedy(ctx context.Context, p *Poses, w Wanted) (Remedy, error) {
	var r Remedy
	if l.MassKg() == 0 {
		return r, ErrNoMass
	}
	k := l.newTipper()
	if len(k.edges) == 0 {
		return r, errRow
	}
	weight := l.MassKg() * Gravity
	axis := l.centreLine(0)
	// A push or wind is weighed as newtons on the centre line: what ballast there would have to add. scale is what it asks for at
	// rest, to measure the search by; between two winds the bounds stay apart by a share of it.
	scale := 0.0
	lack := func(g axes.Angles, h float64) (value, bound float64) {
		exact, outer := k.at(g, h, w.WindMS > 0)
		strays := l.centreMoves(h, h)
		value, bound = math.Inf(1), math.Inf(1)
		for i := range k.edges {
			e := &k.edges[i]
			d0 := e.inside(axis)
			d := e.inside(exact.centre)
			take := func(force, atMost float64) {
				scale = math.Max(scale, force/d0)
				value = math.Min(value, (weight*d-force)/d0)
				bound = math.Min(bound, (weight*(d-strays)-atMost)/d0)
			}
			take(w.PushN*(exact.top-e.height), w.PushN*(outer.top-e.height))
			q := pressure(AirDensity, w.WindMS)
			for j := range exact.areas {
				c := math.Abs(r3.Dot(exact.areas[j].to, e.normal))
				take(q*exact.areas[j].moment*c, q*outer.areas[j].moment*math.Min(1, c+windStep/2))
			}
		}
		return value, bound
	}
	lack(axes.Angles{}, 0)
	share := scale * 0.01
	if w.WindMS > 0 {
		share = scale * 0.06
	}
	e, err := p.least(ctx, func(float64) float64 { return share }, lack)
	if err != nil {
		return r, err
	}
	if !e.Any {
		return r, ErrNoPose
	}
	if e.Bound >= 0 {
		return r, nil
	}
	r.BallastKg = -e.Bound / Gravity
	r.SpreadMM = -e.Bound / weight * l.footRadius()
	return r, nil
}

// footRadius is the mean distance of the feet from the centre line, mm.
func (l *Load) footRadius() float64 {
	sum, axis := 0.0, l.centreLine(0)
	for _, f := range l.feet {
		sum += math.Hypot(f.At.X-axis.X, f.At.Y-axis.Y)
	}
	return sum / float64(len(l.feet))
}
