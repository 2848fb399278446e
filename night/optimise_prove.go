package night

import "context"

// proveChain proves the moves of a chain of blocks. It returns the last minute at which a move was left that failed, that is
// whose proof arrives too late for its block, with what was learnt kept in reach; or −1 if all stand.
func (p *programme) proveChain(ctx context.Context, chain []block) (int, error) {
	failed := -1
	a, t := -1, 0
	for _, b := range chain {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		if p.proof(a, t, b.stretch).minute() > b.from {
			failed = max(failed, t, p.proveAround(a, t, b.stretch))
		}
		a, t = b.stretch, b.to
	}
	return failed, nil
}

// proof proves one move, once.
func (p *programme) proof(a, t, b int) reach {
	r := p.arrive(a, t, b)
	if *r&reachProven == 0 {
		m, ok := p.c.prove(a, t, b)
		*r = max(*r, arrival(m, ok)) | reachProven
	}
	return *r
}

// proveAround proves a move from the minutes around one at which it failed, where it is the best way on, as far as twice the
// number of minutes that it failed at before: a move that fails for hours is not asked for minute by minute with a sweep after
// each. It returns the last minute asked for.
func (p *programme) proveAround(a, t, b int) int {
	if a < 0 {
		return t
	}
	count := &p.failed[a*len(p.from)+b]
	*count = 2**count + 1
	last := t
	for u := max(p.from[a], t-*count); u <= min(p.to[a], t+*count); u++ {
		if p.leave[p.at(a, u)].next == int32(b) && *p.arrive(a, u, b)&reachProven == 0 {
			p.proof(a, u, b)
			last = max(last, u)
		}
	}
	return last
}
