package main

import (
	"fmt"
	"math"
	"strings"

	"legroom/axes"
)

// askReference says what `confirm west` and `confirm east` confirm, and how the rig stands on either side if the mount says truly where
// it points: that is what the owner can see, parked too, when the side alone is hard to tell.
func (p *patrol) askReference() string {
	var b strings.Builder
	b.WriteString("Confirm that the rig stands as the mount says: look at the rig itself, and give the one that it is.\n")
	for _, side := range []axes.Side{axes.West, axes.East} {
		words := ""
		if at, err := p.w.Confirmable(side); err != nil {
			words = "cannot be confirmed now: " + err.Error()
		} else {
			words = stands(p.m.Gauge().Model.Head, at)
		}
		b.WriteString(wrapped(fmt.Sprintf("  confirm %v  ", side), words, helpColumns) + "\n")
	}
	b.WriteString("If it stands like neither, confirm nothing: bring the mount to its home place by its own marks.")
	return b.String()
}

// stands is how the rig stands with its axes at a pose: by where the saddle lies from the crossing of the axes, the counterweights being
// opposite.
func stands(head axes.Head, at axes.Angles) string {
	a := head.A(at.RA)
	const little = 0.26 // the sine of 15°
	where := ""
	switch {
	case a.X > little:
		where = "east"
	case a.X < -little:
		where = "west"
	case math.Abs(a.Z) > little:
	case a.Y > 0: // near a pole the axis stands upright
		where = "north"
	default:
		where = "south"
	}
	words := "the tube on the " + where + " of the mount"
	switch {
	case where == "" && a.Z > 0:
		words = "the tube above the mount, the counterweight side down"
	case where == "":
		words = "the tube below the mount, the counterweight side up"
	case a.Z > little:
		words += " and higher than the counterweight side"
	case a.Z < -little:
		words += " and lower than the counterweight side"
	default:
		words += ", level with the counterweight side"
	}
	return fmt.Sprintf("%s (RA axis %.0f°, declination axis %.0f°)", words, math.Round(axes.Deg(axes.Wrap(at.RA)))+0, math.Round(axes.Deg(axes.Wrap(at.Dec)))+0)
}
