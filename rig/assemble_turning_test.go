package rig

import "testing"

// What the arm carries about the declination axis never changes its gap to the tube; a disc on the tube does, once the cone error
// takes it off that axis.
func TestTurning(t *testing.T) {
	disc := func(f Frame) Part {
		return Part{Name: "disc", Frame: f, Shape: Cylinder, SizeMM: []float64{500, 10}, Place: [12]float64{0, 0, 1, -40, 1, 0, 0, 0, 0, 1, 0, 0}}
	}
	block := func(f Frame) Part {
		return Part{Name: "block", Frame: f, Shape: Box, SizeMM: []float64{60, 60, 60}, Place: [12]float64{1, 0, 0, 110, 0, 1, 0, 180, 0, 0, 1, 0}}
	}
	housing := Part{Name: "housing", Frame: Polar, Shape: Cylinder, SizeMM: []float64{120, 200}, Place: [12]float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, -100}}
	for _, c := range []struct {
		name string
		a, b Part
		want int
	}{
		{"disc on the arm, block on the tube", disc(Arm), block(TubeFrame), 1},
		{"disc on the tube, block on the arm", disc(TubeFrame), block(Arm), 0},
		{"polar housing, block on the arm", housing, block(Arm), 1},
		{"polar housing, block on the tube", housing, block(TubeFrame), 0},
		{"block on the head, disc on the arm", block(Polar), disc(Arm), 0},
	} {
		if got := turning(&Assembly{Parts: []Part{c.a, c.b}}); len(got) != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
