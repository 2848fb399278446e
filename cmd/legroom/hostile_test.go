//go:build linux

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode"
)

// What a command may take that is given a hostile file: far more than it needs, far less than would hurt.
var (
	hostileWithin       = time.Minute // on a machine that has much else to do
	hostileMemory int64 = 120 << 20   // bytes at the peak; the program alone takes 20 MiB
)

// child runs a command in a process of its own, and gives its peak of memory in bytes.
func child(t *testing.T, args ...string) (result, int64) {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), hostileWithin)
	defer stop()
	c := exec.CommandContext(ctx, os.Args[0], args...)
	account := filepath.Join(t.TempDir(), "status")
	c.Env = append(os.Environ(), asProgram+"="+account)
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	err := c.Run()
	if ctx.Err() != nil {
		t.Errorf("legroom %s: not ended after %v", strings.Join(args, " "), hostileWithin)
		return result{errors: errs.String()}, 0
	}
	if c.ProcessState == nil {
		t.Fatal(err)
	}
	// Not the usage that wait gives: that of a process which was forked starts with the peak of the one that forked it.
	_, peak, ok := strings.Cut(content(t, account), "VmHWM:")
	var kB int64
	if _, err := fmt.Sscan(peak, &kB); !ok || err != nil {
		t.Fatalf("no peak in %s: %v", account, err)
	}
	return result{c.ProcessState.ExitCode(), out.String(), errs.String()}, kB << 10
}

// bomb is YAML whose aliases stand for ten to the tenth numbers.
func bomb(key string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:\n  a: &a [1,1,1,1,1,1,1,1,1,1]\n", key)
	for c := 'b'; c < 'k'; c++ {
		fmt.Fprintf(&b, "  %c: &%c [%s]\n", c, c, strings.TrimSuffix(strings.Repeat(fmt.Sprintf("*%c,", c-1), 10), ","))
	}
	return b.String()
}

// Files that are too large, endless, too deep, not text, or lead elsewhere end every command that reads one with code 2, a
// short error of printable text that names the file, and within bounds of time and memory.
func TestHostileFiles(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	good := content(t, karoo)
	write := func(name, text string) string {
		if err := os.WriteFile(in(name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return in(name)
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	with := func(old, new string) string {
		if !strings.Contains(good, old) {
			t.Fatalf("no %q", old)
		}
		return strings.Replace(good, old, new, 1)
	}
	write("good.yaml", good)
	write("huge.yaml", "")
	must(os.Truncate(in("huge.yaml"), 1<<30)) // sparse
	must(os.Symlink(in("huge.yaml"), in("huge.csv")))
	must(syscall.Mkfifo(in("pipe.yaml"), 0o600))
	must(os.Symlink(in("pipe.yaml"), in("pipe.csv")))
	must(os.Symlink("/dev/zero", in("zero.yaml")))
	must(os.Symlink("/dev/zero", in("zero.csv")))
	must(os.Symlink("loop.yaml", in("loop.yaml")))
	must(os.Symlink("/etc", in("out")))
	must(os.Symlink("/etc/passwd", in("passwd.yaml")))
	write("brackets.yaml", strings.Repeat("[", 100_000))
	write("braces.yaml", "a: "+strings.Repeat("{a: ", 100_000))
	write("bomb.yaml", bomb("legroom"))
	write("x.csv", "name\n"+strings.Repeat("x\n", 1<<19-10))
	write("x.txt", strings.Repeat("x\n", 1<<19-10))
	write("quote.csv", "name\n\""+strings.Repeat("\n", 1<<19))
	part := "\n  - {name: x, frame: ground, shape: sphere, size_mm: [5], at_mm: [9, 9, 9]}"
	write("million.yaml", good+"parts:"+strings.Repeat(part, 1_000_000))
	write("thousands.yaml", good+"parts:"+strings.Repeat(part, 3_900))
	for i := range 12 {
		write(fmt.Sprintf("chain%d.yaml", i), fmt.Sprintf("from: chain%d.yaml\n", i+1))
	}
	mount := func(from string) string { return with("mount:\n", "mount:\n  from: "+from+"\n") }
	for name, text := range map[string]string{
		"nan":      with("height_mm: 1010 ± 3", "height_mm: .nan"),
		"inf":      with("height_mm: 1010 ± 3", "height_mm: -.inf ± .inf"),
		"exponent": with("height_mm: 1010 ± 3", "height_mm: 1e99999999999 ± 1e-99999"),
		"digits":   with("height_mm: 1010 ± 3", "height_mm: "+strings.Repeat("9", 15_000)),
		"control":  with("name: Karoo, Newtonian on a pier", "name: \"\\x1b[2J\\a\""),
		"bytes":    with("name: Karoo", "name: \xff\xfe\xc3("),
		"key":      good + "\"\\x1b[2J\": 1\n",
		"cycle":    mount("cycle.yaml"), "chain": mount("chain0.yaml"), "outside": mount("out/passwd"), "link": mount("passwd.yaml"),
		"looped": mount("loop.yaml"), "piped": mount("pipe.yaml"), "device": mount("zero.yaml"), "giant": mount("huge.yaml"), "up": mount("../good.yaml"),
		"skyline": with("horizon: [[0, 2], [13, 3], [15, 7], [45, 19], [90, 25], [135, 19], [162, 8], [164, 4], [205, 4], [215, 15], [240, 15], [250, 3]]", "horizon: x.txt"),
	} {
		write(name+".yaml", text)
	}

	type call struct {
		name string
		args []string
	}
	var calls []call
	for _, name := range []string{"huge", "pipe", "zero", "loop", "passwd", "brackets", "braces", "bomb", "million", "thousands", "nan", "inf", "exponent", "digits",
		"control", "bytes", "key", "cycle", "chain", "outside", "link", "looped", "piped", "device", "giant", "up"} {
		calls = append(calls, call{name, []string{"check", in(name + ".yaml")}})
	}
	calls = append(calls, call{"x.txt", []string{"check", in("skyline.yaml")}})
	for _, name := range []string{"huge", "pipe", "bomb", "nan", "cycle", "million"} {
		calls = append(calls, call{name, []string{"limits", in(name + ".yaml")}})
	}
	for _, name := range []string{"huge.yaml", "pipe.yaml", "zero.yaml", "brackets.yaml", "braces.yaml", "bomb.yaml", "bytes.yaml", "huge.csv", "pipe.csv", "zero.csv", "x.csv", "quote.csv"} {
		calls = append(calls, call{name, []string{"night", karoo, "--targets", in(name)}})
	}
	for _, name := range []string{"huge.yaml", "zero.yaml", "quote.csv"} {
		calls = append(calls, call{name, []string{"poses", karoo, "--input", in(name)}})
	}
	for _, name := range []string{"huge.yaml", "pipe.yaml", "zero.yaml", "brackets.yaml", "braces.yaml", "bomb.yaml", "bytes.yaml"} {
		calls = append(calls, call{name, []string{"proof", karoo, "--measured", in(name)}},
			call{name, []string{"change", in("good.yaml"), "--swap", "support.obstacles=" + in(name)}})
	}
	if testing.Short() {
		t.Logf("SHORT: every third of %d calls", len(calls))
	}
	var most int64
	for i, c := range calls {
		if testing.Short() && i%3 != 0 {
			continue
		}
		r, peak := child(t, c.args...)
		said := strings.TrimSpace(r.errors)
		if r.code != wrongUse || r.out != "" || !strings.Contains(said, strings.TrimSuffix(strings.TrimSuffix(c.name, ".yaml"), ".csv")) ||
			len(said) > 6000 || strings.ContainsFunc(said, func(x rune) bool { return unicode.IsControl(x) && x != '\n' || x == unicode.ReplacementChar }) ||
			strings.Contains(said, "goroutine") {
			t.Errorf("legroom %s: code %d, %d bytes on standard output, %.300q", strings.Join(c.args, " "), r.code, len(r.out), said)
		}
		if most = max(most, peak); peak > hostileMemory {
			t.Errorf("legroom %s: %d MiB", strings.Join(c.args, " "), peak>>20)
		}
	}
	t.Logf("%d MiB at the most", most>>20)
	r, peak := child(t, "doctor", dir)
	if r.code == wrongUse || peak > hostileMemory || strings.Contains(r.errors, "goroutine") {
		t.Errorf("doctor: code %d, %d MiB, %s", r.code, peak>>20, r.errors)
	}
}
