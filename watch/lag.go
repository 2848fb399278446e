package watch

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// lags judges how old readings are by each clock that the mount tells, and by the time with which its driver stamps them, alone: one that
// falls behind this computer's count of seconds, since it was least behind, tells of a mount whose answers grow old by as much, however
// good the other clock is. How far it is off at all does not matter here: it may never have been set.
type lags struct {
	clocks [3]lag
	last   mount.Reading  // the last that was no older than the one before
	odd    *mount.Reading // the one before, where it and all since last were older
	since  time.Time      // and since when they have been older, and have run on
}

const (
	universal = iota
	sidereal
	stamp
)

var clockNames = [...]string{universal: "clock", sidereal: "sidereal time", stamp: "time stamp"}

// lag is one clock. Times are seconds.
type lag struct {
	told   bool
	ran    bool      // it was seen to run
	stands time.Time // when what it shows was first asked for
	stood  bool      // it was seen to show the same twice, and then to run on
	step   float64   // the smallest that it was seen to make
	behind float64   // by how much it has run less than this computer since it was first told, had it been read at the end of each look
	least  float64   // the least of that, with what clocks drift added
	old    float64   // how old the last reading is by it
}

const (
	// coarse is how far a clock that shows whole seconds may seem behind, and a little for rounding, s.
	coarse = 1.1
	// jitter is how far a clock may go back where its driver reads it now earlier, now later, s.
	jitter = 0.3
	// coarsest is the most that a clock may show at a time and count as one, where another clock of the mount's runs finer, s.
	coarsest = 5
	// drift is how much a sound clock may run less than this computer's: two seconds an hour.
	drift = 2.0 / 3600
	// setBack is how long a clock that went back has to run on from there to count as set, where the place does not show it, s.
	setBack = LongSilence
)

// went is how far a clock went from one reading to the next, s.
func went(clock int, from, to *mount.Reading) float64 {
	passed := to.Got.Sub(from.Got).Seconds()
	switch clock {
	case universal:
		return to.UTC.Round(0).Sub(from.UTC.Round(0)).Seconds()
	case stamp:
		return to.Stamp.Round(0).Sub(from.Stamp.Round(0)).Seconds()
	}
	return passed + axes.Wrap(to.Sidereal-from.Sidereal-sky.SiderealRate*passed)/sky.SiderealRate
}

func tells(clock int, r *mount.Reading) bool {
	return [...]bool{r.UTCSaid, r.SiderealSaid, r.StampSaid}[clock]
}

// judge takes the next reading. It gives how much older it is than it was asked for, or an error where a clock went back: then it is one
// of before the last. moves says that the axes are in a motion that is not tracking.
func (g *lags) judge(r *mount.Reading, moves bool) (old time.Duration, err error) {
	for i := range g.clocks {
		if !tells(i, r) || !g.clocks[i].told {
			continue
		}
		d, passed := went(i, &g.last, r), r.Got.Sub(g.last.Got).Seconds()
		if (d < -jitter || g.odd != nil) && passed-d > coarse && !g.wasSet(r, moves) {
			return 0, fmt.Errorf("the mount's %s has gone back by %.1f s: its answers are old ones, or it was set", clockNames[i], passed-d)
		}
	}
	g.odd = nil
	for i := range g.clocks {
		g.clocks[i].take(i, &g.last, r)
	}
	g.last = *r
	for i := range g.clocks {
		c, other := &g.clocks[i], g.other(i)
		may := coarse
		if c.stood && other.ran && other.old <= coarse {
			may = math.Min(math.Max(coarse, c.step), coarsest)
		}
		// What never ran may be what a clock was once set to, where another one runs, and a stamp may be any.
		if c.told && c.old > may && (c.ran || i == sidereal || i == universal && !other.told) {
			old = max(old, time.Duration(c.old*float64(time.Second)))
		}
	}
	return old, nil
}

// other is the other clock of the mount; a stamp has none.
func (g *lags) other(i int) *lag {
	if i == stamp {
		return &lag{}
	}
	return &g.clocks[sidereal-i]
}

// begin takes the clocks anew, unless the last readings were old by them.
func (g *lags) begin() {
	for i := range g.clocks {
		if g.clocks[i].old > coarsest || g.odd != nil {
			return
		}
	}
	*g = lags{}
}

// take takes what a clock shows in the next reading.
func (c *lag) take(clock int, last, r *mount.Reading) {
	if !tells(clock, r) {
		*c = lag{}
		return
	}
	if !c.told {
		*c = lag{told: true, stands: r.Asked, step: math.Inf(1)}
		return
	}
	d, passed := went(clock, last, r), r.Got.Sub(last.Got).Seconds()
	if still := math.Abs(d) < 1e-3; !still {
		c.stood = c.stood || c.stands.Before(last.Asked)
		c.ran, c.stands = true, r.Asked
		if d > 0 {
			c.step = math.Min(c.step, d)
		}
	}
	c.behind += passed - d
	c.least = math.Min(c.least+drift*math.Max(passed, 0), c.behind)
	c.old = math.Max(0, c.behind-c.least-r.Got.Sub(r.Asked).Seconds())
}

// wasSet tells whether clocks that went back were set: they run on from there, and the axes are seen to have gone on meanwhile, by an hour
// angle that did not go back. Where that cannot be seen they have to run on for longer.
func (g *lags) wasSet(r *mount.Reading, moves bool) bool {
	before := g.odd
	now := *r
	g.odd = &now
	if before == nil || !runsOn(before, r) {
		g.since = r.Asked
		return false
	}
	if r.Asked.Sub(g.since) < setBack && (moves || !goneOn(&g.last, r)) {
		return false
	}
	*g = lags{last: *r}
	return true
}

// runsOn tells whether all the clocks ran from one reading to the next as this computer did.
func runsOn(from, to *mount.Reading) bool {
	late := coarse + to.Got.Sub(to.Asked).Seconds() + from.Got.Sub(from.Asked).Seconds()
	for i := range clockNames {
		if tells(i, from) && tells(i, to) && math.Abs(went(i, from, to)-to.Got.Sub(from.Got).Seconds()) > late {
			return false
		}
	}
	return true
}

// goneOn tells whether the hour angle went on from one reading to another as tracking or rest would have it. Answers of a while ago have that
// of a while ago, while a mount whose clock was set knows where its axes are.
func goneOn(from, to *mount.Reading) bool {
	if !from.SiderealSaid || !to.SiderealSaid {
		return true // nothing is made of the mount's clock but its age
	}
	passed := to.Got.Sub(from.Got).Seconds()
	went := axes.Wrap(to.Sidereal - to.Place.RA - from.Sidereal + from.Place.RA)
	if to.Tracking != mount.No {
		went -= sky.SiderealRate * passed
	}
	return math.Abs(axes.Wrap(went)) <= unsure(math.Pi/2-math.Abs(to.Place.Dec))+sky.SiderealRate*(coarse+passed)
}

// standing gives the clock that stands, since when, and whether one does for longer than it may.
func (g *lags) standing(r *mount.Reading, most time.Duration) (clock int, d time.Duration, stands bool) {
	for i := range g.clocks[:stamp] {
		c, other := &g.clocks[i], g.other(i)
		if !c.told || i == universal && other.told && other.ran {
			continue // what it is behind counts as age
		}
		may := most
		if c.stood && other.ran {
			may = max(may, time.Duration(math.Min(c.step+1, coarsest)*float64(time.Second)))
		}
		if d = r.Asked.Sub(c.stands); d > may {
			return i, d, true
		}
	}
	return 0, 0, false
}
