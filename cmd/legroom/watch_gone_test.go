//go:build unix

package main

import (
	"bufio"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A terminal that is closed and a reader that is gone end no watch: it goes on until it is told to end, and its journal says so.
func TestWatchOutlivesItsTerminal(t *testing.T) {
	t.Parallel()
	s := newWatched(t)
	s.confirm()
	dir := t.TempDir()
	book := filepath.Join(dir, "night.db")
	c := exec.Command(os.Args[0], "watch", s.path, "--mount", s.mount, "--format", "json", "--capped", "--journal", book)
	c.Env = append(os.Environ(), asProgram+"="+filepath.Join(dir, "status"))
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	defer func() { _ = c.Process.Kill() }()
	if lines := bufio.NewScanner(out); !lines.Scan() {
		t.Fatal("the watch says nothing")
	}
	if err := c.Process.Signal(syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	out.Close()
	go func() { ended <- c.Wait() }()
	select {
	case err := <-ended:
		t.Fatalf("the watch has ended: %v", err)
	case <-time.After(4 * time.Second): // it has written several lines that nobody reads
	}
	if err := c.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	select {
	case <-ended:
	case <-time.After(time.Minute):
		t.Fatal("told to end, the watch does not")
	}
	if code := c.ProcessState.ExitCode(); code != done && code != answerNo {
		t.Errorf("exit %d, %s", code, c.ProcessState)
	}
	if got := legroom(t, "", "replay", book, "--format", "json"); !strings.Contains(got.out, "the watch has ended") {
		t.Errorf("the journal does not tell the end:\n%s%s", got.out, got.errors)
	}
}
