package indi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"net"
	"os"
	"slices"
	"sync"
	"syscall"
	"time"

	"legroom/mount"
)

// elementTime is how long an element may take from its first byte to its last.
const elementTime = 10 * time.Second

// session is one connection to a server, and what one device told over it.
type session struct {
	device string
	conn   net.Conn
	write  chan struct{} // held by who writes
	asking chan struct{} // held by who asks: nothing ties an answer to its question, so there is one at a time

	mu      sync.Mutex
	known   map[string]told
	defs    int // definitions so far: a property that was taken away and came back has a higher number than before
	heard   map[*answers]bool
	dropped bool          // the driver was not, or may not have been, with its mount at some time since this was last looked at
	changed chan struct{} // closed at the next change
	err     error         // why it ended
}

// answers gathers what the device sets of one property and says while a command waits, each in turn: an alert must not go by
// unseen because the place was told again right behind it.
type answers struct {
	name    string
	sets    []told
	message string // the device's last words
}

const maxAnswers = 256

// listen gathers answers until it is told to stop.
func (s *session) listen(name string) (a *answers, stop func()) {
	a = &answers{name: name}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.heard[a] = true
	return a, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		delete(s.heard, a)
	}
}

// told is a property as the device told it, and when it last defined it.
type told struct {
	Vector
	bad   error // it was last told with a value that cannot be read
	defs  int   // the number of its definition in the session; 0: it has none
	clock clock
	fresh time.Time // when it first came with the time stamp that it has
}

func newSession(conn net.Conn, device string) *session {
	s := &session{device: device, conn: conn, write: make(chan struct{}, 1), asking: make(chan struct{}, 1),
		known: map[string]told{}, heard: map[*answers]bool{}, changed: make(chan struct{})}
	go s.read()
	return s
}

// read takes in what comes until the connection ends.
func (s *session) read() {
	r := NewReader(s.conn)
	r.src.under = limitElement(s.conn)
	for {
		e, err := r.Next()
		if err != nil {
			s.cut(err)
			s.end(broken(err))
			return
		}
		if e.Device == s.device {
			s.take(e)
		}
	}
}

// limitElement bounds the time of an element; between elements a peer may be silent.
func limitElement(conn net.Conn) func(bool) {
	return func(under bool) {
		var at time.Time
		if under {
			at = time.Now().Add(elementTime)
		}
		_ = conn.SetReadDeadline(at)
	}
}

// broken says whether the connection broke or the other end does not keep to the protocol.
func broken(err error) error {
	var network net.Error
	switch {
	case errors.Is(err, io.EOF):
		return fmt.Errorf("%w: the other end closed the connection", mount.ErrLink)
	case errors.Is(err, os.ErrDeadlineExceeded):
		return fmt.Errorf("%w: half an element, and no more for %v", mount.ErrLink, elementTime)
	case errors.As(err, &network), errors.Is(err, net.ErrClosed):
		return fmt.Errorf("%w: %w", mount.ErrLink, err)
	}
	return fmt.Errorf("%w: %w: %w", mount.ErrLink, mount.ErrAnswer, err)
}

// cut tells of a server that has ended the connection while the mount slewed. Its place is what shows otherwise that a mount lost its
// power in the short time of a restart: it jumps then. After a slew nobody can tell a jump.
func (s *session) cut(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err == nil && (errors.Is(err, io.EOF) || isAny(err, connectionReset)) {
		l := look{known: s.known}
		s.dropped = s.dropped || l.slewing() == mount.Yes
	}
}

// wasDropped gives dropped of a session that has ended.
func (s *session) wasDropped() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.dropped
}

// What the kernel says of a connection that the other computer reset or refused; the second is that of Windows.
var (
	connectionReset   = []error{syscall.ECONNRESET, syscall.Errno(10054)}
	connectionRefused = []error{syscall.ECONNREFUSED, syscall.Errno(10061)}
)

func isAny(err error, kinds []error) bool {
	return slices.ContainsFunc(kinds, func(kind error) bool { return errors.Is(err, kind) })
}

// end closes the session; the first reason stands.
func (s *session) end(why error) {
	s.mu.Lock()
	if s.err == nil {
		s.err = why
		s.wake()
	}
	s.mu.Unlock()
	_ = s.conn.Close()
}

func (s *session) wake() {
	close(s.changed)
	s.changed = make(chan struct{})
}

func (s *session) ended() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.err
}

// take enters an element of the device. Only the properties that a telescope has are kept, so what is held is bounded.
func (s *session) take(e Element) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil {
		return
	}
	for a := range s.heard {
		if e.Message != "" {
			a.message = e.Message
		}
	}
	old, had := s.known[e.Name]
	switch {
	case e.Op == Delete && e.Name == "":
		clear(s.known)
		s.dropped = true
	case e.Op == Delete:
		delete(s.known, e.Name)
		s.dropped = s.dropped || e.Name == connection
	case e.Op == Def && properties[e.Name] == e.Kind:
		s.defs++
		s.enter(old, told{Vector: e.Vector, bad: e.Bad, defs: s.defs, clock: old.clock})
	case e.Op == Set && had && old.Kind == e.Kind:
		now := old
		now.Vector, now.bad = old.with(e.Vector), e.Bad
		if e.Bad == nil && !e.names(old.Vector) {
			now.bad = old.bad // that of a member which this one does not tell
		}
		s.enter(old, now)
		for a := range s.heard {
			if a.name == e.Name && len(a.sets) < maxAnswers {
				a.sets = append(a.sets, now)
			}
		}
	case e.Op != Message:
		return
	}
	s.wake()
}

func (s *session) enter(old, now told) {
	now = s.tick(old, now)
	if now.fresh = old.fresh; !now.Stamp.Equal(old.Stamp) || now.fresh.IsZero() {
		now.fresh = time.Now()
	}
	if now.Name == connection && !now.connected() {
		s.dropped = true
	}
	s.known[now.Name] = now
}

// send writes elements in one go. A write that does not end in time leaves half an element behind, which ends the session.
func (s *session) send(ctx context.Context, elements ...Element) error {
	select {
	case s.write <- struct{}{}:
		defer func() { <-s.write }()
	case <-ctx.Done():
		return s.unanswered(ctx)
	}
	var b []byte
	for _, e := range elements {
		b = append(b, e.wire()...)
	}
	until, _ := ctx.Deadline()
	_ = s.conn.SetWriteDeadline(until)
	if _, err := s.conn.Write(b); err != nil {
		s.end(fmt.Errorf("%w: %w", mount.ErrLink, err))
		return s.ended()
	}
	return nil
}

// wait blocks until the condition holds or fails, the session ends or the time is over: then with the context's error. The
// condition runs under the session's lock, at once and after every change.
func (s *session) wait(ctx context.Context, done func() (bool, error)) error {
	for {
		s.mu.Lock()
		ok, err := false, s.err
		if err == nil {
			ok, err = done()
		}
		changed := s.changed
		s.mu.Unlock()
		if ok || err != nil {
			return err
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// unanswered ends the session, because an answer that comes late could be taken for that to the next question, and the
// connection may be half open. Its error is the caller's.
func (s *session) unanswered(ctx context.Context) error {
	s.end(fmt.Errorf("%w: no answer in time: %w", mount.ErrLink, ctx.Err()))
	return s.ended()
}

// ask asks the device to define properties again, the last one being one that it has, and waits for that one. The device
// answers in order, so that all it had told before then has come, and the answer is newer than the question.
func (s *session) ask(ctx context.Context, names ...string) error {
	select {
	case s.asking <- struct{}{}:
		defer func() { <-s.asking }()
	case <-ctx.Done():
		return s.unanswered(ctx)
	}
	last := names[len(names)-1]
	before := s.snapshot()[last].defs
	var asks []Element
	for _, name := range names {
		asks = append(asks, Element{Op: Get, Vector: Vector{Device: s.device, Name: name}})
	}
	if err := s.send(ctx, asks...); err != nil {
		return err
	}
	err := s.wait(ctx, func() (bool, error) {
		now, ok := s.known[last]
		if !ok {
			return false, fmt.Errorf("%w: the driver took %s away", mount.ErrNotConnected, last)
		}
		return now.defs > before, nil
	})
	if late(ctx, err) {
		return s.unanswered(ctx)
	}
	return err
}

// settle asks for all of the device and waits until it was told.
func (s *session) settle(ctx context.Context) error {
	device := Vector{Device: s.device}
	if err := s.send(ctx, Element{Op: Blobs, Vector: device}, Element{Op: Get, Vector: device}); err != nil {
		return err
	}
	var first string
	err := s.wait(ctx, func() (bool, error) {
		for _, name := range []string{connection, placeOfDate, placeJ2000} {
			if _, ok := s.known[name]; ok {
				first = name
				return true, nil
			}
		}
		return false, nil
	})
	if late(ctx, err) {
		s.end(fmt.Errorf("%w: the server tells of no mount %q in time: %w", mount.ErrLink, s.device, err))
		return s.ended()
	}
	if err != nil {
		return err
	}
	return s.ask(ctx, first)
}

// snapshot is what is known now. Vectors are replaced, not changed.
func (s *session) snapshot() map[string]told {
	s.mu.Lock()
	defer s.mu.Unlock()
	return maps.Clone(s.known)
}
