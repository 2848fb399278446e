package night

import (
	"context"
	"fmt"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// BenchmarkNew plans one night of 20 targets, and what of it each part takes: the night itself, the look at each target, the schedule.
func BenchmarkNew(b *testing.B) {
	for _, name := range exampleRigs {
		r := loaded(b, name)
		m := mapOf(b, gaugeOf(b, r, rig.RSS), 0.25)
		site, err := sky.NewSite(r.Site)
		if err != nil {
			b.Fatal(err)
		}
		targets, date := everywhere(site), benchDate
		b.Run(name+"/all", func(b *testing.B) {
			for b.Loop() {
				if _, err := New(context.Background(), m, site, date, targets, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(name+"/two numbers", func(b *testing.B) {
			for b.Loop() {
				if _, err := New(context.Background(), m, site, date, targets, Options{TwoNumber: true}); err != nil {
					b.Fatal(err)
				}
			}
		})
		var o Options
		if err := o.fill(); err != nil {
			b.Fatal(err)
		}
		b.Run(name+"/sun and moon", func(b *testing.B) {
			for b.Loop() {
				n, err := sky.NightOf(site, date.Year(), date.Month(), date.Day())
				if err != nil {
					b.Fatal(err)
				}
				newPlanner(m, newHeavens(&n, n.MoonUp(), o))
			}
		})
		n, err := sky.NightOf(site, date.Year(), date.Month(), date.Day())
		if err != nil {
			b.Fatal(err)
		}
		p := newPlanner(m, newHeavens(&n, n.MoonUp(), o))
		plan := &Plan{Night: n, Options: o, Targets: make([]Target, len(targets))}
		b.Run(name+"/targets", func(b *testing.B) {
			for b.Loop() {
				room.InParallel(len(targets), func(i int) { plan.Targets[i] = p.look(p.see(targets[i])) })
			}
		})
		b.Run(name+"/blocks", func(b *testing.B) {
			for b.Loop() {
				if err := p.fill(context.Background(), plan); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(name+"/pair", func(b *testing.B) {
			for b.Loop() {
				p.pair(plan.Targets)
			}
		})
	}
}

// BenchmarkBoth plans one night of 20 targets under both kinds of limits, as the command does.
func BenchmarkBoth(b *testing.B) {
	for _, name := range exampleRigs {
		r := loaded(b, name)
		m := mapOf(b, gaugeOf(b, r, rig.RSS), 0.25)
		site, err := sky.NewSite(r.Site)
		if err != nil {
			b.Fatal(err)
		}
		targets := everywhere(site)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := Both(context.Background(), m, site, benchDate, targets, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

var benchDate = time.Date(2026, 1, 20, 0, 0, 0, 0, time.UTC)

// everywhere is 20 targets all over the sky of a site.
func everywhere(site sky.Site) []sky.Target {
	var out []sky.Target
	for i := range 20 {
		dec := axes.Hemisphere(site.Lat) * axes.Rad(float64(i*37%100-20))
		out = append(out, sky.Target{Name: fmt.Sprint(i), Place: sky.J2000{RA: float64(i) * 0.31, Dec: dec}, Priority: 1 + i%4})
	}
	return out
}
