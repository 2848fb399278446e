package guard

import (
	"fmt"
	"maps"
	"slices"

	"legroom/mount"
	"legroom/mount/alpaca"
)

// span is what an argument may be, both ends too.
type span struct {
	from, to float64
	unit     string
}

// spans are the standard's ranges of arguments [mem]. What is beyond them a driver may take modulo a turn, or for something else than what
// was proven.
var spans = map[string]span{
	"RightAscension": {0, 24, " h"}, "Declination": {-90, 90, "°"},
	"TargetRightAscension": {0, 24, " h"}, "TargetDeclination": {-90, 90, "°"},
	"Azimuth": {0, 360, "°"}, "Altitude": {-90, 90, "°"},
	"SiteLatitude": {-90, 90, "°"}, "SiteLongitude": {-180, 180, "°"}, "SiteElevation": {-300, 10000, " m"},
	"Axis": {0, 2, ""}, "SideOfPier": {0, 1, ""}, "TrackingRate": {0, 3, ""}, "Direction": {0, 3, ""},
	// The standard bounds these two below alone. A settle time is some seconds, and guiders send pulses of a few at most [common
	// practice]: a longer one is a motion by hand.
	"SlewSettleTime": {0, 100, " s"}, "Duration": {0, 10000, " ms"},
}

// inRange tells whether the arguments of a call are what the standard has them be. The error is mount.ErrValue.
func inRange(c alpaca.Call) error {
	for _, name := range slices.Sorted(maps.Keys(c.Args)) {
		s, ok := spans[name]
		if !ok {
			continue
		}
		var x float64
		switch v := c.Args[name].(type) {
		case float64:
			x = v
		case int:
			x = float64(v)
		default:
			continue
		}
		if !(x >= s.from && x <= s.to) { // no number is not in range either
			return fmt.Errorf("%w: %s %g%s, give %g to %g%s", mount.ErrValue, name, x, s.unit, s.from, s.to, s.unit)
		}
	}
	return nil
}
