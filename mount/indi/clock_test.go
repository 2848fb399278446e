package indi

import (
	"fmt"
	"net"
	"testing"
	"testing/synctest"
	"time"
)

// ticking is a session in a time of its own, and a clock and a place that are told in it.
type ticking struct {
	t *testing.T
	s *session
}

// inTime runs a test in a time that passes at once.
func inTime(t *testing.T, f func(c ticking)) {
	synctest.Test(t, func(t *testing.T) {
		here, there := net.Pipe()
		c := ticking{t, newSession(here, "M")}
		defer there.Close()
		defer c.s.end(errClosed)
		for _, e := range []Element{c.utc(Def, 0), c.lst(Def, 0), c.place(Def, 0)} {
			c.s.take(e)
		}
		f(c)
	})
}

func (c ticking) utc(op Op, s float64) Element {
	at := time.Date(2026, 3, 1, 23, 59, 50, 0, time.UTC).Add(time.Duration(s * 1e9))
	return Element{Op: op, Vector: Vector{Device: "M", Name: timeUTC, Kind: Text, State: Ok,
		Members: []Member{{Name: "UTC", Text: at.Format("2006-01-02T15:04:05")}}}}
}

func (c ticking) lst(op Op, s float64) Element { // over midnight
	h := 23.999 + s/3600
	if h >= 24 {
		h -= 24
	}
	return Element{Op: op, Vector: Vector{Device: "M", Name: timeLST, Kind: Number, State: Ok,
		Members: []Member{{Name: "LST", Number: h, Text: fmt.Sprint(h)}}}}
}

func (c ticking) place(op Op, ra float64) Element {
	return Element{Op: op, Vector: Vector{Device: "M", Name: placeOfDate, Kind: Number, State: Ok,
		Members: []Member{{Name: "RA", Number: ra, Text: fmt.Sprint(ra)}, {Name: "DEC", Text: "0"}}}}
}

// runs tells whether the clocks count as running.
func (c ticking) runs() bool {
	known := c.s.snapshot()
	utc, lst := known[timeUTC].ticks() == nil, known[timeLST].ticks() == nil
	if utc != lst {
		c.t.Errorf("universal time runs %v, sidereal time %v", utc, lst)
	}
	return utc
}

// tell tells both clocks after some time.
func (c ticking) tell(after time.Duration, s float64) {
	time.Sleep(after)
	c.s.take(c.utc(Set, s))
	c.s.take(c.lst(Set, s))
}

// Clients that set a clock one after the other, each to a time of its own or all to the right one, make none that runs.
func TestClockThatIsSet(t *testing.T) {
	for name, set := range map[string][]float64{
		"times of their own":   {10, 17, 3, 40, 20, 33, 26, 80, 60, 70, 90, 12},
		"the right time":       {10, 11, 12, 13},
		"the same one minutes": {60, 120, 180, 240, 300, 360, 420, 480, 540, 600},
	} {
		inTime(t, func(c ticking) {
			for _, s := range set {
				if c.tell(time.Second, s); c.runs() {
					t.Errorf("%s: %g s was taken for a clock that runs", name, s)
				}
			}
		})
	}
}

// A clock that shows whole seconds, or is told each five only, or comes a little late, runs. One that jumps runs on, and so does one that
// stands while the place does: that is for the watch to find. Where the driver goes on telling other places it has no clock that runs.
func TestClockThatRuns(t *testing.T) {
	for _, every := range []time.Duration{500 * time.Millisecond, time.Second, 4900 * time.Millisecond} {
		inTime(t, func(c ticking) {
			from := time.Now()
			now := func() float64 { return time.Since(from).Seconds() }
			for i := range 25 {
				late := time.Duration(i%3) * 30 * time.Millisecond
				time.Sleep(every - late)
				c.tell(late, now())
			}
			if !c.runs() {
				t.Fatalf("each %v: it does not run", every)
			}
			if c.tell(time.Second, now()+3600); !c.runs() {
				t.Error("set by an hour it runs no more")
			}
			for range 20 {
				if c.tell(time.Second, now()+3600); !c.runs() {
					t.Error("it runs no more")
				}
			}
			stood := now() + 3600
			for range 60 {
				c.tell(time.Second, stood)
				c.s.take(c.place(Set, 0))
			}
			if !c.runs() {
				t.Error("all stands, and nobody can find it")
			}
			if c.s.take(c.place(Set, 1)); c.runs() {
				t.Error("the mount's place changes, and its clock, which stands, is taken for one that runs")
			}
			if c.tell(time.Second, 0); c.runs() {
				t.Error("it was set once more")
			}
		})
	}
}

// What a driver stamps with the time when it tells it is told with that; a stamp that stays while new answers come is of something else.
func TestStamp(t *testing.T) {
	inTime(t, func(c ticking) {
		at := time.Date(2026, 3, 1, 21, 0, 0, 0, time.UTC)
		tell := func(op Op, stamp time.Time) (time.Time, bool) {
			e := c.place(op, 1)
			e.Stamp = stamp
			c.s.take(e)
			return c.s.snapshot()[placeOfDate].stamp()
		}
		if _, said := tell(Def, time.Time{}); said {
			t.Error("none is told, and one is made of it")
		}
		for range 20 {
			at = at.Add(500 * time.Millisecond)
			time.Sleep(500 * time.Millisecond)
			if got, said := tell(Def, at.Truncate(time.Second)); !said || !got.Equal(at.Truncate(time.Second)) {
				t.Errorf("stamp %v, said %v", got, said)
			}
		}
		time.Sleep(1500 * time.Millisecond)
		if _, said := tell(Set, at.Truncate(time.Second)); !said {
			t.Error("after a second and a half it is none")
		}
		time.Sleep(time.Second)
		if _, said := tell(Def, at.Truncate(time.Second)); said {
			t.Error("it stands, and is taken for when the answer was made")
		}
		if _, said := tell(Def, at.Add(3*time.Second)); !said {
			t.Error("it runs again, and is none")
		}
	})
}
