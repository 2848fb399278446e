package guard

import (
	"runtime"
	"strings"
	"testing"
	"time"

	"legroom/mount/alpaca"
)

// Programs that come, ask the guard, and go without a word leave nothing behind.
func TestClientsThatGoLeaveNothing(t *testing.T) {
	n := 500
	if testing.Short() {
		n = 60
	}
	b := newBench(t, deg(70, 45), Options{}, nil)
	use := func(n int) {
		for i := range n {
			tel, err := alpaca.Open(t.Context(), "alpaca://"+strings.TrimPrefix(b.url, "http://")+"/0")
			if err != nil {
				t.Fatal(err)
			}
			if _, err := tel.Read(t.Context()); err != nil {
				t.Fatal(err)
			}
			if i%2 == 0 {
				if _, err := tel.Device().Call(t.Context(), alpaca.Put("connected", alpaca.Args{"Connected": false})); err != nil {
					t.Fatal(err)
				}
			}
			_ = tel.Close()
		}
	}
	heap := func() int64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.GC()
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	use(20)                              // what is made once is made
	const slack, own = 8, int64(1) << 20 // connections that the guard and the watch hold themselves; what the watch remembers of a minute
	idle, before := runtime.NumGoroutine(), heap()
	use(n)
	var grown int64
	if !b.until(20*time.Second, func() bool {
		grown = heap() - before
		return runtime.NumGoroutine() <= idle+slack && grown < own
	}) {
		t.Errorf("%d goroutines, %d before; the heap grew by %d KiB", runtime.NumGoroutine(), idle, grown>>10)
	}
	t.Logf("%d goroutines, %d before; the heap grew by %d KiB over %d clients", runtime.NumGoroutine(), idle, grown>>10, n)
}
