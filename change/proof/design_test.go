package proof

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// information is log det(I + Σ a·aᵀ), straight.
func information(rows [][]float64, chosen []int) (float64, *mat.SymDense) {
	n := len(rows[0])
	m := mat.NewSymDense(n, nil)
	for i := range n {
		m.SetSym(i, i, 1)
	}
	for _, k := range chosen {
		m.SymRankOne(m, 1, mat.NewVecDense(n, rows[k]))
	}
	var c mat.Cholesky
	c.Factorize(m)
	var inverse mat.SymDense
	if err := c.InverseTo(&inverse); err != nil {
		panic(err)
	}
	return c.LogDet(), &inverse
}

// Against every subset of small sets of rows: the rank-one updates keep C and aᵀCa, no exchange of one is better, and what is chosen
// is near the best there is.
func TestDesignAgainstEverySubset(t *testing.T) {
	const seed, sets = 41, 40
	rng := rand.New(rand.NewPCG(seed, 1))
	optimal := 0
	for set := range sets {
		const many, n, want = 14, 6, 4
		rows := make([][]float64, many)
		for i := range rows {
			rows[i] = make([]float64, n)
			scale := math.Exp(rng.NormFloat64())
			for k := range rows[i] {
				rows[i][k] = scale * rng.NormFloat64()
			}
		}
		d := newDesign(rows)
		chosen := d.choose(want, func(int, []int) bool { return true })
		got, c := information(rows, chosen)
		for i := range n {
			for j := range n {
				if math.Abs(d.c[i][j]-c.At(i, j)) > 1e-9 {
					t.Fatalf("seed %d, set %d: C kept %v, straight %v", seed, set, d.c[i][j], c.At(i, j))
				}
			}
		}
		best := 0.0
		var subset func(from int, picked []int)
		subset = func(from int, picked []int) {
			if len(picked) == want {
				x, _ := information(rows, picked)
				best = math.Max(best, x)
				return
			}
			for k := from; k < many; k++ {
				subset(k+1, append(picked, k))
			}
		}
		subset(0, nil)
		if got > best*(1-1e-9) {
			optimal++
		}
		if got < 0.97*best {
			t.Errorf("seed %d, set %d: %.4f nats, the best subset has %.4f", seed, set, got/2, best/2)
		}
		for i := range chosen {
			for k := range many {
				if slices.Contains(chosen, k) {
					continue
				}
				other := slices.Clone(chosen)
				other[i] = k
				if x, _ := information(rows, other); x > got+1e-5 {
					t.Errorf("seed %d, set %d: an exchange gains %.2e nats", seed, set, (x-got)/2)
				}
			}
		}
	}
	t.Logf("the best subset found in %d of %d sets", optimal, sets)
	if optimal < sets*3/4 {
		t.Errorf("the best subset found only in %d of %d sets", optimal, sets)
	}
}

func TestDesignKeepsToWhatIsAllowed(t *testing.T) {
	rows := [][]float64{{3, 0}, {2.9, 0}, {0, 2}, {0, 1}}
	got := newDesign(rows).choose(3, func(k int, others []int) bool {
		return k != 0 && !(k == 3 && slices.Contains(others, 2)) && !(k == 2 && slices.Contains(others, 3))
	})
	slices.Sort(got)
	if !slices.Equal(got, []int{1, 2}) {
		t.Errorf("chosen %v, want 1 and 2", got)
	}
}
