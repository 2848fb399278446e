package watch

import (
	"math"
	"time"

	"legroom/axes"
)

// handMotion is a motion by hand that was let through.
type handMotion struct {
	rates rates
	until time.Time // it has to have begun by then
	waits [2]bool   // by axis: it has neither been seen to begin nor been ended
}

// seen notes which axes turn faster than tracking and guiding turn them.
func (h *handMotion) seen(speed, track rates) {
	h.waits[0] = h.waits[0] && speed.ra <= track.ra
	h.waits[1] = h.waits[1] && speed.dec <= track.dec
}

// sunByHand is how long a motion by hand may go on that is let through near the Sun.
const sunByHand = 5 * time.Minute

// AdmitMotion tells whether one axis (0 RA, 1 declination) may be moved by hand at a rate, rad/s; the watch then goes by that rate.
// No open protocol says which way a rate turns the axis, so that both have to have room. Rate 0 is always let through. The error
// is a *Refusal.
func (w *Watch) AdmitMotion(axis int, rate float64) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.o.Clock.Now()
	track := tracking(&w.now.r)
	h := handMotion{rates: track, until: now.Add(beginWithin)}
	if w.hand != nil {
		h.rates, h.waits = w.hand.rates, w.hand.waits
	}
	v := math.Abs(rate)
	if axis == 0 {
		h.rates.ra = math.Max(v*1.1, track.ra)
	} else {
		h.rates.dec = math.Max(v*1.1, track.dec)
	}
	if rate == 0 {
		if w.hand != nil {
			// Until it has come to rest, it is still as fast as it was.
			w.hand.until = now.Add(w.o.BrakeTime)
			if axis == 0 || axis == 1 {
				w.hand.waits[axis] = false
			}
		}
		return nil
	}
	if math.IsNaN(rate) || math.IsInf(rate, 0) || axis < 0 || axis > 1 {
		return refuse("room", "axis %d at %v°/s is no motion", axis, axes.Deg(rate))
	}
	busy := w.now.motion == Moves && w.hand == nil
	motion, unsettled := w.now.motion, w.ob.unsettled
	if !busy {
		w.now.motion = Tracks // another motion by hand may be under way
	}
	w.ob.unsettled = unsettled && w.hand == nil
	f, err := w.readyByHand(now)
	w.now.motion, w.ob.unsettled = motion, unsettled
	if err != nil {
		return err
	}
	if l := w.p.see(f.at, Moves, h.rates, heading{}, now.Sub(f.r.Asked)+w.o.Period, w.o.Period); l.due {
		return refuse("room", "too fast so near: %s", w.p.words(l))
	}
	if _, _, stop := w.sun.approaching(f.at, f.at, now, h.rates, sunByHand); w.sun.up(now) && (stop || w.sun.separation(f.at, now) < w.sun.angle+axes.Rad(5)) {
		return refuse("sun", "%s", w.sun.words(w.sun.separation(f.at, now)))
	}
	h.waits[axis] = true
	w.hand = &h
	return nil
}

// CancelMotion takes a motion by hand back: the mount did not take it.
func (w *Watch) CancelMotion(axis int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.hand != nil && (axis == 0 || axis == 1) {
		w.hand.waits[axis] = false
	}
}
