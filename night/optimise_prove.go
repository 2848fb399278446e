package night

import "context"

// proveChain proves the moves of a chain of blocks, and tells whether all stand. Those that fail, whose proof arrives too late for
// their blocks, are learnt from.
func (p *programme) proveChain(ctx context.Context, chain []block) (stands bool, err error) {
	stands = true
	a, t := -1, 0
	for _, b := range chain {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		if p.proof(a, t, b.stretch).minute() > b.from {
			stands = false
			p.proveAround(a, t, b.stretch)
		}
		a, t = b.stretch, b.to
	}
	return stands, nil
}

// proof proves one move, once.
func (p *programme) proof(a, t, b int) reach {
	r := p.arrive(a, t, b)
	if *r&reachProven == 0 {
		m, ok := p.c.prove(a, t, b)
		if proven := arrival(m, ok); proven > *r {
			*r = proven
			if a >= 0 {
				p.later[a] = max(p.later[a], t)
			}
		}
		*r |= reachProven
	}
	return *r
}

// proveAround proves a move from the minutes around one at which it failed, where it is the best way on, as far as twice the
// number of minutes that it failed at before: a move that fails for hours is not asked for minute by minute with a sweep after
// each.
func (p *programme) proveAround(a, t, b int) {
	if a < 0 {
		return
	}
	count := &p.failed[a*len(p.from)+b]
	*count = 2**count + 1
	for u := max(p.from[a], t-*count); u <= min(p.to[a], t+*count); u++ {
		if p.leave[p.at(a, u)].next == int32(b) {
			p.proof(a, u, b)
		}
	}
}
