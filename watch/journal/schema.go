package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

const (
	// application marks the file as ours (PRAGMA application_id): "LgrJ".
	application = 0x4c67724a
	pageSize    = 4096 // recovery counts on it

	recordTable = `CREATE TABLE record (seq INTEGER PRIMARY KEY, session INTEGER NOT NULL, at INTEGER NOT NULL, kind TEXT NOT NULL,
		body TEXT NOT NULL, sum INTEGER NOT NULL)`
	sessionTable = `CREATE TABLE session (id INTEGER PRIMARY KEY, started INTEGER NOT NULL, program TEXT NOT NULL, rig TEXT NOT NULL,
		fingerprint TEXT NOT NULL, mount TEXT NOT NULL, document TEXT NOT NULL, sum INTEGER NOT NULL)`
	// Every 64th row is found by its time. An index of all rows would double what each second writes.
	timeIndex = `CREATE INDEX record_at ON record (at) WHERE seq % 64 = 0`
)

// steps lead from one version of the tables to the next: the first makes an empty file version 1. A step, once released, stays as
// it is. at is Unix time in nanoseconds; body is a watch.Record as JSON; sum is sum() of the columns before it.
var steps = []string{recordTable + ";" + sessionTable + ";" + timeIndex}

// Version is the version of the tables that this program writes.
func Version() int { return len(steps) }

// migrate brings a file up to the version that steps lead to, with a copy kept of what it was. A file of a later version, or of
// another program, is refused as it is.
func migrate(db *sql.DB, path string, steps ...string) error {
	var version, app, tables int
	err := db.QueryRow(`SELECT (SELECT user_version FROM pragma_user_version), (SELECT application_id FROM pragma_application_id),
		(SELECT count(*) FROM sqlite_schema)`).Scan(&version, &app, &tables)
	switch {
	case err != nil:
		return err
	case app != application && (app != 0 || version != 0 || tables != 0):
		return fmt.Errorf("%w: %s: give the name of a journal, or of a new file", ErrForeign, path)
	case version > len(steps):
		return fmt.Errorf("%w: %s has version %d, this program knows up to %d: use the program that wrote it or a newer one, or give another file; nothing was changed",
			ErrNewer, path, version, len(steps))
	case version == len(steps):
		return nil
	}
	if version > 0 {
		if err := backup(db, fmt.Sprintf("%s.version%d", path, version)); err != nil {
			return fmt.Errorf("the copy of %s before it is brought to version %d: %w", path, len(steps), err)
		}
	}
	if version == 0 {
		if _, err := db.Exec(fmt.Sprintf("PRAGMA page_size = %d; PRAGMA journal_mode = WAL", pageSize)); err != nil {
			return err
		}
	}
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	for i, step := range steps[version:] {
		if _, err := tx.Exec(step); err != nil {
			return fmt.Errorf("bringing %s to version %d: %w", path, version+i+1, err)
		}
	}
	if _, err := tx.Exec(fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", application, len(steps))); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	_, err = db.Exec("PRAGMA wal_checkpoint(TRUNCATE)") // so that the file itself says what it is
	return err
}

// backup copies a database into a new file, all or nothing.
func backup(db *sql.DB, to string) error {
	part := to + ".part"
	if err := os.Remove(part); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if _, err := db.Exec("VACUUM INTO ?", part); err != nil {
		return err
	}
	return settle(part, to)
}

// settle gives a finished file its name, with its content on the disk.
func settle(part, to string) error {
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(part, to); err != nil {
		return err
	}
	syncDir(filepath.Dir(to))
	return nil
}

// aside gives a name beside path that is not taken.
func aside(path, why string, now time.Time) string {
	ext := filepath.Ext(path)
	base := fmt.Sprintf("%s.%s-%s", strings.TrimSuffix(path, ext), why, now.UTC().Format("20060102T150405Z"))
	for i := 0; ; i++ {
		name := base + ext
		if i > 0 {
			name = fmt.Sprintf("%s-%d%s", base, i, ext)
		}
		if _, err := os.Lstat(name); errors.Is(err, os.ErrNotExist) {
			return name
		}
	}
}
