package journal

import (
	"errors"
	"fmt"
	"time"

	"legroom/watch"
)

// trimEvery is how often the old end is looked at; in between, what one such stretch can add is small against MaxBytes.
const trimEvery = 10 * time.Minute

// run is the writer. Only it touches the file.
func (j *Journal) run() {
	defer close(j.done)
	var s *store
	var trimmed time.Time
	for first, last := true, false; ; first = false {
		var err error
		if s == nil {
			s, err = j.open()
			trimmed = time.Time{}
		}
		if s != nil {
			err = j.drain(s)
			if err == nil && time.Since(trimmed) > trimEvery {
				err = s.trim(j.o.MaxBytes, j.o.KeepFor, func() error { return j.drain(s) })
				trimmed = time.Now()
			}
			if err != nil {
				// SQLite's state after an error of the disk is not to be trusted (a failed sync is not told twice): begin anew.
				err = errors.Join(err, s.close())
				s = nil
			}
		}
		j.report(s, err)
		if first {
			close(j.first)
		}
		if last {
			break
		}
		wake, pause := j.wake, trimEvery
		if s == nil {
			wake, pause = nil, retryAfter // rows that come do not make a disk well again
		}
		select {
		case <-wake:
		case <-time.After(pause):
		case <-j.quit:
			last = true
		}
	}
	if s != nil {
		j.report(nil, s.close())
	}
}

// open opens the file, out of the damage of an earlier one if need be.
func (j *Journal) open() (*store, error) {
	s, err := openStore(j.path, j.o.vfs)
	if errors.Is(err, ErrDamaged) {
		if j.recoveries == mostRecoveries {
			return nil, fmt.Errorf("%w, again after %d recoveries since the start: look at the disk", err, j.recoveries)
		}
		r, e := Recover(j.path)
		if e != nil {
			return nil, errors.Join(err, e)
		}
		j.recoveries++
		j.mu.Lock()
		j.stats.Recovered, j.said = r, r
		j.mu.Unlock()
		s, err = openStore(j.path, j.o.vfs)
	}
	if err != nil {
		return nil, err
	}
	if j.tried > 0 && s.last == j.last+j.tried {
		s.last = j.last // the batch that failed is in the file, but perhaps not on the disk: it is written again in its place
	}
	j.last, s.session = s.last, j.session
	return s, nil
}

// drain writes what waits.
func (j *Journal) drain(s *store) error {
	for {
		j.mu.Lock()
		n := min(len(j.queue), batchRows)
		waiting, l := j.queue[:n], j.loss
		j.mu.Unlock()
		if n == 0 && l.n == 0 {
			return nil
		}
		var rows []row
		if l.n > 0 {
			rows = append(rows, note(l.to, "lost", fmt.Sprintf("%d records from %s to %s are in no file: %s", l.n,
				l.from.UTC().Format(time.RFC3339), l.to.UTC().Format(time.RFC3339), l.why)))
		}
		rows = append(rows, waiting...)
		j.tried = int64(len(rows))
		if err := s.append(rows); err != nil {
			return err
		}
		j.tried, j.last, j.session = 0, s.last, s.session
		j.mu.Lock()
		for _, r := range waiting {
			j.bytes -= len(r.body)
		}
		j.queue = append([]row(nil), j.queue[n:]...)
		if j.loss.n -= l.n; l.n > 0 {
			j.loss.from = l.to
		}
		j.stats.Acknowledged += int64(n)
		j.stats.LastSeq = s.last
		j.err = nil
		close(j.moved)
		j.moved = make(chan struct{})
		j.mu.Unlock()
	}
}

// report keeps what Record and Stats say.
func (j *Journal) report(s *store, err error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.err = err
	if s != nil {
		j.stats.Bytes = s.size()
		j.stats.LastSeq = s.last
	}
}

// note is a row that the journal writes of itself.
func note(at time.Time, kind, text string) row {
	r, err := encode(watch.Record{At: at, Kind: watch.KindError, Error: &watch.Failure{Where: "journal", Kind: kind, Text: text}})
	if err != nil {
		panic(err) // three strings
	}
	return r
}
