package solid

import "testing"

func TestDistanceCloses(t *testing.T) {
	r := newRand(t)
	for _, ka := range kinds {
		for _, kb := range kinds {
			n, wide, worst, over, und := 0, 0, 0.0, 0, 0
			for range 4000 {
				s := randomScene(r, ka, kb)
				a, b := s.placed()
				g := Distance(&a, &b)
				n++
				if g.Status == Overlapping {
					over++
					continue
				}
				if g.Status == Undecided {
					und++
				}
				if w := g.Upper - g.Lower; w > 1.1e-6 {
					wide++
					if w > worst {
						worst = w
						t.Logf("%+v %+v", s, g)
					}
				}
			}
			t.Logf("%v-%v: %d, overlapping %d, undecided %d, not closed %d, worst %g", ka, kb, n, over, und, wide, worst)
		}
	}
}
