package sim

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"legroom/axes"
	"legroom/rig"
)

// Habits are what the mount does by itself: as the document says, and drawn once where it leaves that open.
type Habits struct {
	Order        rig.Order
	Flip         rig.FlipWay
	SideChoice   string  // by_hour_angle or as_told
	EarliestFlip float64 // hour angle, radians: before it the mount does not change to side east
	AtLimit      string  // stops, flips or runs_on

	Drawn []string // the names of those that were drawn
}

func drawHabits(r *rig.Rig, rnd *rand.Rand) Habits {
	var h Habits
	pick := func(name, said string, from ...string) string {
		x := from[rnd.IntN(len(from))]
		if said != "" && said != "unknown" {
			return said
		}
		h.Drawn = append(h.Drawn, name)
		return x
	}
	m := &r.Mount
	h.Order = rig.Order(pick("axis_order", string(m.Slew.Order), string(rig.BothAtOnce), string(rig.RAFirst), string(rig.DecFirst)))
	h.Flip = rig.FlipWay(pick("declination_flip", string(m.Travel.Flip), string(rig.ThroughPole), string(rig.AwayFromPole)))
	h.SideChoice = pick("side_choice", m.Rules.SideChoice, "by_hour_angle", "as_told")
	h.AtLimit = pick("at_limit", m.Rules.AtLimit, "stops", "flips", "runs_on")
	minutes := float64(rnd.IntN(121) - 60)
	if e := m.Rules.EarliestFlipMin; e != nil {
		minutes = *e
	} else {
		h.Drawn = append(h.Drawn, "earliest_flip_min")
	}
	h.EarliestFlip = axes.FromHours(minutes / 60)
	return h
}

func (h Habits) String() string {
	s := fmt.Sprintf("axis_order %s, declination_flip %s, side_choice %s, earliest_flip_min %.0f, at_limit %s",
		h.Order, h.Flip, h.SideChoice, axes.Minutes(h.EarliestFlip), h.AtLimit)
	if len(h.Drawn) > 0 {
		s += " (drawn: " + strings.Join(h.Drawn, ", ") + ")"
	}
	return s
}
