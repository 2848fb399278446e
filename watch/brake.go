package watch

import (
	"math"
	"time"

	"legroom/room"
)

// braking is what is proven of axes that come to rest because somebody ended their proven slew half-way, by way of the
// guard.
//
// The proof of the slew does not cover it: that holds for axes which speed up and come to rest alike, and nobody knows
// whether a mount brakes at an abort as it does at the end of a slew. Softer, it leaves the way by more than the proof
// allows for. So it is proven anew: all that both axes can reach from the first reading since, each by itself, braking as Options.BrakeTime
// says. Readings that find them elsewhere end it.
type braking struct {
	told bool       // the abort is on its way, or answered
	to   heading    // which way the axes turned before
	in   *room.Rect // all that they can reach; nil when it is not proven free, or nothing was read yet
	over time.Time  // when they have to be at rest; zero: the mount has not answered yet
}

// Aborting says that a client ends what is under way. The mount may get it from now on; what it returns is to be called when
// it has answered, or when no answer is waited for any more. Axes that brake then are no slew that nobody has proven, as
// long as all that they can reach is proven free.
func (w *Watch) Aborting() (answered func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	p := w.pass
	if p == nil {
		return func() {}
	}
	if !p.brake.told {
		p.brake = braking{told: true, to: w.now.to}
	}
	return func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		p.started = true // and so has to end
		if p.brake.over.IsZero() {
			p.brake.over = w.o.Clock.Now().Add(w.o.BrakeTime + w.o.FastPeriod)
			p.until = p.brake.over.Add(w.o.Period)
		}
	}
}

// brakes proves, at the first reading that finds an aborted slew ended, all that the axes can reach until they are at rest.
func (w *Watch) brakes(f *fix, now time.Time) {
	p := w.pass
	if p == nil || !p.brake.told || p.brake.in != nil {
		return
	}
	// Read at any moment of the reading, and at full rate until its end.
	s := w.o.BrakeTime.Seconds()/2 + f.r.Got.Sub(f.r.Asked).Seconds()
	far := w.p.slew.most(w.now.rates).times(s)
	r := room.Rect{RAFrom: f.at.RA - slack, RATo: f.at.RA + slack, DecFrom: f.at.Dec - slack, DecTo: f.at.Dec + slack}
	reach := func(from, to *float64, far float64, way int) {
		if way >= 0 {
			*to += far
		}
		if way <= 0 {
			*from -= far
		}
	}
	reach(&r.RAFrom, &r.RATo, far.ra, p.brake.to.ra)
	reach(&r.DecFrom, &r.DecTo, far.dec, p.brake.to.dec)
	if w.m.FreeRect(r) && (!w.sun.up(now) || w.sun.clear(r, now, w.o.BrakeTime)) {
		p.brake.in = &r
	}
}

// holds tells whether the axes brake where that was proven.
func (b *braking) holds(f *fix) bool {
	if b.in == nil || !b.over.IsZero() && f.r.Got.After(b.over) {
		return false
	}
	turn := 2 * math.Pi * math.Round((b.in.Centre().Dec-f.at.Dec)/(2*math.Pi))
	at := room.Rect{RAFrom: b.in.RAFrom, RATo: b.in.RATo, DecFrom: b.in.DecFrom - turn, DecTo: b.in.DecTo - turn}
	return at.RAFrom <= f.at.RA && f.at.RA <= at.RATo && at.DecFrom <= f.at.Dec && f.at.Dec <= at.DecTo
}
