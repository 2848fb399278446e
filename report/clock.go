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

// bothDays writes the night of an evening's date, 2026-11-26, with the day of its morning too: 2026-11-26/27, as an interval of ISO
// 8601, which leaves out what stays the same.
func bothDays(evening string) string {
	t, err := time.Parse(time.DateOnly, evening)
	if err != nil {
		return evening
	}
	switch next := t.AddDate(0, 0, 1); {
	case next.Year() != t.Year():
		return evening + "/" + next.Format(time.DateOnly)
	case next.Month() != t.Month():
		return evening + "/" + next.Format("01-02")
	default:
		return evening + "/" + next.Format("02")
	}
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
