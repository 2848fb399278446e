package alpaca

import (
	"context"
	"errors"
	"net"
	"net/http"
	"sync"
	"time"
)

// longestCall is how long a device may work on one call: a slew that is answered at its end.
const longestCall = 10 * time.Minute

// maxConnections bounds what hostile clients can hold. A rig has a handful of clients.
const maxConnections = 256

// Serve answers on a listener until the context ends, with bounded headers, requests, idle times and connections.
func Serve(ctx context.Context, l net.Listener, h http.Handler) error {
	connections := &limited{Listener: l, most: maxConnections, open: map[*counted]struct{}{}}
	server := &http.Server{
		Handler:           working(h),
		ConnContext:       func(ctx context.Context, c net.Conn) context.Context { return context.WithValue(ctx, connection{}, c) },
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       10 * time.Second,
		WriteTimeout:      longestCall, // until there is an answer; then limitWrite
		IdleTimeout:       30 * time.Second,
		MaxHeaderBytes:    16 << 10,
	}
	stopped := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		defer close(stopped)
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		if server.Shutdown(last) != nil {
			_ = server.Close() // what still runs is cut off
		}
	})
	err := server.Serve(connections)
	if !stop() {
		<-stopped
	}
	if ctx.Err() != nil && errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// limited is a listener that bounds the connections. Where they are all taken, the one that has been idle for longest makes room for a
// new one: a client that leaves them open keeps nobody out, least of all one who wants to stop the mount. Only while all are being
// worked on is a new one closed at once.
type limited struct {
	net.Listener
	most int

	mu   sync.Mutex
	open map[*counted]struct{}
	turn uint64 // counts when connections fall idle
}

func (l *limited) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		n := &counted{Conn: c, of: l}
		old, ok := l.add(n)
		if old != nil {
			_ = old.Close()
		}
		if ok {
			return n, nil
		}
		_ = c.Close()
	}
}

// add takes a connection in. Where there is no room, old is the one that has to make it, or none can.
func (l *limited) add(n *counted) (old *counted, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.open) >= l.most {
		for c := range l.open {
			if c.working == 0 && (old == nil || c.idle < old.idle) {
				old = c
			}
		}
		if old == nil {
			return nil, false
		}
		delete(l.open, old)
	}
	l.turn++
	n.idle = l.turn
	l.open[n] = struct{}{}
	return old, true
}

// counted is a connection of a limited listener.
type counted struct {
	net.Conn
	of *limited

	// By the listener's lock.
	working int    // requests that a handler is working on
	idle    uint64 // when it was last idle, by the listener's count
}

func (c *counted) Close() error {
	c.of.mu.Lock()
	delete(c.of.open, c)
	c.of.mu.Unlock()
	return c.Conn.Close()
}

func (c *counted) work(by int) {
	c.of.mu.Lock()
	defer c.of.mu.Unlock()
	c.of.turn++
	c.working, c.idle = c.working+by, c.of.turn
}

// connection is the key of a request's connection in its context.
type connection struct{}

// working tells the listener which connections are not idle.
func working(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if c, ok := r.Context().Value(connection{}).(*counted); ok {
			c.work(+1)
			defer c.work(-1)
		}
		h.ServeHTTP(w, r)
	})
}
