package change

import (
	"math"

	"legroom/axes"
	"legroom/room"
)

// band is a stretch of declination that an aim looks at, radians.
type band struct {
	name     string
	from, to float64
	up, high []room.Interval // hour angles above the horizon; and of those above the aim's altitude
}

// bandDeg is how high the bands are that stand for the whole sky, degrees.
const bandDeg = 1

// bands cuts the declinations that culminate above an altitude into bands, or makes one for each target.
func bands(m *room.Map, targets []Target, altitude float64) []band {
	var out []band
	add := func(name string, from, to float64) {
		from, to = math.Max(from, -math.Pi/2), math.Min(to, math.Pi/2)
		if high := m.Up(from, to, altitude); len(high) > 0 {
			out = append(out, band{name, from, to, m.Up(from, to, -math.Pi/2), high})
		}
	}
	for _, t := range targets {
		add(t.Name, t.Dec-t.Half, t.Dec+t.Half)
	}
	if len(targets) > 0 {
		return out
	}
	lat := m.Gauge().Model.Head.Latitude
	for d := -90.0; d < 90; d += bandDeg {
		// It culminates above the altitude when some of it does.
		from, to := axes.Rad(d), axes.Rad(d+bandDeg)
		if math.Abs(math.Max(from, math.Min(lat, to))-lat) <= math.Pi/2-altitude {
			add("", from, to)
		}
	}
	return out
}

// runs are the free hour angles of a band on both sides.
type runs struct{ west, east []room.Interval }

func runsOf(m *room.Map, b *band) runs {
	return runs{m.Hours(axes.West, b.from, b.to), m.Hours(axes.East, b.from, b.to)}
}

// choice is a run on side west and one on side east, either of which may be missing.
type choice struct{ west, east *room.Interval }

func (c choice) sides() int {
	if c.west == nil || c.east == nil {
		return 1
	}
	return 2
}

// idle is the hour angle between the stop of the first run and the start of the second.
func (c choice) idle() float64 {
	if c.sides() < 2 {
		return 0
	}
	return math.Max(0, c.east.From-c.west.To)
}

var wholeDay = []room.Interval{{From: -math.Pi, To: math.Pi}}

// choices calls f for every choice of runs and the time above the horizon that it gives. What room.Row chooses is the choice with the
// most; between equals, one with both sides. A run on side east has to start later than the one on side west: where the runs are those that are
// possible, hold says so, what of it is later counts, for the real runs lie within them.
func (r *runs) choices(b *band, hold bool, f func(c choice, usable float64)) {
	solo := func(in []room.Interval) []float64 {
		out := make([]float64, len(in))
		for i := range in {
			out[i] = b.usable(in[i : i+1])
		}
		return out
	}
	west, east := solo(r.west), solo(r.east)
	for i := range r.west {
		if west[i] > 0 {
			f(choice{west: &r.west[i]}, west[i])
		}
	}
	for j := range r.east {
		if east[j] > 0 {
			f(choice{east: &r.east[j]}, east[j])
		}
	}
	for i := range r.west {
		for j := range r.east {
			w, e := &r.west[i], &r.east[j]
			if west[i] == 0 || east[j] == 0 || e.From <= w.From && !(hold && e.To > w.From) {
				continue
			}
			both := []room.Interval{*w, *e} // sorted, since what counts of e starts later
			if e.From <= w.To {
				both = []room.Interval{{From: w.From, To: math.Max(w.To, e.To)}}
			}
			f(choice{w, e}, b.usable(both))
		}
	}
}

// usable adds up what of sorted, separate intervals lies within the day above the horizon.
func (b *band) usable(in []room.Interval) float64 { return within(in, b.up) }

func within(in, sky []room.Interval) float64 {
	sum := 0.0
	for _, i := range room.Common(room.Common(in, wholeDay), sky) {
		sum += i.To - i.From
	}
	return sum
}

// most is the most usable time of any choice.
func (r *runs) most(b *band) float64 {
	most := 0.0
	r.choices(b, false, func(_ choice, usable float64) { most = math.Max(most, usable) })
	return most
}
