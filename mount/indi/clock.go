package indi

import (
	"math"
	"strings"
	"time"
)

// clock tells a property that shows a running clock from one that shows what a clock was once set to.
type clock struct {
	runs bool

	first, at time.Time // of the changes that agree with the time that passed: the first, and the last
	from      float64   // what it showed at the first, s
	agree     int       // how many they are
}

const (
	// tickEvery is the longest time between two changes of a clock that runs.
	tickEvery = 5 * time.Second
	// tickOff is how far a clock that shows whole seconds, and is told a little late, may be from the time that passed, s.
	tickOff = 2
	// ticks is how many changes make a clock one that runs: several programs that set it to the right time one after the other are fewer.
	ticks = 8
	// stopped is how long a clock may stand while the place changes, and still be one that runs.
	stopped = 20 * time.Second
)

// changed takes in that the clock shows something new, in seconds of a day.
func (c clock) changed(now time.Time, shows float64) clock {
	const day = 24 * 3600
	off := math.Remainder(shows-c.from-now.Sub(c.first).Seconds(), day)
	if c.agree == 0 || !c.runs && (now.Sub(c.at) > tickEvery || !(math.Abs(off) <= tickOff)) {
		return clock{first: now, at: now, from: shows, agree: 1}
	}
	c.at = now
	c.agree = min(c.agree+1, ticks)
	c.runs = c.runs || c.agree == ticks
	return c
}

// alive takes in that the driver tells of another place. A clock that stands meanwhile does not run. Where all stands together the driver
// may be dead, which the watch finds by its clock.
func (c clock) alive(now time.Time) clock {
	if c.runs && now.Sub(c.at) > stopped {
		return clock{}
	}
	return c
}

// tick counts what a property says of the clocks, where it is not the first time that it is told.
func (s *session) tick(old, now told) told {
	at := time.Now()
	switch member, isClock := clocks[now.Name]; {
	case old.defs == 0:
	case isClock && differ(old, now, member):
		if shows, ok := now.seconds(); ok {
			now.clock = old.clock.changed(at, shows)
		}
	case (now.Name == placeOfDate || now.Name == placeJ2000) && (differ(old, now, "RA") || differ(old, now, "DEC")):
		for name := range clocks {
			if p, ok := s.known[name]; ok {
				p.clock = p.clock.alive(at)
				s.known[name] = p
			}
		}
	}
	return now
}

func differ(a, b told, member string) bool {
	was, _ := a.Member(member)
	is, _ := b.Member(member)
	return was.Text != is.Text
}

// seconds is what a clock shows, in seconds of its day.
func (p told) seconds() (float64, bool) {
	if p.bad != nil {
		return 0, false
	}
	m, _ := p.Member(clocks[p.Name])
	if p.Name == timeLST {
		return m.Number * 3600, true
	}
	at, err := parseUTC(m.Text)
	return float64(at.Unix()%(24*3600)) + float64(at.Nanosecond())/1e9, err == nil
}

// parseUTC reads a time without a zone.
func parseUTC(text string) (time.Time, error) {
	return time.Parse("2006-01-02T15:04:05", strings.TrimSuffix(text, "Z")) // takes fractions of a second too
}

// stampRuns is how long a time stamp may be the same on answers that come anew, and be that of when they were made: some drivers' is that of
// when the value last changed, which says nothing of how late an answer is.
const stampRuns = 2 * time.Second

// stamp is when the device told a property, if it says so.
func (p told) stamp() (time.Time, bool) {
	return p.Stamp, !p.Stamp.IsZero() && time.Since(p.fresh) <= stampRuns
}
