//go:build linux

package main

import (
	"bytes"
	"errors"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"legroom/report"
	"legroom/watch"
)

// grandchild makes the test's own program try a small disk of its own in a name space of its own.
const grandchild = "LEGROOM_SMALL_DISK"

// A real disk that gets full, and one that may only be read: files that were there stay whole, those that were to come are not begun,
// and a watch whose journal cannot be written watches on, and says so. It needs the right to mount in a name space of its own.
func TestFullDisk(t *testing.T) {
	if dir := os.Getenv(grandchild); dir != "" {
		onSmallDisk(t, dir)
		return
	}
	c := exec.Command(os.Args[0], "-test.run=^TestFullDisk$", "-test.v")
	c.Env = append(os.Environ(), grandchild+"="+t.TempDir())
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
}

// listing is what lies in a folder, with what is in it.
func listing(t *testing.T, dir string) map[string]string {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, f := range files {
		if f.Name() != "filler" {
			out[f.Name()] = content(t, filepath.Join(dir, f.Name()))
		}
	}
	return out
}

func fillDisk(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{4096, 1} {
		for err = nil; err == nil; {
			_, err = f.Write(make([]byte, n))
		}
	}
	f.Close()
}

func onSmallDisk(t *testing.T, disk string) {
	if err := syscall.Mount("small", disk, "tmpfs", 0, "size=4m"); err != nil {
		t.Skip(err)
	}
	in := func(name string) string { return filepath.Join(disk, name) }
	for name, text := range map[string]string{"mine.yaml": content(t, "../../watch/testdata/pier.yaml"), "map.svg": "old", "card.pdf": "old"} {
		if err := os.WriteFile(in(name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	before := listing(t, disk)
	attempts := func(why string) {
		t.Helper()
		for _, args := range [][]string{
			{"new", "--output", in("new.yaml"), "--latitude-deg", "36.9", "--longitude-deg", "-2.4"},
			{"map", in("mine.yaml"), "--output", in("map.svg"), "--step-deg", "5"},
			{"card", in("mine.yaml"), "--output", in("card.pdf")},
			{"confirm", in("mine.yaml"), "--all"},
			{"change", in("mine.yaml"), "--set", "tube.slide_mm=5", "--save", "other"},
		} {
			r := legroom(t, "", args...)
			if r.code != wrongUse || !strings.Contains(r.errors, why) || !strings.Contains(r.errors, disk) {
				t.Errorf("%s: code %d, %q", strings.Join(args, " "), r.code, r.errors)
			}
		}
		if now := listing(t, disk); !maps.Equal(before, now) {
			t.Errorf("%d files before, %d now", len(before), len(now))
			for name := range now {
				t.Log(name, len(now[name]))
			}
		}
	}
	fillDisk(t, in("filler"))
	attempts("no space left on device")
	if err := os.Remove(in("filler")); err != nil {
		t.Fatal(err)
	}

	s := newWatched(t)
	s.confirm()
	s.start("--journal", in("night.db"))
	s.until("blind until the reference is confirmed", func(l report.WatchLine) bool {
		return l.Status != nil && l.Status.Sample != nil && slices.Equal(l.Status.Blind, []watch.Reason{watch.BlindReference})
	})
	s.order("confirm west")
	seen := func(l report.WatchLine) bool {
		return l.Status != nil && l.Status.Sample != nil && len(l.Status.Blind) == 0
	}
	alarmed := func(l report.WatchLine) bool {
		return seen(l) && slices.ContainsFunc(l.Status.Alarms, func(a watch.AlarmState) bool { return a.Key == "journal" })
	}
	s.until("watching", seen)
	fillDisk(t, in("filler"))
	s.until("an alarm about the journal, and watching", alarmed)
	for range 3 {
		s.until("watching on", alarmed)
	}
	if err := os.Remove(in("filler")); err != nil {
		t.Fatal(err)
	}
	s.until("the journal again, and no alarm", func(l report.WatchLine) bool { return seen(l) && !alarmed(l) })
	if err := s.stop(); err != nil {
		t.Errorf("the end: %v %s", err, s.errs)
	}
	must(t, done, "replay", in("night.db"), "--check")
	for _, end := range []string{"", "-wal", "-shm", "-count"} {
		_ = os.Remove(in("night.db" + end))
	}

	if err := syscall.Mount("small", disk, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	attempts("read-only file system")
	r := legroom(t, "", "watch", s.path, "--mount", s.mount, "--capped", "--journal", in("night.db"))
	if r.code != wrongUse || !strings.Contains(r.errors, "--journal") {
		t.Errorf("a journal where nothing can be written: code %d, %s", r.code, r.errors)
	}
	if err := syscall.Mount("small", disk, "tmpfs", syscall.MS_REMOUNT, ""); err != nil {
		t.Fatal(err)
	}
}
