//go:build linux

package journal

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"legroom/rig/smalldisk"
)

// A real disk that gets full, and one that may only be read. It needs the right to mount in a name space of its own.
func TestRealDisk(t *testing.T) {
	smalldisk.Try(t, "2m", func(d smalldisk.Disk) { onSmallDisk(t, d) })
}

func onSmallDisk(t *testing.T, d smalldisk.Disk) {
	dir := d.Dir
	path := filepath.Join(dir, "night.db")
	j := Open(path, Options{Session: session})
	n := 0
	var err error
	for err == nil {
		if n += 10; n > 20000 {
			t.Fatal("the disk never gets full")
		}
		err = j.Record(records(n-10, 10))
		time.Sleep(2 * time.Millisecond)
	}
	t.Logf("after %d rows: %v", n, err)
	if !strings.Contains(err.Error(), "full") {
		t.Error(err)
	}
	for range 10 {
		if err := j.Record(records(n, 10)); err == nil || errors.Is(err, ErrLost) {
			t.Error(err)
		}
		n += 10
	}
	d.Resize("60m")
	if err := j.Flush(within(t)); err != nil {
		t.Fatal(err)
	}
	if err := j.Record(nil); err != nil {
		t.Error(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	rows, err := all(t, path)
	if err != nil {
		t.Fatal(err)
	}
	same(t, rows, 1, records(0, n))

	d.ReadOnly()
	if rows, err = all(t, path); err != nil {
		t.Fatal(err)
	}
	same(t, rows, 1, records(0, n))
	for _, p := range []string{path, filepath.Join(dir, "new.db"), filepath.Join(dir, "folder", "new.db")} {
		j := Open(p, Options{Session: session})
		err := errors.Join(j.Ready(), j.Record(records(0, 1)))
		t.Log(err)
		if err == nil {
			t.Error("silent")
		}
		if err := j.Close(); !errors.Is(err, ErrLost) {
			t.Error(err)
		}
	}
	d.Writable()
	keep(t, filepath.Join(dir, "new.db"), 0, 5, true)
}
