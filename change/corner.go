package change

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/room"
	"legroom/solid"
)

// corners are the rigs at a box's corners. They tell how far two points of two parts can come to be apart anywhere in the box.
//
// A length that shifts parts moves their points along a line. An angle that turns them about one axis moves theirs along an arc, and a
// point of an arc of half angle h and radius r keeps within r·(1 − cos h) of where the chord has it: by so much are the middles of the
// two apart. A distance is a convex function of where its two points are, so that it is nowhere in the box greater than at the worst
// corner and what the middles are off. As the points belong to the parts, the gap is no greater either.
type corners struct {
	centre *axes.Model
	models []*axes.Model // with bit i set, the i-th of the variables that they tell of is at its upper end
	turns  []float64     // by model: how far it turns the legs about the vertical from where the centre has them, radians
	told   []bool        // by variable: whether the corners are of it too
}

// shifting are the variables that shift parts along a line; the first leg's azimuth turns them about the vertical.
var shifting = map[string]bool{"support.extension.height_mm": true, "tube.slide_mm": true, "tube.axis_distance_mm": true}

const azimuth = "support.legs.first_azimuth_deg"

// corners places the rig at the corners of a box; the variables that are neither shifts nor the azimuth stay as at the centre.
func (s *space) corners(b *box, centre *axes.Model) (*corners, error) {
	c := &corners{centre: centre, models: []*axes.Model{nil}, turns: []float64{0}, told: make([]bool, len(s.vars))}
	points := [][]float64{b.centre()}
	for i := range s.vars {
		if c.told[i] = shifting[s.vars[i].path] || s.vars[i].path == azimuth; !c.told[i] {
			continue
		}
		for k := range points {
			high := append([]float64{}, points[k]...)
			points[k][i], high[i] = b.lo[i], b.hi[i]
			points, c.models, c.turns = append(points, high), append(c.models, nil), append(c.turns, c.turns[k])
			if s.vars[i].path == azimuth {
				half := axes.Rad(b.hi[i]-b.lo[i]) / 2
				c.turns[k], c.turns[len(points)-1] = half, -half // azimuths go clockwise
			}
		}
	}
	for k, x := range points {
		r := s.rigAt(x)
		asm, err := r.Assemble(s.known)
		if err != nil {
			return nil, err
		}
		if c.models[k], err = axes.FromAssembly(r, asm); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// cornerSlop is what rounding may take, mm, and what of a riser's height is not there at 0.
const cornerSlop = 0.01

// apart bounds from above the gap of a pair at a pose, mm, wherever in the box the variables are that the corners are of, by the two
// points that are nearest at the centre: +Inf where the parts are moved otherwise, or change their shape.
func (c *corners) apart(ax axes.Angles, q *room.PairGap) float64 {
	most, off := 0.0, 0.0
	between := make([]r3.Vec, len(c.models))
	for side, part := range [2]int{q.A, q.B} {
		at := [2]r3.Vec{q.PointA, q.PointB}[side]
		centre := c.centre.PartPose(part, ax)
		own := centre.Inverse().Apply(at)
		mean := r3.Vec{}
		for k, m := range c.models {
			pose := m.PartPose(part, ax)
			if !sameShape(&m.Parts[part], &c.centre.Parts[part]) || !shifts(centre, pose) && !turns(centre, pose, c.turns[k]) {
				return math.Inf(1)
			}
			p := pose.Apply(own)
			mean = r3.Add(mean, r3.Scale(1/float64(len(c.models)), p))
			between[k] = r3.Sub(p, between[k])
		}
		off += r3.Norm(r3.Sub(mean, at))
	}
	for _, d := range between {
		most = math.Max(most, r3.Norm(d))
	}
	return most + off*(1+1e-9) + cornerSlop
}

// untold is what the variables that the corners are not of may move two parts against each other, mm.
func (c *corners) untold(d *moved) float64 {
	sum := 0.0
	for i, told := range c.told {
		if !told {
			sum += d.by[i] * (1 + 1e-9)
		}
	}
	return sum
}

func sameShape(a, b *axes.Part) bool {
	if a.Rig.Shape != b.Rig.Shape || len(a.Rig.SizeMM) != len(b.Rig.SizeMM) {
		return false
	}
	for i, x := range a.Rig.SizeMM {
		if math.Abs(x-b.Rig.SizeMM[i]) > 1e-6 {
			return false
		}
	}
	return true
}

// shifts tells whether a part keeps its direction.
func shifts(from, to solid.Pose) bool {
	for i := range from.R {
		if math.Abs(from.R[i]-to.R[i]) > 1e-9 {
			return false
		}
	}
	return true
}

// turns tells whether a part is turned about the world's vertical through its origin, and not moved otherwise.
func turns(from, to solid.Pose, angle float64) bool {
	sin, cos := math.Sincos(angle)
	turned := solid.Pose{R: [9]float64{cos, -sin, 0, sin, cos, 0, 0, 0, 1}}.Mul(from)
	return shifts(turned, to) && r3.Norm(r3.Sub(turned.T, to.T)) < 1e-6
}
