package report

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

// A figure of a table has as many decimals as mean something, none of them on the wrong side of what it bounds, and no more than a step
// from it.
func TestCSVRoundsToTheSafeSide(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{csvDown(95.1, 3), "95.1"}, {csvUp(95.1, 3), "95.1"}, {csvDown(-0.862072, 3), "-0.863"}, {csvUp(-0.862072, 3), "-0.862"}, {csvNear(26.017143, 3), "26.017"},
		{csvDown(1.0/60, csvHour), "0.01666"}, {csvUp(1.0/60, csvHour), "0.01667"}, {csvDown(0, 2), "0"}, {csvUp(-1e-9, 2), "0"}, {csvDown(-1e-9, 2), "-0.01"},
		{csvDown(100, 2), "100"}, {csvUp(99.9999, 2), "100"}, {number(-0.30000000000000004), "-0.30000000000000004"},
	} {
		if c.got != c.want {
			t.Errorf("%s, want %s", c.got, c.want)
		}
	}
	rng := rand.New(rand.NewPCG(8, 15))
	for range 20_000 {
		x := (rng.Float64() - 0.5) * math.Pow10(rng.IntN(7))
		n := rng.IntN(6)
		low, err1 := strconv.ParseFloat(csvDown(x, n), 64)
		high, err2 := strconv.ParseFloat(csvUp(x, n), 64)
		if step := math.Pow10(-n) * (1 + 1e-6); err1 != nil || err2 != nil || low > x || high < x || x-low > step || high-x > step {
			t.Fatalf("seed 8, 15: %v with %d decimals lies between %v and %v", x, n, low, high)
		}
	}
}

// A pose that the axes do not reach says why, as JSON and text do.
func TestPosesCSVSaysWhy(t *testing.T) {
	var b bytes.Buffer
	w := NewPoseWriter(&b, "csv")
	why := "declination axis −200° is beyond −180°"
	for _, d := range []PoseLine{{Side: "west", HourAngleH: -0.3, DecDeg: 37, GapMM: 26.0171436, GapLowerMM: -0.8620721, A: "leg 3", B: "filter wheel"},
		{Side: "east", HourAngleH: 14, DecDeg: 37, GapMM: 80, GapLowerMM: 70, OutOfTravel: &why, A: "a", B: "b"}} {
		if err := w.Write(d); err != nil {
			t.Fatal(err)
		}
	}
	want := []string{"side,hour_angle_h,dec_deg,gap_mm,gap_lower_mm,free,a,b,out_of_travel", "west,-0.3,37,26.017,-0.863,false,leg 3,filter wheel,",
		"east,14,37,80,70,false,a,b," + why, ""}
	if got := strings.Split(b.String(), "\n"); strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("%q", got)
	}
}
