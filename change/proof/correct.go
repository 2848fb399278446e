package proof

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// ErrContradicted says that the ruler contradicts the model, so that there is nothing to correct: a part is missing, has another shape,
// or is bolted elsewhere.
var ErrContradicted = errors.New("the ruler contradicts the model")

// OpenError says that the reading which is left out shows less room than the model: wrong or not, nothing is corrected without it, for the
// others would then vouch for room that the ruler did not find.
type OpenError struct{ Residual }

func (e *OpenError) Error() string {
	return fmt.Sprintf("step %d is open: from %s to %s the ruler found %.1f mm, less room than the model gives there (%.1f mm by the document, %.1f mm "+
		"by the other readings), and nothing is corrected without it; measure it again, enter that at step %d too, and accept then", e.Step, e.A, e.B,
		e.MM, e.PredictedMM, e.FittedMM, e.Step)
}

// open gives the reading that was left out, when it shows less room than the document or the fit and nobody has measured its step again since.
// It is nil when there is none.
func (o *Fit) open() *OpenError {
	if o.Verdict != OneWrong {
		return nil
	}
	left := o.Taken[o.Wrong]
	if left.MM >= math.Max(left.PredictedMM, left.FittedMM) {
		return nil
	}
	for _, later := range o.Taken[o.Wrong+1:] {
		if later.Step == left.Step {
			return nil
		}
	}
	return &OpenError{left}
}

// Change is one value of the document that the fit corrects.
type Change struct {
	*rig.Quantity         // as the document has it
	To            float64 // in the quantity's unit, to a tenth of a millimetre or a hundredth of a degree
	ToTol         float64
	Text          string // as the document will have it
}

// Changes lists what the fit corrects: the lengths that it moves, and the tolerances of told and partly told lengths that it may
// shrink. There are none while the model is contradicted (ErrContradicted) or a step is open (*OpenError). A fit spreads what it finds
// over many lengths, all of them the same way for a gap: of the small moves only those stay out that come to nothing all together (little).
//
// The lengths are not independent after a fit: two of which the ruler has seen only the sum may each be off by much more than the sum.
// A document has no place for that, and an allowance takes them as independent. So a tolerance shrinks only so far that no gap's
// error comes out less than the fit has it, over poses all round the torus: from the fit's own variances, those of a gap's lengths
// are raised by equal shares of the way back to what they were until its error is large enough. Back there it always is, for
// readings take no gap's variance up. What a value is rounded by stays in its tolerance.
func (o *Fit) Changes() ([]Change, error) {
	if o.Verdict == Contradicted {
		return nil, ErrContradicted
	}
	if err := o.open(); err != nil {
		return nil, err
	}
	shares, stays := o.shares(), o.little()
	var out []Change
	for i, l := range o.Lengths {
		step := 0.1
		if l.Unit == "deg" {
			step = 0.01
		}
		c := Change{Quantity: l.Quantity, To: l.Value, ToTol: l.Tol}
		if math.Abs(l.Fitted-l.Value) >= step/2 && !stays[i] {
			c.To = tidy(math.Round(l.Fitted/step), step)
		}
		tol := l.Tol*math.Sqrt(shares[i]) + math.Abs(l.Fitted-c.To)
		if tol = tidy(math.Ceil(tol/step-1e-9), step); l.Told != Untold && tol <= 0.95*l.Tol {
			c.ToTol = tol
		}
		if c.To == l.Value && c.ToTol == l.Tol {
			continue
		}
		q := rig.Quantity{Value: c.To, Tol: c.ToTol, Unit: l.Unit, Source: l.source()}
		c.Text = q.String()
		out = append(out, c)
	}
	return out, nil
}

// source is what the document says of a value that the fit gave. It is no tape's any more, nor a default. What nobody has measured stays so
// until the ruler has told it.
func (l *Length) source() rig.Source {
	if l.Source == rig.Unmeasured && l.Told != Told {
		return rig.Unmeasured
	}
	return rig.Fitted
}

// littleMM is what the moves that stay out may change any reading's gap by, all together.
const littleMM = 0.1

// little tells which moves may stay out of the document: of the untold lengths, from the smallest in its tolerance on, as many as together
// change no reading by littleMM. An untold length keeps its tolerance, which covers the move.
func (o *Fit) little() []bool {
	var order []int
	for i, l := range o.Lengths {
		if l.Told == Untold {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(math.Abs(o.s.x[a]), math.Abs(o.s.x[b])) })
	var sd []float64 // of the readings that were fitted, mm
	for k, t := range o.Taken {
		if k != o.Wrong {
			sd = append(sd, t.TolMM/two95)
		}
	}
	out, sum := make([]bool, len(o.Lengths)), make([]float64, len(sd))
	for _, i := range order {
		for k, row := range o.s.seen.rows {
			if sum[k] += math.Abs(row[i] * o.s.x[i] * sd[k]); sum[k] > littleMM {
				return out
			}
		}
		out[i] = true
	}
	return out
}

// tidy is n steps without the rounding of their product.
func tidy(n, step float64) float64 { return round(n*step, 4) }

// Where gaps are looked at for the tolerances: poses this far apart all round the torus, and so many of the nearest pairs at each.
const (
	torusStep  = 10.0 // degrees
	torusPairs = 6
	torusFar   = 400.0 // mm: what is further apart stands in nobody's way
)

// shares are the parts of the lengths' variances that their tolerances have to keep.
func (o *Fit) shares() []float64 {
	f := o.fitter
	shares := make([]float64, len(f.l.list))
	for i := range shares {
		shares[i] = math.Min(1, math.Max(0, o.s.cov.At(i, i)))
	}
	s := f.gauge.NewScratch()
	row := make([]float64, len(shares))
	var grad []room.Derivative
	for ra := -180.0; ra < 180; ra += torusStep {
		for dec := -180.0; dec < 180; dec += torusStep {
			at := axes.Angles{RA: axes.Rad(ra), Dec: axes.Rad(dec)}
			for _, p := range f.gauge.Nearest(at, torusPairs) {
				if p.Gap > torusFar {
					continue
				}
				_, grad, _ = f.rates.Gradient(at, p.A, p.B, s, grad[:0])
				fitted, independent := o.variance(grad, row, shares)
				if independent >= fitted {
					continue
				}
				back := 0.0 // what is gained all the way back
				for i, x := range row {
					back += (1 - shares[i]) * x * x
				}
				share := math.Min(1, (fitted-independent)/back)
				for i, x := range row {
					if x != 0 {
						shares[i] += share * (1 - shares[i])
					}
				}
			}
		}
	}
	return shares
}

// Correct writes the changes into a document, comments kept, and gives the rig that it then is. A change after which the document could
// not be read, such as a pier thinner than its walls, is left out and told. On error nothing in the document may be used.
func Correct(doc *rig.Document, changes []Change) (r *rig.Rig, leftOut []Refusal, err error) {
	if r, err = doc.Rig(); err != nil {
		return nil, nil, err
	}
	for _, c := range changes { // lists first: a section that is not there yet is then written on lines of its own
		if err := doc.Adopt(c.Path); err != nil {
			return nil, nil, err
		}
	}
	for _, c := range changes {
		before := doc.Bytes()
		if err := doc.Set(c.Path, c.Text); err != nil {
			return nil, nil, err
		}
		next, err := doc.Rig()
		if err != nil {
			if err := doc.Replace(before); err != nil {
				return nil, nil, err
			}
			leftOut = append(leftOut, Refusal{c, err})
			continue
		}
		r = next
	}
	if len(changes) > 0 && len(leftOut) == len(changes) {
		return nil, nil, fmt.Errorf("none of the corrections can stand in the document: %w", leftOut[0].Why)
	}
	return r, leftOut, nil
}

// Predict gives what a document that was corrected by the fit predicts for its readings, mm.
func (o *Fit) Predict(r *rig.Rig) ([]float64, error) {
	f, err := NewFitter(r, o.fitter.without)
	if err != nil {
		return nil, err
	}
	scratch := f.gauge.NewScratch()
	var gaps []float64
	for _, t := range o.Taken {
		d, ok := f.rates.Between(t.Axes, f.part[t.A], f.part[t.B], scratch)
		if !ok {
			return nil, fmt.Errorf("step %d: the corrected document has no gap between %s and %s", t.Step, t.A, t.B)
		}
		gaps = append(gaps, d.Gap)
	}
	return gaps, nil
}

// Refusal is a change that the document cannot take.
type Refusal struct {
	Change
	Why error
}
