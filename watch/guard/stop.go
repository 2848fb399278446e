package guard

import (
	"context"
	"time"

	"legroom/mount/alpaca"
)

// stops tells what was taken before a client's stop from what came after it: an answered stop is the last word, so that what
// still waits to be proven or sent is not sent any more.
type stops struct {
	going  int                // those that the mount has not answered yet
	last   string             // the last one's member
	before context.Context    // ends when the next one comes, or is answered
	next   context.CancelFunc // ends it
}

// sending is the command that the mount works on.
type sending struct {
	call   alpaca.Call
	giveUp context.CancelFunc
	ended  chan struct{}
}

// order is the context of a command that arrives now: it ends when a stop comes.
func (t *Telescope) order() context.Context {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.stops.before
}

// raise draws the line between before and after. The caller holds the lock.
func (s *stops) raise() {
	if s.next != nil {
		s.next()
	}
	s.before, s.next = context.WithCancel(context.Background())
}

// overtaken is the answer to a command after which a stop has come, before it was sent.
func (t *Telescope) overtaken() error {
	t.mu.Lock()
	last := t.stops.last
	t.mu.Unlock()
	return t.refuse("a stop (%s) has come since it was asked for: ask again if it is still wanted", last)
}

// send marks a command as on its way to the mount, unless a stop has come since ctx was made or is on its way itself. What it
// returns is to be called when the command is answered.
func (t *Telescope) send(ctx context.Context, c alpaca.Call, giveUp context.CancelFunc) (answered func(), err error) {
	t.mu.Lock()
	if ctx.Err() != nil || t.stops.going > 0 {
		t.mu.Unlock()
		return nil, t.overtaken()
	}
	s := &sending{c, giveUp, make(chan struct{})}
	t.under = s
	t.mu.Unlock()
	return func() {
		close(s.ended)
		t.mu.Lock()
		defer t.mu.Unlock()
		if t.under == s {
			t.under = nil
		}
	}, nil
}

// endsWithin is how long a command that was given up may take to end.
const endsWithin = 2 * time.Second

// stop hands on a command that ends a motion, at once. What was taken before it is answered, and has not been sent, is refused. A
// command that it ends and that is on its way to the mount at the same time may come there after it: that one is given up, and the
// stop sent once more behind it. So is it behind what the watch itself has on its way and gives up.
func (t *Telescope) stop(ctx context.Context, c alpaca.Call, giveUp func() (ended <-chan struct{})) (any, error) {
	ctx = context.WithoutCancel(ctx)
	t.mu.Lock()
	t.stops.last = c.Member
	t.stops.going++
	t.stops.raise()
	under := t.under
	t.mu.Unlock()
	defer t.lookSoon()
	defer func() {
		t.mu.Lock()
		defer t.mu.Unlock()
		t.stops.going--
		t.stops.raise()
	}()
	var wait []<-chan struct{}
	if giveUp != nil {
		if ended := giveUp(); ended != nil {
			wait = append(wait, ended)
		}
	}
	v, err := t.to.Call(ctx, c)
	if under != nil && ends(c, under.call) {
		under.giveUp()
		wait = append(wait, under.ended)
	}
	late := time.After(endsWithin)
	for _, ended := range wait {
		select {
		case <-ended:
		case <-late:
		}
	}
	if len(wait) > 0 {
		v, err = t.to.Call(ctx, c)
	}
	t.tellStop(c, err)
	return v, err
}

// ends tells whether a stop ends what a command begins.
func ends(stop, c alpaca.Call) bool {
	switch stop.Member {
	case "tracking":
		return c.Member == "tracking" || c.Member == "unpark"
	case "moveaxis":
		return c.Member == "moveaxis" && c.Int("Axis") == stop.Int("Axis")
	}
	return true
}

// abort ends a slew, and the wait for it: a driver that never answers keeps nobody from the next command, such as to park.
func (t *Telescope) abort(ctx context.Context, c alpaca.Call) (any, error) {
	answered := t.w.Aborting()
	defer answered()
	return t.stop(ctx, c, t.w.Abandon)
}

func (t *Telescope) tracking(ctx context.Context, c alpaca.Call) (any, error) {
	if !c.Bool("Tracking") {
		return t.stop(ctx, c, nil)
	}
	return t.run(ctx, c, t.mayTrack)
}

// stopAxis ends a motion by hand.
func (t *Telescope) stopAxis(ctx context.Context, c alpaca.Call) (any, error) {
	if axis := c.Int("Axis"); axis < 2 {
		_ = t.w.AdmitMotion(axis, 0) // always let through
	}
	return t.stop(ctx, c, nil)
}

// lookSoon has the watch look at what has become of a stop: at once, or where clients send many, once for all those of a while. The
// watch looks often enough by itself while the axes come to rest.
func (t *Telescope) lookSoon() {
	while := t.o.Period / 4
	t.mu.Lock()
	defer t.mu.Unlock()
	switch since := time.Since(t.looked); {
	case t.looks:
	case since >= while:
		t.looked = time.Now()
		t.w.Look()
	default:
		t.looks = true
		time.AfterFunc(while-since, func() {
			t.mu.Lock()
			defer t.mu.Unlock()
			t.looks, t.looked = false, time.Now()
			t.w.Look()
		})
	}
}
