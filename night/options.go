package night

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/sky"
)

// Options says what the owner asks of a night. The zero value of a field is what its comment says.
type Options struct {
	SunAltitude float64       // exposures are taken while the Sun's centre is below it, radians; −18° when 0
	MinAltitude float64       // and the target at or above it, besides the site's horizon, radians
	MoonApart   float64       // and the Moon at least so far from the target, or down, radians; 0: the Moon does not matter
	MoonLit     float64       // but a Moon that is lit less than this share, 0…1, does not matter
	Sub         time.Duration // length of a sub-exposure, for targets that do not say; 5 min when 0
	Download    time.Duration // from a sub-exposure's end until its picture is in
	Dither      time.Duration // between that and the next one's start
	MinBlock    time.Duration // least time on one target and side; 20 min when 0
	// TwoNumber plans with the one pair of RA axis limits that the mount enforces, rounded down to its entry step, as well.
	TwoNumber bool
}

// Slack is how late a planned stop, flip or slew may come and still be proven: every run ends so long before its room does.
const Slack = time.Minute

func (o *Options) fill() error {
	if o.SunAltitude == 0 {
		o.SunAltitude = sky.Astronomical
	}
	if o.Sub == 0 {
		o.Sub = 5 * time.Minute
	}
	if o.MinBlock == 0 {
		o.MinBlock = 20 * time.Minute
	}
	for _, c := range []struct {
		what     string
		x        float64
		from, to float64
		unit     string
	}{
		{"the Sun's altitude at which exposures begin", axes.Deg(o.SunAltitude), -90, 0, "°"},
		{"the least altitude", axes.Deg(o.MinAltitude), 0, 90, "°"},
		{"the distance from the Moon", axes.Deg(o.MoonApart), 0, 180, "°"},
		{"the Moon's lit share", o.MoonLit, 0, 1, ""},
		{"a sub-exposure", o.Sub.Seconds(), 1, 6 * 3600, " s"},
		{"the download", o.Download.Seconds(), 0, 3600, " s"},
		{"the dither", o.Dither.Seconds(), 0, 3600, " s"},
		{"the least block", o.MinBlock.Minutes(), 1, 24 * 60, " min"},
	} {
		if !(c.x >= c.from-1e-9 && c.x <= c.to+1e-9) || math.IsNaN(c.x) {
			return fmt.Errorf("%s is %.4g%s: give %g to %g%[3]s", c.what, c.x, c.unit, c.from, c.to)
		}
	}
	return nil
}

// SubOf is the length of a target's sub-exposures.
func (o *Options) SubOf(t sky.Target) time.Duration {
	if t.Sub > 0 {
		return t.Sub
	}
	return o.Sub
}
