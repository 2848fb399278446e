package journal

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var storeNow = flag.Bool("store", false, "keep a file of the present version in testdata, where none is yet")

// storedFile names a journal as the program of a version wrote it: records(0, 100) in one session. A version's file is made by
// `go test ./watch/journal -run TestStoredVersions -store` before the next version is begun, and is never made anew.
func storedFile(version int) string { return fmt.Sprintf("testdata/version%d.db", version) }

// A file of every version that there has been is read where it lies, goes on, and is kept as it was when it is brought up to date; so
// is each of them by a program that has a further version.
func TestStoredVersions(t *testing.T) {
	if _, err := os.Stat(storedFile(Version())); errors.Is(err, os.ErrNotExist) && *storeNow {
		path := filepath.Join(t.TempDir(), "night.db")
		keep(t, path, 0, 100, false)
		data, err := os.ReadFile(path)
		if err == nil {
			err = errors.Join(os.MkdirAll("testdata", 0o755), os.WriteFile(storedFile(Version()), data, 0o644))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	released := Version()
	for v := 1; v <= released; v++ {
		t.Run(fmt.Sprintf("%d by %d", v, released), func(t *testing.T) { goesOn(t, v) })
	}
	// What a further version will do: a column more, that each row of it has.
	now := steps
	steps = append(steps[:len(steps):len(steps)], "ALTER TABLE record ADD COLUMN extra TEXT NOT NULL DEFAULT ''")
	defer func() { steps = now }()
	for v := 1; v <= released; v++ {
		t.Run(fmt.Sprintf("%d by %d", v, released+1), func(t *testing.T) { goesOn(t, v) })
	}
}

// goesOn reads the stored file of a version, writes on in it, and looks at both what it became and what was kept.
func goesOn(t *testing.T, version int) {
	original, err := os.ReadFile(storedFile(version))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "night.db")
	if err := os.WriteFile(path, original, 0o644); err != nil {
		t.Fatal(err)
	}
	temp := t.TempDir()
	t.Setenv("TMPDIR", temp)
	t.Setenv("TMP", temp)
	holds := func(path string, n int) {
		t.Helper()
		rows, err := all(t, path)
		if err != nil {
			t.Fatal(err)
		}
		same(t, rows, 1, records(0, n))
		r, err := OpenReader(path)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		sessions, err := r.Sessions(within(t))
		if err != nil || len(sessions) == 0 || sessions[0].Document != session.Document || sessions[0].Rig != session.Rig {
			t.Errorf("%d sessions, %v", len(sessions), err)
		}
		if c, err := Check(within(t), path); err != nil || c.Rows != int64(n) {
			t.Errorf("%+v, %v", c, err)
		}
	}
	holds(path, 100)
	if data, err := os.ReadFile(path); err != nil || !bytes.Equal(data, original) {
		t.Errorf("reading changed the file, %v", err)
	}

	keep(t, path, 100, 30, false)
	kept := fmt.Sprintf("%s.version%d", path, version)
	if _, err := os.Stat(kept); (err == nil) != (version < Version()) {
		t.Errorf("%s: %v", kept, err)
	}
	holds(path, 130)
	db, err := connect(path, "", "ro")
	if err != nil {
		t.Fatal(err)
	}
	var is int
	if err := errors.Join(db.QueryRow("SELECT user_version FROM pragma_user_version").Scan(&is), db.Close()); err != nil || is != Version() {
		t.Errorf("version %d, %v", is, err)
	}
	if version < Version() {
		holds(kept, 100)
	}
	if left, err := filepath.Glob(filepath.Join(temp, "*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// A file of a version to come is refused by name of both versions, with what to do, and stays as it is.
func TestNewerVersionIsRefusedByName(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	keep(t, path, 0, 10, false)
	now := steps
	steps = append(steps[:len(steps):len(steps)], "ALTER TABLE record ADD COLUMN extra TEXT")
	keep(t, path, 10, 10, false)
	steps = now
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	_, reading := OpenReader(path)
	_, recovering := Recover(path)
	j := Open(path, Options{Session: session})
	writing := j.Ready()
	_ = j.Close()
	for what, err := range map[string]error{"reading": reading, "recovering": recovering, "writing": writing} {
		if !errors.Is(err, ErrNewer) {
			t.Errorf("%s: %v", what, err)
			continue
		}
		for _, want := range []string{path, fmt.Sprintf("version %d", Version()+1), fmt.Sprintf("up to %d", Version()), "use the program that wrote it"} {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %q does not say %q", what, err, want)
			}
		}
	}
	if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("a newer file was changed, %v", err)
	}
}
