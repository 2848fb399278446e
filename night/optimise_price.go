package night

import (
	"context"
	"slices"
)

const (
	optPricings = 30        // changes of the prices, at most
	optStale    = 8         // changes that better nothing, after which there are no more
	optNear     = 1.0 / 400 // the share of the best plan's worth at which the bound is near enough for labels to close the rest
)

// price looks for prices of the capped targets' sub-exposures under which the programme's bound is low: the subgradient method,
// with Polyak's step from the bound towards the best plan known (M. Held, P. Wolfe, H. Crowder, 1974 [mem]). A dive at each
// prices may find a better plan. It leaves the programme settled at the best prices, unless the effort runs out.
func (p *programme) price(ctx context.Context) error {
	best, bestBound := slices.Clone(p.prices), p.first.value+p.ransom()
	step, stale := 1.0, 0
	for range optPricings {
		if p.value >= p.bound || p.effort <= 0 {
			break
		}
		if float64(bestBound-p.value) < optNear*float64(p.value) {
			break
		}
		over, norm := p.over()
		if norm == 0 {
			break
		}
		by := step * float64(p.first.value+p.ransom()-p.value) / norm
		for i, k := range p.capped {
			// In minutes of exposure, so that long and short sub-exposures weigh the same.
			p.prices[k] = max(0, p.prices[k]+int64(by*over[i]*p.shapes[k].sub))
		}
		p.sweep()
		now := p.first.value + p.ransom()
		p.bound = min(p.bound, now)
		if err := p.dive(ctx); err != nil {
			return err
		}
		if now < bestBound {
			best, bestBound, stale = slices.Clone(p.prices), now, 0
		} else if stale++; stale%2 == 0 {
			step /= 2
		}
		if stale == optStale {
			break
		}
	}
	if p.value >= p.bound || p.effort <= 0 {
		return nil
	}
	copy(p.prices, best)
	return p.settle(ctx)
}

// over is by how much the programme's best chain exceeds what is wanted of each capped target, minutes of exposure, and the sum
// of the squares of those that a price can still change.
func (p *programme) over() (over []float64, norm float64) {
	left := p.allowance()
	for _, b := range p.chain() {
		left[p.c.stretches[b.stretch].target] -= b.subs
	}
	for _, k := range p.capped {
		d := -float64(left[k]) * p.shapes[k].sub
		if d < 0 && p.prices[k] == 0 {
			d = 0
		}
		over = append(over, d)
		norm += d * d
	}
	return over, norm
}

// dive goes through the night from its start, always on to what looks best by the programme within what is still wanted, and
// keeps the plan if it is the best so far. It proves each move before it takes it.
func (p *programme) dive(ctx context.Context) error {
	var chain []block
	left := p.allowance()
	for a, t := -1, 0; ; {
		if err := ctx.Err(); err != nil {
			return err
		}
		b, ok := p.pick(a, t, left)
		if !ok {
			p.keep(chain)
			return nil
		}
		if p.proof(a, t, b.stretch).minute() > b.from {
			continue
		}
		chain = append(chain, b)
		left[p.c.stretches[b.stretch].target] -= b.subs
		a, t = b.stretch, b.to
	}
}

// pick is the next block that looks best after stretch a is left at minute t with so many sub-exposures left; not ok is that
// none is worth having.
func (p *programme) pick(a, t int, left []int) (best block, ok bool) {
	nb := len(p.from)
	var value int64
	for b, v := range p.top[t*nb:][:nb] {
		if v <= value || b == a {
			continue
		}
		k := p.c.stretches[b].target
		s := &p.shapes[k]
		for m := p.arrive(a, t, b).minute(); m < p.to[b] && p.top[m*nb+b] > value; m++ {
			if p.begin[p.at(b, m)].value <= value {
				continue
			}
			for i := range s.all.list {
				n := &s.all.list[i]
				if int(n.subs) > left[k] || m+int(n.minutes) > p.to[b] {
					break
				}
				v := p.priced(k, m, n) + p.leave[p.at(b, m+int(n.minutes))].value
				if v > value {
					value, best, ok = v, block{stretch: b, from: m, to: m + int(n.minutes), subs: int(n.subs)}, true
				}
			}
		}
	}
	return best, ok
}
