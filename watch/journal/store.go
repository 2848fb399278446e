package journal

import (
	"database/sql"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"legroom/watch"
)

// store is the database, open for writing.
type store struct {
	path    string
	db      *sql.DB
	count   *counter
	session Session // its ID is 0 until it is written
	last    int64   // sequence number of the newest row; they begin at 1 and are never used twice
	failed  error   // of the count, after rows that are on the disk: it stops the next append, and not those
}

// row is a record on its way.
type row struct {
	in   time.Time // when it was handed over, by the computer's monotonic clock
	at   time.Time
	kind watch.Kind
	body []byte
}

func encode(r watch.Record) (row, error) {
	body, err := json.Marshal(r)
	if err != nil {
		return row{}, fmt.Errorf("a record of kind %s cannot be written as JSON: %w", r.Kind, err)
	}
	return row{at: r.At, kind: r.Kind, body: body}, nil
}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// sum is the checksum of a row of a table, over its numbers and then its texts with their lengths.
func sum(table string, numbers []int64, texts ...string) int64 {
	b := []byte(table)
	for _, n := range numbers {
		b = binary.BigEndian.AppendUint64(b, uint64(n))
	}
	for _, t := range texts {
		b = binary.BigEndian.AppendUint64(b, uint64(len(t)))
		b = append(b, t...)
	}
	return int64(crc32.Checksum(b, castagnoli))
}

// dsn names a database file with what every connection to it is set to. EXTRA is FULL, and also syncs the folder after SQLite's
// rollback journal is deleted, when a new file is made: one that came back after a power cut would undo everything since.
// fullfsync makes macOS write through the disk's own cache, and does nothing elsewhere.
func dsn(path, vfs, mode string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	p := filepath.ToSlash(abs)
	if p[0] != '/' {
		p = "/" + p // a drive letter
	}
	q := url.Values{"_pragma": {"busy_timeout(5000)", "synchronous(EXTRA)", "fullfsync(1)", "checkpoint_fullfsync(1)", "journal_size_limit(8388608)"}}
	if vfs != "" {
		q.Set("vfs", vfs)
	}
	switch mode {
	case "ro":
		q.Set("mode", "ro")
	case "immutable":
		q.Set("immutable", "1")
	}
	return (&url.URL{Scheme: "file", Path: p, RawQuery: q.Encode()}).String(), nil
}

func connect(path, vfs, mode string) (*sql.DB, error) {
	name, err := dsn(path, vfs, mode)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// openStore opens or makes the file of a journal. The error is ErrDamaged when rows are gone or it cannot be read; nothing has
// been changed then.
func openStore(path, vfs string) (_ *store, err error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return nil, fmt.Errorf("the folder of the journal: %w", err)
	}
	if err := sound(path); err != nil {
		return nil, err
	}
	db, err := connect(path, vfs, "")
	if err != nil {
		return nil, err
	}
	s := &store{path: path, db: db}
	defer func() {
		if err != nil {
			err = errors.Join(explain(path, err), s.close())
		}
	}()
	if err := migrate(db, path, steps...); err != nil {
		return nil, err
	}
	for pragma, want := range map[string]string{"journal_mode = WAL": "wal", "synchronous": "3"} {
		var got string
		if err := db.QueryRow("PRAGMA " + pragma).Scan(&got); err != nil {
			return nil, err
		}
		if got != want {
			return nil, fmt.Errorf("%s: %s is %s and not %s: choose a folder on a local disk", path, pragma, got, want)
		}
	}
	if err := db.QueryRow("SELECT coalesce(max(seq), 0) FROM record").Scan(&s.last); err != nil {
		return nil, err
	}
	if s.count, err = openCounter(path); err != nil {
		return nil, err
	}
	// Numbers of rows that are gone, or were taken away, are not used again.
	s.last = max(s.last, s.count.last)
	s.count.last = s.last
	syncDir(filepath.Dir(path))
	return s, nil
}

// append writes rows in one transaction. nil: they are on the disk. After an error they may be there all the same (a sync that
// failed): the same rows under the same numbers then take their place.
func (s *store) append(rows []row) error {
	if s.failed != nil {
		return s.failed
	}
	tx, err := s.db.Begin()
	if err != nil {
		return explain(s.path, err)
	}
	defer tx.Rollback()
	session, last := s.session, s.last
	if session.ID == 0 {
		session.Started = rows[0].at
		if err := insertSession(tx, &session); err != nil {
			return explain(s.path, err)
		}
	}
	insert, err := tx.Prepare("INSERT OR REPLACE INTO record (seq, session, at, kind, body, sum) VALUES (?, ?, ?, ?, ?, ?)")
	if err != nil {
		return explain(s.path, err)
	}
	defer insert.Close()
	for _, r := range rows {
		last++
		at, kind, body := r.at.UnixNano(), string(r.kind), string(r.body)
		if _, err := insert.Exec(last, session.ID, at, kind, body, sum("record", []int64{last, session.ID, at}, kind, body)); err != nil {
			return explain(s.path, err)
		}
	}
	if err := tx.Commit(); err != nil {
		return explain(s.path, err)
	}
	s.session, s.last = session, last
	s.count.last = last
	s.failed = s.count.write(false)
	return nil
}

func insertSession(tx *sql.Tx, s *Session) error {
	if err := tx.QueryRow("SELECT coalesce(max(id), 0) + 1 FROM session").Scan(&s.ID); err != nil {
		return err
	}
	at := s.Started.UnixNano()
	_, err := tx.Exec("INSERT INTO session (id, started, program, rig, fingerprint, mount, document, sum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
		s.ID, at, s.Program, s.Rig, s.Print, s.Mount, s.Document, s.sum(at))
	return err
}

func (s *Session) sum(started int64) int64 {
	return sum("session", []int64{s.ID, started}, s.Program, s.Rig, s.Print, s.Mount, s.Document)
}

// trim takes rows away from the old end: those older than keepFor, and as many as bring the database below most bytes. It does so
// in short transactions, and calls between after each. The file does not get smaller: its free pages are used again.
func (s *store) trim(most int64, keepFor time.Duration, between func() error) error {
	for {
		var pages, free, newest int64
		err := s.db.QueryRow(`SELECT (SELECT page_count FROM pragma_page_count), (SELECT freelist_count FROM pragma_freelist_count),
			(SELECT coalesce(max(at), 0) FROM record WHERE seq > ?)`, s.last-batchRows).Scan(&pages, &free, &newest)
		if err != nil {
			return explain(s.path, err)
		}
		var first, end sql.NullInt64
		// What is old is a stretch at the old end, whatever the clock did in the middle.
		if (pages-free)*pageSize > most {
			err = s.db.QueryRow("SELECT min(seq), min(seq) + ? FROM record", batchRows).Scan(&first, &end)
		} else if keepFor > 0 {
			err = s.db.QueryRow(`SELECT min(seq), coalesce((SELECT min(seq) FROM (SELECT seq, at FROM record ORDER BY seq LIMIT ?) WHERE at >= ?),
				min(seq) + ?) FROM record`, batchRows, newest-int64(keepFor), batchRows).Scan(&first, &end)
		}
		if err != nil {
			return explain(s.path, err)
		}
		if !first.Valid || end.Int64 <= first.Int64 || first.Int64 >= s.last {
			return nil
		}
		// The floor goes first: a recovery then brings back no row that was taken away.
		old, floor := max(s.count.floor, 1), min(end.Int64, s.last)
		s.count.floor = floor
		if err := s.count.write(true); err != nil {
			return err
		}
		done, err := s.db.Exec("DELETE FROM record WHERE seq < ?", floor)
		if err != nil {
			return explain(s.path, err)
		}
		if n, err := done.RowsAffected(); err == nil {
			s.count.gone = max(0, s.count.gone-(floor-old-n)) // holes that were among them
		}
		if _, err := s.db.Exec("DELETE FROM session WHERE id < (SELECT min(session) FROM record)"); err != nil {
			return explain(s.path, err)
		}
		if err := between(); err != nil {
			return err
		}
	}
}

// size is that of the files, bytes.
func (s *store) size() int64 {
	n := int64(0)
	for _, end := range []string{"", "-wal", "-shm"} {
		if f, err := os.Stat(s.path + end); err == nil {
			n += f.Size()
		}
	}
	return n
}

func (s *store) close() error {
	err := s.db.Close()
	if s.count != nil {
		err = errors.Join(err, s.count.write(true), s.count.close())
	}
	return err
}

// explain says in plain words what SQLite's error means for the owner.
func explain(path string, err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() & 0xff {
	case lib.SQLITE_FULL:
		return fmt.Errorf("%s: the disk is full: make room on it: %w", path, err)
	case lib.SQLITE_READONLY, lib.SQLITE_PERM:
		return fmt.Errorf("%s: it may not be written: give this user the right to write the file and its folder: %w", path, err)
	case lib.SQLITE_CANTOPEN:
		return fmt.Errorf("%s: it cannot be opened: its folder must exist, and this user be allowed to write there: %w", path, err)
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		return fmt.Errorf("%w: %s: %w", ErrDamaged, path, err)
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return fmt.Errorf("%s: another program holds it: close that one: %w", path, err)
	}
	return fmt.Errorf("%s: %w", path, err)
}

// syncDir makes the names of new files survive a power cut. Where a folder cannot be synced (Windows) the file system does it.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		d.Close()
	}
}
