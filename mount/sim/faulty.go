package sim

import (
	"bytes"
	"context"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"time"
)

// garbage is what no protocol answers.
var garbage = []string{
	"", "\x00\xff\xfe\x80garbage", "<html><body>502 Bad Gateway</body></html>", `{"Value":`, `{"Value":1e999,"ErrorNumber":"none"}`,
	"<setNumberVector device=", "]]>&amp;<<<", `[{"Value":true}]`,
}

// rubbish is one of it.
func rubbish() []byte { return []byte(garbage[rand.IntN(len(garbage))]) }

// faulty passes requests on, with the faults of the link.
type faulty struct {
	m     *Mount
	clock *Clock
	next  http.Handler
}

// maxRequest bounds the body that is held while a request waits.
const maxRequest = 64 << 10

func (f *faulty) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	c := f.m.carry()
	if c == (carried{}) {
		f.next.ServeHTTP(w, r)
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxRequest)) // read, the end of the connection is noticed
	if err != nil {
		panic(http.ErrAbortHandler)
	}
	r.Body = io.NopCloser(bytes.NewReader(body))
	if c.halfOpen {
		<-r.Context().Done()
		panic(http.ErrAbortHandler)
	}
	if c.lost && c.before {
		panic(http.ErrAbortHandler) // closes the connection without an answer
	}
	a := answer{header: http.Header{}, status: http.StatusOK}
	f.next.ServeHTTP(&a, r)
	if !f.clock.wait(r.Context().Done(), c.delay) || c.lost {
		panic(http.ErrAbortHandler)
	}
	if c.garbage {
		a.body = *bytes.NewBuffer(rubbish())
		a.header.Del("Content-Length")
	}
	for name, v := range a.header {
		w.Header()[name] = v
	}
	w.WriteHeader(a.status)
	_, _ = w.Write(a.body.Bytes())
}

// answer holds an answer back.
type answer struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (a *answer) Header() http.Header         { return a.header }
func (a *answer) WriteHeader(status int)      { a.status = status }
func (a *answer) Write(b []byte) (int, error) { return a.body.Write(b) }

// listener gives its connections the faults of the link. A lost call is a connection that breaks.
type listener struct {
	net.Listener
	m     *Mount
	clock *Clock
}

func (l *listener) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	f := &conn{Conn: c, l: l, closed: make(chan struct{})}
	f.end = sync.OnceFunc(func() { close(f.closed) })
	return f, nil
}

// conn is a connection with faults. Once half open it stays so.
type conn struct {
	net.Conn
	l        *listener
	halfOpen atomic.Bool
	closed   chan struct{}
	end      func()
}

// Close implements net.Conn.
func (c *conn) Close() error {
	c.end()
	return c.Conn.Close()
}

// Read implements net.Conn: what comes over a half-open connection is lost.
func (c *conn) Read(b []byte) (int, error) {
	for {
		n, err := c.Conn.Read(b)
		if err != nil {
			return n, err
		}
		f := c.l.m.carry()
		switch {
		case f.halfOpen || c.halfOpen.Load():
			c.halfOpen.Store(true)
			_ = c.Conn.SetReadDeadline(time.Time{}) // what is lost is no element that takes too long
			continue
		case f.lost && f.before:
			_ = c.Close()
			return 0, net.ErrClosed
		}
		return n, nil
	}
}

// SetWriteDeadline implements net.Conn: the time that a client has begins when the delay is over.
func (c *conn) SetWriteDeadline(time.Time) error { return nil }

// writeTime is how long a client may take to take in what is sent.
const writeTime = 5 * time.Second

// Write implements net.Conn.
func (c *conn) Write(b []byte) (int, error) {
	f := c.l.m.carry()
	if f.halfOpen || c.halfOpen.Load() {
		c.halfOpen.Store(true)
		return len(b), nil
	}
	if !c.l.clock.wait(c.closed, f.delay) || f.lost && !f.before {
		_ = c.Close()
		return 0, net.ErrClosed
	}
	out := b
	if f.garbage {
		out = rubbish()
	}
	_ = c.Conn.SetWriteDeadline(time.Now().Add(writeTime))
	if _, err := c.Conn.Write(out); err != nil {
		return 0, err
	}
	return len(b), nil
}

// ServeINDI serves the mount by the INDI protocol on a listener until the context ends, with the faults of the link.
func ServeINDI(ctx context.Context, m *Mount, clock *Clock, l net.Listener) error {
	return newProperties(m).serve(ctx, &listener{Listener: l, m: m, clock: clock})
}
