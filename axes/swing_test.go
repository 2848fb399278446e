package axes

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// No pose within the stretch has its axes farther away, for heads on and off the pole, declinations near it among them; and the bound is
// no more than a half too large where the stretch is short and away from the pole.
func TestSwingHoldsTheStretch(t *testing.T) {
	rnd := seeded(t)
	for k := range 4000 {
		lat := Rad(rnd.Float64()*160 - 80)
		h := NewHead(lat, math.Abs(lat)+Rad(rnd.NormFloat64()*3), Rad(rnd.NormFloat64()*6), r3.Vec{})
		if k%5 == 0 {
			h = NewHead(lat, math.Abs(lat), 0, r3.Vec{})
		}
		p := Pose{Side: Side(rnd.IntN(2)), HourAngle: (rnd.Float64()*2 - 1) * math.Pi, Dec: math.Asin(rnd.Float64()*2 - 1)}
		if k%2 == 0 {
			p.Dec = Rad(90 - 15*rnd.Float64())
			if rnd.IntN(2) == 0 {
				p.Dec = -p.Dec
			}
		}
		half := math.Pi * math.Pow(10, -4*rnd.Float64())
		ra, dec := h.Swing(p, half)
		at := h.Angles(p)

		for range 60 {
			q := p
			q.HourAngle += (rnd.Float64()*2 - 1) * half
			b := h.Angles(q)
			turned := math.Abs(b.RA - at.RA)
			if ra < math.Pi || !h.Aligned {
				turned = math.Abs(Wrap(b.RA - at.RA)) // a branch cut of Angles is no motion
			}
			if turned > ra+1e-9 || math.Abs(b.Dec-at.Dec) > dec+1e-9 {
				t.Fatalf("φ %v° off %v° %+v, within %v°: RA %v° of %v°, declination %v° of %v°", Deg(lat), Deg(h.Misalignment()), p, Deg(half),
					Deg(turned), Deg(ra), Deg(b.Dec-at.Dec), Deg(dec))
			}
		}
		if math.Abs(p.Dec) < Rad(60) && half < Rad(1) && h.Misalignment() < Rad(10) && ra > 1.5*half {
			t.Errorf("off %v° dec %v°: %v° for %v°", Deg(h.Misalignment()), Deg(p.Dec), Deg(ra), Deg(half))
		}
	}
}
