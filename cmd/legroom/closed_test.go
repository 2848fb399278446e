package main

import (
	"math"
	"strconv"
	"testing"
)

// A limit in closed form through the whole program: the ball of testdata/sphere.yaml has its centre at r = 500 mm from the
// polar axis, the point stands at ρ = 500 mm, they touch at R + c = 500 mm, z = 0. From the law of cosines
// cos(angle) = (r² + ρ² + z² − (R + c)²)/(2rρ) = 1/2, so that side west touches at an hour angle of 60° = 4 h, and side east
// from 0 h back.
func TestLimitInClosedForm(t *testing.T) {
	const doc = "testdata/sphere.yaml"
	r, rho, z, sum := 500.0, 500.0, 0.0, 500.0
	want := math.Acos((r*r+rho*rho+z*z-sum*sum)/(2*r*rho)) * 12 / math.Pi
	if math.Abs(want-4) > 1e-12 {
		t.Fatalf("closed form: %v h", want)
	}
	free := func(side string, h, dec float64) bool {
		num := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
		code := legroom(t, "", "pose", doc, "--tolerance", "none", "--side", side, "--hour-angle-h", num(h), "--dec-deg", num(dec)).code
		if code == wrongUse {
			t.Fatal("the rig cannot be read")
		}
		return code == done
	}
	for _, dec := range []float64{-45, 0, 10, 40, 89} { // the declination turns the ball about its own centre
		for side, at := range map[string][2]float64{"west": {3, 5}, "east": {1, -1}} {
			in, out := at[0], at[1]
			if !free(side, in, dec) || free(side, out, dec) {
				t.Fatalf("side %s, declination %v: free at %v h is %v, at %v h %v", side, dec, in, free(side, in, dec), out, free(side, out, dec))
			}
			for math.Abs(in-out) > 1e-7 {
				if mid := (in + out) / 2; free(side, mid, dec) {
					in = mid
				} else {
					out = mid
				}
			}
			contact := map[string]float64{"west": want, "east": 0}[side]
			// 1e-6 h is 0.0001 mm along the circle: the proof's allowance for rounding.
			if late := (in - contact) * map[string]float64{"west": 1, "east": -1}[side]; late > 1e-9 || late < -1e-6 {
				t.Errorf("side %s, declination %v: free until %.9f h, contact at %v h", side, dec, in, contact)
			}
		}
	}

	// The map never goes past the contact, and a finer one comes closer: within two of its cells.
	for _, cell := range []float64{0.25, 0.05} {
		limits := valid(t, "limits", must(t, done, "limits", doc, "--tolerance", "none", "--cell-deg", strconv.FormatFloat(cell, 'g', -1, 64), "--format", "json"))
		stops := 0
		for _, row := range limits["by_declination"].([]any) {
			stop, ok := at(t, row, "stop_h").(float64)
			if !ok || at(t, row, "stop_reason") != "room" {
				continue
			}
			stops++
			if stop > want || stop < want-2*cell/15 {
				t.Errorf("cells of %v°, from declination %v: stop at %v h, contact at 4 h", cell, at(t, row, "dec_from_deg"), stop)
			}
		}
		if stops < 10 {
			t.Errorf("only %d bands stop for want of room", stops)
		}
		// 4 h past the meridian is 150° of axis on side west; side east may start at the meridian, 90°.
		west, east := at(t, limits, "two_number.west_deg").(float64), at(t, limits, "two_number.east_deg").(float64)
		if west > 150 || west < 150-2*cell || east > 90 || east < 90-2*cell {
			t.Errorf("cells of %v°: two-number limit %v°, %v°, contact at 150° and 90°", cell, west, east)
		}
	}
}
