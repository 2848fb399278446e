package night

import (
	"math"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// placeDrift is how far an apparent place moves from midnight's within the night, radians: aberration and nutation, less than 1″.
const placeDrift = math.Pi / (180 * 3600)

// ditherMost, radians: dither moves by arc minutes at most and without a slew (common practice); what goes further is a mosaic, whose
// pointings are slewed to, overshoot included.
const ditherMost = 0.25 * math.Pi / 180

// reachOf is how far the pointings of a target go from its place, radians.
func reachOf(t sky.Target, overshoot float64) float64 {
	if mosaicOf(t) > 0 {
		return t.Extent + overshoot
	}
	return t.Extent
}

// mosaicOf is how far the pointings of a mosaic go from its place, radians; 0 for what dither takes no further than it usually does.
func mosaicOf(t sky.Target) float64 {
	if t.Extent > ditherMost {
		return t.Extent
	}
	return 0
}

// halfOf is what a target's place and pointing may be off by in declination, to each side, radians: 0.1° (aberration and nutation
// through the night are far less), and how far dither or a mosaic takes the pointing.
func halfOf(t sky.Target, overshoot float64) float64 { return axes.Rad(0.1) + reachOf(t, overshoot) }

// wideOf is how far a target's pointings reach in hour angle, to each side: those that dither or a mosaic takes as far east or west as
// its extent, which on the axis is the more the nearer the pole, and all round where the pole is among them.
func wideOf(t sky.Target, dec, overshoot float64) float64 {
	by := t.Extent + placeDrift
	if by >= math.Pi/2-math.Abs(dec) {
		return math.Pi
	}
	return math.Asin(math.Sin(by)/math.Cos(dec)) + reachOf(t, overshoot) - t.Extent
}

// narrowed is a row in which every pointing as far as wide to each side of an hour angle of the target is proven where the row proves
// one: its runs and flip windows end so much earlier, and begin so much later.
func narrowed(r room.Row, wide float64) room.Row {
	less := func(all []room.Interval) []room.Interval {
		var out []room.Interval
		for _, i := range all {
			if i.From, i.To = i.From+wide, i.To-wide; i.From < i.To {
				out = append(out, i)
			}
		}
		return out
	}
	r.Stop = sooner(r.Stop, r.West, wide, 1)
	r.Resume = sooner(r.Resume, r.East, wide, -1)
	r.West, r.East, r.Flip = less(r.West), less(r.East), less(r.Flip)
	r.Idle = 0
	switch {
	case !usable(r.Stop) || !usable(r.Resume):
		r.Flip = nil
	case len(r.Flip) == 0 && stops(r.Stop) && stops(r.Resume):
		r.Idle = math.Max(0, r.Resume.HourAngle-r.Stop.HourAngle)
	}
	return r
}

// sooner is the end of a run that lies wide before the end of its free interval: the upper end with sense 1, the lower with −1. What
// the horizon ended, or nothing did, the room ends when it comes first.
func sooner(e room.RunEnd, free []room.Interval, wide, sense float64) room.RunEnd {
	const near = 1e-6 // radians: what an end may be off its interval
	if !usable(e) {
		return e
	}
	at := sense * e.HourAngle
	if e.Reason == room.NeverEnds {
		at = math.Pi
	}
	for _, i := range free {
		from, to := i.From, i.To
		if sense < 0 {
			from, to = -i.To, -i.From
		}
		if at <= from || at > to+near {
			continue
		}
		switch {
		case from+wide >= to-wide:
			return room.RunEnd{Reason: room.NeverUsable}
		case at <= to-wide:
			return e
		case !stops(e):
			e.Reason = room.ByRoom
		}
		e.HourAngle = sense * (to - wide)
		return e
	}
	return room.RunEnd{Reason: room.NeverUsable}
}
