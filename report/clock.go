package report

import (
	"time"

	"legroom/sky"
)

// Moments are whole seconds in documents and whole minutes in text. What a plan may use is rounded inwards, what merely happens to the
// nearest.

func moment(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.Round(time.Second)
	return &t
}

func secondDown(t time.Time) *time.Time {
	t = t.Truncate(time.Second)
	return &t
}

func secondUp(t time.Time) *time.Time {
	t = ceil(t, time.Second)
	return &t
}

func ceil(t time.Time, unit time.Duration) time.Time {
	if d := t.Truncate(unit); d.Before(t) {
		return d.Add(unit)
	}
	return t.Truncate(unit)
}

func inUTC(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	u := t.UTC()
	return &u
}

// within rounds windows inwards; one that rounds away is left out.
func within(ws []sky.Window) []Times {
	out := []Times{}
	for _, w := range ws {
		if s := (Times{*secondUp(w.From), *secondDown(w.To)}); s[0].Before(s[1]) {
			out = append(out, s)
		}
	}
	return out
}

// around rounds windows to the nearest second.
func around(ws []sky.Window) []Times {
	out := []Times{}
	for _, w := range ws {
		out = append(out, Times{*moment(w.From), *moment(w.To)})
	}
	return out
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earliest(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
