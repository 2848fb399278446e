package sim

import (
	"math"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// FuzzControl: no body of a control request breaks the mount: it is refused, or the axes still stand somewhere.
func FuzzControl(f *testing.F) {
	r := load(f, terrace)
	for _, s := range []string{`{"delay_s": 2, "loss": 0.5}`, `{"ra_axis_deg": 2, "dec_axis_deg": -1e308}`, `{"off_s": 1e300}`, `{"clock_s": -1e9}`, `{"loss": 1e999}`,
		strings.Repeat("[", 20000), `{}{}`, `null`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, body string) {
		m, err := New(r, Options{Seed: 1, Now: func() time.Time { return time.Unix(1.8e9, 0) }})
		if err != nil {
			t.Fatal(err)
		}
		h := Control(m)
		for _, ask := range [][2]string{{"POST", "/slip"}, {"POST", "/restart"}, {"PUT", "/faults"}} {
			q := httptest.NewRequest(ask[0], "http://127.0.0.1:1"+ask[1], strings.NewReader(body))
			q.Header.Set("Content-Type", "application/json")
			w := httptest.NewRecorder()
			h.ServeHTTP(w, q)
			if w.Code != 200 && w.Code != 400 {
				t.Fatalf("%s: %d %s", ask[1], w.Code, w.Body)
			}
		}
		if d := m.State(); math.IsNaN(d.True.RA + d.True.Dec + d.Believed.RA + d.Believed.Dec) {
			t.Fatalf("%+v", d)
		}
	})
}
