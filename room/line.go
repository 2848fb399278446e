package room

import (
	"cmp"
	"math"
	"slices"

	"legroom/axes"
)

// line is the certified map of one axis, for the pairs that it alone moves: [−π, π) cut into stretches.
type line struct {
	ends   []float64 // where stretch i ends; the last is π
	states []State
}

// newLine proves [−π, π) down to stretches of length fine. pose puts an angle on the axis.
func newLine(v *prover, pairs []live, fine float64, pose func(float64) axes.Angles) *line {
	l := &line{}
	var list []live
	var split func(from, to float64, alive []live)
	split = func(from, to float64, alive []live) {
		base := len(list)
		h := (to - from) / 2
		var s State
		list, s = v.prove(pose((from+to)/2), h, h, alive, list)
		if s != Edge || to-from <= fine {
			l.add(to, s)
			list = list[:base]
			return
		}
		keep := list[base:len(list):len(list)]
		split(from, (from+to)/2, keep)
		split((from+to)/2, to, keep)
		list = list[:base]
	}
	const parts = 8
	for i := range parts {
		from, to := float64(i)*turn/parts-math.Pi, float64(i+1)*turn/parts-math.Pi
		if i == parts-1 {
			to = math.Pi
		}
		split(from, to, pairs)
	}
	return l
}

func (l *line) add(to float64, s State) {
	if n := len(l.states); n > 0 && l.states[n-1] == s {
		l.ends[n-1] = to
		return
	}
	l.ends, l.states = append(l.ends, to), append(l.states, s)
}

// state returns the state at x in [−π, π).
func (l *line) state(x float64) State { return l.states[l.at(x)] }

// at returns the stretch that holds x in [−π, π).
func (l *line) at(x float64) int {
	i, _ := slices.BinarySearch(l.ends, math.Nextafter(x, 4))
	return min(i, len(l.states)-1)
}

// visit calls f for every stretch that meets [from, to], unwrapped and cut to it.
func (l *line) visit(from, to float64, f func(Interval, State)) {
	for k := math.Floor((from + math.Pi) / turn); k*turn-math.Pi <= to; k++ {
		start := -math.Pi
		for i, s := range l.states {
			a, b := start+k*turn, l.ends[i]+k*turn
			if a <= to && b >= from {
				f(Interval{math.Max(a, from), math.Min(b, to)}, s)
			}
			start = l.ends[i]
		}
	}
}

// notFree returns what is not free in [from, to], unwrapped.
func (l *line) notFree(from, to float64) []Interval {
	var out []Interval
	l.visit(from, to, func(i Interval, s State) {
		if s != Free {
			out = append(out, i)
		}
	})
	return out
}

// free tells whether all of [from, to] is free.
func (l *line) free(from, to float64) bool {
	if len(l.states) == 1 {
		return l.states[0] == Free
	}
	return len(l.notFree(from, to)) == 0
}

// edges lists the undecided stretches.
func (l *line) edges() []Interval {
	var out []Interval
	start := -math.Pi
	for i, t := range l.states {
		if t == Edge {
			out = append(out, Interval{start, l.ends[i]})
		}
		start = l.ends[i]
	}
	return out
}

// share is the share of the axis in state s.
func (l *line) share(s State) float64 {
	sum, start := 0.0, -math.Pi
	for i, t := range l.states {
		if t == s {
			sum += l.ends[i] - start
		}
		start = l.ends[i]
	}
	return sum / turn
}

// union sorts intervals and joins those that touch.
func union(in []Interval) []Interval {
	slices.SortFunc(in, func(a, b Interval) int { return cmp.Compare(a.From, b.From) })
	out := in[:0]
	for _, i := range in {
		if n := len(out); n > 0 && i.From <= out[n-1].To+joinSlop {
			out[n-1].To = math.Max(out[n-1].To, i.To)
			continue
		}
		out = append(out, i)
	}
	return out
}

// joinSlop, radians, is the rounding between the shared border of two cells computed two ways. Intervals that close to each
// other are one.
const joinSlop = 1e-12

// complement returns what of [from, to] is in none of the sorted, separate intervals bad, without slivers that only rounding makes.
func complement(bad []Interval, from, to float64) []Interval {
	var out []Interval
	for _, b := range bad {
		if b.From > from+joinSlop {
			out = append(out, Interval{from, math.Min(b.From, to)})
		}
		from = math.Max(from, b.To)
	}
	if from+joinSlop < to {
		out = append(out, Interval{from, to})
	}
	return out
}

// intersect returns the parts that both sorted lists of intervals hold.
func intersect(a, b []Interval) []Interval {
	var out []Interval
	for i, j := 0, 0; i < len(a) && j < len(b); {
		from, to := math.Max(a[i].From, b[j].From), math.Min(a[i].To, b[j].To)
		if from < to {
			out = append(out, Interval{from, to})
		}
		if a[i].To < b[j].To {
			i++
		} else {
			j++
		}
	}
	return out
}

// length adds up intervals.
func length(in []Interval) float64 {
	sum := 0.0
	for _, i := range in {
		sum += i.To - i.From
	}
	return sum
}
