package watch

import (
	"errors"
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/sky"
)

// jump is how far a place may go at once without a slew, radians: more is a sync, a slipped reading or another home.
const jump = math.Pi / 180

// placeNoise is how far a place may be off from one reading to the next, radians: ten seconds of arc.
const placeNoise = 10.0 / 3600 * math.Pi / 180

// unsure is what the noise of a place makes of the RA axis angle, radians: near the pole much. A sync is held against the axes and
// not the sky: near the pole a small one on the sky turns the RA axis far.
func unsure(dec float64) float64 {
	return math.Min(placeNoise/math.Max(math.Abs(math.Sin(dec)), 1e-6), math.Pi/3)
}

// smallStep is how far an axis may be from where it tracks or stands to at the next reading, radians: by the noise of the place, a clock
// that shows whole seconds, either reading taken at any moment of it, and guiding all the while, at up to the sidereal rate. More is a
// small sync, and counts.
func smallStep(last, c *fix) float64 {
	s := coarse + c.r.Got.Sub(c.r.Asked).Seconds() + last.r.Got.Sub(last.r.Asked).Seconds() + c.r.Got.Sub(last.r.Got).Seconds()
	return placeNoise + sky.SiderealRate*s
}

// sideAfter is how long after a slew drivers may still tell the side from before it.
const sideAfter = 2 * time.Second

// brakesFor is how long after a slew the axes may still turn as fast as in it.
const brakesFor = time.Second

// follower keeps the side by following the axes from reading to reading. The two sides of one place lie half a turn of the RA
// axis apart, so that from an axis position that is sure only one of them is within reach of the next reading, whatever the mount says.
type follower struct {
	model *axes.Model
	site  sky.Site
	slew  rates
	over  float64 // how far a slew may run past its end, radians

	last   *fix
	how    SideHow
	moved  Motion      // what the axes did at the last fix
	off    int         // readings in a row in which the side that is told is another than the one followed
	since  time.Time   // the first of them
	sum    axes.Angles // of small jumps since the reference was confirmed, signed
	run    axes.Angles // of those in a row, up to the last reading
	slewed time.Time   // when it was last said or seen to slew
	rested bool        // the last step was no more than tracking
	rests  time.Time   // and so were all since then
	hopped bool        // in a slew, the step before was a rest and the last one too large to begin and to end with one
	adrift bool        // a slew has been under way along the polar axis, where the place does not tell the RA axis
	jumps  string      // why the place is not to be believed any more; "" while it is

	explains func(*fix) bool // whether a motion that was let through brings the axes there; may be nil

	believe bool // the mount's word for the side, against all else: a guard taken away for tests
}

// resolved is what one reading says of the axes: one pose, or two when the side is not known.
type resolved struct {
	fixes []fix
	how   SideHow
	bad   map[Reason]string
	// either is why the axes may have come to one side as well as to the other, until the owner has looked; "" when they cannot have.
	either string
}

func (v *resolved) blind(r Reason, format string, a ...any) {
	if v.bad == nil {
		v.bad = map[Reason]string{}
	}
	v.bad[r] = fmt.Sprintf(format, a...)
}

// hourAngle of a reading by the mount's own sidereal time, from which it made the right ascension; by the computer's clock and
// the rig's site when it does not tell one.
func hourAngle(r mount.Reading, site sky.Site) float64 {
	t := r.Sidereal
	if !r.SiderealSaid {
		t = site.SiderealTime(r.Got)
	}
	return axes.Wrap(t - r.Place.RA)
}

// pose gives the fix of a side, unwrapped to the turn nearest to near within travel.
func (f *follower) pose(r mount.Reading, hour float64, side axes.Side, near *axes.Angles) (fix, bool) {
	at := f.model.Head.Angles(axes.Pose{Side: side, HourAngle: hour, Dec: r.Place.Dec})
	t := f.model.Travel
	want := 0.0
	if near != nil {
		want = near.RA
	}
	best, found := at, false
	for k := -2; k <= 2; k++ {
		g := axes.Angles{RA: axes.Wrap(at.RA) + 2*math.Pi*float64(k), Dec: at.Dec}
		// A little beyond its travel an axis may stand by its zero error, and by what a slew overshoots.
		out := jump + f.over
		within := t.RAFrom-out <= g.RA && g.RA <= t.RATo+out && t.DecFrom-out <= g.Dec && g.Dec <= t.DecTo+out
		if within && (!found || math.Abs(g.RA-want) < math.Abs(best.RA-want)) {
			best, found = g, true
		}
	}
	switch p := f.rest(r); {
	case !f.untold(best):
	case p != nil:
		best.RA = p.RA
	case near != nil:
		best.RA = near.RA
		if r.Tracking != mount.No && f.last != nil {
			best.RA += sky.SiderealRate * r.Got.Sub(f.last.r.Got).Seconds()
		}
	}
	return fix{r: r, hour: hour, side: side, at: best}, found
}

// atAxis is how near to the polar axis a place says nothing of the RA axis, radians: there a second of arc is a third of a degree.
const atAxis = 0.05 * math.Pi / 180

const untoldWords = "the tube points along a polar axis that is off the pole: there the place does not tell how the RA axis stands; park the mount, or " +
	"move the declination axis by a degree"

// untold tells whether the RA axis cannot be made from a place: it points along a polar axis that is not the sky's. On one that
// is, the right ascension still tells it.
func (f *follower) untold(at axes.Angles) bool {
	return !f.model.Head.Aligned && math.Abs(math.Sin(at.Dec)) < math.Sin(atAxis)
}

// unknown tells that nothing says how the RA axis stands: not the place, and no park or home that the mount says it is at.
func (f *follower) unknown(c *fix) bool { return f.untold(c.at) && f.rest(c.r) == nil }

// resolve says where the axes are. A place that is none has been sorted out before.
func (f *follower) resolve(r mount.Reading, ignoreSide bool) resolved {
	var v resolved
	hour := hourAngle(r, f.site)
	said := r.SideSaid && !ignoreSide
	var near *axes.Angles
	if f.last != nil {
		near = &f.last.at
	}
	var cands []fix
	for _, side := range []axes.Side{axes.West, axes.East} {
		if c, ok := f.pose(r, hour, side, near); ok {
			cands = append(cands, c)
		}
	}
	if len(cands) == 0 {
		v.how = ByNobody
		v.blind(BlindPlace, "hour angle %.2f h, declination %.1f° is out of the travel of the axes on either side", axes.Hours(hour), axes.Deg(r.Place.Dec))
		return v
	}
	if f.last == nil || f.believe && said {
		return f.first(v, cands, said)
	}
	return f.follow(v, cands, said)
}

// first takes the mount's word, for want of anything better.
func (f *follower) first(v resolved, cands []fix, said bool) resolved {
	v.how, v.fixes = ByNobody, cands
	if f.unknown(&cands[0]) {
		v.blind(BlindPlace, "%s", untoldWords)
		return v
	}
	if !said {
		return v
	}
	side := cands[0].r.Side
	for _, c := range cands {
		if c.side == side {
			v.how, v.fixes = ByMount, []fix{c}
			f.keep(c, ByMount)
			return v
		}
	}
	v.blind(BlindSide, "side %v is told, and on it hour angle %.2f h is out of the travel of the axes", side, axes.Hours(cands[0].hour))
	return v
}

// follow finds the pose that can be reached from the last one.
func (f *follower) follow(v resolved, cands []fix, said bool) resolved {
	last := f.last
	r := cands[0].r
	dt := math.Max(0, r.Got.Sub(last.r.Asked).Seconds())
	may := trackRates.times(2)
	if r.Slewing == mount.Yes || last.r.Slewing == mount.Yes || f.moved == Moves {
		f.slewed = r.Got
	}
	// A mount may say that the slew has ended while its axes are still braking, until they have been seen to rest.
	slewing := f.slewed.Equal(r.Got) || !f.slewed.IsZero() && r.Asked.Sub(f.slewed) <= brakesFor && !f.rested
	if slewing {
		may = f.slew
	}
	var within []fix
	for _, c := range cands {
		// Past the far pole the declination axis goes on from one side's +180° to the other's −180°.
		dRA, dDec := math.Abs(c.at.RA-last.at.RA), math.Abs(axes.Wrap(c.at.Dec-last.at.Dec))
		if dRA <= may.ra*dt+jump+unsure(c.at.Dec) && dDec <= may.dec*dt+jump {
			within = append(within, c)
		}
	}
	if len(within) == 0 {
		return f.leap(v, cands)
	}
	c, how := within[0], f.how
	if how == ByOwner {
		how = ByPath
	}
	if len(within) == 2 && f.untold(c.at) { // one and the same
		if within[1].side == last.side {
			c = within[1]
		}
	} else if len(within) == 2 { // after a long silence
		v.either = fmt.Sprintf("since %.1f s ago the axes may have come to either side: confirm on which the tube is", dt)
		if !said {
			f.how, f.last = ByNobody, nil
			v.how, v.fixes = ByNobody, within
			return v
		}
		how = ByMount
		if within[1].side == r.Side {
			c = within[1]
		}
	}
	if !slewing || f.moved == Moves && r.Slewing != mount.Yes && last.r.Slewing != mount.Yes {
		f.small(last, &c, slewing)
	}
	f.hop(last, &c)
	v.how, v.fixes = how, []fix{c}
	if slewing && f.unknown(&c) {
		// The RA axis may turn, and it is seen when the tube leaves the polar axis: until then the last sure fix stays the last.
		f.adrift = true
		if r.Slewing == mount.Yes {
			return v
		}
	}
	if f.adrift = f.adrift && f.unknown(&c); f.adrift {
		v.blind(BlindPlace, "the mount has slewed with the tube along its polar axis, which is off the pole: there the place does not tell how the RA axis stands")
		return v
	}
	f.keep(c, how)
	f.compare(&v, &c, said, cands)
	if f.jumps != "" {
		v.blind(BlindJump, "%s", f.jumps)
	}
	return v
}

// compare holds the side that is told against the one followed. While a slew runs, drivers tell either end's.
func (f *follower) compare(v *resolved, c *fix, said bool, cands []fix) {
	if !said || c.r.Slewing == mount.Yes || c.r.Side == c.side {
		f.off = 0
		return
	}
	if f.off++; f.off == 1 {
		f.since = c.r.Got
	}
	if f.off < 2 || c.r.Got.Sub(f.since) < sideAfter {
		return
	}
	v.blind(BlindSide, "side %v is told, and since the last sure one the axes can only have come to side %v (hour angle %.2f h)",
		c.r.Side, c.side, axes.Hours(c.hour))
	if f.how == ByMount { // neither is sure
		v.how, v.fixes = ByNobody, cands
	}
}

// leap is a place that no rate explains: a sync, or another home. The axes did not go there; which side they are on is no
// longer sure.
func (f *follower) leap(v resolved, cands []fix) resolved {
	c := cands[0]
	for _, o := range cands {
		if o.side == f.last.side {
			c = o
		}
	}
	f.jumps = fmt.Sprintf("the place jumped from RA axis %.2f°, declination axis %.2f° to %.2f°, %.2f° in %v with no slew that explains it (a sync?)",
		axes.Deg(f.last.at.RA), axes.Deg(f.last.at.Dec), axes.Deg(c.at.RA), axes.Deg(c.at.Dec), c.r.Got.Sub(f.last.r.Got).Round(10*time.Millisecond))
	f.keep(c, ByMount)
	v.how, v.fixes = ByNobody, cands
	v.blind(BlindJump, "%s", f.jumps)
	return v
}

// small adds up syncs of less than a degree, with their signs: what comes to less than a degree in all leaves the axes where they are
// taken to be. Steps in a row are a motion by hand that nobody told, where the observer finds one in them, and count no more.
func (f *follower) small(last, c *fix, moves bool) {
	if moves {
		f.sum, f.run = axes.Angles{RA: f.sum.RA - f.run.RA, Dec: f.sum.Dec - f.run.Dec}, axes.Angles{}
		return
	}
	dRA, dDec := beyond(last, c), axes.Wrap(c.at.Dec-last.at.Dec)
	if f.untold(c.at) || f.untold(last.at) {
		dRA = 0
	}
	noise := smallStep(last, c)
	if math.Abs(dRA) <= noise+unsure(c.at.Dec) {
		dRA = 0
	}
	if math.Abs(dDec) <= noise {
		dDec = 0
	}
	if dRA == 0 && dDec == 0 {
		f.run = axes.Angles{}
		return
	}
	f.sum.RA, f.run.RA = f.sum.RA+dRA, f.run.RA+dRA
	f.sum.Dec, f.run.Dec = f.sum.Dec+dDec, f.run.Dec+dDec
	if d := math.Hypot(f.sum.RA, f.sum.Dec); d > jump && f.jumps == "" {
		f.jumps = fmt.Sprintf("small jumps of the place have come to %.2f° since the reference pose", axes.Deg(d))
	}
}

// beyond is how far the RA axis went beyond tracking or rest, as the mount says it does, radians.
func beyond(last, c *fix) float64 {
	d := c.at.RA - last.at.RA
	tracked := sky.SiderealRate * c.r.Got.Sub(last.r.Got).Seconds()
	if c.r.SiderealSaid && last.r.SiderealSaid { // the clock that the angles were made by
		tracked += axes.Wrap(c.r.Sidereal - last.r.Sidereal - tracked)
	}
	lo, hi := math.Min(0, tracked), math.Max(0, tracked)
	switch {
	case c.r.Tracking == mount.Yes && last.r.Tracking == mount.Yes:
		lo = hi
	case c.r.Tracking == mount.No && last.r.Tracking == mount.No:
		hi = lo
	}
	return d - math.Min(math.Max(d, lo), hi)
}

// hopTime is how far apart two looks may be for hop, s: in it no mount goes a degree from rest to rest. Farther apart, it may, but not where
// it has been at rest for hopRest, is said to slew all the while, and no motion has been let through that it begins.
const (
	hopTime = 0.5
	hopRest = 2 * time.Second
)

// hop finds a sync in a slew that has come to rest and is said not to have ended: a jump with rest before it and after it.
func (f *follower) hop(last, c *fix) {
	dt := c.r.Asked.Sub(last.r.Asked).Seconds()
	dRA, dDec := math.Abs(c.at.RA-last.at.RA)-unsure(c.at.Dec), math.Abs(axes.Wrap(c.at.Dec-last.at.Dec))
	rests := math.Max(dRA, dDec) <= 2*sky.SiderealRate*dt+placeNoise && !f.untold(c.at) && !f.untold(last.at)
	if f.hopped && rests && f.jumps == "" {
		f.jumps = fmt.Sprintf("the place jumped in a slew that had come to rest, to RA axis %.2f°, declination axis %.2f° (a sync?)",
			axes.Deg(c.at.RA), axes.Deg(c.at.Dec))
	}
	slewing := c.r.Slewing == mount.Yes || last.r.Slewing == mount.Yes
	near := dt <= hopTime || last.r.Slewing == mount.Yes && last.r.Asked.Sub(f.rests) >= hopRest && !f.explained(c)
	f.hopped = slewing && f.rested && near && math.Max(dRA, dDec) > jump
	if rests && !f.rested {
		f.rests = last.r.Asked
	}
	f.rested = rests
}

// explained tells whether a motion that was let through brings the axes to a fix.
func (f *follower) explained(c *fix) bool { return f.explains != nil && f.explains(c) }

// rest is where the document says that the axes are at a park or home that the mount says it is at.
func (f *follower) rest(r mount.Reading) *axes.Angles {
	m := &f.model.Rig.Mount
	for _, p := range []struct {
		said mount.Said
		at   *rig.AxisPose
	}{{r.Parked, m.Park}, {r.AtHome, m.Home}} {
		if p.said == mount.Yes && p.at != nil {
			return &axes.Angles{RA: axes.Rad(p.at.RAAxisDeg), Dec: axes.Rad(p.at.DecAxisDeg)}
		}
	}
	return nil
}

func (f *follower) keep(c fix, how SideHow) { f.last, f.how = &c, how }

// confirm takes the owner's word for the side at a reading, and forgets what jumped before.
func (f *follower) confirm(r mount.Reading, side axes.Side) (fix, error) {
	c, ok := f.pose(r, hourAngle(r, f.site), side, nil)
	if ok && f.unknown(&c) {
		return c, errors.New(untoldWords)
	}
	if !ok {
		return c, fmt.Errorf("on side %v hour angle %.2f h, declination %.1f° is out of the travel of the axes", side, axes.Hours(c.hour), axes.Deg(r.Place.Dec))
	}
	f.keep(c, ByOwner)
	f.off, f.sum, f.run, f.jumps, f.moved, f.adrift, f.hopped = 0, axes.Angles{}, axes.Angles{}, "", Tracks, false, false
	return c, nil
}
