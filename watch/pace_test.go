package watch

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// The declination axis goes the way that takes the declination where the driver says that it goes, on either side, in the north as in the
// south; either way near a pole, and where the polar axis is off it. Against where a head points a minute later.
func TestPace(t *testing.T) {
	for _, lat := range []float64{50, -33} {
		for _, dec := range []float64{40, -40, 120, -120, 5, -175} {
			for _, off := range []float64{0, 1} {
				for _, told := range []float64{0.5, -0.5, 0} {
					t.Run(fmt.Sprint(lat, dec, off, told), func(t *testing.T) {
						m := *theMap(t).Gauge().Model
						m.Head = axes.NewHead(axes.Rad(lat), math.Abs(axes.Rad(lat)), axes.Rad(off), r3.Vec{})
						g := *theMap(t).Gauge()
						g.Model = &m
						p := &predictor{g: &g}
						f := fix{at: deg(20, dec), r: mount.Reading{RatesSaid: true, RARate: -told * sky.SiderealRate, DecRate: told * sky.SiderealRate}}
						v, on := p.paceOf(&f)
						if want := (1 + math.Max(0, told)) * sky.SiderealRate; !on || math.Abs(v.ra-want) > 1e-12 {
							t.Errorf("RA axis at %g, want %g", v.ra, want)
						}
						either := off != 0 || math.Abs(math.Sin(axes.Rad(dec))) < 0.2
						if either {
							if most := math.Abs(f.r.DecRate); v.decFrom != -most || v.decTo != most {
								t.Errorf("from %g to %g, want either way", v.decFrom, v.decTo)
							}
							return
						}
						next := f.at
						next.Dec += 60 * v.decFrom
						went := m.Head.Pose(next).Dec - m.Head.Pose(f.at).Dec
						if v.decFrom != v.decTo || math.Abs(went-60*f.r.DecRate) > 1e-9 {
							t.Errorf("from %g to %g: the declination went by %g, want %g", v.decFrom, v.decTo, went, 60*f.r.DecRate)
						}
					})
				}
			}
		}
	}
	// Backwards, there is no word of when a run ends.
	p := &predictor{g: theMap(t).Gauge()}
	if _, on := p.paceOf(&fix{at: deg(20, 40), r: mount.Reading{RatesSaid: true, RARate: 2 * sky.SiderealRate}}); on {
		t.Error("a run that goes backwards has an end")
	}
}
