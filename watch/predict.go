package watch

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/room"
	"legroom/sky"
)

// trackRates bound what tracking with guiding of half the sidereal rate does, and the rates for Moon or Sun. What the driver tells of other
// rates comes to it.
var trackRates = rates{1.5 * sky.SiderealRate, 0.5 * sky.SiderealRate}

// told is how fast the axes move among the stars while tracking, by the driver's word; 0 where it is less than shows.
func told(r *mount.Reading) rates {
	const least = 1e-3 * sky.SiderealRate
	t := rates{math.Abs(r.RARate), math.Abs(r.DecRate)}
	if !r.RatesSaid || t.ra < least {
		t.ra = 0
	}
	if !r.RatesSaid || t.dec < least {
		t.dec = 0
	}
	return t
}

// tracking are the rates of tracking, with what the driver tells of others.
func tracking(r *mount.Reading) rates { return trackRates.plus(told(r)) }

// predictor answers how much room there is, and when a stop is due. It belongs to one goroutine at a time.
type predictor struct {
	o *Options
	m *room.Map
	g *room.Gauge
	s *room.Scratch
	// track has what stopping takes while tracking added to the margin: where it ends, a stop is due. other is the same for rates of the
	// driver's, which take longer to stop from, and the margin that it has, mm.
	track, other *room.Gauge
	otherMM      float64
	slew         rates
	runs         [2]run // by side
}

func newPredictor(m *room.Map, o *Options) (*predictor, error) {
	g := m.Gauge()
	p := &predictor{o: o, m: m, g: g, s: g.NewScratch(), slew: slewRates(g.Model)}
	zone := g.MarginMM + p.trackZone(trackRates)
	var err error
	p.track, err = room.NewGauge(g.Model, room.Options{Mode: g.Mode, MarginMM: zone})
	return p, err
}

// trackZone is what stopping takes while tracking at rates r, with a reading as old as its deadline, mm.
func (p *predictor) trackZone(r rates) float64 {
	return stopping(fastest(p.g.Model, r.most(trackRates)), p.o.ReadDeadline+p.o.stopCalls(Tracks)+p.o.Period, p.o.BrakeTime)
}

// heading is which way an axis is seen to turn: +1, −1, or 0 when it may turn either way.
type heading struct{ ra, dec int }

// look is what is known of the room at one pose.
type look struct {
	at    axes.Angles
	gap   room.Gap // of the whole rig
	pair  [2]int   // the pair that decides: no other is nearer to what it needs
	lower float64  // its proven gap, tolerances taken off, mm
	zone  float64  // mm: a stop is due when lower is down to it
	v     float64  // its closing speed, mm/s
	due   bool
	why   Cause
}

// zoneOfAll is what the rig's proven gap would be, mm, if it came down by as much as the pair that decides has until a stop is due.
func (l *look) zoneOfAll() float64 { return l.gap.Lower - (l.lower - l.zone) }

// see decides whether a stop is due at a pose with rates r: when for some pair the lower bound of its gap ≤ margin + closing
// speed × (age + call deadline + period) + braking distance, the pair's own closing speed taken. A motion with a known heading
// that passes within that is no reason to stop while every pose that it can reach until then is proven free.
func (p *predictor) see(at axes.Angles, motion Motion, r rates, to heading, age, period time.Duration) look {
	exposed := age + p.o.stopCalls(motion) + period
	l := look{at: at, gap: p.g.Gap(at, p.s)}
	l.pair, l.lower = l.gap.LowerPair, l.gap.Lower
	margin := p.g.MarginMM
	if motion == Still {
		l.zone, l.due, l.why = margin, !(l.gap.Lower >= margin), ByGap
		return l
	}
	l.v = fastest(p.g.Model, r)
	take := stopping(l.v, exposed, p.o.BrakeTime)
	if motion == Tracks {
		take = math.Max(take, p.trackZone(r))
	}
	l.zone = margin + take
	if t := p.g.Model.Travel; motion == Tracks && at.RA+r.ra*(exposed+p.o.BrakeTime).Seconds() > t.RATo {
		l.due, l.why = true, ByTravel
	}
	if l.gap.Lower > l.zone {
		return l
	}
	if motion == Moves && (p.pairsClear(&l, r, exposed) || p.reachFree(at, r, to, exposed)) {
		return l
	}
	l.due, l.why = true, ByGap
	return l
}

// pairsClear looks at each pair with its own closing speed.
func (p *predictor) pairsClear(l *look, r rates, exposed time.Duration) bool {
	zone := func(a, b int) float64 {
		return p.g.MarginMM + stopping(closing(p.g.Model, a, b, r), exposed, p.o.BrakeTime)
	}
	d, left := p.g.Tightest(l.at, p.s, l.zone, zone)
	l.pair, l.lower = [2]int{d.A, d.B}, d.Lower-d.Allowance
	l.zone, l.v = zone(d.A, d.B), closing(p.g.Model, d.A, d.B, r)
	return left > 0
}

// slack is how far an axis may be from where it is read, or turn against its heading, radians.
const slack = 0.25 * math.Pi / 180

// reachFree tells whether every pose is proven free that the axes can reach until a stop has worked. An axis that turns back after
// this look is as one that sets out after it: up to the rate that Protects gives, the margin holds until the next one.
func (p *predictor) reachFree(at axes.Angles, r rates, to heading, exposed time.Duration) bool {
	far := func(x, rate float64, way int) (lo, hi float64) {
		d := rate*(exposed.Seconds()+p.o.BrakeTime.Seconds()/2) + slack
		lo, hi = x-d, x+d
		if way > 0 {
			lo = x - slack
		}
		if way < 0 {
			hi = x + slack
		}
		return lo, hi
	}
	var rect room.Rect
	rect.RAFrom, rect.RATo = far(at.RA, r.ra, to.ra)
	rect.DecFrom, rect.DecTo = far(at.Dec, r.dec, to.dec)
	return p.m.FreeRect(rect)
}

// run is where a track ends, kept while the track stays the same.
type run struct {
	known        bool
	from, end    float64 // RA axis angle, radians
	dec          float64
	pace         pace
	travel, none bool // it is the travel that ends it; nothing does within a turn
}

// pace is how fast the axes go while tracking, as the driver tells, rad/s: the RA axis, and the declination axis at least and at most.
type pace struct{ ra, decFrom, decTo float64 }

// paceOf gives it at a fix, and false where the RA axis goes backwards. A head that is not aligned takes the rates of the sky to both axes, as
// does one that passes a pole: then the declination axis may go either way.
func (p *predictor) paceOf(f *fix) (v pace, on bool) {
	t := told(&f.r)
	v = pace{sky.SiderealRate + t.ra, -t.dec, t.dec}
	if f.r.RARate > 0 {
		v.ra = sky.SiderealRate // slower than the stars counts as they
	}
	if h := &p.g.Model.Head; h.Aligned && math.Abs(math.Sin(f.at.Dec)) > math.Sin(fromPole) {
		next := f.at
		next.Dec += bandHalf
		if f.r.DecRate > 0 == (h.Pose(next).Dec > h.Pose(f.at).Dec) {
			v.decFrom = t.dec
		} else {
			v.decTo = -t.dec
		}
	}
	return v, t.ra == 0 || f.r.RARate < sky.SiderealRate
}

const (
	// bandHalf is how far the declination axis may be from where it drifts to before the end of the run is looked for anew, radians.
	bandHalf = 0.01 * math.Pi / 180
	// driftStep is how far the RA axis goes while all that the declination axis drifts over counts at once, radians.
	driftStep = 2.5 * math.Pi / 180
	// fromPole is how far from a pole a declination axis surely goes on the way that it goes, radians.
	fromPole = 15 * math.Pi / 180
)

// left is how long a pose can be tracked until a stop is due, by the rates that the driver tells with no guiding or motion by hand besides,
// which come and go, and at those rates never later than the truth. ends is false when nothing ends the run within a turn of the axis. r
// bounds what the axes do meanwhile, guiding with it: where a stop is due depends on that.
func (p *predictor) left(at axes.Angles, side axes.Side, r rates, v pace) (d time.Duration, ends bool) {
	t := p.g.Model.Travel
	c := &p.runs[side]
	gone := math.Max(0, at.RA-c.from) / v.ra
	if d := at.Dec - c.dec; !c.known || c.pace != v || d < v.decFrom*gone-bandHalf || d > v.decTo*gone+bandHalf || at.RA < c.from-bandHalf || !c.none && at.RA > c.end || c.none && at.RA > c.from+math.Pi {
		to := math.Min(at.RA+2*math.Pi, t.RATo)
		*c = run{known: true, from: at.RA, dec: at.Dec, pace: v, end: to, travel: to == t.RATo, none: to < t.RATo}
		if to <= at.RA {
			c.end = at.RA
		} else if end, found := p.contact(p.gaugeFor(r), at, to, v); found {
			c.end, c.travel, c.none = end, false, false
		}
	}
	if c.none {
		return 0, false
	}
	s := (c.end - at.RA) / v.ra
	if c.travel {
		s -= r.ra/sky.SiderealRate*(p.o.stopCalls(Tracks)+p.o.ReadDeadline+p.o.Period+p.o.BrakeTime).Seconds() + 1
	}
	return time.Duration(math.Max(0, s) * float64(time.Second)), true
}

// contact is where a track first meets a pose at which a stop is due, with the declination axis where it may have drifted to by then.
func (p *predictor) contact(g *room.Gauge, at axes.Angles, to float64, v pace) (end float64, found bool) {
	if g == nil {
		return at.RA, true
	}
	if v.decFrom == 0 && v.decTo == 0 {
		hit := g.FirstContact(at.RA, to, at.Dec-bandHalf, at.Dec+bandHalf)
		return hit.RA, hit.Found
	}
	for from := at.RA; from < to; from += driftStep {
		until := math.Min(to, from+driftStep)
		s0, s1 := (from-at.RA)/v.ra, (until-at.RA)/v.ra
		lo := math.Max(math.Min(v.decFrom*s0, v.decFrom*s1), -math.Pi) - bandHalf
		hi := math.Min(math.Max(v.decTo*s0, v.decTo*s1), math.Pi) + bandHalf
		if hit := g.FirstContact(from, until, at.Dec+lo, at.Dec+hi); hit.Found {
			return hit.RA, true
		}
	}
	return 0, false
}

// gaugeFor is track, for rates that may be more than those; nil where there is none.
func (p *predictor) gaugeFor(r rates) *room.Gauge {
	if r.most(trackRates) == trackRates {
		return p.track
	}
	if mm := p.g.MarginMM + p.trackZone(r); p.other == nil || mm != p.otherMM {
		p.other, p.otherMM = nil, mm
		if g, err := room.NewGauge(p.g.Model, room.Options{Mode: p.g.Mode, MarginMM: mm}); err == nil {
			p.other = g
		}
	}
	return p.other
}

// words names the pair that decides, with its numbers.
func (p *predictor) words(l look) string {
	parts := p.g.Model.Parts
	a, b := parts[l.pair[0]].Name, parts[l.pair[1]].Name
	if l.why == ByTravel {
		return fmt.Sprintf("the RA axis is at %.1f° and its travel ends at %.1f°", axes.Deg(l.at.RA), axes.Deg(p.g.Model.Travel.RATo))
	}
	return fmt.Sprintf("%s to %s: at least %.1f mm are proven, and at %.1f mm a stop is due (the margin and what stopping takes)", a, b, l.lower, l.zone)
}
