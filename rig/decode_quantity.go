package rig

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// number is how a document writes one: decimal, with a point.
const number = `[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?`

var (
	numberForm   = regexp.MustCompile(`^` + number + `$`)
	quantityForm = regexp.MustCompile(`^(` + number + `)(?:\s*(?:±|\+-|\+/-)\s*(` + number + `))?(?:\s+(unmeasured|fitted))?$`)
	unitBehind   = regexp.MustCompile(`^(` + number + `)\s*(mm|cm|m|in|inch|inches|"|″|deg|degrees|°|kg|g|lb)(?:\s|$)`)
)

// Default tolerances [DESIGN section 3]: half-widths in the quantity's unit.
const (
	measuredLengthTol   = 5.0  // mm
	measuredAngleTol    = 1.0  // deg; a field's `tol` tag overrides it
	unmeasuredLengthTol = 30.0 // mm, or unmeasuredShare of the length when that is more
	unmeasuredShare     = 0.10
	unmeasuredAngleTol  = 5.0 // deg
)

// Bounds on what a document may say: beyond these a number is a slip of the pen.
const (
	maxLength    = 100_000.0 // mm
	maxLengthTol = 1_000.0   // mm
	maxAngleTol  = 30.0      // deg
)

// example is a quantity in its unit, for messages.
func example(unit string) string {
	switch unit {
	case "deg":
		return "a number of degrees such as 45 or 45 ± 1"
	case "kg":
		return "a number of kilograms such as 7.5"
	}
	return "a number of millimetres such as 460, 460 ± 5 or 460 unmeasured"
}

// parseQuantity reads the text of a quantity in q.Unit into q.Value, q.Tol and q.Source; tolTag is the field's own
// default tolerance or "none". It says what is wrong and what would be right.
func parseQuantity(q *Quantity, text, tolTag string) (problem, remedy string) {
	text = strings.TrimSpace(text)
	m := quantityForm.FindStringSubmatch(text)
	if m == nil {
		return notNumber(text, q.Unit, example(q.Unit))
	}
	v, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return fmt.Sprintf("%s is too large to be read", clip(m[1])), "write " + example(q.Unit)
	}
	q.Value, q.Source = v, Measured
	if m[3] != "" {
		q.Source = Source(m[3])
	}
	if tolTag == "none" && m[3] != "" {
		return fmt.Sprintf("%q is chosen, not measured", text), "write the number alone"
	}
	if m[2] == "" && q.Source == Fitted {
		return fmt.Sprintf("%q has no tolerance, and a fit gives one", text), fmt.Sprintf("write what it gave, as %s ± 5 fitted, or your own measure without the word", m[1])
	}
	if m[2] == "" {
		q.Tol = defaultTol(q, tolTag)
		return "", ""
	}
	tol, err := strconv.ParseFloat(m[2], 64)
	switch {
	case err != nil:
		return fmt.Sprintf("the tolerance %s is too large to be read", clip(m[2])), "write " + example(q.Unit)
	case tolTag == "none":
		return fmt.Sprintf("%q has a tolerance, but this is chosen, not measured", text), "write the number alone"
	case tol < 0:
		return fmt.Sprintf("the tolerance %s is negative", m[2]), fmt.Sprintf("write it as a half-width, %s ± %s", m[1], strings.TrimPrefix(m[2], "-"))
	}
	q.Tol = tol
	return "", ""
}

func defaultTol(q *Quantity, tag string) float64 {
	switch {
	case q.Unit == "kg" || tag == "none":
		return 0
	case q.Source == Unmeasured && q.Unit == "mm":
		return math.Max(unmeasuredLengthTol, unmeasuredShare*math.Abs(q.Value))
	case q.Source == Unmeasured:
		return unmeasuredAngleTol
	case tag != "":
		t, err := strconv.ParseFloat(tag, 64)
		if err != nil {
			panic("rig: the tag tol:" + tag + " is no number")
		}
		return t
	case q.Unit == "mm":
		return measuredLengthTol
	}
	return measuredAngleTol
}

// notNumber says why text is not a plain number, or a quantity in the unit.
func notNumber(text, unit, want string) (problem, remedy string) {
	lower := strings.ToLower(text)
	if m := unitBehind.FindStringSubmatch(text); m != nil {
		if m[2] == unit {
			want = m[1]
		}
		return fmt.Sprintf("%q carries the unit %s", text, m[2]), fmt.Sprintf("the unit is in the key: write %s", want)
	}
	switch {
	case strings.Trim(lower, "+-.") == "nan" || strings.HasPrefix(strings.Trim(lower, "+-."), "inf"):
		return fmt.Sprintf("%s is not a number that can be measured", text), "write " + want
	case strings.Contains(text, ",") && numberForm.MatchString(strings.Replace(text, ",", ".", 1)):
		return fmt.Sprintf("%q has a decimal comma", text), "write " + strings.Replace(text, ",", ".", 1)
	case strings.Contains(text, "\u2212"):
		return fmt.Sprintf("%q has a typographic minus sign", text), "write " + strings.ReplaceAll(text, "\u2212", "-")
	}
	return fmt.Sprintf("%q is not a number", clip(text)), "write " + want
}

// clip keeps a message short and on one line.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// format writes a number the short way.
func format(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
