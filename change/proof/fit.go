package proof

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Reading is what a ruler said at a pose: the least distance between two parts.
type Reading struct {
	Step      int         // its number on the sheet, from 1
	Axes      axes.Angles // where the axes stood, by the mount
	A, B      string
	MM, TolMM float64 // TolMM holds 95 of 100
}

// Fitter fits the lengths of one rig to readings. It is immutable and safe for use from several goroutines.
type Fitter struct {
	rig     *rig.Rig
	without []string
	l       *lengths
	gauge   *room.Gauge // as a ruler finds the rig
	rates   *room.Rates
	part    map[string]int
}

// NewFitter prepares a rig; without names conditions that did not hold when it was measured.
func NewFitter(r *rig.Rig, without []string) (*Fitter, error) {
	f := &Fitter{rig: r, without: without, l: lengthsOf(r), part: map[string]int{}}
	var err error
	if f.gauge, err = measured(r, without); err != nil {
		return nil, err
	}
	if f.rates, err = f.gauge.NewRates(); err != nil {
		return nil, err
	}
	for i := range f.gauge.Model.Parts {
		f.part[f.gauge.Model.Parts[i].Name] = i
	}
	return f, nil
}

// check refuses readings that mean nothing.
func (f *Fitter) check(readings []Reading) error {
	if len(readings) == 0 {
		return fmt.Errorf("there is no reading: enter what the ruler says")
	}
	s := f.gauge.NewScratch()
	for _, r := range readings {
		for _, name := range []string{r.A, r.B} {
			if _, ok := f.part[name]; !ok {
				return fmt.Errorf("step %d: the rig has no part %q", r.Step, name)
			}
		}
		switch {
		case math.IsNaN(r.Axes.RA-r.Axes.RA) || math.IsNaN(r.Axes.Dec-r.Axes.Dec):
			return fmt.Errorf("step %d: the axis angles are no numbers", r.Step)
		case !(r.MM >= 0 && r.MM <= 5000):
			return fmt.Errorf("step %d: a reading of %v mm: give 0 to 5000", r.Step, r.MM)
		case !(r.TolMM >= 0.1 && r.TolMM <= 100):
			return fmt.Errorf("step %d: a reading good to %v mm: give 0.1 to 100", r.Step, r.TolMM)
		}
		if _, ok := f.rates.Between(r.Axes, f.part[r.A], f.part[r.B], s); !ok {
			return fmt.Errorf("step %d: %s and %s do not move against each other, or are joined: their gap tells nothing", r.Step, r.A, r.B)
		}
	}
	return nil
}

// seen is what the model says of readings at some lengths, in units of their own standard deviations.
type seen struct {
	gaps []float64   // mm
	r    []float64   // model less reading
	rows [][]float64 // its gradient by the lengths
}

// cost is what the fit makes least: lengths off by their own standard deviations, and readings by theirs.
func (s *seen) cost(x []float64) float64 { return dot(x, x) + dot(s.r, s.r) }

func (f *Fitter) look(readings []Reading, x []float64, rates *room.Rates) (*seen, *room.Gauge, error) {
	g, err := measured(f.l.moved(f.rig, x), f.without)
	if err != nil {
		return nil, nil, err
	}
	at, err := rates.At(g)
	if err != nil {
		return nil, nil, err
	}
	s := &seen{}
	scratch := g.NewScratch()
	var grad []room.Derivative
	for _, r := range readings {
		d, list, _ := at.Gradient(r.Axes, f.part[r.A], f.part[r.B], scratch, grad[:0])
		grad = list
		row, sd := make([]float64, len(f.l.list)), r.TolMM/two95
		f.l.scaled(grad, row)
		for i := range row {
			row[i] /= sd
		}
		s.gaps = append(s.gaps, d.Gap)
		s.r = append(s.r, (d.Gap-r.MM)/sd)
		s.rows = append(s.rows, row)
	}
	return s, g, nil
}

// solution is the most likely set of lengths after readings.
type solution struct {
	x     []float64 // lengths, in standard deviations from the document
	seen  *seen
	chi   float64   // what is left of χ²
	z     []float64 // of each reading, in standard deviations of what the others and the tolerances say of it
	cov   *mat.SymDense
	gauge *room.Gauge
	norig bool // the most likely lengths make no rig: x is the last that did
}

// How far the fit goes: steps, halvings of a step that made it worse, bends of the gradients, and how much better a step has to make the cost, which is about
// as large as the readings are many, to be worth it.
const (
	mostSteps = 60
	halvings  = 8
	bends     = 12
	worth     = 1e-9
)

// solve finds the lengths x that make |x|² + |r(x)|² least: weighted least squares with the tolerances as priors, by Gauss and Newton
// with step halving. With e = r − J·x each step goes to x′ = −Jᵀ(I + JJᵀ)⁻¹e, a system no larger than the readings are many.
//
// The rates of the parts are those of the document until it has settled, and then those of where it has. Readings that are far off may ask
// for lengths that no rig can have, such as a tube thinner than nothing: the solution says so.
func (f *Fitter) solve(readings []Reading) (*solution, error) {
	rates := f.rates
	x := make([]float64, len(f.l.list))
	var last *solution
	for round := range 2 {
		s, g, err := f.look(readings, x, rates)
		if err != nil {
			return nil, err
		}
		for range mostSteps {
			next, err := f.linear(s, x)
			if err != nil {
				return nil, err
			}
			next.gauge = g
			last = next
			to, better, h, err := f.step(readings, x, s, next.x, rates)
			if err != nil {
				return nil, err
			}
			if better == nil {
				break // no step makes it better: it has settled
			}
			x, s, g = to, better, h
		}
		if round == 0 {
			at, err := last.gauge.NewRates()
			if err != nil {
				break // a length so far off that a step of it makes no rig: the document's rates have to do
			}
			rates = at
		}
	}
	if _, _, err := f.look(readings, last.x, rates); err != nil {
		last.x, last.norig = x, true
	}
	return last, nil
}

// step goes from x towards the goal, half as far each time that it is not better there. When no such place is better, the nearest
// points of some reading switch on the way, and its gradient holds on one side only: it is bent to what the gap really does as far as
// the goal (C. G. Broyden, Mathematics of Computation 19, 1965) for another goal. It gives nil when all that brings nothing.
func (f *Fitter) step(readings []Reading, x []float64, s *seen, goal []float64, rates *room.Rates) (to []float64, better *seen, g *room.Gauge, err error) {
	to = make([]float64, len(x))
	for range bends {
		var far *seen
		for k, share := 0, 1.0; k <= halvings; k, share = k+1, share/2 {
			for i := range x {
				to[i] = x[i] + share*(goal[i]-x[i])
			}
			if better, g, err = f.look(readings, to, rates); err != nil {
				continue // lengths that give no rig
			}
			if better.cost(to) < s.cost(x)-worth {
				return to, better, g, nil
			}
			if far == nil {
				far = better
			}
		}
		if far == nil || !s.bend(x, goal, far) {
			break
		}
		next, err := f.linear(s, x)
		if err != nil {
			return nil, nil, nil, err
		}
		goal = next.x
	}
	return nil, nil, nil, nil
}

// bend turns the gradients so that they give what was seen far off at y, and tells whether any of them had to be.
func (s *seen) bend(x, y []float64, far *seen) bool {
	d := make([]float64, len(x))
	for i := range d {
		d[i] = y[i] - x[i]
	}
	long := dot(d, d)
	bent := false
	for k, row := range s.rows {
		off := far.r[k] - s.r[k] - dot(row, d)
		if math.Abs(off) < 1e-3 || long == 0 {
			continue
		}
		bent = true
		for i := range row {
			row[i] += off / long * d[i]
		}
	}
	return bent
}

// linear is the step from x, with everything that is said of its end.
func (f *Fitter) linear(s *seen, x []float64) (*solution, error) {
	m, n := len(s.r), len(x)
	j := mat.NewDense(m, n, nil)
	e := mat.NewVecDense(m, nil)
	for k, row := range s.rows {
		j.SetRow(k, row)
		e.SetVec(k, s.r[k]-dot(row, x))
	}
	total := mat.NewSymDense(m, nil) // I + JJᵀ: the variances of e
	total.SymOuterK(1, j)
	for k := range m {
		total.SetSym(k, k, total.At(k, k)+1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(total) {
		return nil, fmt.Errorf("the readings cannot be weighed against each other: is one good to nothing, or the same twice?")
	}
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil {
		return nil, fmt.Errorf("the readings cannot be weighed against each other: %w", err)
	}
	var w, to mat.VecDense
	w.MulVec(&inverse, e)
	to.MulVec(j.T(), &w)
	out := &solution{x: make([]float64, n), seen: s, chi: mat.Dot(e, &w)}
	for i := range out.x {
		out.x[i] = -to.AtVec(i)
	}
	// Of e, the k-th given all others is off by w_k/(S⁻¹)_kk with variance 1/(S⁻¹)_kk.
	for k := range m {
		out.z = append(out.z, -w.AtVec(k)/math.Sqrt(inverse.At(k, k)))
	}
	var half, told mat.Dense
	half.Mul(&inverse, j)
	told.Mul(j.T(), &half)
	out.cov = mat.NewSymDense(n, nil)
	for a := range n {
		for b := a; b < n; b++ {
			c := -told.At(a, b)
			if a == b {
				c++
			}
			out.cov.SetSym(a, b, c)
		}
	}
	return out, nil
}

// without is readings less the k-th.
func leaveOut(readings []Reading, k int) []Reading {
	return slices.Delete(slices.Clone(readings), k, k+1)
}
