package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"
)

// What a page waits for after a length has changed: the first frame with anything proven in it, the finest, and all of the map,
// over the network of this machine.
func BenchmarkMapAfterChange(b *testing.B) {
	for _, name := range []string{"terrace-long-refractor", "karoo-newtonian", "balcony-strain-wave"} {
		b.Run(name, func(b *testing.B) {
			s := newSite(b)
			text := s.file(name + ".yaml")
			var first, fine time.Duration
			n := 0
			for b.Loop() {
				n++
				changed, _ := json.Marshal(map[string]any{"id": name, "page": "p", "text": strings.Replace(text, "margin_mm: 30", fmt.Sprintf("margin_mm: %.3f", 30+float64(n)/1000), 1)})
				start := time.Now()
				a := s.ask("POST", "/api/map", string(changed))
				k := 0
				err := frames(a.Body, func(f gotFrame) error {
					if k++; k == 1 {
						first += time.Since(start)
					}
					if f.Kind == "states" && f.Last {
						fine += time.Since(start)
					}
					return nil
				})
				a.Body.Close()
				if !errors.Is(err, io.EOF) || k < 5 {
					b.Fatal(k, err)
				}
			}
			b.ReportMetric(first.Seconds()*1e3/float64(n), "first-ms")
			b.ReportMetric(fine.Seconds()*1e3/float64(n), "fine-ms")
		})
	}
}

// What a page waits for while a slider of the pose moves, and while someone types.
func BenchmarkQuestions(b *testing.B) {
	s := newSite(b)
	for path, ask := range map[string]string{
		"/api/pose": `{"id": "terrace-long-refractor", "side": "west", "hour_angle_h": -1, "dec_deg": 37}`,
		"/api/read": `{"id": "terrace-long-refractor"}`,
		"/api/edit": `{"id": "terrace-long-refractor", "changes": [{"op": "set", "path": "tube.train.items[filter wheel].diameter_mm", "value": "151"}]}`,
	} {
		b.Run(path, func(b *testing.B) {
			for b.Loop() {
				s.get(200, "POST", path, ask)
			}
		})
	}
}
