package night

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/rig"
)

// The document's slewing, read anew.
func (j *judge) rates() (ra, dec, spread, overshoot float64) {
	s := &j.mount.Slew
	spread, overshoot = 0.3, axes.Rad(1)
	if s.SpreadPercent != nil {
		spread = *s.SpreadPercent / 100
	}
	if s.OvershootDeg != nil {
		overshoot = axes.Rad(*s.OvershootDeg)
	}
	return axes.Rad(s.RADegPerS), axes.Rad(s.DecDegPerS), spread, overshoot
}

// goals are the ends that a slew may really have: for a change of sides by each way round that the document leaves open.
func (j *judge) goals(what string, t time.Time, a, b axes.Angles) []axes.Angles {
	if side(a) == 0 || side(b) == 0 || side(a) == side(b) {
		return []axes.Angles{b}
	}
	far := b
	far.Dec += math.Copysign(whole, a.Dec-b.Dec)
	way := j.mount.Travel.Flip
	var out []axes.Angles
	if way != rig.AwayFromPole {
		out = append(out, b)
	}
	if way != rig.ThroughPole {
		out = append(out, far)
	}
	reached := out[:0]
	for _, g := range out {
		if j.reaches(a, g) {
			reached = append(reached, g)
		}
	}
	if len(reached) == 0 {
		j.fault("%s at %s: the declination axis does not get from %.2f° to %.2f° by %s", what, clockOf(t), axes.Deg(a.Dec), axes.Deg(b.Dec), way)
	}
	return reached
}

// reaches tells whether the declination axis gets from a to b inside its travel, counted by any whole turn.
func (j *judge) reaches(a, b axes.Angles) bool {
	tr := j.g.Model.Travel
	for k := -1.0; k <= 1; k++ {
		if min(a.Dec, b.Dec)+k*whole >= tr.DecFrom-1e-6 && max(a.Dec, b.Dec)+k*whole <= tr.DecTo+1e-6 {
			return true
		}
	}
	return false
}

// side is −1 where the declination axis stands on side west, +1 east, 0 at a pole.
func side(a axes.Angles) int {
	s := math.Sin(a.Dec)
	switch {
	case math.Abs(s) < 1e-8:
		return 0
	case s > 0:
		return -1
	}
	return 1
}

// slew drives from one pose to another in every order that the document leaves open, by both ends of the spread of the rates and
// their middle, with overshoot, and returns the longest that it may take.
func (j *judge) slew(what string, t time.Time, a, b axes.Angles) time.Duration {
	j.count.slews++
	j.inside(what, t, a.RA)
	j.inside(what, t, b.RA)
	if side(a)*side(b) >= 0 && !j.reaches(a, b) {
		j.fault("%s at %s: the declination axis does not get from %.2f° to %.2f°", what, clockOf(t), axes.Deg(a.Dec), axes.Deg(b.Dec))
	}
	ra, dec, spread, overshoot := j.rates()
	longest := 0.0
	for _, g := range j.goals(what, t, a, b) {
		dRA, dDec := g.RA-a.RA, g.Dec-a.Dec
		x, y := math.Abs(dRA), math.Abs(dDec)
		seconds := max(x/ra, y/dec)
		order := j.mount.Slew.Order
		if order != rig.BothAtOnce {
			seconds = x/ra + y/dec
		}
		longest = max(longest, seconds/(1-spread)+j.mount.Slew.SettleS)
		over := axes.Angles{
			RA:  g.RA + math.Copysign(overshoot*float64(j.rnd.IntN(3))/2, dRA),
			Dec: g.Dec + math.Copysign(overshoot*float64(j.rnd.IntN(3))/2, dDec),
		}
		ok := j.line(what, t, over, g) // one failure of a slew is enough to tell
		if order == rig.RAFirst || order != rig.BothAtOnce && order != rig.DecFirst {
			corner := axes.Angles{RA: over.RA, Dec: a.Dec}
			ok = ok && j.line(what+", RA first", t, a, corner) && j.line(what+", RA first", t, corner, over)
		}
		if order == rig.DecFirst || order != rig.BothAtOnce && order != rig.RAFirst {
			corner := axes.Angles{RA: a.RA, Dec: over.Dec}
			ok = ok && j.line(what+", dec first", t, a, corner) && j.line(what+", dec first", t, corner, over)
		}
		if order != rig.RAFirst && order != rig.DecFirst {
			for k := -1.0; ok && k <= 1; k++ {
				ok = j.both(what+", both at once", t, a, over, ra/dec*(1+k*spread))
			}
		}
	}
	return time.Duration(longest * float64(time.Second))
}

// both drives both axes at a ratio of rates until one has arrived, and then the other.
func (j *judge) both(what string, t time.Time, a, b axes.Angles, ratio float64) bool {
	x, y := math.Abs(b.RA-a.RA), math.Abs(b.Dec-a.Dec)
	knee := b
	if x > ratio*y {
		knee.RA = a.RA + math.Copysign(ratio*y, b.RA-a.RA)
	} else if ratio > 0 {
		knee.Dec = a.Dec + math.Copysign(x/ratio, b.Dec-a.Dec)
	}
	return j.line(what, t, a, knee) && j.line(what, t, knee, b)
}

// line drives straight, looking every 0.7° at least.
func (j *judge) line(what string, t time.Time, a, b axes.Angles) bool {
	n := int(max(math.Abs(b.RA-a.RA), math.Abs(b.Dec-a.Dec))/axes.Rad(0.7)) + 1
	for i := range n + 1 {
		f := float64(i) / float64(n)
		if !j.free(what, t, axes.Angles{RA: a.RA + f*(b.RA-a.RA), Dec: a.Dec + f*(b.Dec-a.Dec)}) {
			return false
		}
	}
	return true
}

// delay draws how late something comes: at once, half a Slack or a whole one.
func (j *judge) delay() time.Duration { return time.Duration(j.rnd.IntN(3)) * Slack / 2 }

// spotted is somewhere that a slew starts or ends: a pose of the document, or a stand on a target.
type spotted struct {
	pose  axes.Angles
	stand *stand
}

// pick is a pose of it at a moment, at one of the pointings.
func (j *judge) pick(s spotted, k int, t time.Time) axes.Angles {
	if s.stand == nil {
		return s.pose
	}
	if k < 0 || k >= len(s.stand.shifts) {
		k = j.rnd.IntN(len(s.stand.shifts))
	}
	return j.at(s.stand, k, t)
}

// drive drives a leg of a move many times: from where the mount is at one moment, to where the goal is while the slew may be under
// way. It returns the longest that it may take.
func (j *judge) drive(what string, from, to spotted, leave func(late time.Duration) time.Time, begin, end time.Time) time.Duration {
	longest := time.Duration(0)
	for k := range j.tries {
		late := j.delay()
		goal := begin.Add(late)
		if k%2 == 1 {
			goal = end.Add(late)
		}
		longest = max(longest, j.slew(what, begin.Add(late), j.pick(from, k, leave(late)), j.pick(to, (k+1)%4, goal)))
	}
	return longest
}
