// Package journal keeps what a watch saw and did, so that a night can be read back in order after a power cut.
//
// It is an SQLite database with a write-ahead log and full synchronous writes. A row is acknowledged once the transaction that
// holds it is on the disk, by the word of the operating system, and never before. Rows are only ever added, and taken away by
// age or size from the old end; each carries a checksum, so that a damaged file gives back what is sound in it and nothing else.
//
// Beside the database lie SQLite's own two files (-wal, -shm) while it is open, and a count of the rows (-count), which tells
// afterwards how many rows a damaged file has lost.
package journal

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"legroom/watch"
)

var (
	// ErrLost says that rows did not fit into the queue and are in no file.
	ErrLost = errors.New("rows of the journal are lost")
	// ErrLate says that rows wait, and are not on the disk yet.
	ErrLate = errors.New("the journal is behind")
	// ErrClosed says that the journal was closed before.
	ErrClosed = errors.New("the journal is closed")
	// ErrNewer says that a later version of this program has written the file.
	ErrNewer = errors.New("the journal is of a later version")
	// ErrForeign says that the file is another program's database.
	ErrForeign = errors.New("not a journal of this program")
	// ErrDamaged says that a row or the file is not what was written.
	ErrDamaged = errors.New("the journal is damaged")
)

const (
	// queueBytes is about three quarters of an hour of the fastest watch, with a disk that does not answer. Samples may take three
	// quarters of it: decisions, commands, errors and events still fit when they no longer do.
	queueBytes  = 8 << 20
	batchRows   = 2000
	late        = 3 * time.Second // a slow memory card takes a second now and then; that is no alarm
	retryAfter  = time.Second
	closeWithin = 5 * time.Second
	// mostRecoveries keeps a dying disk from being filled with copies of a journal that breaks again and again.
	mostRecoveries = 3
)

// Session says what wrote the rows from here on: the program, and the rig by its fingerprint and whole document.
type Session struct {
	ID       int64     `json:"session"` // given by the journal
	Started  time.Time `json:"started"` // by the first record's clock
	Program  string    `json:"program"` // its version
	Rig      string    `json:"rig"`
	Print    string    `json:"fingerprint"`
	Mount    string    `json:"mount"`
	Document string    `json:"document"` // of the rig, as it was then: a later replay needs these lengths
}

// Options is how a journal is kept.
type Options struct {
	Session Session
	// MaxBytes bounds the database file; 1 GiB when 0, about 30 nights of 12 hours. The oldest rows go first.
	MaxBytes int64
	// KeepFor is how long a row is kept, by the clock of the newest row; without end when 0. A clock that is years ahead makes
	// every row old.
	KeepFor time.Duration

	vfs   string // of SQLite; tests put theirs below
	queue int    // queueBytes when 0
}

// Stats is how the journal does.
type Stats struct {
	Taken        int64  `json:"taken"`        // rows handed over since Open, lost ones among them
	Acknowledged int64  `json:"acknowledged"` // of these, on the disk
	Waiting      int    `json:"waiting"`
	Lost         int64  `json:"lost"` // did not fit, or could not be written as JSON
	LastSeq      int64  `json:"last_seq"`
	Bytes        int64  `json:"bytes"` // of the database and its log
	Trouble      string `json:"trouble"`
	// Recovered is what was read out of a damaged file since Open; nil when none was.
	Recovered *Recovery `json:"recovered"`
}

// Journal is written by one goroutine of its own. Its methods may be called from several.
type Journal struct {
	path string
	o    Options
	wake chan struct{}
	quit chan struct{}
	done chan struct{}
	// first is closed when the file has been opened, or not, for the first time.
	first chan struct{}

	mu     sync.Mutex
	moved  chan struct{} // closed and made anew whenever the writer got somewhere
	queue  []row
	bytes  int
	loss   loss      // not yet told in the journal itself
	fresh  int64     // lost since Record last said so
	said   *Recovery // recovery that Record has not told yet
	err    error     // why nothing can be written
	stats  Stats
	closed bool

	// The writer's own.
	session    Session
	last       int64 // acknowledged
	tried      int64 // rows in a batch that failed
	recoveries int
}

// loss is a stretch of records that are in no file.
type loss struct {
	n        int64
	from, to time.Time
	why      string
}

func (l *loss) add(at time.Time, why string) {
	if l.n == 0 {
		l.from = at
	}
	l.n, l.to, l.why = l.n+1, at, why
}

// Open begins to keep a journal in a file, and returns without waiting for the disk. It cannot fail: a file that cannot be opened
// is tried again and again, what is handed over meanwhile waits in memory, and Record says what is wrong. One program at a time
// writes to a file; any number may read it.
func Open(path string, o Options) *Journal {
	if o.MaxBytes == 0 {
		o.MaxBytes = 1 << 30
	}
	if o.queue == 0 {
		o.queue = queueBytes
	}
	j := &Journal{path: path, o: o, wake: make(chan struct{}, 1), quit: make(chan struct{}), done: make(chan struct{}),
		first: make(chan struct{}), moved: make(chan struct{}), session: o.Session}
	go j.run()
	return j
}

// Record hands records over; it is made for watch.Options.Record. It never waits for the disk. nil means that they are on their
// way and nothing is wrong; the error says that rows are lost (ErrLost), that the oldest has been waiting for three seconds
// (ErrLate), why nothing can be written, or once that a damaged file was found. Whether rows are on the disk say Flush and Stats.
func (j *Journal) Record(rs []watch.Record) error {
	now := time.Now()
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.closed {
		return ErrClosed
	}
	for _, r := range rs {
		j.stats.Taken++
		w, err := encode(r)
		limit := j.o.queue
		if r.Kind == watch.KindSample {
			limit -= limit / 4
		}
		switch {
		case err != nil:
			j.lose(r.At, err.Error())
		case j.bytes+len(w.body) > limit:
			j.lose(r.At, "the queue to the disk was full")
		default:
			w.in = now
			j.queue = append(j.queue, w)
			j.bytes += len(w.body)
		}
	}
	select {
	case j.wake <- struct{}{}:
	default:
	}
	return j.trouble(now)
}

func (j *Journal) lose(at time.Time, why string) {
	j.loss.add(at, why)
	j.fresh++
	j.stats.Lost++
}

// trouble is what Record answers.
func (j *Journal) trouble(now time.Time) error {
	var errs []error
	if j.fresh > 0 {
		errs = append(errs, fmt.Errorf("%w: %d just now, %d in all (%s)", ErrLost, j.fresh, j.stats.Lost, j.loss.why))
		j.fresh = 0
	}
	if j.err != nil {
		errs = append(errs, fmt.Errorf("%w; %d rows wait in memory", j.err, len(j.queue)))
	} else if len(j.queue) > 0 && now.Sub(j.queue[0].in) > late {
		wait := now.Sub(j.queue[0].in).Round(100 * time.Millisecond)
		errs = append(errs, fmt.Errorf("%w: %d rows wait, the oldest for %v", ErrLate, len(j.queue), wait))
	}
	if j.said != nil {
		errs = append(errs, fmt.Errorf("%w: %s", ErrDamaged, j.said))
		j.said = nil
	}
	return errors.Join(errs...)
}

// Flush waits until everything that was handed over before is on the disk: that is the acknowledgement. The error says what
// stands in the way when ctx ends first.
func (j *Journal) Flush(ctx context.Context) error {
	j.mu.Lock()
	goal := j.stats.Taken - j.stats.Lost
	for j.stats.Acknowledged < goal {
		moved := j.moved
		j.mu.Unlock()
		select {
		case <-moved:
		case <-j.done:
		case <-ctx.Done():
		}
		j.mu.Lock()
		over := ctx.Err()
		select {
		case <-j.done:
			over = ErrClosed
		default:
		}
		if left := goal - j.stats.Acknowledged; over != nil && left > 0 {
			err := j.err
			j.mu.Unlock()
			return errors.Join(fmt.Errorf("%d rows are not on the disk: %w", left, over), err)
		}
	}
	j.mu.Unlock()
	return nil
}

// Ready waits until the file is open, or could not be opened for a first time, and says why not. A watch need not wait for it.
func (j *Journal) Ready() error {
	<-j.first
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.err
}

// Stats tells how the journal does.
func (j *Journal) Stats() Stats {
	j.mu.Lock()
	defer j.mu.Unlock()
	s := j.stats
	s.Waiting = len(j.queue)
	if j.err != nil {
		s.Trouble = j.err.Error()
	}
	return s
}

// Close writes what waits, for five seconds at most, and closes the file. The error says how many rows are in no file.
func (j *Journal) Close() error {
	j.mu.Lock()
	if j.closed {
		j.mu.Unlock()
		return ErrClosed
	}
	j.closed = true
	j.mu.Unlock()
	close(j.quit)
	t := time.NewTimer(closeWithin)
	defer t.Stop()
	select {
	case <-j.done:
	case <-t.C:
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if n := len(j.queue); n > 0 {
		return errors.Join(fmt.Errorf("%w: %d rows were still waiting when the journal was closed", ErrLost, n), j.err)
	}
	return nil
}
