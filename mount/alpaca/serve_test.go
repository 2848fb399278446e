package alpaca

import (
	"context"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"
)

// Where all connections are taken, the one that has been idle for longest makes room, and none that is being worked on: a new one is
// closed at once only while they all are.
func TestConnectionsAreBounded(t *testing.T) {
	inner, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l := &limited{Listener: inner, most: 2, open: map[*counted]struct{}{}}
	defer l.Close()
	accepted := make(chan *counted, 10)
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			accepted <- c.(*counted)
		}
	}()
	dial := func() net.Conn {
		c, err := net.Dial("tcp", inner.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		return c
	}
	closed := func(c net.Conn) bool {
		_ = c.SetReadDeadline(time.Now().Add(5 * time.Second))
		_, err := c.Read(make([]byte, 1))
		return err == io.EOF || err != nil && strings.Contains(err.Error(), "reset")
	}
	first, second := dial(), dial()
	a, b := <-accepted, <-accepted
	if a.RemoteAddr().String() != first.LocalAddr().String() {
		a, b = b, a
	}
	a.work(+1)
	third := dial()
	c := <-accepted
	if !closed(second) {
		t.Error("the idle one did not make room")
	}
	c.work(+1)
	if !closed(dial()) {
		t.Error("room was made while all are being worked on")
	}
	c.work(-1)
	a.work(-1) // idle since later
	dial()
	d := <-accepted
	if !closed(third) {
		t.Error("not the one that has been idle for longest")
	}
	_ = b.Close() // that is gone counts no more
	_ = b.Close()
	_ = d.Close()
	_ = d.Close()
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.open) != 1 {
		t.Errorf("%d open", len(l.open))
	}
}

// A client that leaves more connections open than there may be keeps nobody from asking, and none that is being answered is dropped.
func TestIdleConnectionsKeepNobodyOut(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	begun, end := make(chan struct{}), make(chan struct{})
	h := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/slow" {
			close(begun)
			<-end
		}
		_, _ = io.WriteString(w, "here")
	})
	ctx, stop := context.WithCancel(t.Context())
	var all sync.WaitGroup
	all.Go(func() { _ = Serve(ctx, l, h) })
	defer all.Wait()
	defer stop()
	ask := func(path string) string {
		client := &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
		a, err := client.Get("http://" + l.Addr().String() + path)
		if err != nil {
			return err.Error()
		}
		defer a.Body.Close()
		text, _ := io.ReadAll(a.Body)
		return string(text)
	}
	slow := make(chan string, 1)
	go func() { slow <- ask("/slow") }()
	<-begun
	for range maxConnections + 20 {
		c, err := net.Dial("tcp", l.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		_, _ = io.WriteString(c, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n") // and keeps it
	}
	for range 5 {
		if text := ask("/"); text != "here" {
			t.Errorf("kept out: %s", text)
		}
	}
	close(end)
	if text := <-slow; text != "here" {
		t.Errorf("dropped while it was being answered: %s", text)
	}
}
