package night

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

const (
	step  = 10 * time.Second // along every track
	slop  = 1e-3             // mm, as converged gaps
	speck = 10. / 3600       // degrees: what apparent places and times may differ by
	whole = 2 * math.Pi
)

// judge drives a plan by brute force. It shares no machinery with the planner: it has hour angles from the sidereal time and the
// apparent place of each moment, axis angles from the definition of the frames, its own paths for slews, its own reading of the
// document's rules; from the rig it asks for the gap at one pose at a time.
type judge struct {
	plan    *Plan
	g       *room.Gauge
	mount   *rig.Mount
	site    sky.Site
	rnd     *rand.Rand
	tries   int // random drives of each slew
	rapid   bool
	scratch *room.Scratch

	p, x, w r3.Vec // the head's frame
	aligned bool
	hemi    float64 // 1 in the north, −1 in the south
	lat     float64

	aside  float64 // how far the pointing of an advice lies before its target's place, radians of hour angle
	places map[[2]int64]sky.Equatorial
	faults []string
	count  struct{ poses, slews, flips, vias, waits, parks, either int }
}

func newJudge(plan *Plan, g *room.Gauge, site sky.Site, rnd *rand.Rand) *judge {
	r := g.Model.Rig
	j := &judge{plan: plan, g: g, mount: &r.Mount, site: site, rnd: rnd, tries: 5, scratch: g.NewScratch()}
	j.places = map[[2]int64]sky.Equatorial{}
	// The document's head: the azimuth of the elevated end runs clockwise, W is what x̂ and the pole leave.
	j.lat, j.hemi = axes.Rad(r.Site.LatitudeDeg), 1
	if r.Site.LatitudeDeg < 0 {
		j.hemi = -1
	}
	alt, off := g.Model.Assembly.AltitudeDeg, g.Model.Assembly.AzimuthErrorDeg
	j.aligned = alt == math.Abs(r.Site.LatitudeDeg) && off == 0
	az := axes.Rad(off)
	if j.hemi < 0 {
		az += math.Pi
	}
	sAlt, cAlt := math.Sincos(axes.Rad(alt))
	sAz, cAz := math.Sincos(az)
	j.p = r3.Vec{X: sAz * cAlt, Y: cAz * cAlt, Z: sAlt}
	j.x = r3.Vec{X: -sAz * sAlt, Y: -cAz * sAlt, Z: cAlt}
	j.w = r3.Vec{X: -math.Cos(axes.Rad(off)), Y: math.Sin(axes.Rad(off))}
	return j
}

func (j *judge) fault(format string, a ...any) {
	if len(j.faults) < 40 {
		j.faults = append(j.faults, fmt.Sprintf(format, a...))
	}
}

// place is the apparent place of a target at a moment; it moves by less than 0.01″ in ten minutes.
func (j *judge) place(target int, t time.Time) sky.Equatorial {
	key := [2]int64{int64(target), t.Unix() / 600}
	e, ok := j.places[key]
	if !ok {
		e = j.plan.Targets[target].Place.Apparent(time.Unix(key[1]*600+300, 0))
		j.places[key] = e
	}
	return e
}

// offset is where a pointing may be for a target's place: as far as its declination may be off, and on the rim of its extent.
type offset func(sky.Equatorial) sky.Equatorial

func shifts(g *Target) []offset {
	by := func(d float64) offset {
		return func(e sky.Equatorial) sky.Equatorial {
			e.Dec = max(-math.Pi/2, min(math.Pi/2, e.Dec+d))
			return e
		}
	}
	edge := g.Extent + axes.Rad(0.1) - axes.Rad(1./3600)
	out := []offset{by(edge), by(-edge), by(0)}
	if g.Extent > 0 {
		for k := range 8 {
			out = append(out, rim(g.Extent, float64(k)*math.Pi/4+0.1))
		}
	}
	return out
}

// rim moves a place by an angle towards a position angle.
func rim(by, towards float64) offset {
	return func(e sky.Equatorial) sky.Equatorial {
		sD, cD := math.Sincos(e.Dec)
		sR, cR := math.Sincos(by)
		sT, cT := math.Sincos(towards)
		dec := math.Asin(max(-1, min(1, sD*cR+cD*sR*cT)))
		return sky.Equatorial{RA: e.RA + math.Atan2(sT*sR*cD, cR-sD*math.Sin(dec)), Dec: dec}
	}
}

// angles puts a place on the axes: u = cosβ·p + sinβ·(sinθ·x̂ − cosθ·W), β positive on side west. RA is the turn nearest to near.
func (j *judge) angles(side axes.Side, t time.Time, e sky.Equatorial, near float64) axes.Angles {
	return j.anglesAt(side, j.site.HourAngle(t, e), e.Dec, near)
}

func (j *judge) anglesAt(side axes.Side, H, dec, near float64) axes.Angles {
	var a axes.Angles
	if j.aligned {
		a = axes.Angles{RA: H + math.Pi/2, Dec: math.Pi/2 - j.hemi*dec}
		if side == axes.East {
			a = axes.Angles{RA: H - math.Pi/2, Dec: -a.Dec}
		}
	} else {
		sφ, cφ := math.Sincos(j.lat)
		sH, cH := math.Sincos(H)
		sδ, cδ := math.Sincos(dec)
		u := r3.Vec{X: -cδ * sH, Y: sδ*cφ - cδ*cH*sφ, Z: sδ*sφ + cδ*cH*cφ}
		x, w := r3.Dot(u, j.x), r3.Dot(u, j.w)
		a = axes.Angles{RA: math.Atan2(x, -w), Dec: math.Atan2(math.Hypot(x, w), r3.Dot(u, j.p))}
		if side == axes.East {
			a = axes.Angles{RA: math.Atan2(-x, w), Dec: -a.Dec}
		}
	}
	a.RA += whole * math.Round((near-a.RA)/whole)
	return a
}

func clockOf(t time.Time) string { return t.UTC().Format(time.DateTime) }

// free holds one pose against the margin.
func (j *judge) free(what string, t time.Time, a axes.Angles) bool {
	j.count.poses++
	if gap := j.g.Gap(a, j.scratch); !(gap.Lower >= j.g.MarginMM-slop) {
		parts := j.g.Model.Parts
		j.fault("%s at %s: θ %.3f° β %.3f°: %s to %s: %.3f mm below the margin", what, clockOf(t), axes.Deg(a.RA), axes.Deg(a.Dec),
			parts[gap.LowerPair[0]].Name, parts[gap.LowerPair[1]].Name, j.g.MarginMM-gap.Lower)
		return false
	}
	return true
}

// inside holds an RA axis angle against the travel and the two numbers.
func (j *judge) inside(what string, t time.Time, ra float64) bool {
	const little = 1e-6
	tr := j.g.Model.Travel
	from, to := tr.RAFrom, tr.RATo
	if j.plan.Options.TwoNumber {
		from, to = max(from, -j.plan.East), min(to, j.plan.West)
	}
	if ra < from-little || ra > to+little {
		j.fault("%s at %s: θ %.3f° is outside of %.3f° to %.3f°", what, clockOf(t), axes.Deg(ra), axes.Deg(from), axes.Deg(to))
		return false
	}
	return true
}

// nearest is where the mount goes for a place: by whole turns nearest to counterweight-down within travel.
func (j *judge) nearest(side axes.Side, t time.Time, e sky.Equatorial) float64 {
	return j.within(j.angles(side, t, e, 0)).RA
}

func (j *judge) within(a axes.Angles) axes.Angles {
	tr := j.g.Model.Travel
	for _, k := range []float64{0, 1, -1} {
		if x := a.RA + k*whole; x >= tr.RAFrom && x <= tr.RATo {
			a.RA = x
			break
		}
	}
	return a
}

// stand is where the mount may be on a target: the axis angles of each pointing that it may have, followed through time.
type stand struct {
	target int
	side   axes.Side
	shifts []offset
	ra     []float64
}

func (j *judge) arrive(target int, side axes.Side, t time.Time) *stand {
	s := &stand{target: target, side: side, shifts: shifts(&j.plan.Targets[target])}
	for _, f := range s.shifts {
		s.ra = append(s.ra, j.nearest(side, t, f(j.place(target, t))))
	}
	// One mosaic is one turn: what lies a little beyond half a turn is reached from the middle.
	for i := range s.ra {
		s.ra[i] += whole * math.Round((s.ra[2]-s.ra[i])/whole)
	}
	return s
}

// at is the pose of a pointing at a moment near to the last that was asked for.
func (j *judge) at(s *stand, i int, t time.Time) axes.Angles {
	return j.angles(s.side, t, s.shifts[i](j.place(s.target, t)), s.ra[i])
}

// track follows a stand from one moment to another.
func (j *judge) track(what string, s *stand, from, to time.Time) {
	bad := 0
	n := 0
	for t := from; ; t = t.Add(step) {
		if t.After(to) {
			t = to
		}
		for i := range s.shifts {
			a := j.at(s, i, t)
			s.ra[i] = a.RA
			if j.rapid && (i+n)%3 != 0 {
				continue
			}
			if !j.free(what, t, a) || !j.inside(what, t, a.RA) {
				bad++
			}
		}
		n++
		if t.Equal(to) || bad > 2 {
			return
		}
	}
}
