package web

import (
	"context"
	"errors"
	"net"
	"net/http"
	"time"
)

// stopWithin is how long answers that are under way may take once the server is to stop.
const stopWithin = 3 * time.Second

// Serve answers on l until ctx ends; then everything under way is told to stop, and it returns when that has.
func Serve(ctx context.Context, l net.Listener, h http.Handler) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	srv := &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
		BaseContext: func(net.Listener) context.Context { return ctx }}
	stopped := make(chan error, 1)
	go func() {
		<-ctx.Done()
		grace, end := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
		defer end()
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
