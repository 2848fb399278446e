package watch

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// fix is a reading with the axis angles made of it.
type fix struct {
	r    mount.Reading
	hour float64
	side axes.Side
	at   axes.Angles // unwrapped
}

// hand is the motion among the stars, with neither slew nor reading noise to explain it, above which an axis counts as moved by
// hand: this much and this much a second. Guiding and dither stay below it.
const (
	handStep = 0.01 * math.Pi / 180
	handRate = 0.02 * math.Pi / 180
)

// observer says what the axes do from one reading to the next.
type observer struct {
	prev    *fix
	anchor  *fix // since when they may stand still
	since   int  // readings since
	odd     int  // readings in a row that moved among the stars without a slew
	seen    rates
	heading heading
	moved   bool      // seen to move since an anchor, though not said to
	from    time.Time // when that one was
	speed   rates     // at least, from the reading before to this one
	// unsettled tells that the mount slews, or has moved without a word or slewed, and has not been seen to rest or track since.
	unsettled bool
	last      *fix // that was so at
}

// How long axes are watched before they are believed to stand still: tracking moves them by 30″ in stillFor. Where nobody says that
// tracking is off, so long that it shows even near the pole.
const (
	stillFor       = 2 * time.Second
	stillForUnsaid = 10 * time.Second
)

// polarScale is the weight of a turn of the RA axis: near the pole small errors of the place make large ones of the angle.
func polarScale(dec float64) float64 { return math.Max(math.Abs(math.Sin(dec)), 0.2) }

// observe takes the next fix and tells what the axes do and how fast at most.
func (ob *observer) observe(f fix, slew rates) (Motion, rates) {
	defer func() {
		c := f
		ob.settle(&c)
		ob.prev = &c
	}()
	still := ob.still(&f)
	ob.speed = rates{}
	track := tracking(&f.r)
	if ob.prev == nil || !ob.goesOn(&f) {
		ob.odd, ob.seen, ob.heading = 0, rates{}, heading{}
		if f.r.Slewing == mount.Yes {
			return Moves, slew
		}
		return Tracks, track
	}
	dt := f.r.Got.Sub(ob.prev.r.Got).Seconds()
	dRA, dDec := f.at.RA-ob.prev.at.RA, axes.Wrap(f.at.Dec-ob.prev.at.Dec)
	// The states read are of any moment of their readings, as far apart as this at most.
	if most := f.r.Got.Sub(ob.prev.r.Asked).Seconds(); most > 0 {
		ob.speed = rates{math.Abs(dRA) / most, math.Abs(dDec) / most}
	}
	step, expected := among(ob.prev, &f)
	if f.r.Slewing == mount.Yes {
		ob.heading = heading{ob.way(dRA-expected, ob.heading.ra), ob.way(dDec, ob.heading.dec)}
		ob.odd = 0
		return Moves, slew.most(ob.speed.times(1.1))
	}
	ob.heading = heading{}
	// Tracking switched on or off in between is no motion by hand.
	if dt > 0 && step > byHand(dt) {
		ob.odd++
		seen := rates{math.Abs(dRA) / dt, math.Abs(dDec) / dt}
		if ob.odd >= 2 {
			ob.seen = ob.seen.most(seen)
			return Moves, ob.seen.times(1.3).most(track)
		}
		ob.seen = seen
		return Tracks, track
	}
	ob.odd, ob.seen = 0, rates{}
	if still {
		return Still, rates{}
	}
	return Tracks, track
}

// among is how far the axes went among the stars between two fixes, and how far the RA axis went with them, radians.
func among(from, to *fix) (step, tracked float64) {
	if to.r.Tracking != mount.No {
		tracked = sky.SiderealRate * to.r.Got.Sub(from.r.Got).Seconds()
	}
	return math.Hypot((to.at.RA-from.at.RA-tracked)*polarScale(to.at.Dec), axes.Wrap(to.at.Dec-from.at.Dec)), tracked
}

// byHand is the step above which axes were moved by hand in dt seconds.
func byHand(dt float64) float64 { return handStep + (handRate+sky.SiderealRate)*dt }

// settleFor is how long axes that have been moving are watched before they are believed to rest or track: what they may still
// do then is within placeOff.
const settleFor = 100 * time.Millisecond

// settle tells whether the axes may still be coming to rest.
func (ob *observer) settle(f *fix) {
	if f.r.Slewing == mount.Yes || ob.odd > 0 {
		ob.unsettled, ob.last = true, f
		return
	}
	if !ob.unsettled {
		return
	}
	dt := f.r.Asked.Sub(ob.last.r.Got)
	if dt < settleFor {
		return
	}
	step, _ := among(ob.last, f)
	ob.unsettled, ob.last = step > byHand(dt.Seconds()), f
}

// goesOn tells whether the axes came to a fix from the one before, be it past a pole to the other side, and not the follower to
// another opinion: that puts them half a turn away.
func (ob *observer) goesOn(f *fix) bool {
	return ob.prev.side == f.side ||
		math.Abs(f.at.RA-ob.prev.at.RA) < math.Pi/2 && math.Abs(axes.Wrap(f.at.Dec-ob.prev.at.Dec)) < math.Pi/2
}

// way is the sense of a step that is too large to be noise; two senses in one slew leave it open.
func (ob *observer) way(d float64, before int) int {
	const noise = 0.05 * math.Pi / 180
	switch {
	case d > noise && before >= 0:
		return 1
	case d < -noise && before <= 0:
		return -1
	case math.Abs(d) <= noise:
		return before
	}
	return 0
}

// still tells whether tracking and slewing are not said to be on and the axes have been seen not to turn over two readings or more.
// Half of what tracking turns, and what reading noise may be, counts as nothing.
func (ob *observer) still(f *fix) bool {
	ob.moved = false
	if f.r.Tracking == mount.Yes || f.r.Slewing == mount.Yes {
		ob.anchor = nil
		return false
	}
	if ob.anchor == nil || ob.anchor.side != f.side {
		c := *f
		ob.anchor, ob.since = &c, 0
		return false
	}
	ob.since++
	dt := f.r.Asked.Sub(ob.anchor.r.Got)
	if dt < stillFor || ob.since < 2 {
		return false
	}
	turned := math.Max(math.Abs(f.at.RA-ob.anchor.at.RA)*polarScale(f.at.Dec), math.Abs(f.at.Dec-ob.anchor.at.Dec))
	if turned <= 0.5*sky.SiderealRate*math.Min(dt.Seconds(), 10)*polarScale(f.at.Dec)+0.002*math.Pi/180 {
		return f.r.Tracking == mount.No || dt >= stillForUnsaid
	}
	c := *f
	ob.from = ob.anchor.r.Asked
	ob.anchor, ob.since, ob.moved = &c, 0, true
	return false
}
