package proof

import (
	"bytes"
	"testing"
)

// FuzzSheet: a sheet is refused, or it comes back the same when it is written.
func FuzzSheet(f *testing.F) {
	s := &Sheet{Version: SheetVersion, RulerMM: 2, Steps: []SheetStep{{Step: 1, A: "leg 2", B: "camera", Predicted: "120", Readings: []string{"118", "119 ± 1"}}}}
	f.Add(s.Bytes())
	f.Add([]byte("version: 1\nruler_mm: .nan\nsteps: [{step: 1, readings_mm: [1e9]}]\n"))
	f.Add([]byte("a: &a [1]\nb: *a\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := ParseSheet(text)
		if err != nil {
			return
		}
		again, err := ParseSheet(s.Bytes())
		if err != nil || !bytes.Equal(again.Bytes(), s.Bytes()) {
			t.Fatalf("%v:\n%s", err, s.Bytes())
		}
	})
}
