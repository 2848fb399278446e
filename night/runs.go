package night

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// Run is a stretch of time in which tracking a target on one side is proven free, without a break, between the night's noons.
type Run struct {
	Side     axes.Side
	Hours    room.Interval // the free hour angles, unwrapped
	From, To time.Time     // when the target is at them
	// Cut tells that a noon, not the room, ends it at From or To.
	CutFrom, CutTo bool

	turns float64 // what the target's hour angle is ahead of Hours, radians: whole turns
}

// hand follows a target's hour angle through a night: counted on without wrapping from the first noon.
type hand struct {
	noon time.Time
	at   float64 // hour angle at noon
}

// hour returns the hour angle at t.
func (h hand) hour(t time.Time) float64 { return h.at + sky.SiderealRate*t.Sub(h.noon).Seconds() }

// when returns the moment of an hour angle.
func (h hand) when(hour float64) time.Time {
	return h.noon.Add(time.Duration((hour - h.at) / sky.SiderealRate * 1e9))
}

// runs returns when the night has the target at each free interval of a side.
func (h hand) runs(side axes.Side, free []room.Interval, n *sky.Night) []Run {
	var out []Run
	for _, i := range free {
		for k := -2; k <= 2; k++ {
			r := Run{Side: side, Hours: i, turns: float64(k) * 2 * math.Pi}
			r.From, r.To = h.when(i.From+r.turns), h.when(i.To+r.turns)
			if r.From.Before(n.Noon) {
				r.From, r.CutFrom = n.Noon, true
			}
			if r.To.After(n.NextNoon) {
				r.To, r.CutTo = n.NextNoon, true
			}
			if r.From.Before(r.To) {
				out = append(out, r)
			}
		}
	}
	return out
}

// windows returns when runs last.
func windows(runs []Run) spans {
	ws := make([]sky.Window, len(runs))
	for i, r := range runs {
		ws[i] = sky.Window{From: r.From, To: r.To}
	}
	return union(ws...)
}
