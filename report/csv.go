package report

import (
	"math"
	"strconv"
	"strings"
)

// Decimals of the tables of comma-separated values, by unit: what is meaningful of a figure that is computed. They stand in
// docs/words.md. What was asked for is echoed as it came (number).
const (
	csvHour   = 5 // 0.04 s of hour angle
	csvDeg    = 4
	csvMM     = 3 // what a gap is known to
	csvMinute = 2
	csvOther  = 3 // hours of a night, newtons, metres a second, percent, arcseconds
)

// csvDown, csvUp and csvNear write a figure with so many decimals at most: a lower bound goes down, an upper bound up, and what is neither
// to the nearest. They go by the number as it is written in full, so that 95.1 stays 95.1.
func csvDown(x float64, decimals int) string { return decimal(x, decimals, -1) }
func csvUp(x float64, decimals int) string   { return decimal(x, decimals, 1) }
func csvNear(x float64, decimals int) string { return decimal(x, decimals, 0) }

func decimal(x float64, decimals int, way float64) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if v, err := strconv.ParseFloat(s, 64); err == nil && (x-v)*way > 0 {
		s = strconv.FormatFloat(v+way*math.Pow10(-decimals), 'f', decimals, 64)
	}
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// csvMaybe writes a figure that may not be there.
func csvMaybe(x *float64, write func(float64, int) string, decimals int) string {
	if x == nil {
		return ""
	}
	return write(*x, decimals)
}

// number writes a figure in full, as it was given.
func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
