package web

import (
	"context"
	"errors"
	"net"
	"net/http"
	"sync"
	"time"
)

// stopWithin is how long answers that are under way may take once the server is to stop, and lastWithin how long a page may then take
// to read the last of one.
const (
	stopWithin = 3 * time.Second
	lastWithin = time.Second
)

// Serve answers on l until ctx ends; then everything under way is told to stop, and it returns when that has.
func Serve(ctx context.Context, l net.Listener, h http.Handler) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var idle unused
	srv := &http.Server{Handler: hurried(h), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
		BaseContext: func(net.Listener) context.Context { return ctx }, ConnState: idle.note}
	stopped := make(chan error, 1)
	go func() {
		<-ctx.Done()
		grace, end := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
		defer end()
		idle.close()
		if err := srv.Shutdown(grace); err != nil {
			err = errors.Join(err, srv.Close())
			stopped <- err
			return
		}
		stopped <- nil
	}()
	err := srv.Serve(l)
	cancel()
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	return errors.Join(err, <-stopped)
}

// hurried ends writing to a page that reads nothing once its request is over or the server is to stop. Each answer starts without
// the deadline that another one before it left on their connection.
func hurried(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		_ = c.SetWriteDeadline(time.Time{})
		stop := context.AfterFunc(r.Context(), func() { _ = c.SetWriteDeadline(time.Now().Add(lastWithin)) })
		defer stop()
		next.ServeHTTP(&answered{w}, r)
	})
}

// answered turns away the status that huma gives, for a log, to an answer that broke off because its page went away: its header is out.
type answered struct{ http.ResponseWriter }

const pageGone = 499

func (w *answered) WriteHeader(status int) {
	if status != pageGone {
		w.ResponseWriter.WriteHeader(status)
	}
}

// Unwrap is for http.ResponseController.
func (w *answered) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// unused are the connections on which nothing was asked yet. Browsers open some ahead, and http.Server.Shutdown gives each five
// seconds to ask after all.
type unused struct {
	mu     sync.Mutex
	by     map[net.Conn]bool
	closed bool
}

// note is the server's ConnState.
func (u *unused) note(c net.Conn, s http.ConnState) {
	u.mu.Lock()
	defer u.mu.Unlock()
	switch {
	case s != http.StateNew:
		delete(u.by, c)
	case u.closed:
		c.Close()
	case u.by == nil:
		u.by = map[net.Conn]bool{c: true}
	default:
		u.by[c] = true
	}
}

// close closes them, and those that come from now on.
func (u *unused) close() {
	u.mu.Lock()
	defer u.mu.Unlock()
	u.closed = true
	for c := range u.by {
		c.Close()
	}
}
