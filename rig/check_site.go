package rig

import (
	"math"
	"strings"
	"time"
)

// zoneHours is how far a zone's standard time may be from that of the longitude before check remarks on it: it is some three hours in
// the west of China, which keeps the time of its east (common knowledge).
const zoneHours = 3.5

// site compares the longitude with the time zone, by which a sign that was mistaken mostly shows. Zones that belong to no place, such
// as UTC, say nothing.
func (f *finder) site() {
	s := &f.r.Site
	if !strings.Contains(s.TimeZone, "/") || strings.HasPrefix(s.TimeZone, "Etc/") {
		return
	}
	zone, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		return
	}
	// Standard time is the lesser of two half a year apart.
	east := math.Inf(1)
	for _, m := range []time.Month{time.January, time.July} {
		_, seconds := time.Date(2026, m, 1, 0, 0, 0, 0, zone).Zone()
		east = math.Min(east, float64(seconds)/3600)
	}
	if off := math.Abs(math.Remainder(s.LongitudeDeg/15-east, 24)); off > zoneHours {
		f.on(FindingNote, "site.longitude_deg", "at longitude %g° the Sun is %.0f hours off the clocks of %s: is its sign right? East is positive", s.LongitudeDeg, off, s.TimeZone)
	}
}
