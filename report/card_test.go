package report

import (
	"bytes"
	"os"
	"testing"
)

func TestCardIsOnePageAndTheSameBytes(t *testing.T) {
	c := madeUpChart(t, 2)
	for _, row := range []float64{10, 4} {
		k := Card{Chart: c, Limits: Limits(c.Model.Rig, madeUpLimits(row), nil, false), Date: madeUpDate}
		var a bytes.Buffer
		if err := WriteCard(&a, k); err != nil {
			t.Fatal(err)
		}
		for range 5 {
			var b bytes.Buffer
			if err := WriteCard(&b, k); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Fatal("the same card with the same date gave other bytes")
			}
		}
		if n := bytes.Count(a.Bytes(), []byte("/Type /Page\n")); n != 1 {
			t.Errorf("%d pages, want 1", n)
		}
		if d := os.Getenv("LOOK"); d != "" {
			os.WriteFile(d+"/card"+plain(row, 0)+".pdf", a.Bytes(), 0o644)
		}
	}
	k := Card{Chart: c, Limits: Limits(c.Model.Rig, madeUpLimits(2), nil, false), Date: madeUpDate}
	if err := WriteCard(&bytes.Buffer{}, k); err == nil || err.Error() != "a card holds 36 bands of declination, not 70: make the bands higher" {
		t.Errorf("70 rows gave %v", err)
	}
}
