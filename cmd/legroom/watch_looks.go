package main

import (
	"fmt"
	"math"
	"strings"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// askReference says what `confirm west` and `confirm east` confirm, and how the rig stands on either side if the mount says truly where
// it points: that is what the owner can see, parked too, when the side alone is hard to tell.
func (p *patrol) askReference() string {
	r := p.w.Status().Reading
	var b strings.Builder
	b.WriteString("Confirm that the rig stands as the mount says: look at the rig itself, and give the one that it is.\n")
	if r.Asked.IsZero() {
		return b.String() + "  confirm west or confirm east: the side that the tube is on when its target is highest\n"
	}
	for _, side := range []axes.Side{axes.West, axes.East} {
		b.WriteString(wrapped(fmt.Sprintf("  confirm %v  ", side), stands(p.m.Gauge().Model.Head, r, side, p.site), helpColumns) + "\n")
	}
	b.WriteString("If it stands like neither, confirm nothing: bring the mount to its home place by its own marks.")
	return b.String()
}

// stands is how the rig stands when what the mount says of the place is true, on a side: by where the saddle lies from the crossing of
// the axes, the counterweights being opposite.
func stands(head axes.Head, r mount.Reading, side axes.Side, site sky.Site) string {
	sidereal := r.Sidereal
	if !r.SiderealSaid {
		sidereal = site.SiderealTime(r.Asked)
	}
	at := head.Angles(axes.Pose{Side: side, HourAngle: axes.Wrap(sidereal - r.Place.RA), Dec: r.Place.Dec})
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
