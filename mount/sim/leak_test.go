package sim

import (
	"context"
	"net"
	"net/url"
	"runtime"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/mount/indi"
)

// A watch whose mount goes away opens it again and again, all night: neither side keeps anything of a link that ended, by a close or by
// giving up in the middle of a reading.
func TestLinksThatEndLeaveNothing(t *testing.T) {
	links := 500
	if testing.Short() {
		links = 60
	}
	m, _ := place(t, load(t, karoo), 7, at(axes.West, -2, -30))
	clock := NewClock(evening, 1)
	h, err := Alpaca(m, clock)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		serve func(ctx context.Context, l net.Listener) error
		open  func(ctx context.Context, address string) (mount.Telescope, error)
	}{
		{"alpaca", func(ctx context.Context, l net.Listener) error { return alpaca.Serve(ctx, l, h) },
			func(ctx context.Context, address string) (mount.Telescope, error) {
				return alpaca.Open(ctx, "alpaca://"+address+"/0")
			}},
		{"indi", func(ctx context.Context, l net.Listener) error { return ServeINDI(ctx, m, clock, l) },
			func(ctx context.Context, address string) (mount.Telescope, error) {
				return indi.Open(ctx, "indi://"+address+"/"+url.PathEscape(Name))
			}},
	} {
		t.Run(c.name, func(t *testing.T) {
			address := serve(t, c.serve)
			use := func(n int) {
				for i := range n {
					tel, err := c.open(t.Context(), address)
					if err != nil {
						t.Fatal(err)
					}
					ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
					if i%3 == 0 {
						cancel()
					}
					if _, err := tel.Read(ctx); err != nil && i%3 != 0 {
						t.Fatal(err)
					}
					cancel()
					_ = tel.Close()
				}
			}
			use(20) // what is made once is made, and the server's own goroutines have begun
			idle := steady()
			before := heap()
			use(links)
			rest(t, idle)
			after := heap()
			for end := time.Now().Add(10 * time.Second); after > before+1<<20 && time.Now().Before(end); after = heap() {
				time.Sleep(50 * time.Millisecond)
			}
			t.Logf("the heap grew by %d KiB over %d links", (after-before)>>10, links)
			if after > before+1<<20 {
				t.Error("it keeps something of each")
			}
		})
	}
}

// steady is how many goroutines run when their number has stayed the same for a while.
func steady() int {
	n := runtime.NumGoroutine()
	for same := 0; same < 30; same++ {
		time.Sleep(10 * time.Millisecond)
		if now := runtime.NumGoroutine(); now != n {
			n, same = now, 0
		}
	}
	return n
}

// rest waits until no more goroutines run than when nothing was open.
func rest(t *testing.T, idle int) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); runtime.NumGoroutine() > idle; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			all := make([]byte, 1<<20)
			t.Fatalf("%d goroutines, and %d when nothing was open:\n%s", runtime.NumGoroutine(), idle, all[:runtime.Stack(all, true)])
		}
	}
}

// heap is what is in use, bytes.
func heap() int64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC()
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}
