package night

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// optNight is a night of stretches in pairs, before and after each target's meridian, with worth that falls with the distance
// from it; capped of the targets are wanted for so many minutes, up to three times as long. A tenth of the moves arrive later in
// proof.
func optNight(rnd *rand.Rand, minutes, stretches, capped, wanted int) *course {
	c := &course{minutes: minutes, minBlock: 20}
	for k := range stretches / 2 {
		w := wish{sub: time.Duration(60+rnd.IntN(241)) * time.Second, between: time.Duration(rnd.IntN(12)) * time.Second, most: -1}
		if k < capped {
			w.most = int((time.Duration(wanted+rnd.IntN(2*wanted)) * time.Minute) / w.sub)
		}
		meridian, priority := rnd.IntN(minutes), 1+2*rnd.Float64()
		for t := range minutes {
			x := float64(t-meridian) / 240
			w.worth = append(w.worth, priority*math.Max(0, math.Cos(math.Min(math.Abs(x), math.Pi/2))))
		}
		c.targets = append(c.targets, w)
		// The first side runs on past the meridian, or the second begins late.
		c.stretches = append(c.stretches,
			stretch{k, max(0, meridian-200-rnd.IntN(200)), min(minutes, meridian+rnd.IntN(60)-15)},
			stretch{k, max(0, meridian+rnd.IntN(60)-15), min(minutes, meridian+200+rnd.IntN(200))})
	}
	salt := rnd.Uint64()
	hash := func(a, t, b int) uint64 {
		x := salt + uint64(a+1)*0x9e3779b97f4a7c15 + uint64(t)*0xbf58476d1ce4e5b9 + uint64(b)*0x94d049bb133111eb
		x ^= x >> 31
		x *= 0xd6e8feb86659fd93
		return x ^ x>>29
	}
	c.move = func(a, t, b int) (int, bool) { return t + 1 + (a+b+2)%3, hash(a, 0, b)%15 != 0 }
	c.prove = func(a, t, b int) (int, bool) {
		m, ok := c.move(a, t, b)
		h := hash(a, t/8, b)
		if h%10 == 0 {
			m += 1 + int(h/16%20)
		}
		return m, ok && h%37 != 0
	}
	return c
}

func BenchmarkBest(b *testing.B) {
	for _, tt := range []struct{ stretches, capped, wanted int }{
		{40, 0, 60}, {60, 0, 60}, {60, 5, 60}, {60, 10, 60}, {60, 30, 80}, {200, 100, 80}, {40, 20, 30}, {60, 30, 30},
	} {
		b.Run(fmt.Sprintf("stretches=%d/capped=%d/wanted=%d", tt.stretches, tt.capped, tt.wanted), func(b *testing.B) {
			var nights []*course
			for seed := range uint64(8) {
				nights = append(nights, optNight(rand.New(rand.NewPCG(seed, 2)), 600, tt.stretches, tt.capped, tt.wanted))
			}
			i := 0
			for b.Loop() {
				if _, err := nights[i%8].best(context.Background()); err != nil {
					b.Fatal(err)
				}
				i++
			}
			proofs, gap, open := 0, 0.0, 0
			for _, c := range nights {
				prove := c.prove
				c.prove = func(a, t, b int) (int, bool) { proofs++; return prove(a, t, b) }
				got, err := c.best(context.Background())
				if err != nil {
					b.Fatal(err)
				}
				if c.prove = prove; !got.proven {
					open++
					gap = max(gap, got.bound/got.value-1)
				}
			}
			b.ReportMetric(float64(proofs)/8, "proofs/op")
			b.ReportMetric(100*gap, "%gap")
			b.ReportMetric(float64(open)/8, "unproven/op")
		})
	}
}
