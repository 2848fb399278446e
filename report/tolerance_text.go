package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strings"

	"legroom/room"
)

// WriteTolerance writes how sure a rig's limits are as text of at most 100 columns.
func WriteTolerance(w io.Writer, d ToleranceDoc) error {
	p := &page{}
	if w := onlyWithout(d.Basis); w != "" {
		p.line("%s", w)
		p.line("")
	}
	p.line("%s: how sure its gaps and limits are", d.Rig)
	p.line("Margin %s mm; fingerprint %s", plain(d.MarginMM, 1), d.Fingerprint)
	if u := unmeasured(d.Unmeasured); u != "" {
		p.para("", "", u)
	}
	if d.Pose != nil {
		p.line("")
		p.line("GAPS at %s", axisPoseWords(*d.Pose))
		p.line("  %s  %s  %s  %s  %s", pad("", 44), padLeft("gap", 8), padLeft("likely", 8), padLeft("proven", 8), padLeft("worst", 8))
		for _, g := range d.Gaps {
			p.line("  %s  %s  %s  %s  %s mm", pad(g.A+" – "+g.B, 44), padLeft(plain(g.GapMM, 1), 8), padLeft("± "+upTenth(g.ErrorMM), 8),
				padLeft("− "+upTenth(g.ProvenMM), 8), padLeft("− "+upTenth(g.ProvenWorstMM), 8))
			p.para("      mostly ", "        ", lengthWords(g.Lengths, 3))
		}
	}
	if len(d.Ends) > 0 {
		p.line("")
		p.line("WHERE RUNS END, minutes from the meridian (− before, + past)")
		p.line("  %s  %s  %s  %s  %s  %s", pad("declination, end", 18), padLeft("measured", 8), padLeft("likely", 11), padLeft("proven", 8), padLeft("worst", 8), "± mm of the gap of")
		var unlimited []string
		for i := range d.Ends {
			e := &d.Ends[i]
			if e.limitless() {
				unlimited = append(unlimited, strings.TrimSpace(endName(e)))
				continue
			}
			p.toleranceEnd(e)
		}
		if len(unlimited) > 0 {
			p.para("  No limit: ", "    ", strings.Join(unlimited, ", "))
		}
		p.line("")
		p.para("", "", "Measured: every length is as the document has it, nothing taken off. Likely: between these 95 of 100 times, from how the nearest points move. "+
			"Proven: with the tolerances taken off by rss, as limits are; worst: with every length at its worst at once. Only what is proven counts as free. "+
			"A proven time hours from the likely one belongs to another run: what stands in the way closes the nearer one.")
	}
	if len(d.Again) > 0 {
		p.line("")
		p.line("WHICH LENGTH TO MEASURE AGAIN, twice as well (or at all, where it was not)")
		p.line("  %s  %s  %s  %s", pad("", 41), pad("tolerance", 18), padLeft("all ends", 9), "most; of an allowance")
		for _, a := range d.Again {
			p.line("  %s  %s  %s  %s", pad(a.Path, 41), pad(fmt.Sprintf("± %s → %s %s", plain(a.Tolerance, 2), plain(a.ToTolerance, 2), a.Unit), 18),
				padLeft(gained(a.GainMin), 9), cut(fmt.Sprintf("%s min; %s of %s mm", plain(a.MostMin, 1), plain(a.GainMM, 1), threeFigures(a.OfMM)), Columns-76))
		}
	}
	return p.writeTo(w)
}

// upTenth writes an error, rounded up to a tenth.
func upTenth(mm float64) string { return plain(math.Ceil(mm*10-1e-6)/10, 1) }

// threeFigures writes a length with a decimal as long as it has room.
func threeFigures(mm float64) string {
	if mm < 100 {
		return plain(mm, 1)
	}
	return plain(mm, 0)
}

func gained(min float64) string {
	if min < 0 {
		return plain(min, 1) + " min"
	}
	return "+" + plain(min, 1) + " min"
}

// limitless tells that nothing ends the run but the horizon, however the tolerances are taken.
func (e *ToleranceEndDoc) limitless() bool {
	for _, r := range []room.Reason{e.Reason, e.RSSReason, e.WorstReason} {
		if r != room.ByHorizon && r != room.NeverEnds {
			return false
		}
	}
	return true
}

func endName(e *ToleranceEndDoc) string {
	if e.End == "resume" {
		return padLeft(angle(e.DecDeg, 2), 7) + " east start"
	}
	return padLeft(angle(e.DecDeg, 2), 7) + " west stop"
}

func (p *page) toleranceEnd(e *ToleranceEndDoc) {
	at := func(h *float64, r room.Reason) string {
		switch r {
		case room.NeverUsable:
			return "none"
		case room.ByHorizon, room.NeverEnds:
			return "no limit"
		}
		if e.End == "stop" {
			return signedShort(minutesDown(*h))
		}
		return signedShort(minutesUp(*h))
	}
	likely, by := "", ""
	switch {
	case e.LikelyH != nil:
		likely = signedShort(minutesDown(e.LikelyH[0])) + "…" + signedShort(minutesUp(e.LikelyH[1]))
	case e.Gap != nil:
		likely = "grazes"
	}
	if e.Gap != nil {
		by = fmt.Sprintf("%s %s – %s", padLeft(upTenth(e.Gap.ErrorMM), 4), e.Gap.A, e.Gap.B)
	}
	p.line("  %s  %s  %s  %s  %s  %s", pad(endName(e), 18), padLeft(at(e.MeasuredH, e.Reason), 8), padLeft(likely, 11),
		padLeft(at(e.RSSH, e.RSSReason), 8), padLeft(at(e.WorstH, e.WorstReason), 8), cut(by, Columns-65))
}

// signedShort writes whole minutes with their sign and without their unit.
func signedShort(min int) string {
	switch {
	case min < 0:
		return fmt.Sprintf("−%d", -min)
	case min > 0:
		return fmt.Sprintf("+%d", min)
	}
	return "0"
}

// lengthWords names the n lengths that add most to a gap's error.
func lengthWords(lengths []LengthPartDoc, n int) string {
	var words []string
	for _, l := range lengths[:min(n, len(lengths))] {
		words = append(words, fmt.Sprintf("%s %s mm", l.Path, upTenth(l.MM)))
	}
	return strings.Join(words, ", ")
}

// WriteToleranceCSV writes the ends of runs as comma-separated values, a row an end; a cell is empty where its reason says that there is no
// such hour angle.
func WriteToleranceCSV(w io.Writer, d ToleranceDoc) error {
	c := csv.NewWriter(w)
	c.Write([]string{"dec_deg", "side", "end", "as_measured_h", "as_measured_reason", "likely_from_h", "likely_to_h", "proven_rss_h", "proven_rss_reason", "proven_worst_h", "proven_worst_reason",
		"closing_mm_per_min", "a", "b", "error_mm", "worst_mm", "proven_rss_mm", "proven_worst_mm"})
	for _, e := range d.Ends {
		end := csvDown
		if e.End == "resume" {
			end = csvUp
		}
		cells := []string{csvNear(e.DecDeg, csvDeg), e.Side, e.End, csvMaybe(e.MeasuredH, end, csvHour), string(e.Reason)}
		if e.LikelyH != nil {
			cells = append(cells, csvDown(e.LikelyH[0], csvHour), csvUp(e.LikelyH[1], csvHour))
		} else {
			cells = append(cells, "", "")
		}
		cells = append(cells, csvMaybe(e.RSSH, end, csvHour), string(e.RSSReason), csvMaybe(e.WorstH, end, csvHour), string(e.WorstReason), csvMaybe(e.Closing, csvNear, csvMM))
		if g := e.Gap; g != nil {
			cells = append(cells, cell(g.A), cell(g.B), csvUp(g.ErrorMM, csvMM), csvUp(g.WorstMM, csvMM), csvUp(g.ProvenMM, csvMM), csvUp(g.ProvenWorstMM, csvMM))
		} else {
			cells = append(cells, "", "", "", "", "", "")
		}
		c.Write(cells)
	}
	c.Flush()
	return c.Error()
}
