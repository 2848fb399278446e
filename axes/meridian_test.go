package axes

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// Against the head's own Angles: short of the hour angle the axis has not come to ra, from there on it is beyond, over half a turn of
// the sky each way.
func TestHourAngleAtIsWhereTheAxisComes(t *testing.T) {
	rnd := seeded(t)
	found := 0
	for range 4000 {
		lat := Rad(rnd.Float64()*170 - 85)
		most := []float64{0.1, 4, 20}[rnd.IntN(3)]
		h := NewHead(lat, math.Abs(lat)+Rad((rnd.Float64()*2-1)*most), Rad((rnd.Float64()*2-1)*most), r3.Vec{})
		side, ra := West, Rad(60+60*rnd.Float64())
		if rnd.IntN(2) == 0 {
			side, ra = East, -ra
		}
		dec := math.Asin(rnd.Float64()*2 - 1)
		H, ok := h.HourAngleAt(side, ra, dec)
		if ok != (math.Abs(dec) < quarter-h.Misalignment()-1e-9) {
			t.Fatalf("dec %v°, %v° off the pole: %v", Deg(dec), Deg(h.Misalignment()), ok)
		}
		if !ok {
			continue
		}
		found++
		for range 40 {
			x := rnd.Float64() * math.Pi * 0.99
			if before := h.Angles(Pose{side, H - x, dec}).RA; before > ra+1e-9 {
				t.Fatalf("φ %v° off %v° dec %v° %v: %v° short of %v° the axis is at %v°, not yet %v°", Deg(lat), Deg(h.Misalignment()), Deg(dec), side,
					Deg(x), Deg(H), Deg(before), Deg(ra))
			}
			if after := h.Angles(Pose{side, H + x, dec}).RA; after < ra-1e-9 {
				t.Fatalf("φ %v° off %v° dec %v° %v: %v° past %v° the axis is at %v°, beyond %v°", Deg(lat), Deg(h.Misalignment()), Deg(dec), side,
					Deg(x), Deg(H), Deg(after), Deg(ra))
			}
		}
	}
	if found < 2000 {
		t.Fatalf("only %d declinations had an hour angle", found)
	}
}

// For an aligned head hour angle and axis go together at every declination, the pole's too; one a hair off gives the same.
func TestHourAngleAtOfAnAlignedHead(t *testing.T) {
	a, b := aligned(36.9), NewHead(Rad(36.9), Rad(36.9)+1e-12, 1e-12, r3.Vec{})
	for _, c := range []struct {
		side Side
		ra   float64
		want float64
	}{{West, 84, -6}, {West, 95, 5}, {East, -84, 6}, {East, -92, -2}} {
		for _, dec := range []float64{-40, 0, 60, 90} {
			H, ok := a.HourAngleAt(c.side, Rad(c.ra), Rad(dec))
			if !ok || math.Abs(Deg(H)-c.want) > 1e-12 {
				t.Errorf("%v at %v°: %v°, want %v°", c.side, c.ra, Deg(H), c.want)
			}
			if G, ok := b.HourAngleAt(c.side, Rad(c.ra), Rad(dec)); ok && math.Abs(G-H) > 1e-9 {
				t.Errorf("a hair off: %v° for %v°", Deg(G), Deg(H))
			}
		}
	}
}
