package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"math"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"legroom/watch"
)

// Reader reads a journal, also while it is being written.
type Reader struct {
	path string
	db   *sql.DB
	copy string // folder of the copy that is read in place of a file of an older version
}

// Row is one record with its place in the journal. Numbers rise by one; where some are missing, rows are gone.
type Row struct {
	Seq     int64 `json:"seq"`
	Session int64 `json:"session"` // 0: the recovery of a damaged file
	watch.Record
}

// stored is a row as the table has it.
type stored struct {
	seq, session, at int64
	kind, body       string
	check            int64
}

func (s *stored) sound() bool {
	return s.check == sum("record", []int64{s.seq, s.session, s.at}, s.kind, s.body)
}

// OpenReader opens a journal for reading. Close it. The file of an older version stays as it is: a copy of it is brought up to
// date, and read.
func OpenReader(path string) (*Reader, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("the journal: %w", err)
	}
	r, err := openReader(path, "ro")
	var e *sqlite.Error
	if err == nil || !errors.As(err, &e) {
		return r, err
	}
	// On a disk that cannot be written SQLite finds no place for its lock; there nobody writes, and without a log none is needed.
	if _, none := os.Stat(path + "-wal"); errors.Is(none, os.ErrNotExist) && (e.Code()&0xff == lib.SQLITE_CANTOPEN || e.Code()&0xff == lib.SQLITE_READONLY) {
		return openReader(path, "immutable")
	}
	return nil, err
}

func openReader(path, mode string) (*Reader, error) {
	db, err := connect(path, "", mode)
	if err != nil {
		return nil, err
	}
	var version, app int
	err = db.QueryRow("SELECT (SELECT user_version FROM pragma_user_version), (SELECT application_id FROM pragma_application_id)").Scan(&version, &app)
	switch {
	case err != nil:
		err = explain(path, err)
	case app != application:
		err = fmt.Errorf("%w: %s", ErrForeign, path)
	case version > len(steps):
		err = fmt.Errorf("%w: %s has version %d, this program knows up to %d: use the program that wrote it, or a newer one", ErrNewer, path, version, len(steps))
	case version < len(steps):
		r, err := readOlder(path, db)
		return r, errors.Join(err, db.Close())
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return &Reader{path: path, db: db}, nil
}

// readOlder reads a copy of an older file that is brought up to date.
func readOlder(path string, old *sql.DB) (_ *Reader, err error) {
	dir, err := os.MkdirTemp("", "legroom-journal-*")
	if err != nil {
		return nil, fmt.Errorf("a copy of %s to bring up to date: %w", path, err)
	}
	r := &Reader{path: path, copy: dir}
	defer func() {
		if err != nil {
			err = errors.Join(explain(path, err), r.Close())
		}
	}()
	newer := filepath.Join(dir, "journal.db")
	if err := backup(old, newer); err != nil {
		return nil, err
	}
	if r.db, err = connect(newer, "", ""); err != nil {
		return nil, err
	}
	return r, migrate(r.db, newer, steps...)
}

// Close closes the file.
func (r *Reader) Close() error {
	var err error
	if r.db != nil {
		err = r.db.Close()
	}
	if r.copy != "" {
		err = errors.Join(err, os.RemoveAll(r.copy))
	}
	return err
}

// Sessions lists what has written, in the order in which it began. The error is ErrDamaged when one of them is not what was written.
func (r *Reader) Sessions(ctx context.Context) ([]Session, error) {
	rows, err := r.db.QueryContext(ctx, "SELECT id, started, program, rig, fingerprint, mount, document, sum FROM session ORDER BY id")
	if err != nil {
		return nil, explain(r.path, err)
	}
	defer rows.Close()
	var all []Session
	for rows.Next() {
		var s Session
		var at, check int64
		if err := rows.Scan(&s.ID, &at, &s.Program, &s.Rig, &s.Print, &s.Mount, &s.Document, &check); err != nil {
			return nil, explain(r.path, err)
		}
		if check != s.sum(at) {
			return nil, fmt.Errorf("%w: %s, session %d", ErrDamaged, r.path, s.ID)
		}
		s.Started = time.Unix(0, at).UTC()
		all = append(all, s)
	}
	if err := rows.Err(); err != nil {
		return nil, explain(r.path, err)
	}
	return all, nil
}

// chunk is how many rows are read at once. In between no lock is held, so that a slow reader does not make the log grow.
const chunk = 1000

// Records yields the rows of a stretch of time, from (inclusive) to to, in the order in which they were written; zero times leave
// it open. After an error nothing more comes; ErrDamaged then says which row is not what was written, and Recover reads out
// what is behind it.
func (r *Reader) Records(ctx context.Context, from, to time.Time) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		lo, hi := int64(math.MinInt64), int64(math.MaxInt64)
		if !from.IsZero() {
			lo = from.UnixNano()
		}
		if !to.IsZero() {
			hi = to.UnixNano()
		}
		after, end, err := r.span(ctx, lo, hi)
		for more := true; err == nil && more; {
			var some []stored
			some, err = r.read(ctx, after, end)
			more = len(some) > 0
			for _, s := range some {
				after = s.seq
				if s.at < lo || s.at >= hi {
					continue
				}
				row := Row{Seq: s.seq, Session: s.session}
				if err := json.Unmarshal([]byte(s.body), &row.Record); err != nil {
					yield(Row{}, fmt.Errorf("%s, row %d: %w", r.path, s.seq, err))
					return
				}
				if !yield(row, nil) {
					return
				}
			}
		}
		if err != nil {
			yield(Row{}, err)
		}
	}
}

// span finds rows of which all within [lo, hi) are among those after the first number, up to the last. Only every 64th row is
// found by its time; the clock may have been set while the watch ran.
func (r *Reader) span(ctx context.Context, lo, hi int64) (after, end int64, err error) {
	err = r.db.QueryRowContext(ctx, `SELECT
		min(coalesce((SELECT min(seq) FROM record WHERE seq % 64 = 0 AND at >= ?1 AND at < ?2), ?3),
			coalesce((SELECT seq FROM record WHERE seq % 64 = 0 AND at < ?1 ORDER BY at DESC LIMIT 1), 0)),
		max(coalesce((SELECT max(seq) FROM record WHERE seq % 64 = 0 AND at >= ?1 AND at < ?2), 0),
			coalesce((SELECT seq FROM record WHERE seq % 64 = 0 AND at >= ?2 ORDER BY at LIMIT 1), ?3))`, lo, hi, int64(math.MaxInt64)).Scan(&after, &end)
	if err != nil {
		return 0, 0, explain(r.path, err)
	}
	return max(after-64, 0), max(end, end+64), nil // the sum may be too great for an int64
}

func (r *Reader) read(ctx context.Context, after, end int64) ([]stored, error) {
	rows, err := r.db.QueryContext(ctx, "SELECT seq, session, at, kind, body, sum FROM record WHERE seq > ? AND seq <= ? ORDER BY seq LIMIT ?", after, end, chunk)
	if err != nil {
		return nil, explain(r.path, err)
	}
	defer rows.Close()
	var some []stored
	for rows.Next() {
		var s stored
		if err := rows.Scan(&s.seq, &s.session, &s.at, &s.kind, &s.body, &s.check); err != nil {
			return nil, explain(r.path, err)
		}
		if !s.sound() {
			return some, fmt.Errorf("%w: %s, row %d is not what was written", ErrDamaged, r.path, s.seq)
		}
		some = append(some, s)
	}
	if err := rows.Err(); err != nil {
		return some, explain(r.path, err)
	}
	return some, nil
}

// Night is one night in the journal.
type Night struct {
	Evening string    `json:"evening"` // its date, by the function that Nights was given
	From    time.Time `json:"from"`    // about when its first record was written: a minute or so
	To      time.Time `json:"to"`      // likewise the last
}

// Nights lists the nights that the journal has records of, the earliest first. evening gives the date of the evening that a
// moment belongs to, as rig.Site.Evening does.
func (r *Reader) Nights(ctx context.Context, evening func(time.Time) (string, error)) ([]Night, error) {
	rows, err := r.db.QueryContext(ctx, `SELECT at FROM (SELECT at FROM record WHERE seq % 64 = 0 UNION ALL SELECT started FROM session
		UNION ALL SELECT max(at) FROM record WHERE seq > (SELECT max(seq) - 64 FROM record)) WHERE at NOT NULL ORDER BY at`)
	if err != nil {
		return nil, explain(r.path, err)
	}
	defer rows.Close()
	var all []Night
	for rows.Next() {
		var at int64
		if err := rows.Scan(&at); err != nil {
			return nil, explain(r.path, err)
		}
		t := time.Unix(0, at).UTC()
		date, err := evening(t)
		if err != nil {
			return nil, err
		}
		if n := len(all); n > 0 && all[n-1].Evening == date {
			all[n-1].To = t
		} else {
			all = append(all, Night{date, t, t})
		}
	}
	if err := rows.Err(); err != nil {
		return nil, explain(r.path, err)
	}
	return all, nil
}

// LastSample is the newest sample of a mount and a rig, for watch.Options.Resume; nil when the newest sample in the journal is of
// others, or there is none, or the mount was gone after it, so that nobody can say what it did.
func (r *Reader) LastSample(ctx context.Context, mount, fingerprint string) (*watch.Sample, error) {
	var s stored
	var m, print string
	err := r.db.QueryRowContext(ctx, `SELECT r.seq, r.session, r.at, r.kind, r.body, r.sum, s.mount, s.fingerprint FROM record r JOIN session s ON s.id = r.session
		WHERE r.kind = ? ORDER BY r.seq DESC LIMIT 1`, string(watch.KindSample)).Scan(&s.seq, &s.session, &s.at, &s.kind, &s.body, &s.check, &m, &print)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, explain(r.path, err)
	}
	if !s.sound() {
		return nil, fmt.Errorf("%w: %s, row %d is not what was written", ErrDamaged, r.path, s.seq)
	}
	if m != mount || print != fingerprint {
		return nil, nil
	}
	var rec watch.Record
	if err := json.Unmarshal([]byte(s.body), &rec); err != nil {
		return nil, fmt.Errorf("%s, row %d: %w", r.path, s.seq, err)
	}
	if rec.Sample == nil {
		return nil, fmt.Errorf("%w: %s, row %d is no sample", ErrDamaged, r.path, s.seq)
	}
	if gone, err := r.gone(ctx, s.seq, rec.Sample.Got); gone || err != nil {
		return nil, err
	}
	return rec.Sample, nil
}

// gone tells whether after a row, of a time, the mount was no longer there: its driver says so, or it was silent for long.
func (r *Reader) gone(ctx context.Context, seq int64, at time.Time) (bool, error) {
	rows, err := r.db.QueryContext(ctx, `SELECT seq, session, at, kind, body, sum FROM record WHERE seq > ? AND kind = ?`, seq, string(watch.KindError))
	if err != nil {
		return false, explain(r.path, err)
	}
	defer rows.Close()
	for rows.Next() {
		var s stored
		var rec watch.Record
		if err := rows.Scan(&s.seq, &s.session, &s.at, &s.kind, &s.body, &s.check); err != nil {
			return false, explain(r.path, err)
		}
		if !s.sound() || json.Unmarshal([]byte(s.body), &rec) != nil || rec.Error == nil {
			return false, fmt.Errorf("%w: %s, row %d is not what was written", ErrDamaged, r.path, s.seq)
		}
		if rec.Error.Where == "read" && (rec.Error.Kind == watch.NotConnected || rec.At.Sub(at) > watch.LongSilence) {
			return true, nil
		}
	}
	if err := rows.Err(); err != nil {
		return false, explain(r.path, err)
	}
	return false, nil
}
