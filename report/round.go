package report

import (
	"fmt"
	"math"

	"legroom/axes"
)

// Numbers are rounded on the way out, and always to the side that takes room away: where a run ends, down; where it
// starts, up; a lower bound of a gap, down.

// Digits of the machine-readable output: a millionth of a millimetre, degree or minute. Hour angles are whole milliseconds
// of time, so that a whole minute stays one.
const (
	perUnit = 1e6
	perHour = 3.6e6
)

// noise, in those digits, is below what converting radians does to a number: a value that a document gave as 95° comes back
// as 95°, not a digit less.
const noise = 1e-6

func down(x float64) float64    { return zero(math.Floor(x*perUnit+noise) / perUnit) }
func up(x float64) float64      { return zero(math.Ceil(x*perUnit-noise) / perUnit) }
func nearest(x float64) float64 { return zero(math.Round(x*perUnit) / perUnit) }

// hoursDown and hoursUp convert radians of hour angle.
func hoursDown(rad float64) float64 { return zero(math.Floor(axes.Hours(rad)*perHour+noise) / perHour) }
func hoursUp(rad float64) float64   { return zero(math.Ceil(axes.Hours(rad)*perHour-noise) / perHour) }

// zero turns −0 into 0, which JSON and text would show.
func zero(x float64) float64 { return x + 0 }

// minutesDown and minutesUp are whole minutes of time for hours in whole milliseconds.
func minutesDown(hours float64) int { return int(math.Floor(math.Round(hours*perHour) / 60e3)) }
func minutesUp(hours float64) int   { return int(math.Ceil(math.Round(hours*perHour) / 60e3)) }

// signed writes whole minutes with their sign: "−12 min", "+185 min". Minutes alone, however many: a column has one unit.
func signed(min int) string {
	switch {
	case min == 0:
		return "0 min"
	case min < 0:
		return fmt.Sprintf("−%d min", -min)
	}
	return fmt.Sprintf("+%d min", min)
}

// duration writes whole minutes that have no sign.
func duration(min int) string {
	if min < 60 {
		return fmt.Sprintf("%d min", min)
	}
	return fmt.Sprintf("%d h %02d min", min/60, min%60)
}

// entry writes an axis limit to enter, in degrees from counterweight-down: with as few decimals as it needs, at most four, and what lies
// behind them cut off, for a limit may be entered less, never more.
func entry(deg float64) string { return plain(math.Floor(deg*1e4+1e-5)/1e4, 4) }

// angle writes degrees with their sign and as few decimals as they need, at most max.
func angle(deg float64, max int) string {
	s := plain(math.Abs(deg), max)
	switch {
	case s == "0":
		return "0°"
	case deg < 0:
		return "−" + s + "°"
	}
	return "+" + s + "°"
}

// plain writes a number with at most max decimals and no trailing zeros.
func plain(x float64, max int) string {
	s := fmt.Sprintf("%.*f", max, x)
	if max > 0 {
		for s[len(s)-1] == '0' {
			s = s[:len(s)-1]
		}
		if s[len(s)-1] == '.' {
			s = s[:len(s)-1]
		}
	}
	if s == "-0" {
		return "0"
	}
	if s[0] == '-' {
		return "−" + s[1:]
	}
	return s
}
