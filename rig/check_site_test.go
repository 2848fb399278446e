package rig

import (
	"strings"
	"testing"
)

// A longitude that does not go with the time zone is remarked on, where zones are as wide as they come (longitudes and zones: common
// knowledge) not.
func TestLongitudeOfTheZone(t *testing.T) {
	for _, c := range []struct {
		zone      string
		longitude float64
		off       bool
	}{
		{"Australia/Sydney", 151, false}, {"Australia/Sydney", -151, true},
		{"America/Denver", -105, false}, {"America/Denver", 105, true},
		{"Africa/Johannesburg", 20.8, false}, {"Europe/Madrid", -9, false},
		{"Asia/Shanghai", 74, false}, {"Pacific/Kiritimati", -157, false}, {"Pacific/Auckland", 175, false},
		{"UTC", 151, false}, {"Etc/GMT+5", 151, false}, {"", 151, false},
	} {
		r := plain(40)
		r.Site.TimeZone, r.Site.LongitudeDeg = c.zone, c.longitude
		off := false
		for _, f := range r.Findings() {
			off = off || f.Level == FindingNote && f.Path == "site.longitude_deg" && strings.Contains(f.Text, c.zone)
		}
		if off != c.off {
			t.Errorf("%s at %g°: remarked on is %v", c.zone, c.longitude, off)
		}
	}
}
