package sim

import (
	"math"
	"math/rand/v2"
	"testing"
)

// seeded gives a random source whose seed a failing test prints.
func seeded(t testing.TB) *rand.Rand {
	t.Helper()
	seed := rand.Uint64()
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("seed %d", seed)
		}
	})
	return rand.New(rand.NewPCG(seed, 0))
}

// From rest to rest over d with rate V and acceleration A it takes d/V + V/A, or 2·√(d/A) when V is not reached: mechanics.
func closedTime(d, top, acc float64) float64 {
	d = math.Abs(d)
	if d >= top*top/acc {
		return d/top + top/acc
	}
	return 2 * math.Sqrt(d/acc)
}

func TestAxisTime(t *testing.T) {
	rnd := seeded(t)
	for range 5000 {
		top, acc := 0.01+rnd.Float64(), 0.01+rnd.Float64()
		a := axis{at: rnd.NormFloat64()}
		w := want{goal: true, x: a.at + rnd.NormFloat64()*math.Pow(10, -4*rnd.Float64())}
		if math.Abs(w.x-a.at) <= 2*near {
			continue // as good as there already
		}
		need, got := closedTime(w.x-a.at, top, acc), a.until(w, top, acc, softly)
		if math.Abs(got-need) > 1e-3*math.Sqrt(near/acc)+1e-6 {
			t.Fatalf("%v to %v at %g, %g: %.9f s, by mechanics %.9f", a, w.x, top, acc, got, need)
		}
		whole, small := a, a
		whole.step(w, top, acc, softly, got+1)
		if !whole.arrived(w) {
			t.Fatalf("did not arrive: %+v, goal %v", whole, w.x)
		}
		// Small steps come to the same, and keep to rate and acceleration.
		for left := 0.7 * got; left > 0; {
			dt := math.Min(left, rnd.Float64()*got/20)
			before := small
			small.step(w, top, acc, softly, dt)
			if math.Abs(small.rate) > top*(1+1e-9) || math.Abs(small.rate-before.rate) > acc*dt*(1+1e-9)+1e-12 {
				t.Fatalf("%+v after %+v in %g s", small, before, dt)
			}
			left -= dt
		}
		part := a
		part.step(w, top, acc, softly, 0.7*got)
		if math.Abs(part.at-small.at) > 2*near || math.Abs(part.rate-small.rate) > math.Sqrt(2*acc*near) {
			t.Fatalf("one step %+v, many %+v", part, small)
		}
	}
}

// A goal that changes under way is reached too, and so is a rate.
func TestAxisChanges(t *testing.T) {
	rnd := seeded(t)
	for range 2000 {
		top, acc := 0.01+rnd.Float64(), 0.01+rnd.Float64()
		a := axis{}
		var w want
		for range 5 {
			w = want{goal: rnd.IntN(2) == 0, x: rnd.NormFloat64()}
			if !w.goal {
				w.x = (rnd.Float64()*2 - 1) * top
			}
			a.step(w, top, acc, softly, rnd.Float64()*3)
			if math.Abs(a.rate) > top*(1+1e-9) {
				t.Fatalf("%+v with rate at most %g", a, top)
			}
		}
		a.step(w, top, acc, softly, a.until(w, top, acc, softly)+1e-9)
		if !a.arrived(w) {
			t.Fatalf("%+v, told %+v", a, w)
		}
	}
}
