package indi

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"legroom/mount"
)

// The pause before a connection is tried again doubles with each failure. It is so short at most that a stop, with a deadline
// of a second or more, is never left without a try.
const (
	firstPause = 50 * time.Millisecond
	mostPause  = 400 * time.Millisecond
)

// link keeps a session with a device: it connects when something is wanted of it.
type link struct {
	address, device string
	dialing         chan struct{} // held by who connects

	mu     sync.Mutex
	s      *session // the current one, or the last
	lost   *session // the last one whose loss was counted
	untold error    // a loss that no look has told yet
	gone   bool     // no look has told yet that the driver was, or may have been, without its mount
	fails  int
	next   time.Time // not to be tried before
	closed bool
}

func newLink(address, device string) *link {
	return &link{address: address, device: device, dialing: make(chan struct{}, 1)}
}

// up gives a session that is alive and has told what the device has.
func (l *link) up(ctx context.Context) (*session, error) {
	select {
	case l.dialing <- struct{}{}:
		defer func() { <-l.dialing }()
	case <-ctx.Done():
		return nil, fmt.Errorf("%w: another call is still connecting: %w", mount.ErrLink, ctx.Err())
	}
	s, pause, err := l.current()
	if s != nil || err != nil {
		return s, err
	}
	select {
	case <-time.After(pause):
	case <-ctx.Done():
		return nil, fmt.Errorf("%w: %w", mount.ErrLink, ctx.Err())
	}
	s, err = l.connect(ctx)
	l.mu.Lock()
	defer l.mu.Unlock()
	if err != nil {
		l.next = time.Now().Add(min(firstPause<<min(l.fails, 10), mostPause))
		l.fails++
		return nil, err
	}
	if l.closed {
		s.end(errClosed)
		return nil, errClosed
	}
	l.s, l.fails = s, 0
	return s, nil
}

var errClosed = fmt.Errorf("%w: closed here", mount.ErrLink)

// current gives the session if it is alive, else how long to pause before the next try.
func (l *link) current() (*session, time.Duration, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed {
		return nil, 0, errClosed
	}
	if l.s == nil {
		return nil, time.Until(l.next), nil
	}
	why := l.s.ended()
	if why == nil {
		return l.s, 0, nil
	}
	if l.lost != l.s {
		l.lost, l.gone = l.s, l.gone || l.s.wasDropped()
		l.untold = fmt.Errorf("connected again since the last look: %w", why)
	}
	return nil, time.Until(l.next), nil
}

func (l *link) connect(ctx context.Context) (*session, error) {
	conn, err := (&net.Dialer{}).DialContext(ctx, "tcp", l.address)
	if err != nil {
		if isAny(err, connectionRefused) { // the server does not run, nor its drivers
			l.away()
		}
		return nil, fmt.Errorf("%w: %w", mount.ErrLink, err)
	}
	s := newSession(conn, l.device)
	if err := s.settle(ctx); err != nil {
		s.end(errClosed)
		if s.wasDropped() {
			l.away()
		}
		return nil, err
	}
	return s, nil
}

// away notes that the driver was without its mount, if it ever was with it.
func (l *link) away() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.gone = l.gone || l.s != nil
}

// loss gives what a look has to tell: that it failed, or else a loss of the connection that no look has told; and with either that the
// driver may have been without its mount meanwhile, where that was seen: the mount may have lost its power. A lost link alone says
// nothing of the mount.
func (l *link) loss(failed error) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	err, gone := failed, l.gone
	if err == nil {
		err = l.untold
	}
	l.untold, l.gone = nil, false
	switch {
	case gone && err == nil:
		return fmt.Errorf("%w: it was not at some time since the last look", mount.ErrNotConnected)
	case gone:
		return fmt.Errorf("%w: or it was not at some time since the last look: %w", mount.ErrNotConnected, err)
	}
	return err
}

// saw counts the end of a session as told by the look that ran into it, but for what that did not know.
func (l *link) saw(s *session) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.lost, l.untold, l.gone = s, nil, l.gone || s.wasDropped()
}

// last is what was last known of the device, whether the session is alive or not.
func (l *link) last() map[string]told {
	l.mu.Lock()
	s := l.s
	l.mu.Unlock()
	if s == nil {
		return nil
	}
	return s.snapshot()
}

func (l *link) close() {
	l.mu.Lock()
	l.closed = true
	s := l.s
	l.mu.Unlock()
	if s != nil {
		s.end(errClosed)
	}
}

// timed gives a context its own deadline where it has none.
func timed(ctx context.Context, d time.Duration) (context.Context, context.CancelFunc) {
	if _, ok := ctx.Deadline(); ok {
		return context.WithCancel(ctx)
	}
	return context.WithTimeout(ctx, d)
}

// late tells that an error is the end of the context.
func late(ctx context.Context, err error) bool { return ctx.Err() != nil && errors.Is(err, ctx.Err()) }
