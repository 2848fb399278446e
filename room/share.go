package room

import (
	"math"
	"slices"

	"legroom/axes"
)

// everything does not cut the RA axis.
var everything = Interval{-math.MaxFloat64, math.MaxFloat64}

// slice is the sky at one declination: the hour angles above the horizon, and the free hour angles of each side.
type slice struct {
	weight     float64 // cos δ
	up         []Interval
	west, east []Interval // unwrapped
}

// slices cuts the sky above the horizon into declinations half a degree apart.
func (m *Map) slices(s *sky) []slice {
	const step = 0.5 * math.Pi / 180
	all := make([]slice, int(math.Round(math.Pi/step)))
	InParallel(len(all), func(i int) {
		d := -quarter + (float64(i)+0.5)*step
		if up := s.up(d); len(up) > 0 {
			all[i] = slice{math.Cos(d), up,
				m.freeHours(axes.West, d, d, m.NotFree), m.freeHours(axes.East, d, d, m.NotFree)}
		}
	})
	return slices.DeleteFunc(all, func(d slice) bool { return d.up == nil })
}

// Room returns the share of the sky above the horizon that is free.
func (m *Map) Room() Share { return share(m.slices(newSky(m.gauge.Model)), everything) }

// share returns the room on each side and on either, with the RA axis kept within ra, as shares of the sky above the horizon.
func share(sky []slice, ra Interval) Share {
	var total, west, east, either float64
	for i := range sky {
		d := &sky[i]
		w := fold(d.west, Interval{ra.From - quarter, ra.To - quarter})
		e := fold(d.east, Interval{ra.From + quarter, ra.To + quarter})
		total += d.weight * length(d.up)
		west += d.weight * length(intersect(w, d.up))
		east += d.weight * length(intersect(e, d.up))
		either += d.weight * length(intersect(union(append(w, e...)), d.up))
	}
	if total == 0 {
		return Share{}
	}
	return Share{West: west / total, East: east / total, Either: either / total}
}

// fold keeps what of the intervals lies within keep, and brings it by whole turns into [−π, π].
func fold(in []Interval, keep Interval) []Interval {
	var out []Interval
	for _, i := range in {
		from, to := math.Max(i.From, keep.From), math.Min(i.To, keep.To)
		for k := -2.0; k <= 2; k++ {
			a, b := math.Max(from+k*turn, -math.Pi), math.Min(to+k*turn, math.Pi)
			if a < b {
				out = append(out, Interval{a, b})
			}
		}
	}
	return union(out)
}
