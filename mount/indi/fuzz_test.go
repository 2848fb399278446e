package indi

import (
	"math"
	"testing"
)

// FuzzNumber: a text is refused, or it is a finite number.
func FuzzNumber(f *testing.F) {
	for _, s := range []string{"-0:30", "12 30 15.5", "1e308", "1e309", "0x10", "12:60:60", "-;;", "nan", "9:" + "1e9"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if x, err := ParseNumber(text); err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
			t.Fatalf("%q is %v", text, x)
		}
	})
}
