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

// maxConnections bounds what hostile clients can hold; the ones beyond it are closed at once. A rig has a handful of clients.
const maxConnections = 256

// Serve answers on a listener until the context ends, with bounded headers, requests, idle times and connections.
func Serve(ctx context.Context, l net.Listener, h http.Handler) error {
	server := &http.Server{
		Handler:           h,
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
	err := server.Serve(&limited{Listener: l, free: make(chan struct{}, maxConnections)})
	if !stop() {
		<-stopped
	}
	if ctx.Err() != nil && errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// limited is a listener that closes connections beyond a number.
type limited struct {
	net.Listener
	free chan struct{}
}

func (l *limited) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		select {
		case l.free <- struct{}{}:
			return &counted{Conn: c, done: sync.OnceFunc(func() { <-l.free })}, nil
		default:
			_ = c.Close()
		}
	}
}

type counted struct {
	net.Conn
	done func()
}

func (c *counted) Close() error {
	defer c.done()
	return c.Conn.Close()
}
