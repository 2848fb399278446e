package solid

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/solid/proof"
)

// The judge of this package's answers shares no code with it; here are its questions, asked of this package's own types.

func shapeOf(s Solid) proof.Shape { return proof.Shape{Kind: s.Kind().String(), Size: s.Size()} }

func forProof(s *scene) (a, b *proof.Part) {
	return &proof.Part{Shape: shapeOf(s.a), Place: s.pa.Place()}, &proof.Part{Shape: shapeOf(s.b), Place: s.pb.Place()}
}

func plainSupport(s Solid, d r3.Vec) r3.Vec { return shapeOf(s).Support(d) }

func outside(s Solid, x r3.Vec) float64 { return shapeOf(s).Outside(x) }

func plainSeparation(s *scene, n r3.Vec) float64 {
	a, b := forProof(s)
	return proof.Separation(a, b, n)
}

func fuzzOf(s *scene) float64 { return proof.Fuzz(forProof(s)) }

func certify(s *scene, g Gap) error {
	a, b := forProof(s)
	claim := [...]proof.Claim{Undecided: proof.Touching, Apart: proof.Apart, Overlapping: proof.Overlapping}
	return proof.Certify(a, b, proof.Answer{Lower: g.Lower, Upper: g.Upper, A: g.A, B: g.B, Normal: g.Normal, Claim: claim[g.Status]})
}

// Every answer over all kinds and arrangements closes and proves itself.
func TestDistanceIsOptimal(t *testing.T) {
	r := newRand(t)
	n, apart, overlapping, touching, wide, open, worst := 0, 0, 0, 0, 0, 0, 0.0
	for range 3000 {
		for _, ka := range kinds {
			for _, kb := range kinds {
				s := randomScene(r, ka, kb)
				a, b := s.placed()
				g := Distance(&a, &b)
				if err := certify(&s, g); err != nil {
					t.Fatalf("%v\n%+v\n%+v", err, s, g)
				}
				n++
				switch g.Status {
				case Apart:
					apart++
				case Overlapping:
					overlapping++
				default:
					if touching++; g.Upper > 1e-5 || g.Upper-g.Lower > 1e-3 {
						t.Fatalf("undecided\n%+v\n%+v", s, g)
					}
				}
				if w := g.Upper - g.Lower; g.Status == Apart && w > closed+4*slop(&a, &b) {
					wide++
					worst = math.Max(worst, w)
					if w > 1e-3 {
						open++
						t.Logf("open by %g mm\n%+v\n%+v", w, s, g)
					}
				}
			}
		}
	}
	t.Logf("%d pairs: %d apart, %d overlapping, %d touching; %d not closed to %g mm, worst %.2g mm", n, apart, overlapping, touching, wide, closed, worst)
	// Shapes a million times as wide as thick are left open by more than 1e-3 mm once in some millions of draws.
	if open > 1 || worst > 1e-2 {
		t.Errorf("%d pairs open by more than 1e-3 mm, worst %g mm", open, worst)
	}
	if apart < n/2 || overlapping < n/30 || touching > n/5000 || wide > n/1000 {
		t.Error("the draw or the iteration is off")
	}
}
