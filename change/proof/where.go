package proof

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// onEdge, mm, is how near to an edge a point is told to be on it: nobody holds a ruler nearer.
const onEdge = 1.0

// where tells in words where a point x of part i is, world, mm, so that it can be found with a hand: on what of the part, how far along
// or how high, and which way it faces. n is the unit direction there towards the other part.
func where(m *axes.Model, i int, ax axes.Angles, x, n r3.Vec) string {
	p := &m.Parts[i]
	at := m.PartPose(i, ax)
	local, ends := at.Inverse().Apply(x), endNames(m, i, ax)
	text := feature(p.Rig, local, ends) + legEnd(p.Rig, local, ends)
	switch p.Frame {
	case rig.Ground, rig.Polar, rig.Arm:
		text += fmt.Sprintf(", %.0f mm above the ground", x.Z)
	case rig.TubeFrame:
		_, _, tube := m.Frames(ax)
		station := tube.Inverse().Apply(x).Z
		switch {
		case station <= -10:
			text += fmt.Sprintf(", %.0f mm behind the saddle's middle", -station)
		case station >= 10:
			text += fmt.Sprintf(", %.0f mm before the saddle's middle", station)
		default:
			text += ", beside the saddle's middle"
		}
	}
	return text + ", " + facing(n)
}

// nearEnd, mm, is how near to an end of a leg a point is told to be at what is there.
const nearEnd = 60.0

// legEnd says at which of its ends a point of a leg is: the head is there, or the ground. It is empty elsewhere, and for other parts.
func legEnd(p *rig.Part, x r3.Vec, ends [2]string) string {
	if p.From != "support.legs" || math.Abs(x.Z) < p.SizeMM[len(p.SizeMM)-1]/2-nearEnd {
		return ""
	}
	end := ends[0]
	if x.Z > 0 {
		end = ends[1]
	}
	if end == "upper end" {
		return " at the tripod's head"
	}
	return " at its foot"
}

// endNames are what the ends of part i at −z and +z of its own axis are called: front and rear along the tube, towards the saddle or
// away from it along the declination axis, and upper and lower for what stands upright.
func endNames(m *axes.Model, i int, ax axes.Angles) (names [2]string) {
	_, arm, tube := m.Frames(ax)
	z := m.PartPose(i, ax).Rotate(r3.Vec{Z: 1})
	low, high, along := "lower end", "upper end", z.Z
	switch m.Parts[i].Frame {
	case rig.TubeFrame:
		if d := r3.Dot(z, tube.Rotate(r3.Vec{Z: 1})); math.Abs(d) > 0.7 {
			low, high, along = "rear end", "front end", d
		}
	case rig.Arm:
		if d := r3.Dot(z, arm.Rotate(r3.Vec{X: 1})); math.Abs(d) > 0.7 {
			low, high, along = "end away from the saddle", "end at the saddle", d
		}
	}
	if along < 0 {
		low, high = high, low
	}
	return [2]string{low, high}
}

// feature names what of a part's surface the point x is on, in the part's own axes; ends are the names of its ends at −z and +z.
func feature(p *rig.Part, x r3.Vec, ends [2]string) string {
	s := p.SizeMM
	end := ends[0]
	if x.Z > 0 {
		end = ends[1]
	}
	switch p.Shape {
	case rig.Box:
		sides := 0
		for k, v := range [3]float64{x.X, x.Y, x.Z} {
			if math.Abs(v) >= s[k]/2-onEdge {
				sides++
			}
		}
		switch {
		case sides >= 3:
			return "a corner of its " + end
		case sides == 2 && math.Abs(x.Z) >= s[2]/2-onEdge:
			return "an edge of its " + end
		case sides == 2:
			return "a long edge"
		case math.Abs(x.Z) >= s[2]/2-onEdge:
			return "the face of its " + end
		}
		return "a side"
	case rig.Cylinder, rig.Cone:
		diameters, long := [2]float64{s[0], s[0]}, s[1]
		if p.Shape == rig.Cone {
			diameters, long = [2]float64{s[0], s[1]}, s[2]
		}
		t := x.Z/long + 0.5
		radius := (diameters[0]*(1-t) + diameters[1]*t) / 2
		onEnd, onSide := math.Abs(x.Z) >= long/2-onEdge, math.Hypot(x.X, x.Y) >= radius-onEdge
		switch {
		case onEnd && onSide:
			return "the rim of its " + end
		case onEnd:
			return "the face of its " + end
		}
		return "its round side"
	case rig.Capsule:
		if math.Abs(x.Z) > s[1]/2 {
			return "the round of its " + end
		}
	}
	return "its round side"
}

// facing tells which way a unit direction of the world points.
func facing(n r3.Vec) string {
	const steep, level = 0.92, 0.38 // sines of 67° and 22°
	updown := "up"
	if n.Z < 0 {
		updown = "down"
	}
	if math.Abs(n.Z) > steep {
		return "facing " + updown
	}
	winds := [8]string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}
	az := axes.Deg(math.Atan2(n.X, n.Y))
	wind := winds[(int(math.Round(az/45))+8)%8]
	if math.Abs(n.Z) > level {
		return "facing " + wind + " and " + updown
	}
	return "facing " + wind
}
