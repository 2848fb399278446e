package proof

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"legroom/rig"
	"legroom/room"
)

// Verdict is what the ruler says of the model.
type Verdict string

const (
	Agrees       Verdict = "agrees"       // lengths within their tolerances explain every reading
	OneWrong     Verdict = "one wrong"    // they explain every reading but one, which is named
	Contradicted Verdict = "contradicted" // they do not, or only with lengths that no rig can have: the model is refused
)

// doubt is how seldom a true model and honest readings may be refused, and how seldom one of the readings named.
const doubt = 0.01

// Fit is what readings tell of a rig.
type Fit struct {
	Verdict  Verdict
	Wrong    int     // the reading that is named, in Residuals; −1 for none. It is left out of everything else here
	Suspects []int   // further readings, any one of which alone may be the wrong one instead
	ChiSq    float64 // of the readings taken, about what lengths and tolerances say
	Freedom  int     // how many readings that is
	Chance   float64 // of a χ² as large as that when the model is true
	Taken    []Residual
	Lengths  []Length

	fitter *Fitter
	s      *solution
}

// Residual is one reading against the model.
type Residual struct {
	Reading
	PredictedMM float64 // by the document
	ErrorMM     float64 // of that, 95 of 100
	FittedMM    float64 // by the corrected lengths
	// Off is how far the reading is from what the other readings and the tolerances say of it, in standard deviations of that and
	// of its own.
	Off float64
}

// Identified says how much of a length the readings tell.
type Identified string

const (
	Told   Identified = "told"   // they leave at most half of its tolerance
	Partly Identified = "partly" // at most nine tenths
	Untold Identified = "untold" // more: as good as nothing
)

// identified sorts what readings leave of a length's error, 0…1.
func identified(left float64) Identified {
	switch {
	case left <= 0.5:
		return Told
	case left <= 0.9:
		return Partly
	}
	return Untold
}

// Length is one uncertain length after the fit.
type Length struct {
	*rig.Quantity         // as the document has it
	Fitted        float64 // in the quantity's unit
	Error         float64 // of that, 95 of 100
	Left          float64 // Error over the tolerance, 0…1
	Told          Identified
	// With is the length that this one is known best together with: what the readings tell is more of the two than of either. nil when
	// there is none with a correlation above a half.
	With        *rig.Quantity
	Correlation float64 // with that, −1…1
}

// Fit fits the lengths to readings and judges what comes of it.
func (f *Fitter) Fit(readings []Reading) (*Fit, error) {
	if err := f.check(readings); err != nil {
		return nil, err
	}
	s, err := f.solve(readings)
	if err != nil {
		return nil, err
	}
	out := &Fit{Wrong: -1, fitter: f, s: s, Freedom: len(readings)}
	out.weigh()
	off := s.z
	worst := 0
	for k := range off {
		if math.Abs(off[k]) > math.Abs(off[worst]) {
			worst = k
		}
	}
	// The greatest of n: n times as likely as a given one.
	named := len(readings) >= 3 && float64(len(readings))*math.Erfc(math.Abs(off[worst])/math.Sqrt2) < doubt
	switch {
	case named:
		rest, err := f.solve(leaveOut(readings, worst))
		if err != nil {
			return nil, err
		}
		all := *out
		out.s, out.Freedom = rest, len(readings)-1
		if out.weigh(); out.Chance < doubt || rest.norig {
			*out = all
			out.Verdict = Contradicted
			break
		}
		out.Verdict, out.Wrong = OneWrong, worst
		for k := range off {
			if k != worst && survival(s.chi-off[k]*off[k], len(readings)-1) >= doubt {
				out.Suspects = append(out.Suspects, k)
			}
		}
		off = slices.Insert(slices.Clone(rest.z), worst, off[worst]) // the others against each other alone
	case out.Chance < doubt || s.norig:
		out.Verdict = Contradicted
	default:
		out.Verdict = Agrees
	}
	return out, out.tell(readings, off)
}

// weigh says how well the solution explains its readings.
func (o *Fit) weigh() {
	o.ChiSq = o.s.chi
	o.Chance = survival(o.ChiSq, o.Freedom)
}

// survival is the chance of a χ² above x by n degrees of freedom.
func survival(x float64, n int) float64 {
	if x <= 0 {
		return 1
	}
	return distuv.ChiSquared{K: float64(n)}.Survival(x)
}

// tell fills in the readings and lengths.
func (o *Fit) tell(readings []Reading, off []float64) error {
	f := o.fitter
	before, _, err := f.look(readings, make([]float64, len(f.l.list)), f.rates)
	if err != nil {
		return err
	}
	after, _, err := f.look(readings, o.s.x, f.rates)
	if err != nil {
		return err
	}
	for k, r := range readings {
		o.Taken = append(o.Taken, Residual{Reading: r, PredictedMM: before.gaps[k], ErrorMM: norm(before.rows[k]) * r.TolMM, FittedMM: after.gaps[k], Off: off[k]})
	}
	n := len(f.l.list)
	for i, q := range f.l.list {
		sd := math.Sqrt(math.Max(0, o.s.cov.At(i, i)))
		l := Length{Quantity: q, Fitted: q.Value + o.s.x[i]*f.l.sd[i], Error: q.Tol * sd, Left: sd, Told: identified(sd)}
		for j := range n {
			if j == i {
				continue
			}
			if ρ := o.s.cov.At(i, j) / math.Sqrt(o.s.cov.At(i, i)*o.s.cov.At(j, j)); math.Abs(ρ) > math.Max(0.5, math.Abs(l.Correlation)) {
				l.With, l.Correlation = f.l.list[j], ρ
			}
		}
		o.Lengths = append(o.Lengths, l)
	}
	return nil
}

// Variance is what the fit says of the error of a gap with this gradient, mm², and what independent tolerances of their own for the
// lengths, shrunk to shares of their variances, say.
func (o *Fit) variance(grad []room.Derivative, row []float64, shares []float64) (fitted, independent float64) {
	o.fitter.l.scaled(grad, row)
	v := mat.NewVecDense(len(row), row)
	for i, x := range row {
		independent += x * x * shares[i]
	}
	return mat.Inner(v, o.s.cov, v), independent
}

// ByTold gives the lengths, those that the readings tell most of first.
func (o *Fit) ByTold() []Length {
	out := slices.Clone(o.Lengths)
	slices.SortStableFunc(out, func(a, b Length) int { return cmp.Compare(a.Left, b.Left) })
	return out
}
