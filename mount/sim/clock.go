package sim

import "time"

// Clock is a clock that runs factor times as fast as the computer's.
type Clock struct {
	began  time.Time // by the computer
	from   time.Time
	factor float64
}

// NewClock starts a clock.
func NewClock(from time.Time, factor float64) *Clock {
	return &Clock{began: time.Now(), from: from.Round(0), factor: factor}
}

// Now is what the clock shows.
func (c *Clock) Now() time.Time {
	return c.from.Add(time.Duration(float64(time.Since(c.began)) * c.factor))
}

// wait lets seconds of this clock go by, or less when done is closed; it tells whether they all did.
func (c *Clock) wait(done <-chan struct{}, seconds float64) bool {
	if seconds <= 0 {
		return true
	}
	t := time.NewTimer(time.Duration(seconds / c.factor * 1e9))
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-done:
		return false
	}
}
