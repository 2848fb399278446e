package night

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/sky"
)

// everything judges the schedule, what each target has alone, and the advice.
func (j *judge) everything() []string {
	j.blocks("schedule", j.plan.Schedule.Blocks, j.plan.Schedule.Park)
	for i := range j.plan.Schedule.Blocks {
		if b := &j.plan.Schedule.Blocks[i]; b.To.Sub(b.From) < j.plan.Options.MinBlock {
			j.fault("schedule block %d lasts %v, less than %v", i, b.To.Sub(b.From), j.plan.Options.MinBlock)
		}
	}
	j.caps()
	j.rapid = true
	for i := range j.plan.Targets {
		j.blocks(fmt.Sprintf("target %d alone", i), j.plan.Targets[i].Blocks, nil)
	}
	j.advices()
	return j.faults
}

// caps holds the schedule against what is wanted.
func (j *judge) caps() {
	got := map[int]int{}
	for _, b := range j.plan.Schedule.Blocks {
		got[b.Target] += b.Subs
	}
	for i, n := range got {
		g := &j.plan.Targets[i]
		if most := math.Ceil(g.Wanted.Seconds() / j.sub(i).Seconds()); g.Wanted > 0 && float64(n) > most {
			j.fault("target %d: %d sub-exposures, wanted are %v", i, n, most)
		}
	}
}

func (j *judge) sub(target int) time.Duration {
	if s := j.plan.Targets[target].Sub; s > 0 {
		return s
	}
	return j.plan.Options.Sub
}

// named is a pose of the document.
func (j *judge) named(name string) (axes.Angles, bool) {
	at := map[string]*rig.AxisPose{"park": j.mount.Park, "home": j.mount.Home, "counterweight-down": {}}[name]
	if at == nil {
		return axes.Angles{}, false
	}
	return axes.Angles{RA: axes.Rad(at.RAAxisDeg), Dec: axes.Rad(at.DecAxisDeg)}, true
}

// blocks drives a chain of blocks from the parked mount on.
func (j *judge) blocks(what string, blocks []Block, park *Move) {
	var at []spotted
	var free time.Time // since when the mount is free to go
	for i := range blocks {
		b := &blocks[i]
		what := fmt.Sprintf("%s, block %d (target %d %v)", what, i, b.Target, b.Side)
		m := &b.Come
		from, known := j.named(m.From)
		switch {
		case i == 0 && !known:
			j.fault("%s: comes from %q", what, m.From)
			return
		case i == 0:
			at = []spotted{{pose: from}}
			free = m.Begin
		case m.From != "":
			j.fault("%s: comes from %q, and the mount was on a target", what, m.From)
		case m.Begin.Before(free):
			j.fault("%s: its slew begins at %v, before %v", what, m.Begin, free)
		}
		if !m.Begin.Before(m.End) || m.End.After(b.From) || !b.From.Before(b.To) {
			j.fault("%s: slew %v to %v, block %v to %v", what, m.Begin, m.End, b.From, b.To)
			return
		}
		at = j.move(what, at, i == 0 || m.Begin.After(free), free, b)
		for _, s := range at {
			j.track(what+" tracking", s.stand, m.Begin, b.To.Add(Slack))
		}
		j.exposures(what, b)
		if flip := i > 0 && blocks[i-1].Target == b.Target && blocks[i-1].Side != b.Side && !b.Either; flip != m.Flip {
			j.fault("%s: flip is %v, and it is %v", what, m.Flip, flip)
		}
		if m.Flip {
			j.count.flips++
		}
		free = b.To
	}
	if park != nil && len(blocks) > 0 {
		j.park(what+", park", at, free, park)
	}
}

// move drives a block's slew and returns where the mount is then.
func (j *judge) move(what string, at []spotted, resting bool, free time.Time, b *Block) []spotted {
	m := &b.Come
	sides := []axes.Side{b.Side}
	if b.Either {
		j.count.either++
		sides = []axes.Side{axes.West, axes.East}
	}
	j.takes(what, sides, b)
	leave := func(late time.Duration) time.Time { return m.Begin.Add(late) }
	if resting && at[0].stand != nil {
		j.count.waits++
		leave = func(time.Duration) time.Time { return free.Add(j.delay()) }
	}
	var to []spotted
	for _, s := range sides {
		to = append(to, spotted{stand: j.arrive(b.Target, s, m.Begin)})
	}
	if last := m.Path[len(m.Path)-1]; len(sides) == 1 && j.aligned && math.Abs(math.Sin(last.Dec)) > 0.1 {
		if goes := j.at(to[0].stand, 2, m.End); math.Abs(last.RA-goes.RA) > axes.Rad(20) {
			j.fault("%s: the mount goes to θ %.2f°, the plan to %.2f°", what, axes.Deg(goes.RA), axes.Deg(last.RA))
		}
	}
	legs := [][2][]spotted{{at, to}}
	if m.Via != "" {
		j.count.vias++
		pose, known := j.named(m.Via)
		if !known {
			j.fault("%s: goes by way of %q", what, m.Via)
			return to
		}
		via := []spotted{{pose: pose}}
		legs = [][2][]spotted{{at, via}, {via, to}}
	}
	var takes time.Duration
	for _, leg := range legs {
		longest := time.Duration(0)
		for _, a := range leg[0] {
			for _, b := range leg[1] {
				longest = max(longest, j.drive(what+" slew", a, b, leave, m.Begin, m.End))
			}
		}
		takes += longest
	}
	if takes > m.End.Sub(m.Begin)+time.Millisecond {
		j.fault("%s: its slew may take %v, and has %v", what, takes, m.End.Sub(m.Begin))
	}
	return to
}

// takes holds the sides of a block against what the document says of the mount's own choice.
func (j *judge) takes(what string, sides []axes.Side, b *Block) {
	for _, t := range []time.Time{b.Come.Begin, b.Come.End, b.Come.End.Add(Slack)} {
		for _, f := range shifts(&j.plan.Targets[b.Target]) {
			j.chooses(what, sides, j.site.HourAngle(t, f(j.place(b.Target, t))))
		}
	}
}

func (j *judge) chooses(what string, sides []axes.Side, H float64) {
	const little = 1e-4
	rules := &j.mount.Rules
	first := math.Inf(-1)
	if rules.EarliestFlipMin != nil {
		first = *rules.EarliestFlipMin * math.Pi / 720
	} else if rules.SideChoice == "by_hour_angle" {
		first = 0
	}
	switch rules.SideChoice {
	case "by_hour_angle":
		if len(sides) != 1 || H > first+little && sides[0] == axes.West || H < first-little && sides[0] == axes.East {
			j.fault("%s: at %.2f min the mount does not choose side %v", what, axes.Minutes(H), sides)
		}
	case "as_told":
		if len(sides) != 1 || H < first-little && sides[0] == axes.East {
			j.fault("%s: at %.2f min the mount does not go to side %v", what, axes.Minutes(H), sides)
		}
	default:
		if len(sides) != 2 {
			j.fault("%s: the mount may take either side, the plan has %v", what, sides)
		}
	}
}

// park drives the slew after the last block.
func (j *judge) park(what string, at []spotted, free time.Time, m *Move) {
	j.count.parks++
	pose, known := j.named("park")
	if !known || m.To != "park" || m.Begin.Before(free) {
		j.fault("%s: %+v", what, m)
		return
	}
	leave := func(late time.Duration) time.Time { return m.Begin.Add(late) }
	stops := [][]spotted{at, {{pose: pose}}}
	if m.Via != "" {
		j.count.vias++
		via, _ := j.named(m.Via)
		stops = [][]spotted{at, {{pose: via}}, {{pose: pose}}}
	}
	var takes time.Duration
	for i := 1; i < len(stops); i++ {
		longest := time.Duration(0)
		for _, a := range stops[i-1] {
			longest = max(longest, j.drive(what, a, stops[i][0], leave, m.Begin, m.End))
		}
		takes += longest
	}
	if takes > m.End.Sub(m.Begin)+time.Millisecond {
		j.fault("%s: may take %v, and has %v", what, takes, m.End.Sub(m.Begin))
	}
}

// exposures holds a block against the sky and its sub-exposures.
func (j *judge) exposures(what string, b *Block) {
	o := &j.plan.Options
	g := &j.plan.Targets[b.Target]
	n := time.Duration(b.Subs)
	if need := n*(j.sub(b.Target)+o.Download) + (n-1)*o.Dither; b.Subs < 1 || need > b.To.Sub(b.From) {
		j.fault("%s: %d sub-exposures need %v, and have %v", what, b.Subs, need, b.To.Sub(b.From))
	}
	_, lit := sky.MoonPhase(j.plan.Night.Midnight)
	for t := b.From; ; t = t.Add(time.Minute) {
		if t.After(b.To) {
			t = b.To
		}
		e := j.place(b.Target, t)
		alt, az := j.site.AltAz(t, e)
		profile := math.Inf(1)
		for _, d := range []float64{-speck, 0, speck} {
			profile = min(profile, j.site.Horizon.Altitude(math.Mod(axes.Deg(az)+d+360, 360)))
		}
		sun := axes.Deg(j.site.SunAltitude(t))
		switch moon := j.site.Moon(t); {
		case sun > axes.Deg(o.SunAltitude)+speck:
			j.fault("%s: at %v the Sun stands at %.3f°", what, t, sun)
		case axes.Deg(alt) < max(axes.Deg(o.MinAltitude), profile)-speck:
			j.fault("%s: at %v %s stands at %.3f°, the horizon at %.3f°", what, t, g.Name, axes.Deg(alt), profile)
		case o.MoonApart > 0 && lit >= o.MoonLit && axes.Deg(sky.Separation(moon, e)) < axes.Deg(o.MoonApart)-speck &&
			axes.Deg(j.site.MoonAltitude(t)) > -50./60+speck:
			j.fault("%s: at %v the Moon is %.3f° away", what, t, axes.Deg(sky.Separation(moon, e)))
		default:
			if t.Equal(b.To) {
				return
			}
			continue
		}
		return
	}
}
