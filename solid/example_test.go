package solid_test

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/solid"
)

// A camera 86 mm in diameter beside a tripod leg that leans by 3 in 4.
func ExampleDistance() {
	camera, _ := solid.NewCylinder(86, 120)
	leg, _ := solid.NewBox(40, 40, 900)
	a := camera.At(solid.Pose{R: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}, T: r3.Vec{X: 200, Z: 700}})
	b := leg.At(solid.Pose{R: [9]float64{.8, 0, .6, 0, 1, 0, -.6, 0, .8}, T: r3.Vec{X: -100, Z: 500}})
	g := solid.Distance(&a, &b)
	fmt.Printf("%v: %.3f to %.3f mm\n", g.Status, g.Lower, g.Upper)
	// Output: apart: 29.600 to 29.600 mm
}

// The direction that kept two solids apart mostly does so again after a small motion.
func ExampleClearBy() {
	ball, _ := solid.NewSphere(100)
	wall, _ := solid.NewBox(20, 2000, 2000)
	w := wall.At(solid.Identity())
	var axis r3.Vec
	for x := 200.0; x > 60; x -= 40 {
		b := ball.At(solid.Pose{R: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}, T: r3.Vec{X: x}})
		fmt.Println(x, solid.ClearBy(&b, &w, 30, &axis))
	}
	// Output:
	// 200 true
	// 160 true
	// 120 true
	// 80 false
}
