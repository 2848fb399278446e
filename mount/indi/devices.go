package indi

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"slices"
	"time"

	"legroom/mount"
)

const (
	maxDevices = 64
	quiet      = 500 * time.Millisecond // after which a server is taken to have told all
)

// Devices asks the server at host:port which devices it has, of whatever sort, and lists their names, 64 at most.
func Devices(ctx context.Context, address string) ([]string, error) {
	ctx, cancel := timed(ctx, readTime)
	defer cancel()
	conn, err := (&net.Dialer{}).DialContext(ctx, "tcp", address)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", mount.ErrLink, err)
	}
	defer conn.Close()
	defer context.AfterFunc(ctx, func() { conn.Close() })()
	until, _ := ctx.Deadline()
	_ = conn.SetWriteDeadline(until)
	if _, err := conn.Write(Element{Op: Get}.wire()); err != nil {
		return nil, broken(err)
	}
	var names []string
	r := NewReader(conn)
	for len(names) < maxDevices {
		at := until
		if names != nil {
			at = earlier(until, time.Now().Add(quiet))
		}
		_ = conn.SetReadDeadline(at)
		e, err := r.Next()
		switch {
		case errors.Is(err, os.ErrDeadlineExceeded) && names != nil:
			return names, nil
		case errors.Is(err, os.ErrDeadlineExceeded) || ctx.Err() != nil:
			return nil, fmt.Errorf("%w: no device was told of in time", mount.ErrLink)
		case err != nil:
			return nil, broken(err)
		}
		if e.Op == Def && e.Device != "" && !slices.Contains(names, e.Device) {
			names = append(names, e.Device)
		}
	}
	return names, nil
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
