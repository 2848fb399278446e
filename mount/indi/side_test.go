package indi

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
)

// PIER_WEST points east (REFERENCES): the tube is west of the pier, and with the counterweights below the level of the axes it
// looks at the eastern sky. So the side that it stands for is worked out from where the head of DESIGN 2 puts the tube.
func TestSideByGeometry(t *testing.T) {
	for member, tubeEast := range map[string]float64{"PIER_WEST": -1, "PIER_EAST": 1} {
		side, err := sideOf(member)
		if err != nil {
			t.Fatal(err)
		}
		for _, lat := range []float64{axes.Rad(52), axes.Rad(8), axes.Rad(-33)} {
			head := axes.NewHead(lat, lat*axes.Hemisphere(lat), 0, r3.Vec{})
			for hour := -5.5; hour <= 5.5; hour += 0.5 {
				pose := axes.Pose{Side: side, HourAngle: axes.FromHours(hour), Dec: axes.Rad(10)}
				g := head.Angles(pose)
				saddle := head.A(g.RA) // from the crossing to the tube; the counterweights lie the other way
				if saddle.X*tubeEast <= 0 {
					t.Errorf("%s, latitude %.0f°, %.1f h: the tube stands at %+.2f east", member, axes.Deg(lat), hour, saddle.X)
				}
				if u := head.Pointing(g); r3.Norm(r3.Sub(u, axes.Direction(lat, pose.HourAngle, pose.Dec))) > 1e-9 {
					t.Errorf("%s, %.1f h: the tube does not point at its target", member, hour)
				}
				if hour == 0 {
					continue
				}
				weightsDown, lookEast := saddle.Z > 0, hour < 0
				if weightsDown != (lookEast == (member == "PIER_WEST")) {
					t.Errorf("%s, latitude %.0f°, %.1f h: counterweights down %v", member, axes.Deg(lat), hour, weightsDown)
				}
			}
		}
	}
	if _, err := sideOf("PIER_NORTH"); err == nil {
		t.Error("a third side was taken")
	}
}
