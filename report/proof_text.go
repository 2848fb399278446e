package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"legroom/change/proof"
)

// WriteProof writes a walk as text of at most 100 columns.
func WriteProof(w io.Writer, d ProofDoc) error {
	p := &page{}
	p.line("%s: proof walk, %d steps", d.Rig, len(d.Steps))
	p.para("", "", "Begins "+walkTimes(d)+"; "+basisWords(d.Basis)+"; fingerprint "+d.Fingerprint+".")
	p.line("")
	for _, c := range d.Cautions {
		p.para("! ", "  ", c)
	}
	p.line("")
	p.para("Start: ", "  ", axisPoseWords(d.Start)+".")
	for i := range d.Steps {
		s := &d.Steps[i]
		p.line("")
		p.line("%d  side %s, hour angle %s h, declination %s (RA axis %s, declination axis %s)", s.Step, s.Side, signedHours(s.HourAngleH), angle(s.DecDeg, 2),
			angle(s.RAAxisDeg, 2), angle(s.DecAxisDeg, 2))
		if words := wayWords(s); words != "" {
			p.para("   ", "   ", words)
		}
		p.para("   ", "   ", stepWords(s))
		p.para("   from  ", "         ", s.From.Part+": "+s.From.Where)
		p.para("   to    ", "         ", s.To.Part+": "+s.To.Where)
		p.line("   the sheet says %s mm", predictedWords(s))
	}
	p.line("")
	p.line("From the last step straight back to the start.")
	p.line("")
	p.lengthsLeft(d)
	return p.writeTo(w)
}

// walkTimes says when a walk holds.
func walkTimes(d ProofDoc) string {
	from, err1 := time.Parse(time.RFC3339, d.Begins)
	to, err2 := time.Parse(time.RFC3339, d.Ends)
	if err1 != nil || err2 != nil {
		return d.Begins
	}
	s := from.Format("2006-01-02 15:04") + ", holds until " + to.Format("15:04")
	if !d.Sun {
		return s + " (the Sun is down then: drive it by day)"
	}
	return s + " for the Sun"
}

// signedHours writes an hour angle with its sign.
func signedHours(h float64) string {
	if h > 0 {
		return "+" + plain(h, 3)
	}
	return plain(h, 3)
}

// wayWords says by way of which pose a step is driven to; "" when straight.
func wayWords(s *ProofStepDoc) string {
	var via []string
	for _, w := range s.Way[:len(s.Way)-1] {
		via = append(via, fmt.Sprintf("RA axis %s, declination axis %s", angle(w.RAAxisDeg, 2), angle(w.DecAxisDeg, 2)))
	}
	if len(via) == 0 {
		return ""
	}
	return "drive by way of " + strings.Join(via, ", then ")
}

func stepWords(s *ProofStepDoc) string {
	words := fmt.Sprintf("points at altitude %s, azimuth %s; the least gap there is %s mm or more, tolerances taken off",
		angle(s.AltitudeDeg, 0), unsigned(s.AzimuthDeg), plain(math.Floor(s.LeastMM), 0))
	if s.SunDeg != nil {
		words += fmt.Sprintf("; %s from the Sun", unsigned(math.Floor(*s.SunDeg)))
	}
	return words
}

func unsigned(deg float64) string { return plain(deg, 0) + "°" }

func predictedWords(s *ProofStepDoc) string {
	return fmt.Sprintf("%s ± %s", plain(math.Round(s.GapMM), 0), plain(math.Ceil(s.ErrorMM), 0))
}

// lengthsLeft says what a walk should tell.
func (p *page) lengthsLeft(d ProofDoc) {
	p.line("WHAT IT SHOULD TELL, when every reading is taken")
	n := 0
	for _, l := range d.Lengths {
		if l.Left > 0.9 || n == 12 {
			break
		}
		n++
		p.line("  %s  ± %s → ± %s %s", pad(l.Path, 46), plain(l.Tolerance, 2), plain(l.Tolerance*l.Left, 2), l.Unit)
	}
	p.para("  ", "  ", fmt.Sprintf("Of the other %d lengths it tells little or nothing, for their part in these gaps is small.", len(d.Lengths)-n))
	if n > 0 {
		p.para("  ", "  ", "That is what the readings tell of each length by itself. After few of them several lengths account for the same gap: the corrected document "+
			"then keeps wider tolerances than these, or those that it has, so that no gap counts as better known than it is. More steps tell more.")
	}
}

// WriteFit writes a fit as text of at most 100 columns.
func WriteFit(w io.Writer, d FitDoc) error {
	p := &page{}
	p.line("%s: what the ruler says", d.Rig)
	p.line("")
	p.para("", "", verdictWords(d))
	p.para("", "", fmt.Sprintf("χ² %s of %d %s, chance %s.", plain(d.ChiSquare, 1), d.Freedom, plural(d.Freedom, "reading", "readings"), chanceWords(d.Chance)))
	p.line("")
	p.line("READINGS, mm")
	p.line("  %s  %s  %s  %s  %s", padLeft("step", 4), padLeft("ruler", 12), padLeft("document", 14), padLeft("corrected", 9), padLeft("off by", 8))
	for _, r := range d.Readings {
		note := ""
		switch {
		case r.Wrong:
			note = "  ! WRONG?"
		case r.Suspect:
			note = "  ? or this"
		}
		p.line("  %s  %s  %s  %s  %s  %s", padLeft(fmt.Sprint(r.Step), 4), padLeft(plain(r.ReadingMM, 1)+" ± "+plain(r.GoodToMM, 1), 12),
			padLeft(plain(r.PredictedMM, 1)+" ± "+upTenth(r.ErrorMM), 14), padLeft(plain(r.FittedMM, 1), 9), padLeft(plain(r.Off, 1)+" σ", 8),
			cut(r.From+" – "+r.To+note, Columns-59))
	}
	if d.Verdict != proof.Contradicted {
		p.line("")
		p.fitted(d)
		p.line("")
		p.corrected(d)
	}
	return p.writeTo(w)
}

func chanceWords(c float64) string {
	switch {
	case c < 1e-4:
		return "below 0.01 %"
	case c < 0.01:
		return plain(c*100, 2) + " %"
	}
	return plain(c*100, 0) + " %"
}

// verdictWords says what the readings come to.
func verdictWords(d FitDoc) string {
	switch d.Verdict {
	case proof.Agrees:
		so := "THE RULER AGREES"
		if read := stepsRead(d); read < d.Steps {
			so += fmt.Sprintf(" SO FAR, %d of %d steps", read, d.Steps)
		}
		return so + ": lengths within their tolerances explain every reading."
	case proof.OneWrong:
		var wrong, also string
		next := "It is left out of the fit: measure it again."
		if d.again() {
			next = "It is left out of the fit; a later reading of its step goes with the others."
		}
		for _, r := range d.Readings {
			what := fmt.Sprintf("step %d (%s to %s: %s mm, where the others leave %s)", r.Step, r.From, r.To, plain(r.ReadingMM, 1), plain(r.FittedMM, 1))
			if r.Wrong {
				wrong = what
			} else if r.Suspect {
				also += fmt.Sprintf(" It may be step %d instead.", r.Step)
			}
		}
		return "ONE READING DOES NOT GO WITH THE OTHERS: " + wrong + ". " + next + also
	}
	if len(d.Readings) == 1 {
		return "READING AND MODEL DO NOT GO TOGETHER: no lengths within their tolerances explain this reading, and one alone cannot tell which of the " +
			"two is wrong. Measure it again; if it stays as it is, the next step tells. Until then nothing is corrected, and the limits of this " +
			"document are not to be trusted."
	}
	return "THE RULER CONTRADICTS THE MODEL: no lengths within their tolerances explain these readings. Nothing is corrected, and the limits " +
		"of this document are not to be trusted. A part is missing from it, has another shape, or sits elsewhere; or more than one reading is " +
		"wrong; or the axes do not stand where the sheet has them. Measure the readings that are off most again, and look at the parts between " +
		"which they were taken."
}

// again tells whether the step of the reading that is left out was measured again since, and that reading taken.
func (d FitDoc) again() bool {
	k := slices.IndexFunc(d.Readings, func(r ProofReadingDoc) bool { return r.Wrong })
	return k >= 0 && slices.ContainsFunc(d.Readings[k+1:], func(r ProofReadingDoc) bool { return r.Step == d.Readings[k].Step })
}

// stepsRead counts the steps that have a reading.
func stepsRead(d FitDoc) int {
	read := map[int]bool{}
	for _, r := range d.Readings {
		read[r.Step] = true
	}
	return len(read)
}

// fitted writes what the readings tell of the lengths.
func (p *page) fitted(d FitDoc) {
	counts := map[proof.Identified]int{}
	for _, l := range d.Lengths {
		counts[l.Told]++
	}
	p.line("LENGTHS: %d told, %d partly, %d untold (they keep their tolerances)", counts[proof.Told], counts[proof.Partly], counts[proof.Untold])
	column := "corrected"
	if d.Open != nil {
		column = "other readings" // nothing is corrected
	}
	p.line("  %s  %s  %s  %s", pad("", 40), padLeft("document", 16), padLeft(column, 16), "told")
	for _, l := range d.Lengths {
		to, tol := l.Corrected, l.CorrectedTol
		if d.Open != nil {
			to, tol = l.Fitted, l.Error
		}
		if l.Told == proof.Untold && (d.Open != nil || to == l.Value && tol == l.Tolerance) {
			continue
		}
		p.line("  %s  %s  %s  %s", pad(l.Path, 40), padLeft(plain(l.Value, 2)+" ± "+plain(l.Tolerance, 2), 16),
			padLeft(plain(to, 2)+" ± "+plain(tol, 2), 16), string(l.Told))
		if l.With != nil && math.Abs(l.Correlation) > 0.7 {
			p.line("      known better together with %s (correlation %s)", *l.With, plain(l.Correlation, 2))
		}
	}
}

// corrected writes what the document would say, or says now.
func (p *page) corrected(d FitDoc) {
	if d.Open != nil {
		p.para("", "", "NOTHING IS CORRECTED, NOTHING IS WRITTEN: "+*d.Open+".")
		return
	}
	if len(d.Changes) == 0 {
		p.line("NOTHING TO CORRECT: the document stands as it is.")
		return
	}
	title := "THE CORRECTED DOCUMENT would say otherwise; --accept writes it"
	if d.Accepted {
		title = "THE CORRECTED DOCUMENT is written"
	}
	p.line("%s", title)
	p.line("")
	for _, l := range strings.Split(strings.TrimSuffix(d.Diff, "\n"), "\n") {
		p.line("%s", cut(l, Columns))
	}
	for _, l := range d.LeftOut {
		p.para("  Left out: ", "    ", fmt.Sprintf("%s %s: %s", l.Path, l.To, l.Why))
	}
	if d.Accepted {
		p.line("")
		p.para("", "", "Limits, cards and confirmations made before are stale now. These readings are used up: another walk needs a new sheet.")
	}
}
