package room

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// Followed to the letter, the hour angles of a pair keep the RA axis within it, for heads on and off the pole, at every declination
// that they are said for; and the axis does reach the limit there at one of them, so that they are no worse than need be.
func TestHourAnglesOfAPairKeepTheAxisWithinIt(t *testing.T) {
	rnd := seeded(t)
	for k := range 300 {
		lat := axes.Rad(rnd.Float64()*150 - 75)
		alt, az := math.Abs(lat), 0.0
		if k%3 != 0 {
			most := []float64{0.05, 1, 5, 15}[rnd.IntN(4)]
			alt, az = alt+axes.Rad((rnd.Float64()*2-1)*most), axes.Rad((rnd.Float64()*2-1)*most)
		}
		h := axes.NewHead(lat, alt, az, r3.Vec{})
		s := &sky{lat: lat, lo: axes.Rad(rnd.Float64() * 20)}
		west, east := axes.Rad(70+40*rnd.Float64()), axes.Rad(70+40*rnd.Float64())
		from, to := axes.Rad(-90), axes.Rad(90)
		if rnd.IntN(2) == 0 {
			from, to = axes.Rad(-20+rnd.Float64()*20), axes.Rad(rnd.Float64()*70)
		}
		m := meridianOf(&h, s, west, east, from, to)
		if !m.Found {
			t.Fatalf("φ %v°, %v° off: none from %v° to %v°", axes.Deg(lat), axes.Deg(m.Off), axes.Deg(from), axes.Deg(to))
		}
		if h.Aligned && (m.West != west-quarter || m.East != quarter-east || m.DecFrom != from || m.DecTo != to) {
			t.Fatalf("an aligned head: %+v", m)
		}
		reachedWest, reachedEast := math.Inf(-1), math.Inf(1)
		for i := range 41 {
			dec := m.DecFrom + (m.DecTo-m.DecFrom)*float64(i)/40
			at := func(side axes.Side, H float64) float64 {
				return h.Angles(axes.Pose{Side: side, HourAngle: H, Dec: dec}).RA
			}
			for j := range 60 {
				back := math.Pow(float64(j)/60, 3) * 0.9 * math.Pi
				if ra := at(axes.West, m.West-back); ra > west+1e-12 {
					t.Fatalf("φ %v°, %v° off, dec %v°: %v° before its end side west is at %v°, beyond %v°", axes.Deg(lat), axes.Deg(m.Off), axes.Deg(dec),
						axes.Deg(back), axes.Deg(ra), axes.Deg(west))
				}
				if ra := at(axes.East, m.East+back); ra < -east-1e-12 {
					t.Fatalf("φ %v°, %v° off, dec %v°: %v° after its start side east is at %v°, beyond %v°", axes.Deg(lat), axes.Deg(m.Off), axes.Deg(dec),
						axes.Deg(back), axes.Deg(ra), axes.Deg(-east))
				}
			}
			reachedWest, reachedEast = math.Max(reachedWest, at(axes.West, m.West)), math.Min(reachedEast, at(axes.East, m.East))
		}
		if reachedWest < west-1e-6 || reachedEast > 1e-6-east {
			t.Errorf("φ %v°, %v° off: at no declination does the axis reach its limits, only %v° of %v° and %v° of %v°", axes.Deg(lat), axes.Deg(m.Off),
				axes.Deg(reachedWest), axes.Deg(west), axes.Deg(-reachedEast), axes.Deg(east))
		}
	}
}

// Near the pole there is no hour angle for a head that is off it: none is given, and a pair for the whole sky says where its own holds.
func TestNoHourAngleNearThePole(t *testing.T) {
	lat := axes.Rad(37)
	h := axes.NewHead(lat, lat, axes.Rad(3), r3.Vec{})
	s := &sky{lat: lat}
	if m := meridianOf(&h, s, axes.Rad(84), axes.Rad(84), axes.Rad(84), axes.Rad(90)); m.Found || m.Off == 0 {
		t.Errorf("at the pole: %+v", m)
	}
	m := meridianOf(&h, s, axes.Rad(84), axes.Rad(84), axes.Rad(-90), axes.Rad(90))
	if from, to := axes.Deg(m.DecFrom), axes.Deg(m.DecTo); math.Abs(from+53) > 1e-9 || math.Abs(to-80) > 1e-9 {
		t.Errorf("for declinations %v° to %v°, want −53° to 80°: what rises, 10° from the pole", from, to)
	}
	far := axes.NewHead(lat, lat, axes.Rad(90), r3.Vec{})
	if m := meridianOf(&far, s, axes.Rad(84), axes.Rad(84), axes.Rad(-90), axes.Rad(90)); m.Found {
		t.Errorf("a head at right angles to the sky: %+v", m)
	}
}

// The pair that is entered has hour angles of its own: rounded down, it is reached earlier.
func TestPairSaysWhereItLiesFromTheMeridian(t *testing.T) {
	g := exampleGauge(t, examples(t)[0], rig.RSS)
	two := limitsOf(t, mapOf(t, g, 2)).Two
	step := g.Model.Rig.Mount.EntryStepDeg
	for _, c := range []struct {
		m          Meridian
		west, east float64
	}{{two.Meridian, two.West, two.East}, {two.Entered, axes.Rad(Entry(two.West, step)), axes.Rad(Entry(two.East, step))}} {
		if want := (Meridian{c.west - quarter, quarter - c.east, -quarter, quarter, 0, true}); c.m != want {
			t.Errorf("%+v, want %+v", c.m, want)
		}
	}
}
