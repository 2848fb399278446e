package change

import (
	"math"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

func boxedOf(s *space, b *box) (*boxed, error) {
	g, err := s.gaugeAt(b.centre())
	if err != nil {
		return nil, err
	}
	m, err := s.motion(b, g)
	if err != nil {
		return nil, err
	}
	return s.boxed(b, g, m)
}

// Nowhere in a box is the gap of a pair greater than its corners say, and where they call a pose blocked none is free: by rigs drawn from the
// box, assembled anew, with the gap of the whole bodies.
func TestCorners(t *testing.T) {
	rnd := seeded(t)
	finite, blocked := 0, 0
	for _, file := range examples(t) {
		for range 6 {
			s, b := drawn(t, rnd, file, "no-idle above 30", rig.RSS, 0.3)
			x, err := boxedOf(s, b)
			if err != nil {
				continue // a box so wide that a leg may have no length: nothing is claimed
			}
			g, m, c := x.centre, x.motion, x.corners
			for range 40 {
				p := axes.Pose{Side: axes.Side(rnd.IntN(2)), HourAngle: (rnd.Float64() - 0.5) * 2, Dec: (rnd.Float64() - 0.5) * math.Pi}
				ax, half := g.Model.Head.Angles(p), 0.01*rnd.Float64()
				left := x.left(p.Side, p.HourAngle, p.Dec, half)
				for range 2 {
					gx, err := s.gaugeAt(b.draw(rnd))
					if err != nil {
						t.Fatal(err)
					}
					now := map[[2]int]float64{}
					for _, q := range gx.Nearest(ax, gx.Pairs()) {
						now[[2]int{q.A, q.B}] = q.Gap
					}
					for _, q := range g.Nearest(ax, 3) {
						moves := m.of(q.A, q.B)
						most := c.apart(ax, &q) + c.untold(&moves)
						if !math.IsInf(most, 1) {
							finite++
						}
						if gap := now[[2]int{q.A, q.B}]; gap > most {
							t.Errorf("%s %v box %v to %v at %+v: %s and %s are %v mm apart, at most %v expected",
								file, s.p.Variables, b.lo, b.hi, p, g.Model.Parts[q.A].Name, g.Model.Parts[q.B].Name, gap, most)
						}
					}
					if left < 0 {
						blocked++
						at := axes.Pose{Side: p.Side, HourAngle: p.HourAngle + (2*rnd.Float64()-1)*half, Dec: p.Dec}
						if gx.Free(gx.Model.Head.Angles(at), gx.NewScratch()) {
							t.Errorf("%s %v box %v to %v: %+v is free and was called blocked everywhere in the box", file, s.p.Variables, b.lo, b.hi, at)
						}
					}
				}
			}
		}
	}
	t.Logf("%d bounds by corners, %d poses blocked in their box", finite, blocked)
	if finite < 1000 || blocked < 20 {
		t.Errorf("%d bounds by corners and %d poses blocked in their box: too few to tell", finite, blocked)
	}
}

// Corners bound by less than the motion of the parts does: what moves a part across the line between two hardly moves them apart.
func TestCornersTellDirections(t *testing.T) {
	p := problem(t, terrace, "no-idle above 30", "riser=0..300", "slide=-80..80")
	s, err := newSpace(&p)
	if err != nil {
		t.Fatal(err)
	}
	b := &box{killer: -1, lo: []float64{20, -40}, hi: []float64{60, 40}}
	x, err := boxedOf(s, b)
	if err != nil {
		t.Fatal(err)
	}
	g, m, c := x.centre, x.motion, x.corners
	apart, less := 0, 0.0
	for h := -0.3; h < 0.3; h += 0.02 {
		ax := g.Model.Head.Angles(axes.Pose{Side: axes.West, HourAngle: h, Dec: axes.Rad(45)})
		q := g.Nearest(ax, 1)[0]
		if q.Gap > 0 {
			moves := m.of(q.A, q.B).sum
			apart, less = apart+1, less+q.Gap+moves-c.apart(ax, &q)
		}
	}
	if apart < 10 || less/float64(apart) < 3 {
		t.Errorf("%d poses with a gap, on the average bounded by %v mm less", apart, less/float64(apart))
	}
}
