//go:build linux

package main

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"legroom/report"
	"legroom/rig/smalldisk"
	"legroom/watch"
)

// A real disk that gets full, and one that may only be read: files that were there stay whole, those that were to come are not begun,
// and a watch whose journal cannot be written watches on, and says so. It needs the right to mount in a name space of its own.
func TestFullDisk(t *testing.T) {
	smalldisk.Try(t, "4m", func(d smalldisk.Disk) { onSmallDisk(t, d) })
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

func onSmallDisk(t *testing.T, d smalldisk.Disk) {
	disk := d.Dir
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
	d.Fill(in("filler"))
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
	d.Fill(in("filler"))
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

	d.ReadOnly()
	attempts("read-only file system")
	r := legroom(t, "", "watch", s.path, "--mount", s.mount, "--capped", "--journal", in("night.db"))
	if r.code != wrongUse || !strings.Contains(r.errors, "--journal") {
		t.Errorf("a journal where nothing can be written: code %d, %s", r.code, r.errors)
	}
	d.Writable()
}
