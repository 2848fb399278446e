package night

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
)

// nights says how many random nights are driven by brute force.
var nights = flag.Int("nights", 6, "random nights of which every minute is tried; 1000 for the long run")

// Every minute of every plan is free by brute force, on rigs made odd at random and nights drawn at random: exposures, waits, slews and
// flips in every order and by every way that the document leaves open, begun on time or late by up to Slack.
func TestEveryMinuteIsFree(t *testing.T) {
	rnd := optSeeded(t)
	var mu sync.Mutex
	var sum judge
	plans, blocks, alone := 0, 0, 0
	t.Run("night", func(t *testing.T) {
		for i := range *nights {
			own := rand.New(rand.NewPCG(rnd.Uint64(), uint64(i)))
			t.Run(fmt.Sprint(i), func(t *testing.T) {
				t.Parallel()
				j, what := oddNight(t, own)
				if j == nil {
					return
				}
				faults := append(j.everything(), j.properties()...)
				if len(faults) > 0 {
					t.Errorf("%s\n%s\n%s", what, strings.Join(faults[:min(len(faults), 8)], "\n"), j.plan.text())
				}
				mu.Lock()
				defer mu.Unlock()
				plans++
				blocks += len(j.plan.Schedule.Blocks)
				for i := range j.plan.Targets {
					alone += len(j.plan.Targets[i].Blocks)
				}
				c, d := &sum.count, &j.count
				c.poses, c.slews, c.flips, c.vias, c.waits, c.parks, c.either = c.poses+d.poses, c.slews+d.slews, c.flips+d.flips,
					c.vias+d.vias, c.waits+d.waits, c.parks+d.parks, c.either+d.either
			})
		}
	})
	t.Logf("%d plans, %d blocks and %d alone: %+v", plans, blocks, alone, sum.count)
	if plans > 5 && (blocks == 0 || sum.count.slews == 0) {
		t.Error("nothing was planned")
	}
}

// text writes a plan's blocks, for a failure to be understood.
func (p *Plan) text() string {
	var b strings.Builder
	write := func(name string, blocks []Block) {
		for i, x := range blocks {
			fmt.Fprintf(&b, "%s %d: target %d %v %v to %v, %d subs, by %v to %v from %q via %q %v: %s\n", name, i, x.Target, x.Side,
				x.From, x.To, x.Subs, x.Come.Begin, x.Come.End, x.Come.From, x.Come.Via, x.Come.Path, x.Why)
		}
	}
	write("schedule", p.Schedule.Blocks)
	for i := range p.Targets {
		write(fmt.Sprint("alone ", i), p.Targets[i].Blocks)
	}
	return b.String()
}
