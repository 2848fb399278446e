package proof

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"legroom/axes"
)

// One length, one reading: the weighted mean of what the document and the ruler say of it, by hand. The foot circle is 640 ± 3 there and
// the gap hangs on it alone when everything else is certain.
func TestFitOfOneLength(t *testing.T) {
	r := load(t, "terrace-long-refractor")
	const only = "support.legs.first_azimuth_deg"
	for _, q := range r.Quantities {
		if q.Path != only {
			q.Tol = 0
		}
	}
	f, err := NewFitter(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	at := sceneOf(t, "terrace-long-refractor").walk.Steps[4]
	d, grad, _ := f.rates.Gradient(at.Axes, f.part[at.A], f.part[at.B], f.gauge.NewScratch(), nil)
	if len(grad) != 1 {
		t.Fatalf("%d derivatives", len(grad))
	}
	slope, tol := grad[0].MMPerUnit, f.l.list[0].Tol
	const ruler, off = 2.0, 1.5
	fit, err := f.Fit([]Reading{{Step: 1, Axes: at.Axes, A: at.A, B: at.B, MM: d.Gap + off, TolMM: ruler}})
	if err != nil {
		t.Fatal(err)
	}
	// Variance-weighted: prior tol², reading (ruler/slope)².
	wp, wr := 1/(tol*tol), slope*slope/(ruler*ruler)
	want, wantErr := f.l.list[0].Value+off/slope*wr/(wp+wr), 1/math.Sqrt(wp+wr)
	got := fit.Lengths[0]
	if math.Abs(got.Fitted-want) > 2e-3*math.Abs(off/slope) || math.Abs(got.Error-wantErr) > 2e-3*wantErr {
		t.Errorf("fitted %.5f ± %.5f, by hand %.5f ± %.5f", got.Fitted, got.Error, want, wantErr)
	}
	chi := off * off / (ruler*ruler + slope*slope*tol*tol) * two95 * two95
	if math.Abs(fit.ChiSq-chi) > 5e-3*chi || fit.Verdict != Agrees || fit.Freedom != 1 {
		t.Errorf("χ² %.5f of %d (%s), by hand %.5f of 1", fit.ChiSq, fit.Freedom, fit.Verdict, chi)
	}
}

// What the fit calls the most likely lengths is that: no other lengths near cost less, by the model itself.
func TestFitIsTheLeast(t *testing.T) {
	const seed = 5
	rng := rand.New(rand.NewPCG(seed, 2))
	for _, name := range rigFiles {
		s := sceneOf(t, name)
		rd := s.readings(t, s.truth(rng), rng.NormFloat64)
		best, err := s.fitter.solve(rd)
		if err != nil {
			t.Fatal(err)
		}
		cost := func(x []float64) float64 {
			look, _, err := s.fitter.look(rd, x, s.fitter.rates)
			if err != nil {
				t.Fatal(err)
			}
			return look.cost(x)
		}
		least := cost(best.x)
		if math.Abs(least-best.chi) > 0.1*math.Max(1, least) {
			t.Errorf("%s: cost %.4f, χ² of the innovations %.4f: they are the same for a straight model", name, least, best.chi)
		}
		for k := range 200 {
			y := make([]float64, len(best.x))
			for i := range y {
				y[i] = best.x[i] + 0.02*rng.NormFloat64()
				if k%2 == 0 { // along one length alone
					y[i] = best.x[i]
				}
			}
			if k%2 == 0 {
				y[rng.IntN(len(y))] += 0.05 * rng.NormFloat64()
			}
			if c := cost(y); c < least-1e-3 {
				t.Errorf("seed %d, %s: %.6f is less than the least, %.6f", seed, name, c, least)
			}
		}
	}
}

// Synthetic rigs, their true lengths drawn from the tolerances: the posterior holds the truth 95 of 100 times, length by length, χ² refuses
// one in a hundred, and what the ruler tells is found: its lengths come out nearer to the truth than the document has them.
func TestFitFindsKnownErrors(t *testing.T) {
	const seed = 20261125
	for _, name := range rigFiles {
		s := sceneOf(t, name)
		rng := rand.New(rand.NewPCG(seed, 9))
		type tally struct{ n, held int }
		var all tally
		by := map[Identified]*tally{Told: {}, Partly: {}, Untold: {}}
		var before, after, left float64
		verdicts := map[Verdict]int{}
		for range *cases {
			x := s.truth(rng)
			fit, err := s.fitter.Fit(s.readings(t, x, rng.NormFloat64))
			if err != nil {
				t.Fatalf("seed %d, %s: %v", seed, name, err)
			}
			verdicts[fit.Verdict]++
			for i, l := range fit.Lengths {
				truth := l.Value + x[i]*s.fitter.l.sd[i]
				held := 0
				if math.Abs(l.Fitted-truth) <= l.Error {
					held = 1
				}
				all.n, all.held = all.n+1, all.held+held
				by[l.Told].n, by[l.Told].held = by[l.Told].n+1, by[l.Told].held+held
				if l.Told == Told {
					before += x[i] * x[i]
					after += math.Pow((l.Fitted-truth)/s.fitter.l.sd[i], 2)
					left += l.Left * l.Left
				}
				if l.Left > 1+1e-9 {
					t.Fatalf("%s: readings made %s worse: %.4f", name, l.Path, l.Left)
				}
			}
		}
		text := ""
		for _, k := range []Identified{Told, Partly, Untold} {
			if b := by[k]; b.n > 0 {
				text += fmt.Sprintf(", %s %.1f%% of %d", k, 100*float64(b.held)/float64(b.n), b.n)
			}
		}
		t.Logf("seed %d, %s: %d cases, the truth inside %.2f%% of the errors%s; error of what is told %.2f of before; %v", seed, name, *cases,
			100*float64(all.held)/float64(all.n), text, math.Sqrt(after/before), verdicts)
		// Lengths of one case hang together through at most a dozen readings: three standard deviations of the mean over the cases.
		slack := 0.005 + 0.15/math.Sqrt(float64(*cases))
		if c := float64(all.held) / float64(all.n); math.Abs(c-0.95) > slack {
			t.Errorf("seed %d, %s: the truth is inside %.1f%% of the errors, not 95%%", seed, name, 100*c)
		}
		if by[Told].n > 25 && after > 2*left {
			t.Errorf("seed %d, %s: what is told is off by %.2f of what it should be", seed, name, math.Sqrt(after/left))
		}
		if bad := verdicts[Contradicted] + verdicts[OneWrong]; float64(bad) > 0.02*float64(*cases)+3*math.Sqrt(0.02*float64(*cases)) {
			t.Errorf("seed %d, %s: %v of honest readings", seed, name, verdicts)
		}
	}
}

// One reading off by 2 to 10 cm, as by a wrong figure of the rule or another edge of the part: it is the one that is named.
func TestFitNamesAWrongReading(t *testing.T) {
	const seed = 77
	right, wrong := 0, map[string]int{}
	n := 0
	for _, name := range rigFiles {
		s := sceneOf(t, name)
		rng := rand.New(rand.NewPCG(seed, 3))
		for range *cases {
			rd := s.readings(t, s.truth(rng), rng.NormFloat64)
			k := rng.IntN(len(rd))
			by := 20 + 80*rng.Float64()
			if rng.IntN(2) == 0 && rd[k].MM > by {
				by = -by
			}
			rd[k].MM += by
			fit, err := s.fitter.Fit(rd)
			if err != nil {
				t.Fatalf("seed %d, %s: %v", seed, name, err)
			}
			n++
			switch {
			case fit.Verdict == OneWrong && fit.Wrong == k:
				right++
				if fit.Freedom != len(rd)-1 {
					t.Errorf("%s: %d readings taken", name, fit.Freedom)
				}
			case fit.Verdict == OneWrong:
				wrong["another one named"]++
			default:
				wrong[string(fit.Verdict)]++
			}
		}
	}
	t.Logf("seed %d: named in %d of %d (%.1f%%), else %v", seed, right, n, 100*float64(right)/float64(n), wrong)
	if float64(right) < 0.95*float64(n)-2*math.Sqrt(0.05*0.95*float64(n)) || *cases >= 300 && float64(right) < 0.95*float64(n) {
		t.Errorf("named in %d of %d", right, n)
	}
}

// A model that is wrong in a way that no tolerance covers is refused: here every gap to the legs is 25 mm less than it should be on one side
// of the sky and more on the other, as if the tripod stood elsewhere.
func TestFitRefusesAWrongModel(t *testing.T) {
	s := sceneOf(t, "terrace-long-refractor")
	rng := rand.New(rand.NewPCG(3, 3))
	for range 5 {
		rd := s.readings(t, s.truth(rng), rng.NormFloat64)
		for k := range rd {
			if k%2 == 0 {
				rd[k].MM += 25
			} else {
				rd[k].MM = math.Max(0, rd[k].MM-25)
			}
		}
		fit, err := s.fitter.Fit(rd)
		if err != nil {
			t.Fatal(err)
		}
		if fit.Verdict != Contradicted || fit.Chance > 1e-6 {
			t.Errorf("%s, chance %g", fit.Verdict, fit.Chance)
		}
		if _, err := fit.Changes(); err != ErrContradicted {
			t.Errorf("changes of a refused model: %v", err)
		}
	}
}

// Readings with a figure too many, or of quite another thing: the one that is wrong is named, or they contradict the document. Neither is an
// error of a document that nobody has written.
func TestFitTakesGrossErrors(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	wrongs := []func(float64) float64{
		func(mm float64) float64 { return math.Min(5000, 10*mm) }, // 3000 for 300
		func(float64) float64 { return 3000 },
		func(float64) float64 { return 5000 },
		func(float64) float64 { return 0 },
	}
	for k, name := range rigFiles {
		s := sceneOf(t, name)
		for _, wrong := range []func(float64) float64{wrongs[k%4], wrongs[(k+1+rng.IntN(3))%4]} {
			for _, several := range []bool{false, true} {
				rd := s.readings(t, s.truth(rng), rng.NormFloat64)
				k := rng.IntN(len(rd))
				for i := range rd {
					if i == k || several && i%2 == 0 {
						rd[i].MM = wrong(rd[i].MM)
					}
				}
				fit, err := s.fitter.Fit(rd)
				if err != nil {
					t.Errorf("%s, %v: %v", name, rd, err)
					continue
				}
				switch off := math.Abs(rd[k].MM - fit.Taken[k].PredictedMM); {
				case off < 100: // hardly wrong: 0 for a gap of some centimetres
				case fit.Verdict == OneWrong && fit.Wrong == k && !several:
				case fit.Verdict != Contradicted:
					t.Errorf("%s, reading %d of %g mm, %g predicted: %s, %d named", name, k+1, rd[k].MM, fit.Taken[k].PredictedMM, fit.Verdict, fit.Wrong)
				}
				for _, l := range fit.Lengths {
					if math.IsNaN(l.Fitted - l.Fitted) {
						t.Errorf("%s: %s fitted to %v", name, l.Path, l.Fitted)
					}
				}
			}
			// One reading alone, and two, leave nothing to name.
			for n := 1; n <= 2; n++ {
				rd := s.readings(t, s.truth(rng), rng.NormFloat64)[:n]
				rd[0].MM = wrong(rd[0].MM)
				fit, err := s.fitter.Fit(rd)
				if err != nil {
					t.Errorf("%s, %v: %v", name, rd, err)
				} else if math.Abs(rd[0].MM-fit.Taken[0].PredictedMM) > 500 && fit.Verdict != Contradicted {
					t.Errorf("%s, %v: %s", name, rd, fit.Verdict)
				}
			}
		}
	}
}

// What no reading hangs on is told apart from what they all hang on.
func TestFitTellsWhatItCanTell(t *testing.T) {
	s := sceneOf(t, "terrace-long-refractor")
	fit, err := s.fitter.Fit(s.readings(t, make([]float64, len(s.fitter.l.list)), silent))
	if err != nil {
		t.Fatal(err)
	}
	told := map[string]Length{}
	for _, l := range fit.Lengths {
		told[l.Path] = l
	}
	for path, want := range map[string]Identified{
		"support.legs.first_azimuth_deg":       Told,
		"mount.zero_errors.ra_deg":             Told,
		"mount.counterweights.bar_diameter_mm": Untold, // nowhere near a tube: no reading hangs on it
		"tube.sections[4].to_mm":               Untold, // the cap's thickness
	} {
		if got := told[path]; got.Told != want {
			t.Errorf("%s: %q with %.3f left, want %q", path, got.Told, got.Left, want)
		}
	}
	if got := told["mount.counterweights.bar_diameter_mm"].Left; math.Abs(got-1) > 1e-9 {
		t.Errorf("a length that no reading hangs on keeps %.6f of its tolerance", got)
	}
	// Without noise and errors the document is confirmed to the figure.
	for _, l := range fit.Lengths {
		if math.Abs(l.Fitted-l.Value) > 1e-6*math.Max(1, l.Tol) {
			t.Errorf("%s moved from %v to %v by readings that are as predicted", l.Path, l.Value, l.Fitted)
		}
	}
	if fit.Verdict != Agrees || fit.ChiSq > 1e-9 {
		t.Errorf("%s, χ² %g", fit.Verdict, fit.ChiSq)
	}
}

func TestFitRefusesWhatMeansNothing(t *testing.T) {
	s := sceneOf(t, "terrace-long-refractor")
	good := s.readings(t, make([]float64, len(s.fitter.l.list)), silent)[0]
	for _, c := range []struct {
		change func(r *Reading)
		want   string
	}{
		{func(r *Reading) { r.A = "kettle" }, `no part "kettle"`},
		{func(r *Reading) { r.MM = math.NaN() }, "give 0 to 5000"},
		{func(r *Reading) { r.MM = -1 }, "give 0 to 5000"},
		{func(r *Reading) { r.TolMM = 0 }, "give 0.1 to 100"},
		{func(r *Reading) { r.Axes = axes.Angles{RA: math.Inf(1)} }, "no numbers"},
		{func(r *Reading) { r.A, r.B = "camera", "filter wheel" }, "tells nothing"},
	} {
		r := good
		c.change(&r)
		if _, err := s.fitter.Fit([]Reading{r}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	if _, err := s.fitter.Fit(nil); err == nil {
		t.Error("no readings were fitted")
	}
}
