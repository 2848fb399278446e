package smalldisk

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"syscall"
	"testing"
)

// own makes the test's own program try a small disk of its own; its value is where that lies.
const own = "LEGROOM_SMALL_DISK"

// Disk is a small disk that is mounted at a folder.
type Disk struct {
	Dir string
	t   *testing.T
}

// Try runs the rest of a test, which try is, in a process and a name space of its own, in which a disk of a size such as 2m is mounted.
// Where there is no right to do so the test is skipped. Tests that are parallel run meanwhile.
func Try(t *testing.T, size string, try func(d Disk)) {
	t.Helper()
	if dir := os.Getenv(own); dir != "" {
		if err := syscall.Mount("small", dir, "tmpfs", 0, "size="+size); err != nil {
			t.Skip(err)
		}
		try(Disk{dir, t})
		return
	}
	t.Parallel()
	c := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
	c.Env = append(os.Environ(), own+"="+t.TempDir())
	c.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}}
	out, err := c.CombinedOutput()
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.ENOSPC) || bytes.Contains(out, []byte("--- SKIP")) {
		t.Skipf("SKIPPED: no name space of its own here, so no disk is filled: %v %s", err, out)
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	t.Logf("%s", out)
}

// Fill writes a file until not a byte more goes onto the disk.
func (d Disk) Fill(path string) {
	d.t.Helper()
	f, err := os.Create(path)
	if err != nil {
		d.t.Fatal(err)
	}
	for _, n := range []int{4096, 1} {
		for err = nil; err == nil; {
			_, err = f.Write(make([]byte, n))
		}
	}
	f.Close()
}

// Resize changes the size.
func (d Disk) Resize(size string) { d.remount(0, "size="+size) }

// ReadOnly lets nobody write any more, until Writable.
func (d Disk) ReadOnly() { d.remount(syscall.MS_RDONLY, "") }

// Writable takes ReadOnly back.
func (d Disk) Writable() { d.remount(0, "") }

func (d Disk) remount(flags uintptr, options string) {
	d.t.Helper()
	if err := syscall.Mount("small", d.Dir, "tmpfs", syscall.MS_REMOUNT|flags, options); err != nil {
		d.t.Fatal(err)
	}
}
