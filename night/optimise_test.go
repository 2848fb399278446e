package night

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"
)

// optSeeded returns a generator whose seed is printed, and can be given again in LEGROOM_SEED.
func optSeeded(t testing.TB) *rand.Rand {
	seed := rand.Uint64()
	if s := os.Getenv("LEGROOM_SEED"); s != "" {
		seed, _ = strconv.ParseUint(s, 10, 64)
	}
	t.Logf("seed %d", seed)
	return rand.New(rand.NewPCG(seed, 1))
}

// optMoves is a table of moves: what is bounded and what is true, by stretch left (the parked mount last), minute and stretch
// entered; negative is never. It counts the proofs.
type optMoves struct {
	bound, truth map[[3]int]int
	asked        map[[3]int]int
}

func (m *optMoves) move(a, t, b int) (int, bool) { v := m.bound[[3]int{a, t, b}]; return v, v >= 0 }

func (m *optMoves) prove(a, t, b int) (int, bool) {
	k := [3]int{a, t, b}
	m.asked[k]++
	return m.truth[k], m.truth[k] >= 0
}

// optMadeUp is a small random course, and its moves: late, never, not growing with the minute, and failing only in proof.
func optMadeUp(rnd *rand.Rand, minutes, stretches int) (*course, *optMoves) {
	c := &course{minutes: minutes, minBlock: rnd.IntN(4)}
	greatest := []float64{1, 3, 1e-3, 250}[rnd.IntN(4)]
	for range 1 + rnd.IntN(3) {
		w := wish{sub: time.Duration(20+rnd.IntN(160)) * time.Second, between: time.Duration(rnd.IntN(40)) * time.Second, most: -1}
		if rnd.IntN(3) > 0 {
			w.most = rnd.IntN(minutes)
		}
		flat := rnd.IntN(3) == 0
		for range minutes {
			v := greatest * rnd.Float64()
			if flat {
				v = greatest / 2
			}
			if rnd.IntN(6) == 0 {
				v = 0
			}
			w.worth = append(w.worth, v)
		}
		c.targets = append(c.targets, w)
	}
	for range stretches {
		from := rnd.IntN(minutes + 1)
		s := stretch{target: rnd.IntN(len(c.targets)), from: from, to: min(minutes, from+rnd.IntN(minutes+1))}
		if rnd.IntN(10) == 0 {
			s.to = s.from - rnd.IntN(2)
		}
		c.stretches = append(c.stretches, s)
	}
	m := &optMoves{bound: map[[3]int]int{}, truth: map[[3]int]int{}, asked: map[[3]int]int{}}
	doubt := rnd.Float64()
	for a := -1; a < stretches; a++ {
		for b := range stretches {
			shut := rnd.IntN(12) == 0
			for t := range minutes + 1 {
				k := [3]int{a, t, b}
				m.bound[k] = t + rnd.IntN(3)
				if shut || rnd.IntN(12) == 0 {
					m.bound[k] = -1
				}
				m.truth[k] = m.bound[k]
				if m.bound[k] >= 0 && rnd.Float64() < doubt {
					if m.truth[k] += 1 + rnd.IntN(5); rnd.IntN(4) == 0 {
						m.truth[k] = -1
					}
				}
			}
		}
	}
	c.move, c.prove = m.move, m.prove
	return c, m
}

// optGreatest is the greatest worth of a minute.
func optGreatest(c *course) float64 {
	top := 0.0
	for _, w := range c.targets {
		for _, v := range w.worth {
			top = math.Max(top, v)
		}
	}
	return top
}

// optWorth is what a block is worth by the rule itself.
func optWorth(c *course, greatest float64, b block) float64 {
	w := c.targets[c.stretches[b.stretch].target]
	sum := 0.0
	for t := b.from; t < b.to; t++ {
		sum += w.worth[t]
	}
	return sum*(float64(b.subs)*w.sub.Seconds())/(float64(b.to-b.from)*60) - greatest/1000
}

// optEnd is the minute at which a block of n sub-exposures from minute t ends.
func optEnd(w wish, t, n int) int {
	return t + int(math.Ceil((float64(n)*w.sub.Seconds()+float64(n-1)*w.between.Seconds())/60-1e-9))
}

// optExhaust is the worth of the best plan by trying every block of every length at every minute in every order. It remembers
// only what it has tried from the same stretch, minute and sub-exposures left.
func optExhaust(c *course, m *optMoves) float64 {
	greatest := optGreatest(c)
	seen := map[string]float64{}
	var after func(a, t int, left []int) float64
	after = func(a, t int, left []int) float64 {
		key := fmt.Sprint(a, t, left)
		if v, ok := seen[key]; ok {
			return v
		}
		best := 0.0
		for b, s := range c.stretches {
			arrive := m.truth[[3]int{a, t, b}]
			if b == a || arrive < 0 {
				continue
			}
			for from := max(arrive, s.from); from < s.to; from++ {
				for n := 1; n <= left[s.target]; n++ {
					to := optEnd(c.targets[s.target], from, n)
					if to > s.to {
						break
					}
					if to-from < c.minBlock {
						continue
					}
					rest := append([]int(nil), left...)
					rest[s.target] -= n
					best = math.Max(best, optWorth(c, greatest, block{b, from, to, n})+after(b, to, rest))
				}
			}
		}
		seen[key] = best
		return best
	}
	left := []int{}
	for _, w := range c.targets {
		if w.most < 0 {
			w.most = 10 * c.minutes // more than fit
		}
		left = append(left, w.most)
	}
	return after(-1, 0, left)
}

// optValid says what is wrong with a plan, by the rules alone.
func optValid(c *course, m *optMoves, got choice) error {
	a, t, value, greatest := -1, 0, 0.0, optGreatest(c)
	taken := make([]int, len(c.targets))
	for i, b := range got.blocks {
		s := c.stretches[b.stretch]
		w := c.targets[s.target]
		arrive := m.truth[[3]int{a, t, b.stretch}]
		switch {
		case b.stretch == a:
			return fmt.Errorf("block %d stays on stretch %d", i, a)
		case arrive < 0 || b.from < arrive:
			return fmt.Errorf("block %d begins at %d, arrives at %d", i, b.from, arrive)
		case m.asked[[3]int{a, t, b.stretch}] == 0:
			return fmt.Errorf("block %d: its move is not proven", i)
		case b.from < s.from || b.to > s.to:
			return fmt.Errorf("block %d, %d to %d, is outside of its stretch, %d to %d", i, b.from, b.to, s.from, s.to)
		case b.subs < 1 || optEnd(w, b.from, b.subs) != b.to:
			return fmt.Errorf("block %d: %d sub-exposures from %d do not end at %d", i, b.subs, b.from, b.to)
		case b.to-b.from < c.minBlock:
			return fmt.Errorf("block %d is shorter than %d", i, c.minBlock)
		}
		if taken[s.target] += b.subs; w.most >= 0 && taken[s.target] > w.most {
			return fmt.Errorf("target %d: %d sub-exposures, not at most %d", s.target, taken[s.target], w.most)
		}
		value += optWorth(c, greatest, b)
		a, t = b.stretch, b.to
	}
	if math.Abs(value-got.value) > 1e-9*math.Max(1, greatest) {
		return fmt.Errorf("value %v, and its blocks are worth %v", got.value, value)
	}
	if got.value > got.bound || got.proven != (got.value == got.bound) {
		return fmt.Errorf("value %v, bound %v, proven %v", got.value, got.bound, got.proven)
	}
	for k, n := range m.asked {
		if n > 1 {
			return fmt.Errorf("move %v proven %d times", k, n)
		}
	}
	return nil
}

func TestBestIsTheBestOfAllPlans(t *testing.T) {
	rnd := optSeeded(t)
	worse, capped, failed := 0, 0, 0
	for i := range 1500 {
		c, m := optMadeUp(rnd, 4+rnd.IntN(11), 1+rnd.IntN(5))
		got, err := c.best(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if err := optValid(c, m, got); err != nil {
			t.Fatalf("course %d: %v\n%+v\n%+v", i, err, got, c)
		}
		want := optExhaust(c, m)
		if tol := 1e-9 * math.Max(1, optGreatest(c)); !got.proven || math.Abs(got.value-want) > tol {
			t.Fatalf("course %d: %+v, and the best is worth %v\n%+v", i, got, want, c)
		}
		for k := range m.asked {
			if m.bound[k] != m.truth[k] {
				failed++
				break
			}
		}
		taken := map[int]int{}
		for _, b := range got.blocks {
			taken[c.stretches[b.stretch].target]++
		}
		for k, n := range taken {
			if n > 1 && c.targets[k].most >= 0 {
				capped++
				break
			}
		}
		if optGreedy(c, m) < want-1e-6*optGreatest(c) {
			worse++
		}
	}
	t.Logf("first fit is worse in %d, a capped target has several blocks in %d, a proof failed in %d", worse, capped, failed)
	if worse < 50 || capped < 25 || failed < 200 {
		t.Error("the courses are too easy to tell anything")
	}
}

// optGreedy is the worth of the plan of a first fit: always the block next that is worth most by itself.
func optGreedy(c *course, m *optMoves) float64 {
	greatest, a, now, value := optGreatest(c), -1, 0, 0.0
	taken := make([]int, len(c.targets))
	for {
		best, at := 0.0, block{}
		for b, s := range c.stretches {
			w := c.targets[s.target]
			arrive := m.truth[[3]int{a, now, b}]
			if b == a || arrive < 0 {
				continue
			}
			for from := max(arrive, s.from); from < s.to; from++ {
				for n := 1; optEnd(w, from, n) <= s.to && (w.most < 0 || taken[s.target]+n <= w.most); n++ {
					bl := block{b, from, optEnd(w, from, n), n}
					if v := optWorth(c, greatest, bl); bl.to-from >= c.minBlock && v > best {
						best, at = v, bl
					}
				}
			}
		}
		if best == 0 {
			return value
		}
		value += best
		taken[c.stretches[at.stretch].target] += at.subs
		a, now = at.stretch, at.to
	}
}

func TestBoundHoldsWhenTheEffortRunsOut(t *testing.T) {
	rnd := optSeeded(t)
	short := 0
	for i := range 600 {
		c, m := optMadeUp(rnd, 6+rnd.IntN(9), 2+rnd.IntN(4))
		want := optExhaust(c, m)
		tol := 1e-9 * math.Max(1, optGreatest(c))
		for _, effort := range []int{0, 1, 50, 200, 500, 1000, 3000} {
			clear(m.asked)
			got, err := c.search(context.Background(), effort)
			if err != nil {
				t.Fatal(err)
			}
			if err := optValid(c, m, got); err != nil {
				t.Fatalf("course %d, effort %d: %v\n%+v\n%+v", i, effort, err, got, c)
			}
			if got.bound < want-tol || got.value > want+tol {
				t.Fatalf("course %d, effort %d: value %v, bound %v, and the best is worth %v", i, effort, got.value, got.bound, want)
			}
			if !got.proven {
				short++
			}
		}
	}
	t.Logf("short of proof in %d", short)
	if short < 100 {
		t.Error("the effort hardly ever ran out")
	}
}

func TestBestIsDeterministic(t *testing.T) {
	rnd := optSeeded(t)
	for range 50 {
		c, m := optMadeUp(rnd, 14, 5)
		one, err := c.best(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		clear(m.asked)
		two, err := c.best(context.Background())
		if err != nil || fmt.Sprint(one) != fmt.Sprint(two) {
			t.Fatalf("%+v, and then %+v, %v", one, two, err)
		}
	}
}

func TestEqualPlansGoByFewerBlocksThenEarlier(t *testing.T) {
	flat := make([]float64, 60)
	for i := range flat {
		flat[i] = 1
	}
	at := func(_, t, _ int) (int, bool) { return t, true }
	c := &course{
		minutes: 60, move: at, prove: at,
		targets:   []wish{{sub: time.Minute, worth: flat, most: 20}, {sub: time.Minute, worth: flat, most: 20}},
		stretches: []stretch{{0, 0, 60}, {1, 0, 60}, {0, 30, 60}},
	}
	got, err := c.best(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	b := got.blocks
	if len(b) != 2 || b[0].from != 0 || b[0].to != 20 || b[1].from != 20 || b[1].to != 40 {
		t.Errorf("%+v", got.blocks)
	}
}

func TestBestStopsWhenToldTo(t *testing.T) {
	c, _ := optMadeUp(optSeeded(t), 14, 5)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if got, err := c.best(ctx); !errors.Is(err, context.Canceled) || len(got.blocks) > 0 {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestBestOfNothing(t *testing.T) {
	at := func(_, t, _ int) (int, bool) { return t, true }
	for _, c := range []*course{
		{move: at, prove: at},
		{minutes: 10, move: at, prove: at, targets: []wish{{sub: time.Minute, worth: make([]float64, 10)}}},
		{minutes: 10, move: at, prove: at, targets: []wish{{sub: time.Minute, worth: make([]float64, 10), most: -1}},
			stretches: []stretch{{0, 0, 10}, {0, 7, 3}}},
	} {
		if got, err := c.best(context.Background()); err != nil || len(got.blocks) > 0 || got.bound != 0 || !got.proven {
			t.Errorf("%+v, %v", got, err)
		}
	}
}

func TestBestRefusesWhatMakesNoSense(t *testing.T) {
	at := func(_, t, _ int) (int, bool) { return t, true }
	for _, tt := range []struct {
		break_ func(*course)
		want   string
	}{
		{func(c *course) { c.minutes = -1 }, "night of -1 minutes"},
		{func(c *course) { c.minutes = 1 << 20 }, "not 0 to 30000"},
		{func(c *course) { c.prove = nil }, "moves"},
		{func(c *course) { c.targets[0].sub = 0 }, "target 0: sub-exposures of 0s"},
		{func(c *course) { c.targets[0].between = -1 }, "with -1ns between"},
		{func(c *course) { c.targets[0].worth = make([]float64, 9) }, "worth of 9 minutes, not of 10"},
		{func(c *course) { c.targets[0].worth[3] = math.NaN() }, "worth NaN of minute 3"},
		{func(c *course) { c.targets[0].worth[3] = math.Inf(1) }, "worth +Inf of minute 3"},
		{func(c *course) { c.targets[0].worth[3] = -1 }, "worth -1 of minute 3"},
		{func(c *course) { c.stretches[0].target = 1 }, "stretch 0: no target 1"},
		{func(c *course) { c.stretches[0].to = 11 }, "stretch 0: minutes 0 to 11 lie outside of 0 to 10"},
	} {
		c := &course{minutes: 10, move: at, prove: at, targets: []wish{{sub: time.Minute, worth: make([]float64, 10), most: -1}},
			stretches: []stretch{{0, 0, 10}}}
		tt.break_(c)
		if _, err := c.best(context.Background()); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%v, want %q", err, tt.want)
		}
	}
}
