package proof

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/sky"
)

// sunKeep is how far the tube of every step stays from the Sun, degrees; the Sun counts from sunLow degrees below the horizon on.
const (
	sunKeep = 30.0
	sunLow  = -2.0
)

// sun is where the Sun stands through a walk, world directions.
type sun struct {
	up  bool
	way []r3.Vec
}

func newSun(r *rig.Rig, from time.Time, last time.Duration) (*sun, error) {
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return nil, fmt.Errorf("where the Sun stands: %w", err)
	}
	s := &sun{}
	const every = 5 * time.Minute // 1.25° of the sky
	for d := time.Duration(0); d <= last; d += every {
		alt, az := site.AltAz(from.Add(d), site.Sun(from.Add(d)))
		if alt < axes.Rad(sunLow) {
			continue
		}
		s.up = true
		sinAlt, cosAlt := math.Sincos(alt)
		sinAz, cosAz := math.Sincos(az)
		s.way = append(s.way, r3.Vec{X: cosAlt * sinAz, Y: cosAlt * cosAz, Z: sinAlt})
	}
	return s, nil
}

// apart is the least angle, degrees, between a world direction and the Sun; 180 when that is down.
func (s *sun) apart(u r3.Vec) float64 {
	least := math.Pi
	for _, v := range s.way {
		least = math.Min(least, math.Atan2(r3.Norm(r3.Cross(u, v)), r3.Dot(u, v)))
	}
	return axes.Deg(least)
}

// along is the least angle, degrees, between the tube and the Sun on the way between two poses: both axes evenly, and either axis first.
func (s *sun) along(h *axes.Head, from, to axes.Angles) float64 {
	least := 180.0
	const samples = 40
	for k := range samples + 1 {
		f := float64(k) / samples
		even := axes.Angles{RA: from.RA + f*(to.RA-from.RA), Dec: from.Dec + f*(to.Dec-from.Dec)}
		for _, at := range []axes.Angles{even, {RA: even.RA, Dec: from.Dec}, {RA: even.RA, Dec: to.Dec}, {RA: from.RA, Dec: even.Dec}, {RA: to.RA, Dec: even.Dec}} {
			least = math.Min(least, s.apart(h.Pointing(at)))
		}
	}
	return least
}
