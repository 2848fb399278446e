package night

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/sky"
)

// ordinary plans a night of an example rig with eight targets from the pole to deep in the other half of the sky.
func ordinary(t testing.TB, name string, day int, o Options, changes ...string) *judge {
	t.Helper()
	r, done := with(loaded(t, name), changes...)
	if 2*len(done) != len(changes) {
		t.Fatalf("of %v only %v make a rig", changes, done)
	}
	return planned(t, r, time.Date(2026, 1, day, 0, 0, 0, 0, time.UTC), o, nil)
}

// planned plans a night of a rig; without targets for eight that stand over the meridian one after the other.
func planned(t testing.TB, r *rig.Rig, date time.Time, o Options, targets []sky.Target) *judge {
	t.Helper()
	site, err := sky.NewSite(r.Site)
	if err != nil {
		t.Fatal(err)
	}
	n, err := sky.NightOf(site, date.Year(), date.Month(), date.Day())
	if err != nil {
		t.Fatal(err)
	}
	if targets == nil {
		for i := range 8 {
			dec := axes.Hemisphere(site.Lat) * axes.Rad(float64(88-14*i))
			ra := site.SiderealTime(n.Midnight) + axes.FromHours(float64(i*5%8)*1.5-5)
			targets = append(targets, sky.Target{Name: fmt.Sprint("target ", i), Place: sky.J2000{RA: ra, Dec: dec}, Priority: 1 + i%3})
		}
	}
	g := gaugeOf(t, r, rig.RSS)
	plan, err := New(context.Background(), mapOf(t, g, 0.5), site, date, targets, o)
	if err != nil {
		t.Fatal(err)
	}
	return newJudge(plan, g, site, rand.New(rand.NewPCG(1, 1)))
}

// planted is a fault put into a plan, as a planner might make it: it changes one of the chains of blocks that it is given, at block i,
// and tells whether it could.
type planted struct {
	name string
	put  func(p *Plan, bs *[]Block, i int) bool
	tell string // what the brute force says of it
}

// moved shifts a block's slew and what comes before it by some time.
func moved(bs []Block, i int, by time.Duration) {
	if i > 0 {
		bs[i-1].To = bs[i-1].To.Add(by)
	}
	b := &bs[i]
	b.Come.Begin, b.Come.End, b.From = b.Come.Begin.Add(by), b.Come.End.Add(by), b.From.Add(by)
}

var plantedFaults = []planted{
	{"a stop ten minutes late", func(p *Plan, bs *[]Block, i int) bool {
		b := &(*bs)[i]
		b.To = b.To.Add(10 * time.Minute)
		*bs = (*bs)[:i+1]
		return true
	}, "below the margin"},
	{"a run begun ten minutes early", func(p *Plan, bs *[]Block, i int) bool {
		b := &(*bs)[i]
		b.Come.Begin, b.Come.End, b.From = b.Come.Begin.Add(-10*time.Minute), b.Come.End.Add(-10*time.Minute), b.From.Add(-10*time.Minute)
		*bs = (*bs)[:i+1]
		return i == 0
	}, "below the margin"},
	{"the other side", func(p *Plan, bs *[]Block, i int) bool {
		b := &(*bs)[i]
		b.Side = axes.East - b.Side
		return !b.Either
	}, "below the margin"},
	{"the way by a named pose dropped", func(p *Plan, bs *[]Block, i int) bool {
		had := (*bs)[i].Come.Via != ""
		(*bs)[i].Come.Via = ""
		return had
	}, "slew"},
	{"a flip 15 minutes late", func(p *Plan, bs *[]Block, i int) bool {
		moved(*bs, i, 15*time.Minute)
		return (*bs)[i].Come.Flip
	}, "below the margin"},
	{"a flip 15 minutes early", func(p *Plan, bs *[]Block, i int) bool {
		moved(*bs, i, -15*time.Minute)
		return (*bs)[i].Come.Flip
	}, "below the margin"},
	{"a flip in half of its time", func(p *Plan, bs *[]Block, i int) bool {
		m := &(*bs)[i].Come
		m.End = m.Begin.Add(m.End.Sub(m.Begin) / 2)
		return m.Flip
	}, "may take"},
	{"a slew begun before the block before it ended", func(p *Plan, bs *[]Block, i int) bool {
		m := &(*bs)[i].Come
		m.Begin = m.Begin.Add(-30 * time.Minute)
		return i > 0
	}, "before"},
	{"exposures in twilight", func(p *Plan, bs *[]Block, i int) bool {
		(*bs)[i].To = (*bs)[i].To.Add(10 * time.Minute)
		return i == len(*bs)-1
	}, "the Sun stands"},
	{"exposures below the least altitude", func(p *Plan, bs *[]Block, i int) bool {
		p.Options.MinAltitude = axes.Rad(45)
		return true
	}, "the horizon at"},
	{"exposures by the Moon", func(p *Plan, bs *[]Block, i int) bool {
		p.Options.MoonApart = axes.Rad(60)
		return true
	}, "the Moon is"},
	{"one sub-exposure too many", func(p *Plan, bs *[]Block, i int) bool {
		(*bs)[i].Subs++
		return true
	}, "sub-exposures need"},
	{"two numbers that the mount does not let pass", func(p *Plan, bs *[]Block, i int) bool {
		p.Options.TwoNumber, p.West, p.East = true, axes.Rad(80), axes.Rad(80)
		return true
	}, "is outside of"},
	{"a mosaic planned as a point", func(p *Plan, bs *[]Block, i int) bool {
		p.Targets = slices.Clone(p.Targets)
		p.Targets[(*bs)[i].Target].Extent = axes.Rad(3)
		return true
	}, "below the margin"},
	{"a side that the mount does not choose", func(p *Plan, bs *[]Block, i int) bool {
		b := &(*bs)[i]
		b.Side = axes.East - b.Side
		return !b.Either
	}, "does not"},
	{"a flip that is not told", func(p *Plan, bs *[]Block, i int) bool {
		had := (*bs)[i].Come.Flip
		(*bs)[i].Come.Flip = false
		return had
	}, "flip is"},
}

// The brute force sees the faults that a planner might make. A plan without the fault gives no complaint.
func TestPlantedFaultsAreSeen(t *testing.T) {
	var plans []*judge
	for _, c := range []struct {
		name    string
		day     int
		changes []string
	}{
		{"terrace-long-refractor", 20, nil},
		{"terrace-turned", 3, []string{"mount.own_rules.side_choice", "as_told"}},
		{"karoo-newtonian", 12, []string{"site.latitude_deg", "-5", "mount.polar_axis.altitude_deg", "5"}},
		{"karoo-newtonian", 20, []string{"site.latitude_deg", "60", "mount.polar_axis.altitude_deg", "60"}},
		{"terrace-long-refractor", 20, []string{"mount.home", "{ra_axis_deg: 0, dec_axis_deg: 60}", "mount.slew.axis_order", "unknown",
			"mount.own_rules.side_choice", "as_told"}},
	} {
		j := ordinary(t, c.name, c.day, Options{}, c.changes...)
		for _, f := range append(j.everything(), j.properties()...) {
			t.Errorf("%s %v: %s", c.name, c.changes, f)
		}
		plans = append(plans, j)
	}
	for _, f := range plantedFaults {
		t.Run(f.name, func(t *testing.T) {
			tried, seen := 0, 0
			for _, j := range plans {
				for k := -1; k < len(j.plan.Targets) && seen == 0; k++ {
					blocks := j.plan.Schedule.Blocks
					if k >= 0 {
						blocks = j.plan.Targets[k].Blocks
					}
					for i := range blocks {
						p, bs := *j.plan, slices.Clone(blocks)
						if !f.put(&p, &bs, i) {
							continue
						}
						tried++
						again := newJudge(&p, j.g, j.site, rand.New(rand.NewPCG(2, uint64(i))))
						again.rapid = true
						again.blocks("planted", bs, nil)
						if slices.ContainsFunc(again.faults, func(s string) bool { return strings.Contains(s, f.tell) }) {
							seen++
							break
						}
					}
				}
			}
			t.Logf("seen after %d", tried)
			if seen == 0 {
				t.Errorf("put %d times, and never seen", tried)
			}
		})
	}
}

// Minutes of advice that are wrong are seen.
func TestPlantedAdviceIsSeen(t *testing.T) {
	late, early := 0, 0
	for _, name := range []string{"terrace-long-refractor", "terrace-turned"} {
		j := ordinary(t, name, 20, Options{})
		for i := range j.plan.Targets {
			g := &j.plan.Targets[i]
			try := func(a Advice, by *int, more int) bool {
				if by == nil {
					return false
				}
				m := *by + more
				switch by {
				case a.Stop:
					a.Stop = &m
				case a.Flip:
					a.Flip = &m
				}
				k := newJudge(j.plan, j.g, j.site, rand.New(rand.NewPCG(3, 3)))
				k.advice("planted", &a, g)
				return len(k.faults) > 0
			}
			if try(g.Advice, g.Advice.Stop, 10) {
				late++
			}
			if try(g.Advice, g.Advice.Flip, -15) {
				early++
			}
		}
	}
	t.Logf("%d late stops and %d early flips seen", late, early)
	if late == 0 || early == 0 {
		t.Error("never seen")
	}
}
