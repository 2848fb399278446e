//go:build unix

package main

import (
	"bufio"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"legroom/mount/sim"
	"legroom/report"
	"legroom/watch"
)

// A stop that does not work is seen to when the watch is told to end. Told a second time, it ends at once, and says last what that means.
func TestSecondInterruptEndsAtOnce(t *testing.T) {
	t.Parallel()
	s := newWatched(t)
	s.confirm()
	c := exec.Command(os.Args[0], "watch", s.path, "--mount", s.mount, "--format", "json", "--capped")
	c.Env = append(os.Environ(), asProgram+"="+filepath.Join(t.TempDir(), "account"))
	var errs strings.Builder
	c.Stderr = &errs
	keys, err := c.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan struct{})
	defer func() { _ = c.Process.Kill(); <-ended }()
	s.keys, s.lines = keys, make(chan report.WatchLine, 10000)
	go func() {
		defer close(ended)
		lines := bufio.NewScanner(out)
		lines.Buffer(nil, 1<<20)
		for lines.Scan() {
			var l report.WatchLine
			if err := json.Unmarshal(lines.Bytes(), &l); err == nil {
				s.lines <- l
			}
		}
		_, _ = io.Copy(io.Discard, out)
		_ = c.Wait()
	}()
	s.until("a look", func(l report.WatchLine) bool { return l.Status != nil && l.Status.Sample != nil })
	s.order("confirm west")
	s.until("watching", func(l report.WatchLine) bool { return l.Status != nil && len(l.Status.Blind) == 0 })
	if err := s.sim.SetFaults(sim.Faults{IgnoreStop: true}); err != nil {
		t.Fatal(err)
	}
	if err := s.sim.Unpark(); err != nil {
		t.Fatal(err)
	}
	s.until("tracking", func(l report.WatchLine) bool { return l.Status != nil && l.Status.Sample.Tracking == "yes" })
	s.order("stop")
	s.until("a stop that does not work", rung(watch.Stopping))

	if err := c.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	select {
	case <-ended:
		t.Fatalf("the stop was not seen to: %s", &errs)
	case <-time.After(1500 * time.Millisecond):
	}
	if err := c.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	select {
	case <-ended:
	case <-time.After(2 * time.Second):
		t.Fatal("told twice, and it has not ended")
	}
	last := strings.Split(strings.TrimSpace(errs.String()), "\n")
	if code := c.ProcessState.ExitCode(); code != answerNo || !strings.Contains(last[len(last)-1], "nothing stops this mount now") {
		t.Errorf("code %d, %q", code, errs.String())
	}
}
