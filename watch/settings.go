package watch

import (
	"fmt"
	"strings"

	"legroom/mount"
	"legroom/room"
)

// settings is what the watch was begun with, in words for the journal. What a hook is told is left out: secrets may stand
// there.
func settings(g *room.Gauge, o *Options) string {
	said := []string{
		fmt.Sprintf("margin %g mm", g.MarginMM),
		fmt.Sprintf("tolerances %s, up to %.1f mm", g.Mode, g.MaxAllowance()),
		fmt.Sprintf("a look each %v, each %v underway", o.Period, o.FastPeriod),
		fmt.Sprintf("an answer within %v, a command within %v", o.ReadDeadline, o.CommandDeadline),
		fmt.Sprintf("brakes in %v", o.BrakeTime),
		fmt.Sprintf("warns %v before", o.WarnBefore),
		fmt.Sprintf("when blind: %s", o.Blind),
	}
	if o.Covered {
		said = append(said, "tube capped")
	} else {
		said = append(said, fmt.Sprintf("%g° from the Sun by day", o.SunAngleDeg))
	}
	if o.IgnoreSide {
		said = append(said, "the side that the driver tells counts for nothing")
	} else {
		said = append(said, "the side that the driver tells counts")
	}
	equinox := map[mount.Equinox]string{mount.OfDate: "of date", mount.OfJ2000: "J2000"}[o.Equinox]
	if equinox == "" {
		equinox = "as the driver says"
	}
	said = append(said, "coordinates: "+equinox)
	if len(o.Without) > 0 {
		said = append(said, "does not hold: "+strings.Join(o.Without, ", "))
	}
	if len(o.Hooks) > 0 {
		names := make([]string, len(o.Hooks))
		for i := range o.Hooks {
			names[i] = o.Hooks[i].Name
		}
		said = append(said, fmt.Sprintf("hooks after %d stops without effect: %s", o.TriesBeforeHook, strings.Join(names, ", ")))
	} else {
		said = append(said, "no hook")
	}
	if o.Feed != nil {
		said = append(said, fmt.Sprintf("feeds %s each %v", o.Feed.Name, o.FeedPeriod))
	} else {
		said = append(said, "no relay to feed")
	}
	return "settings: " + strings.Join(append(said, o.Also...), "; ")
}
