package guard

import (
	"net/http/httptest"
	"runtime"
	"slices"
	"testing"
	"time"

	"legroom/mount/alpaca"
)

// One call over loopback to a mount, and the same by way of the guard, with the median of each; what the guard itself answers;
// and a slew that is looked at and refused.
func BenchmarkCall(b *testing.B) {
	h := newBench(b, deg(70, 45), Options{}, nil)
	s, err := alpaca.NewServer(alpaca.Info{}, alpaca.Served{Listed: alpaca.Listed{DeviceName: "a", DeviceType: "Telescope", UniqueID: "x"}, Device: &table{}})
	if err != nil {
		b.Fatal(err)
	}
	far := httptest.NewServer(s)
	defer far.Close()
	host := alpaca.NewHost(far.Listener.Addr().String())
	defer host.Close()
	direct := host.Device("telescope", 0)
	h.over(direct)
	measure := func(name string, d alpaca.Device, c alpaca.Call) {
		b.Run(name, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				from := time.Now()
				_, _ = d.Call(b.Context(), c)
				took = append(took, time.Since(from))
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds()), "median-µs")
		})
	}
	measure("direct", direct, alpaca.Get("declination"))
	measure("guarded", h.tel, alpaca.Get("declination"))
	measure("side", h.tel, alpaca.Get("sideofpier"))
	measure("stop", h.tel, alpaca.Put("abortslew", nil))
	measure("refused slew", h.tel, alpaca.Put("slewtocoordinatesasync", h.place(into)))
}

// An hour of 50 calls a second, as fast as they go: the heap does not grow. One b.N is the hour.
func BenchmarkHour(b *testing.B) {
	h := newBench(b, deg(70, 45), Options{}, nil)
	h.over(&table{})
	heap := func() float64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc)
	}
	calls := []alpaca.Call{alpaca.Get("declination"), alpaca.Get("slewing"), alpaca.Get("sideofpier"), alpaca.Put("pulseguide", alpaca.Args{"Direction": 1, "Duration": 20}),
		alpaca.Put("slewtocoordinatesasync", h.place(into))}
	for i := range 5000 { // what is kept once
		_, _ = h.tel.Call(b.Context(), calls[i%len(calls)])
	}
	before := heap()
	for b.Loop() {
		for i := range 50 * 3600 {
			_, _ = h.tel.Call(b.Context(), calls[i%len(calls)])
		}
	}
	b.ReportMetric((heap()-before)/1024, "growth-KiB")
}
