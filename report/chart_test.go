package report

import (
	"bytes"
	"os"
	"testing"
)

func TestChartsAreDrawn(t *testing.T) {
	c := madeUpChart(t, 1)
	for _, v := range []View{Hours, Dome} {
		var s, p bytes.Buffer
		if err := c.WriteSVG(&s, v); err != nil {
			t.Fatal(err)
		}
		if err := c.WritePNG(&p, v, 150); err != nil {
			t.Fatal(err)
		}
		if d := os.Getenv("LOOK"); d != "" {
			os.WriteFile(d+"/"+string(v)+".svg", s.Bytes(), 0o644)
			os.WriteFile(d+"/"+string(v)+".png", p.Bytes(), 0o644)
		}
	}
}
