package mqtt

import (
	"context"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"legroom/watch"
)

// halfOpen passes connections on to a broker. cut closes the newest one's near end alone: the broker believes in it until let goes.
type halfOpen struct {
	net.Listener
	mu   sync.Mutex
	near []net.Conn
	far  []net.Conn
}

func passOn(t *testing.T, url, at string) *halfOpen {
	t.Helper()
	l, err := net.Listen("tcp", at)
	if err != nil {
		t.Fatal(err)
	}
	h := &halfOpen{Listener: l}
	go func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", strings.TrimPrefix(url, "mqtt://"))
			if err != nil {
				near.Close()
				continue
			}
			h.mu.Lock()
			h.near, h.far = append(h.near, near), append(h.far, far)
			h.mu.Unlock()
			go func() { _, _ = io.Copy(far, near) }() // far stays open at its end
			go func() { _, _ = io.Copy(near, far) }()
		}
	}()
	t.Cleanup(func() {
		l.Close()
		h.mu.Lock()
		defer h.mu.Unlock()
		for i := range h.near {
			h.near[i].Close()
			h.far[i].Close()
		}
	})
	return h
}

// end closes the near or the far end of connection i.
func (h *halfOpen) end(i int, far bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if far {
		h.far[i].Close()
	} else {
		h.near[i].Close()
	}
}

// A broker that finds out late that an earlier connection has ended tells its last will then. Below it stands a watch that lives, and
// that is told again.
func TestWillOfEarlierConnection(t *testing.T) {
	t.Parallel()
	_, url, got := broker(t)
	h := passOn(t, url, "127.0.0.1:0")
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	p, err := Open(ctx, Options{Server: "mqtt://" + h.Addr().String(), Stale: time.Minute})
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close(ctx)
	if err := p.conn.AwaitConnection(ctx); err != nil {
		t.Fatal(err)
	}
	p.Feed(watch.Status{})
	for i, want := range []string{Watching, Watching, Gone, Watching} {
		if i == 1 {
			h.end(0, false)
		}
		if i == 2 {
			h.end(0, true)
		}
		for {
			w := next(t, got, "legroom/alive")
			if w == want {
				break
			}
			if w != Watching { // which may be told more than once
				t.Fatalf("%d: alive %q, want %q", i, w, want)
			}
		}
	}
}

// What stands last is that the watch has ended, though the connection had just come back, and the loop its last round.
func TestEndedStands(t *testing.T) {
	t.Parallel()
	s, url, got := broker(t)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	for i := range 20 {
		p, err := Open(ctx, Options{Server: url})
		if err != nil {
			t.Fatal(err)
		}
		if err := p.conn.AwaitConnection(ctx); err != nil {
			t.Fatal(err)
		}
		p.Feed(watch.Status{})
		stop := make(chan struct{})
		var all sync.WaitGroup
		all.Go(func() {
			for {
				select {
				case <-stop:
					return
				case <-got:
				default:
					poke(p.up)
				}
			}
		})
		err = p.Close(ctx)
		close(stop)
		all.Wait()
		if err != nil {
			t.Fatal(err)
		}
		time.Sleep(10 * time.Millisecond)
		if last, _ := s.Topics.Retained.Get("legroom/alive"); string(last.Payload) != Ended {
			t.Fatalf("%d: alive %q", i, last.Payload)
		}
	}
}

// That a broker is not there is said, and that it is there again.
func TestTrouble(t *testing.T) {
	t.Parallel()
	_, url, _ := broker(t)
	h := passOn(t, url, "127.0.0.1:0")
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	p, err := Open(ctx, Options{Server: "mqtt://" + h.Addr().String()})
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close(ctx)
	until := func(trouble bool) {
		t.Helper()
		for (p.Trouble() != nil) != trouble {
			if ctx.Err() != nil {
				t.Fatalf("trouble %v", p.Trouble())
			}
			time.Sleep(5 * time.Millisecond)
		}
	}
	if err := p.conn.AwaitConnection(ctx); err != nil {
		t.Fatal(err)
	}
	until(false)
	h.Close()
	h.end(0, false)
	until(true)
	passOn(t, url, h.Addr().String())
	until(false)
}
