package watch

import (
	"math"
	"time"

	"legroom/mount"
	"legroom/room"
)

// Pass is a slew that was proven free from where the axes are to where they are to go, in every order and by every way that the
// document leaves open. As long as the axes stay on it, the watch lets it run.
type Pass struct {
	w       *Watch
	ways    []room.Way // what the slews may sweep
	ends    []room.Rect
	rates   rates // of a slew
	until   time.Time
	sent    time.Time // when the mount had answered the command; zero: it is still on its way
	started bool
	ended   int // readings in a row after the slew
	brake   braking
}

// holds tells whether the axes are on one of the proven slews, declination by whole turns. Both axes are read at moments of their
// own, between which either may go on.
func (p *Pass) holds(f *fix) bool {
	if p == nil {
		return false
	}
	if p.brake.told && f.r.Slewing != mount.Yes {
		return p.brake.holds(f)
	}
	dt := f.r.Got.Sub(f.r.Asked).Seconds()
	ra, dec := slack+p.rates.ra*dt, slack+p.rates.dec*dt
	for _, way := range p.ways {
		for k := -1; k <= 1; k++ {
			at := f.at.Dec + 2*math.Pi*float64(k)
			if way.Meets(room.Rect{RAFrom: f.at.RA - ra, RATo: f.at.RA + ra, DecFrom: at - dec, DecTo: at + dec}) {
				return true
			}
		}
	}
	return false
}

// Sent says that the mount has answered the command, or that no answer is waited for any more: it may have taken it.
func (p *Pass) Sent() {
	p.w.mu.Lock()
	defer p.w.mu.Unlock()
	p.sent = p.w.o.Clock.Now()
}

// Done is Sent for a command that the mount answers when the slew has ended.
func (p *Pass) Done() {
	p.w.mu.Lock()
	defer p.w.mu.Unlock()
	p.sent, p.started = p.w.o.Clock.Now(), true
}

// begun tells whether the slew has been seen to begin, or to have ended so soon that nobody saw it: the axes are where it leads,
// by half of what is allowed for. A driver may take as long as beginWithin to begin.
func (p *Pass) begun(f *fix) bool {
	if p.started {
		return true
	}
	for _, end := range p.ends {
		dec := f.at.Dec + 2*math.Pi*math.Round((end.Centre().Dec-f.at.Dec)/(2*math.Pi))
		if end.RAFrom+placeOff/2 <= f.at.RA && f.at.RA <= end.RATo-placeOff/2 && end.DecFrom+placeOff/2 <= dec && dec <= end.DecTo-placeOff/2 {
			return true
		}
	}
	return false
}

// Cancel takes the pass back: the mount did not take the slew.
func (p *Pass) Cancel() {
	p.w.mu.Lock()
	defer p.w.mu.Unlock()
	if p.w.pass == p {
		p.w.pass = nil
	}
}

// onPath tells whether a proven slew is under way and kept to.
func (w *Watch) onPath() bool {
	if w.pass == nil || w.now.motion != Moves || len(w.now.res.fixes) != 1 {
		return false
	}
	return w.pass.holds(&w.now.res.fixes[0])
}

func (w *Watch) grant(ways []room.Way, ends []room.Rect, now time.Time) *Pass {
	w.pass = &Pass{w: w, ways: ways, ends: ends, rates: w.p.slew, until: now.Add(beginWithin)}
	return w.pass
}
