package proof

import "slices"

// design chooses readings that together tell most about the lengths. Each candidate is a row a: the gradient of its gap in standard
// deviations of the lengths over the ruler's own. With prior variance 1 the lengths' covariance after the chosen readings is
// C = (I + Σ a·aᵀ)⁻¹, and what they tell, in nats, is half of log det(I + Σ a·aᵀ): the D-optimal design of a Bayesian experiment
// (K. Chaloner and I. Verdinelli, Statistical Science 10, 1995, 273–304). A further reading adds ½·log(1 + aᵀCa), so that the best one
// is that with the largest aᵀCa; rank-one updates keep C, and aᵀCa of every candidate.
type design struct {
	rows  [][]float64
	c     [][]float64 // C
	tells []float64   // aᵀCa
}

func newDesign(rows [][]float64) *design {
	d := &design{rows: rows, tells: make([]float64, len(rows))}
	if len(rows) > 0 {
		d.c = make([][]float64, len(rows[0]))
		for i := range d.c {
			d.c[i] = make([]float64, len(d.c))
			d.c[i][i] = 1
		}
	}
	for i, a := range rows {
		d.tells[i] = dot(a, a)
	}
	return d
}

// change adds a reading by row k (sign +1) or takes it away (−1), by Sherman and Morrison's formula.
func (d *design) change(k int, sign float64) {
	w := make([]float64, len(d.c))
	for i := range w {
		w[i] = dot(d.c[i], d.rows[k])
	}
	under := 1 + sign*d.tells[k]
	for i, row := range d.c {
		f := sign * w[i] / under
		for j := range row {
			row[j] -= f * w[j]
		}
	}
	for i, a := range d.rows {
		x := dot(a, w)
		d.tells[i] -= sign * x * x / under
	}
}

// best is the candidate that tells most and is allowed, −1 when there is none; ties go to the first.
func (d *design) best(allowed func(k int) bool) int {
	refused := map[int]bool{}
	for {
		k := -1
		for i, u := range d.tells {
			if (k < 0 || u > d.tells[k]) && !refused[i] {
				k = i
			}
		}
		if k < 0 || allowed(k) {
			return k
		}
		refused[k] = true
	}
}

// choose picks up to n candidates, one after the other and then by exchange: as long as one of them can be replaced by another that
// tells more. allowed says whether a candidate may join others; none is chosen twice.
func (d *design) choose(n int, allowed func(k int, others []int) bool) []int {
	may := func(k int, others []int) bool { return !slices.Contains(others, k) && allowed(k, others) }
	var chosen []int
	for len(chosen) < n {
		k := d.best(func(k int) bool { return may(k, chosen) })
		if k < 0 || d.tells[k] <= 0 {
			break
		}
		d.change(k, 1)
		chosen = append(chosen, k)
	}
	const passes, gain = 20, 1e-6 // relative; rounding may not go round in circles
	for changed, pass := true, 0; changed && pass < passes; pass++ {
		changed = false
		for i, old := range chosen {
			d.change(old, -1)
			others := slices.Delete(slices.Clone(chosen), i, i+1)
			k := d.best(func(k int) bool { return may(k, others) })
			if k < 0 || d.tells[k] <= d.tells[old]*(1+gain) {
				k = old
			}
			d.change(k, 1)
			changed = changed || k != old
			chosen[i] = k
		}
	}
	return chosen
}
