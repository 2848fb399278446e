package main

import (
	"strings"
	"testing"

	"legroom/rig"
)

// A zone is told once, with every rig that stands in it.
func TestDoctorTellsAZoneOnce(t *testing.T) {
	var e examination
	for _, r := range [][2]string{{"long", "Asia/Kathmandu"}, {"wide", "Africa/Windhoek"}, {"short", "Asia/Kathmandu"}, {"lost", "Nowhere/Town"}} {
		e.rigs = append(e.rigs, &rig.Rig{Name: r[0], Site: rig.Site{TimeZone: r[1]}})
	}
	e.zones()
	var said []string
	for _, f := range e.doc.Findings {
		said = append(said, f.State+" "+f.Says)
	}
	if len(said) != 3 || !strings.Contains(said[0], "long; short") || !strings.Contains(said[0], "Asia/Kathmandu") || !strings.Contains(said[1], "wide") ||
		!strings.HasPrefix(said[2], "bad lost: ") {
		t.Errorf("%q", said)
	}
}
