package web

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"runtime"
	"sync"
	"testing"
)

// Pages that come and go, and questions that are given up half way, leave nothing behind: no goroutine, and no memory that grows
// with their number.
func TestNothingPilesUp(t *testing.T) {
	pages, questions := 200, 8 // with 1000 and 60, two minutes: 809 KiB and no goroutine
	if testing.Short() {
		pages, questions = 50, 2
	}
	s := newSite(t)
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	open := func(ctx context.Context, method, path, body string) error {
		r, err := s.request(ctx, method, path, body)
		if err != nil {
			return err
		}
		a, err := client.Do(r)
		if err != nil {
			if ctx.Err() != nil {
				return nil
			}
			return err
		}
		defer a.Body.Close()
		if a.StatusCode != 200 {
			return fmt.Errorf("%s: status %d", path, a.StatusCode)
		}
		_, err = io.ReadFull(a.Body, make([]byte, 1))
		if ctx.Err() != nil {
			return nil
		}
		return err
	}
	batch := func(n int) {
		t.Helper()
		var all sync.WaitGroup
		gate := make(chan struct{}, 50) // at a time
		for range n {
			gate <- struct{}{}
			all.Go(func() {
				if err := open(t.Context(), "GET", "/api/events", ""); err != nil {
					t.Error(err)
				}
				<-gate
			})
		}
		all.Wait()
	}
	give := func(n int) {
		t.Helper()
		for i := range n {
			ctx, cancel := context.WithCancel(t.Context())
			var all sync.WaitGroup
			all.Go(func() {
				body := fmt.Sprintf(`{"id": "karoo-newtonian", "page": "p%d", "margin_mm": %d, "cell_deg": [1, 0.1]}`, i, 20+i)
				if err := open(ctx, "POST", "/api/map", body); err != nil {
					t.Error(err)
				}
				cancel()
			})
			all.Wait()
			cancel()
		}
	}
	heap := func() int64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.GC()
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	idle := runtime.NumGoroutine()
	batch(50) // what is made once is made
	give(2)
	soon(t, "the first pages' goroutines ended", func() bool { return runtime.NumGoroutine() <= idle+2 })
	before := heap()
	batch(pages)
	give(questions)
	soon(t, "the goroutines ended", func() bool { return runtime.NumGoroutine() <= idle+2 })
	grown := func() int64 { return heap() - before }
	soon(t, fmt.Sprintf("the heap is as it was; it grew by %d bytes", grown()), func() bool { return grown() < 8<<20 })
	t.Logf("%d goroutines before, %d after; the heap grew by %d KiB over %d pages and %d questions", idle, runtime.NumGoroutine(), grown()>>10, pages, questions)
}
