package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"legroom/rig"
	"legroom/room"
)

// Columns that text output fits in.
const Columns = 100

// page collects lines of text.
type page struct{ b strings.Builder }

func (p *page) line(format string, args ...any) {
	p.b.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " "))
	p.b.WriteByte('\n')
}

// lines are what has been written.
func (p *page) lines() []string { return strings.Split(strings.TrimSuffix(p.b.String(), "\n"), "\n") }

// para writes words in lines of at most columns letters; each line starts with indent, and the first with first instead.
func (p *page) para(first, indent, words string) { p.line("%s", Fill(first, indent, words, Columns)) }

// Fill puts words into lines of at most width letters; each line starts with indent, and the first with first instead. A longer word has
// a line of its own.
func Fill(first, indent, words string, width int) string {
	var b strings.Builder
	b.WriteString(first)
	n := utf8.RuneCountInString(first)
	for i, w := range strings.Fields(words) {
		k := utf8.RuneCountInString(w)
		switch {
		case i == 0:
		case n+1+k > width:
			b.WriteString("\n" + indent)
			n = utf8.RuneCountInString(indent)
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(w)
		n += k
	}
	return b.String()
}

func (p *page) writeTo(w io.Writer) error {
	_, err := io.WriteString(w, p.b.String())
	return err
}

// pad fills s with spaces to n letters, on the right; padLeft on the left. Longer text is cut, with "…" at its end.
func pad(s string, n int) string {
	s = cut(s, n)
	return s + strings.Repeat(" ", n-utf8.RuneCountInString(s))
}

func padLeft(s string, n int) string {
	s = cut(s, n)
	return strings.Repeat(" ", n-utf8.RuneCountInString(s)) + s
}

func cut(s string, n int) string {
	if utf8.RuneCountInString(s) <= n {
		return s
	}
	return string([]rune(s)[:n-1]) + "…"
}

const cautions = "Legroom plans and supervises; it is not a safety function. Keep the mount's own limits and stops set, and a hand on the power switch for every first run."

// setupWords says whether the set-up is confirmed for its night, or else what has to be done before a result holds for it.
func setupWords(s rig.Setup) string {
	if s.Confirmed {
		return "Set-up confirmed for the night of " + bothDays(s.Night) + "."
	}
	return "PLANNED, NOT CONFIRMED for the night of " + bothDays(s.Night) + ": " + s.Reason + ". Go through the set-up list at the rig (legroom confirm) before this holds."
}

// unmeasured says which lengths were never measured; "" when all were.
func unmeasured(paths []string) string {
	if len(paths) == 0 {
		return ""
	}
	return "UNMEASURED (from a template, wide tolerances; the watch refuses them): " + firstOf(paths)
}

// firstOf names the first few paths, and says how many more there are.
func firstOf(paths []string) string {
	const shown = 6
	s := strings.Join(paths[:min(shown, len(paths))], ", ")
	if more := len(paths) - shown; more > 0 {
		s += fmt.Sprintf(" and %d more", more)
	}
	return s
}

// stopWords and resumeWords say where a run ends and starts, whole minutes rounded to the safe side.
func stopWords(r *RowDoc) string {
	switch r.StopReason {
	case room.ByHorizon:
		return "no limit (sets first)"
	case room.NeverEnds:
		return "no limit (to +12 h)"
	case room.NeverUsable:
		return "never usable"
	case room.ByTravel:
		return signed(minutesDown(*r.StopH)) + " (axis ends)"
	default:
		return signed(minutesDown(*r.StopH))
	}
}

func resumeWords(r *RowDoc) string {
	switch r.ResumeReason {
	case room.ByHorizon:
		return "no limit (from rising)"
	case room.NeverEnds:
		return "no limit (from −12 h)"
	case room.NeverUsable:
		return "never usable"
	case room.ByTravel:
		return signed(minutesUp(*r.ResumeH)) + " (axis ends)"
	default:
		return signed(minutesUp(*r.ResumeH))
	}
}

// flipWords says when to flip, or how long the target is idle.
func flipWords(r *RowDoc) string {
	if r.StopReason == room.NeverUsable && r.ResumeReason == room.NeverUsable {
		return "no room on either side"
	}
	if r.StopReason == room.NeverUsable || r.ResumeReason == room.NeverUsable {
		return "one side only, no flip"
	}
	windows := spans(r.FlipH)
	switch {
	case len(windows) > 0:
		return strings.Join(windows, ", ")
	case len(r.FlipH) > 0:
		return "flip proven for less than a minute"
	case r.StopReason == room.ByHorizon || r.StopReason == room.NeverEnds:
		return "no flip needed"
	case r.CrossH != nil:
		return fmt.Sprintf("stop at %s, flip at %s", signed(minutesDown(*r.StopH)), signed(minutesUp(*r.CrossH)))
	case r.IdleMin > 0:
		return fmt.Sprintf("stop at %s, start at %s *", signed(minutesDown(*r.StopH)), signed(minutesUp(*r.ResumeH)))
	}
	return "no flip proven *"
}

// idleWords is how long a row with idle time is idle, in minutes like the times that stand beside it: from the stop to the start in the whole minutes that stand beside it, where those
// are what bounds it.
func idleWords(r *RowDoc) string {
	bounds := func(e room.Reason) bool { return e == room.ByRoom || e == room.ByTravel }
	if !bounds(r.StopReason) || !bounds(r.ResumeReason) {
		return fmt.Sprintf("%.0f min", math.Ceil(r.IdleMin))
	}
	return fmt.Sprintf("%d min", minutesUp(*r.ResumeH)-minutesDown(*r.StopH))
}

// unprovenWay tells whether some row has two sides and no proven slew between them.
func unprovenWay(rows []RowDoc) bool {
	for i := range rows {
		if strings.HasSuffix(flipWords(&rows[i]), "*") {
			return true
		}
	}
	return false
}

// starNote explains the mark.
const starNote = "* the slew to the second side is not proven: go by waypoints (legroom slew --route), or by hand and eye."

// spans writes stretches of hour angle in whole minutes, rounded inwards; one that rounds away is left out.
func spans(in []Span) []string {
	var out []string
	for _, s := range in {
		if from, to := minutesUp(s[0]), minutesDown(s[1]); from <= to {
			out = append(out, span(from, to))
		}
	}
	return out
}

// span writes a stretch of signed minutes, the unit once.
func span(from, to int) string {
	return strings.TrimSuffix(signed(from), " min") + "…" + signed(to)
}
