package change

import (
	"math"
	"testing"
)

// FuzzWords: what is written behind --set, --swap, --range, --vary and --aim is refused, or gives finite numbers and a bounded list.
func FuzzWords(f *testing.F) {
	for _, s := range []string{"riser=0..200..50", "riser=1e300..1e300..1", "leg-azimuth=0..120@0.5", "tube.slide_mm=-20 ± 3", "tube=other.yaml",
		"no-idle above 30", "past=20min above 25", "most-room", "riser=0..1..1e-320"} {
		f.Add(s)
	}
	finite := func(t *testing.T, list ...float64) {
		for _, x := range list {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatal(list)
			}
		}
	}
	f.Fuzz(func(t *testing.T, s string) {
		if r, err := ParseRange(s); err == nil {
			finite(t, r.From, r.To, r.Step)
			if n := len(r.Variants(Variant{})); n < 1 || n > MaxVariants+1 {
				t.Fatalf("%d variants of %+v", n, r)
			}
		}
		if v, err := ParseVariable(s); err == nil {
			finite(t, v.From, v.To, v.Price)
		}
		if a, err := ParseAim(s); err == nil {
			finite(t, a.Minutes, a.Altitude)
			if b, err := ParseAim(a.String()); err != nil || b.Kind != a.Kind || math.Abs(b.Minutes-a.Minutes) > 1e-6 || math.Abs(b.Altitude-a.Altitude) > 1e-6 {
				t.Fatalf("%+v is written %q, and reads back as %+v, %v", a, a, b, err)
			}
		}
		if e, err := ParseEdit(s); err == nil && (e.Path == "" || e.Value == "" || e.File != "") {
			t.Fatalf("%+v", e)
		}
		if e, err := ParseSwap(s); err == nil && (e.Path == "" || e.File == "" || e.Value != "") {
			t.Fatalf("%+v", e)
		}
	})
}
