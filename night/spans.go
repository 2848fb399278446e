package night

import (
	"slices"
	"time"

	"legroom/sky"
)

// spans is a set of moments: windows in order that do not touch.
type spans []sky.Window

// union returns the moments in any of ws, in whatever order they come.
func union(ws ...sky.Window) spans {
	sorted := slices.Clone(ws)
	slices.SortFunc(sorted, func(a, b sky.Window) int { return a.From.Compare(b.From) })
	var out spans
	for _, w := range sorted {
		switch n := len(out); {
		case !w.From.Before(w.To):
		case n > 0 && !w.From.After(out[n-1].To):
			if w.To.After(out[n-1].To) {
				out[n-1].To = w.To
			}
		default:
			out = append(out, w)
		}
	}
	return out
}

// and returns the moments in both.
func (s spans) and(o spans) spans {
	var out spans
	for _, a := range s {
		for _, b := range o {
			w := sky.Window{From: later(a.From, b.From), To: earlier(a.To, b.To)}
			if w.From.Before(w.To) {
				out = append(out, w)
			}
		}
	}
	return out
}

// less returns the moments of s that are not in o.
func (s spans) less(o spans) spans {
	var out spans
	for _, w := range s {
		for _, b := range o {
			if !b.To.After(w.From) || !b.From.Before(w.To) {
				continue
			}
			if w.From.Before(b.From) {
				out = append(out, sky.Window{From: w.From, To: b.From})
			}
			w.From = b.To
		}
		if w.From.Before(w.To) {
			out = append(out, w)
		}
	}
	return out
}

// length is how long it lasts in all.
func (s spans) length() time.Duration {
	var d time.Duration
	for _, w := range s {
		d += w.Length()
	}
	return d
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
