package room

import (
	"cmp"
	"math"
	"slices"

	"legroom/axes"
	"legroom/rig"
)

// Crowd is a pair of parts that comes too near over much of the sky.
type Crowd struct {
	A, B      string
	Share     float64     // of the poses above the horizon, of both sides, at which the pair is not proven to keep the margin, 0…1
	Most      float64     // the most that is between them at any of those poses, mm; negative: an overlap
	Allowance float64     // what the tolerances take off, mm
	Shares    []rig.Share // of it, by quantity, largest first
}

// grazing, mm, is how little more than it needs a pair may have and still count as too near: over no cell of a map, however small, is
// that proven.
const grazing = 1

// Crowds says why there is next to no room: the pairs, three at most, that together are too near over most of the sky, in the order in
// which each takes most of what the ones before leave. It looks at poses 5° apart on both sides, as far as the axes' travel may be.
func (g *Gauge) Crowds() []Crowd {
	const step = 5 * math.Pi / 180
	type pose struct {
		at     axes.Angles
		weight float64
		near   []int // pairs
	}
	var poses []pose
	sky := newSky(g.Model)
	for d := -quarter + step/2; d < quarter; d += step {
		for h := -math.Pi + step/2; h < math.Pi; h += step {
			if !sky.isUp(h, d) {
				continue
			}
			for _, side := range []axes.Side{axes.West, axes.East} {
				poses = append(poses, pose{g.Model.Head.Angles(axes.Pose{Side: side, HourAngle: h, Dec: d}), math.Cos(d), nil})
			}
		}
	}
	s := g.NewScratch()
	total, taken, most := 0.0, make([]float64, len(g.pairs)), slices.Repeat([]float64{math.Inf(-1)}, len(g.pairs))
	for i := range poses {
		p := &poses[i]
		total += p.weight
		s.place(g, p.at)
		g.rankPairs(s, math.Inf(1), math.Inf(1))
		for b, ok := g.next(s); ok && b.lower < g.MarginMM+g.maxAllowance+grazing; b, ok = g.next(s) {
			pair := &g.pairs[b.pair]
			if b.lower >= pair.need+grazing {
				continue
			}
			if d := g.measure(pair, s.at); d.Lower < pair.need+grazing {
				p.near = append(p.near, int(b.pair))
				taken[b.pair] += p.weight
				most[b.pair] = math.Max(most[b.pair], d.Upper)
			}
		}
	}
	var out []Crowd
	left := slices.Clone(taken) // of the poses that no pair before takes
	for range 3 {
		k := -1
		for i := range left {
			if left[i] > total/50 && (k < 0 || left[i] > left[k]) {
				k = i
			}
		}
		if k < 0 {
			break
		}
		pair := &g.pairs[k]
		a, b := &g.Model.Parts[pair.fixed], &g.Model.Parts[pair.moving]
		c := Crowd{A: a.Name, B: b.Name, Share: taken[k] / total, Most: most[k], Allowance: pair.allowance, Shares: g.Model.Rig.Shares(g.Model.Assembly, a.Rig, b.Rig)}
		slices.SortStableFunc(c.Shares, func(a, b rig.Share) int { return cmp.Compare(b.MM, a.MM) })
		out = append(out, c)
		poses = slices.DeleteFunc(poses, func(p pose) bool {
			if !slices.Contains(p.near, k) {
				return false
			}
			for _, i := range p.near {
				left[i] -= p.weight
			}
			return true
		})
	}
	return out
}
