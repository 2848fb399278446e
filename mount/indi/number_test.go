package indi

import (
	"math"
	"testing"
)

// The protocol's numbers, from memory: decimal, or sexagesimal with the fields between colons, semicolons or blanks.
func TestParseNumber(t *testing.T) {
	for _, tt := range []struct {
		text string
		want float64
	}{
		{"0", 0}, {"12.5", 12.5}, {"-12.5", -12.5}, {"+3", 3}, {".5", .5}, {"5.", 5}, {" 7 \n", 7}, {"1e-3", .001}, {"1.5E2", 150},
		{"1e-400", 0},
		{"5:30", 5.5}, {"5:30:00", 5.5}, {"5 30 0", 5.5}, {"5;30;0", 5.5}, {"  5:30: 0.0", 5.5}, {" 5 : 30 ", 5.5},
		{"-10:30:18", -10.505}, {"10:30.3", 10.505}, {"+10:30:18", 10.505},
		{"-0:30", -0.5}, {"-00:00:36", -0.01}, {"0:0:0", 0}, {"23:59:60", 24}, {"12:60:00", 13}, {"359:59:59.9964", 359.999999},
		{"13:10:46.3668", 13 + 10/60. + 46.3668/3600}, // Meeus 12.a as a number
	} {
		got, err := ParseNumber(tt.text)
		if err != nil || math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("ParseNumber(%q) = %v, %v, want %v", tt.text, got, err, tt.want)
		}
	}
	for _, text := range []string{"", " ", "x", "nan", "NaN", "inf", "-Inf", "0x10", "1_000", "1,5", "1e999", "--1", "+-1", "1-2", "1e",
		"5:", ":5", "5::30", "5:30:00:00", "5:-30", "5:61", "5:30:60.1", "5.5:30", "5:3.5:0", "1e1:30", "5:1e1", "5h30", "5:+3", "- 5:30",
		"1 2 3 4", "٣", "1\x00"} {
		if x, err := ParseNumber(text); err == nil {
			t.Errorf("ParseNumber(%q) = %v, want an error", text, x)
		}
	}
}
