package night

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"
)

// course is the problem of a night: which targets to expose on, when, and in which order, on a grid of whole minutes.
type course struct {
	minutes   int       // the grid is 0 … minutes
	targets   []wish    // by target
	stretches []stretch // where exposures may be taken
	minBlock  int       // least length of a block, minutes

	// move bounds from below, cheaply, the earliest minute at which exposures on stretch b may begin when stretch a was left at
	// minute t; a is −1, and t is 0, for the parked mount. Not ok is never. It need not grow with t.
	move func(a, t, b int) (arrive int, ok bool)
	// prove is the true answer to the same question, and dear: each is asked at most once, and only where it may matter. An
	// answer before move's counts as move's.
	prove func(a, t, b int) (arrive int, ok bool)
}

// wish is what is wanted of one target.
type wish struct {
	sub     time.Duration // one sub-exposure with its download, at least a second
	between time.Duration // what comes between two of them
	worth   []float64     // worth[t] is the worth of exposing during minute t, zero or more
	most    int           // sub-exposures wanted over the whole plan; negative is without end
}

// stretch is a run of minutes without a break in which one target can be exposed on from one side. One that ends where it
// begins, or before, is empty.
type stretch struct {
	target   int
	from, to int // exposures stay inside, minutes
}

// block is a run of sub-exposures on one stretch, from one minute to another.
type block struct {
	stretch, from, to, subs int
}

// choice is a plan and how good it is. A plan's value is the sum over its blocks of the worth of the block's minutes, times
// the share of its time that the shutter is open, less a charge of a thousandth of one minute at the greatest worth, so that
// of plans that are worth the same the one of fewer blocks is best.
type choice struct {
	blocks []block
	value  float64
	bound  float64 // no plan is worth more
	proven bool    // no plan is worth more than this one
}

// Worths are counted in ticks, whole numbers, so that sums are exact and equal plans are worth exactly the same. The greatest
// worth of a minute is optTicks; a night of 1440 minutes stays far inside 63 bits, and rounding takes less than 1e-10 of that
// greatest minute from any plan.
const (
	optTicks  = 1 << 44
	optCharge = optTicks / 1000 // the charge of a block
)

// optLongest is the longest grid, minutes: arrivals are kept in 16 bits.
const optLongest = 30000

// optEffort bounds the work of one search, in its smallest steps (states worked out, labels compared), so that the answer is
// the same on any machine. Nights whose caps hardly bind take a tenth of it.
const optEffort = 20_000_000

// best returns the best plan. It is proven the best, unless the effort runs out, and then its bound says how much better
// another may be. Every move of the plan has been proven. An error is a course that makes no sense, or ctx's.
func (c *course) best(ctx context.Context) (choice, error) {
	return c.search(ctx, optEffort)
}

// search is best with a bound on the effort.
//
// It goes from loose to tight. A dynamic programme bounds every plan's value as if each cap held only for each block by itself
// and every cheap move were true; the moves of its best chain are proven, what fails is learnt, and the programme mended, until
// the best chain stands (the lazy proof of edges). If that keeps the caps, it is the best plan. If not, prices on the
// sub-exposures of capped targets pull the bound down (Lagrange), and a label search under that bound closes the rest.
func (c *course) search(ctx context.Context, effort int) (choice, error) {
	if err := c.check(); err != nil {
		return choice{}, err
	}
	p := newProgramme(c, effort)
	err := p.solve(ctx)
	if err != nil {
		return choice{}, err
	}
	perTick := p.greatest / optTicks
	return choice{
		blocks: p.kept, value: float64(p.value) * perTick, bound: float64(p.bound) * perTick, proven: p.value == p.bound,
	}, nil
}

// solve leaves the best plan found in p.kept and p.value, and what no plan exceeds in p.bound.
func (p *programme) solve(ctx context.Context) error {
	p.bound = math.MaxInt64
	if err := p.settle(ctx); err != nil {
		return err
	}
	if err := p.dive(ctx); err != nil {
		return err
	}
	if p.value == p.bound || len(p.capped) == 0 {
		return ctx.Err()
	}
	// A narrow round of labels finds a good plan, and towards a better plan the prices come closer.
	if err := p.price(ctx); err != nil {
		return err
	}
	s, before := newLabelling(p), p.value
	if err := s.round(ctx, optNarrow); err != nil {
		return err
	}
	if p.value > before {
		if err := p.price(ctx); err != nil {
			return err
		}
	}
	return s.widen(ctx, 2*optNarrow)
}

// settle sweeps the programme at its present prices, and proves the moves of its best chain until they all stand or the effort
// runs out. It lowers the bound to the programme's, and keeps the chain if it is a plan.
func (p *programme) settle(ctx context.Context) error {
	p.sweep()
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		p.bound = min(p.bound, p.first.value+p.ransom())
		chain := p.chain()
		stands, err := p.proveChain(ctx, chain)
		if err != nil {
			return err
		}
		if stands {
			p.keep(chain)
			return nil
		}
		p.mend()
		if p.effort <= 0 {
			p.bound = min(p.bound, p.first.value+p.ransom())
			return nil
		}
	}
}

// keep makes a plan whose moves are proven the one to beat, if it keeps the caps and is better.
func (p *programme) keep(chain []block) {
	var value int64
	left := p.allowance()
	for _, b := range chain {
		k := p.c.stretches[b.stretch].target
		value += p.shapes[k].value(b.from, b.to, b.subs)
		if left[k] -= b.subs; left[k] < 0 {
			return
		}
	}
	if value > p.value {
		p.value, p.kept = value, chain
	}
}

// allowance returns how many sub-exposures of each target are wanted.
func (p *programme) allowance() []int {
	left := make([]int, len(p.c.targets))
	for k, w := range p.c.targets {
		left[k] = w.most
		if w.most < 0 {
			left[k] = math.MaxInt
		}
	}
	return left
}

// check says what makes no sense in a course.
func (c *course) check() error {
	if c.minutes < 0 || c.minutes > optLongest {
		return fmt.Errorf("schedule: a night of %d minutes, not 0 to %d", c.minutes, optLongest)
	}
	if c.move == nil || c.prove == nil {
		return errors.New("schedule: nothing answers for moves")
	}
	for k, w := range c.targets {
		if w.sub < time.Second || w.between < 0 {
			return fmt.Errorf("schedule: target %d: sub-exposures of %v with %v between them, not 1s or more with 0s or more",
				k, w.sub, w.between)
		}
		if len(w.worth) < c.minutes {
			return fmt.Errorf("schedule: target %d: worth of %d minutes, not of %d", k, len(w.worth), c.minutes)
		}
		for t, v := range w.worth {
			if !(v >= 0) || math.IsInf(v, 0) {
				return fmt.Errorf("schedule: target %d: worth %v of minute %d is not a number of zero or more", k, v, t)
			}
		}
	}
	for b, s := range c.stretches {
		if s.target < 0 || s.target >= len(c.targets) {
			return fmt.Errorf("schedule: stretch %d: no target %d", b, s.target)
		}
		if s.from < s.to && (s.from < 0 || s.to > c.minutes) {
			return fmt.Errorf("schedule: stretch %d: minutes %d to %d lie outside of 0 to %d", b, s.from, s.to, c.minutes)
		}
	}
	return nil
}
