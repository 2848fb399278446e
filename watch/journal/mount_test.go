//go:build linux

package journal

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// grandchild makes the test's own program try a small disk of its own in a name space of its own.
const grandchild = "LEGROOM_JOURNAL_DISK"

// A real disk that gets full, and one that may only be read. It needs the right to mount in a name space of its own.
func TestRealDisk(t *testing.T) {
	if os.Getenv(grandchild) != "" {
		smallDisk(t, os.Getenv(grandchild))
		return
	}
	c := exec.Command(os.Args[0], "-test.run=^TestRealDisk$", "-test.v")
	c.Env = append(os.Environ(), grandchild+"="+t.TempDir())
	c.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}}
	out, err := c.CombinedOutput()
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.ENOSPC) || bytes.Contains(out, []byte("--- SKIP")) {
		t.Skipf("no name space of its own here: %v %s", err, out)
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	t.Logf("%s", out)
}

func smallDisk(t *testing.T, dir string) {
	if err := syscall.Mount("small", dir, "tmpfs", 0, "size=2m"); err != nil {
		t.Skip(err)
	}
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
	if err := syscall.Mount("small", dir, "tmpfs", syscall.MS_REMOUNT, "size=60m"); err != nil {
		t.Fatal(err)
	}
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

	if err := syscall.Mount("small", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
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
	if err := syscall.Mount("small", dir, "tmpfs", syscall.MS_REMOUNT, ""); err != nil {
		t.Fatal(err)
	}
	keep(t, filepath.Join(dir, "new.db"), 0, 5, true)
}
