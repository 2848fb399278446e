package sky

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// parseRA reads a right ascension and gives degrees in [0, 360). The key says what a plain number is: hours under ra_h,
// degrees under ra and ra_deg. Under ra and ra_h, two or three fields (5:35:17.3, 5 35 17.3, 05h35m17s) are hours, minutes
// and seconds, and with a degree mark in front under ra and ra_deg degrees, minutes and seconds of arc. A problem is empty
// when there is none.
func parseRA(text, key string) (deg float64, problem, remedy string) {
	want := map[string]string{"ra": "5h35m17.3s, 5:35:17.3 or degrees such as 83.822", "ra_h": "5h35m17.3s or hours such as 5.588", "ra_deg": "degrees such as 83.822"}[key]
	a, problem := parseSexagesimal(text)
	switch {
	case problem != "":
		return 0, problem, "write " + want
	case key == "ra_h" && a.unit == '°' || key == "ra_deg" && (a.unit == 'h' || a.unit == 0 && a.fields > 1):
		return 0, fmt.Sprintf("%q is not in the unit of its key", targetClip(text)), "write " + want + ", or use the key ra"
	case a.negative:
		return 0, fmt.Sprintf("the right ascension %q is negative", targetClip(text)), "write it from 0 to 24 h, or from 0 to 360 degrees"
	}
	hours := a.unit == 'h' || a.unit == 0 && (a.fields > 1 || key == "ra_h")
	if hours && a.value >= 24 || a.value >= 360 {
		remedy = "write less than 360 degrees"
		if hours {
			remedy = "write less than 24 h; degrees are a plain number under ra or ra_deg"
		}
		return 0, fmt.Sprintf("the right ascension %q is a whole turn or more", targetClip(text)), remedy
	}
	if hours {
		a.value *= 15
	}
	return a.value, "", ""
}

// parseDec reads a declination in degrees: -5.391, -05°23'28", −5 23 28 or -5:23:28.
func parseDec(text, key string) (deg float64, problem, remedy string) {
	want := `-5.391, -5:23:28 or -05°23'28"`
	if key == "dec_deg" {
		want = "degrees such as -5.391"
	}
	a, problem := parseSexagesimal(text)
	switch {
	case problem != "":
		return 0, problem, "write " + want
	case a.unit == 'h':
		return 0, fmt.Sprintf("the declination %q is in hours", targetClip(text)), "write degrees: " + want
	case key == "dec_deg" && a.unit == 0 && a.fields > 1:
		return 0, fmt.Sprintf("%q is not in the unit of its key", targetClip(text)), "write " + want + ", or use the key dec"
	case a.value > 90:
		return 0, fmt.Sprintf("the declination %q is beyond the pole", targetClip(text)), "write -90 to 90 degrees"
	}
	if a.negative {
		a.value = -a.value
	}
	return a.value, "", ""
}

// sexagesimal is an angle as it was written.
type sexagesimal struct {
	value    float64 // never negative, in units of the first field
	negative bool
	fields   int  // 1, 2 or 3
	unit     rune // of the first field: 'h', '°', or 0 when none is written
}

// angleMarks are the unit marks that may stand behind the first, second and third field, the longer ones first.
var angleMarks = [3][]string{
	{"deg", "°", "º", "h", "d"},
	{"m", "'", "′", "’"},
	{"''", "′′", "’’", "s", `"`, "″", "”"},
}

// parseSexagesimal reads a sign and one to three fields, which unit marks, colons or spaces divide; only the last may have
// decimals, and minutes and seconds are below 60. The problem is empty when there is none.
func parseSexagesimal(text string) (a sexagesimal, problem string) {
	fail := func(what string) (sexagesimal, string) {
		return sexagesimal{}, fmt.Sprintf("%q %s", targetClip(text), what)
	}
	if len(text) > 64 {
		return fail("is too long for an angle")
	}
	s := strings.Join(strings.Fields(text), " ")
	for _, sign := range []string{"+", "-", "−", "–"} {
		if rest, ok := strings.CutPrefix(s, sign); ok {
			s, a.negative = strings.TrimPrefix(rest, " "), sign != "+"
			break
		}
	}
	colons, decimals := 0, false
	for s != "" {
		if a.fields == 3 {
			return fail("has more than three fields, or something behind them")
		}
		if decimals {
			return fail("goes on behind its decimals")
		}
		n := strings.IndexFunc(s, func(r rune) bool { return (r < '0' || r > '9') && r != '.' })
		if n < 0 {
			n = len(s)
		}
		number := s[:n]
		s = s[n:]
		if strings.HasPrefix(s, ",") {
			return fail("has a decimal comma: the decimal mark is a point")
		}
		whole, part, point := strings.Cut(number, ".")
		if whole == "" || point && part == "" || strings.Contains(part, ".") || len(whole) > 3 {
			return fail("is not an angle")
		}
		decimals = point
		x, err := strconv.ParseFloat(number, 64)
		if err != nil {
			return fail("is not an angle")
		}
		if a.fields > 0 && x >= 60 {
			return fail("has " + number + " " + [...]string{"", "minutes", "seconds"}[a.fields] + ", but 60 are the next unit")
		}
		a.value += x / math.Pow(60, float64(a.fields))
		divided := false
		for _, mark := range angleMarks[a.fields] {
			rest, ok := strings.CutPrefix(strings.TrimPrefix(s, " "), mark)
			if !ok {
				continue
			}
			if a.fields == 0 {
				if a.unit = '°'; mark == "h" {
					a.unit = 'h'
				}
			}
			s, divided = rest, true
			break
		}
		a.fields++
		if rest, ok := strings.CutPrefix(s, ":"); ok && !divided {
			s, divided = rest, true
			if colons++; colons != a.fields || s == "" {
				return fail("mixes colons with other marks, or ends in one")
			}
		} else if rest, ok := strings.CutPrefix(s, " "); ok {
			s, divided = rest, true
		}
		if s != "" && !divided {
			r, _ := utf8.DecodeRuneInString(s)
			return fail(fmt.Sprintf("has %q where a digit or a unit is expected", r))
		}
	}
	if a.fields == 0 {
		return fail("is not an angle")
	}
	return a, ""
}
