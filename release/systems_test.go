package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

// emulated are the systems that a program made here can be tried for here, with what runs it.
var emulated = []struct {
	target
	runner []string // names or paths, of which the first that is there is taken
	fused  bool     // the processor fuses multiplications and additions, and the compiler uses it
}{
	{target{"windows", "amd64", ""}, []string{"wine64", "/usr/lib/wine/wine64"}, false},
	{target{"linux", "arm64", ""}, []string{"qemu-aarch64-static", "qemu-aarch64"}, true},
	{target{"linux", "arm", "7"}, []string{"qemu-arm-static", "qemu-arm"}, false},
}

const (
	exampleRig = "examples/terrace-long-refractor.yaml"
	exampleOf  = "examples/terrace/targets.yaml"
)

// A program for another system says here what the one for this system says, serves its page, and reads a journal.
func TestProgramsOfOtherSystems(t *testing.T) {
	whole(t)
	if runtime.GOOS != "linux" || runtime.GOARCH != "amd64" {
		skip(t, "what is compared with are the figures of linux-amd64")
	}
	if err := exec.Command("git", "rev-parse", "HEAD").Run(); err != nil {
		skip(t, "this is no checkout")
	}
	t.Chdir("..")
	dir := t.TempDir()
	native := made(t, target{"linux", "amd64", ""}, filepath.Join(dir, "native"))
	night, err := os.ReadFile("watch/journal/testdata/version1.db")
	if err != nil {
		t.Fatal(err)
	}
	journal := filepath.Join(dir, "night.db")
	if err := os.WriteFile(journal, night, 0o644); err != nil {
		t.Fatal(err)
	}
	questions := [][]string{
		{"check", exampleRig}, {"limits", exampleRig, "--format", "json"},
		{"night", exampleRig, "--date", "2026-11-25", "--targets", exampleOf, "--format", "json"},
		{"replay", journal, "--check"},
	}
	var answers [][]byte
	for _, q := range questions {
		answers = append(answers, said(t, exec.Command(native, q...)))
	}
	for _, e := range emulated {
		t.Run(e.String(), func(t *testing.T) {
			i := slices.IndexFunc(e.runner, func(s string) bool { _, err := exec.LookPath(s); return err == nil })
			if i < 0 {
				skip(t, "there is no "+strings.Join(e.runner, " or "))
			}
			program := made(t, e.target, filepath.Join(t.TempDir(), e.program()))
			var env []string
			if e.os == "windows" {
				env = windows(t, e.runner[i])
			}
			command := func(args ...string) *exec.Cmd {
				c := exec.Command(e.runner[i], append([]string{program}, args...)...)
				c.Env = append(os.Environ(), env...)
				return c
			}
			if v := string(said(t, command("version"))); !strings.Contains(v, e.os+"/"+e.arch) {
				t.Errorf("version: %s", v)
			}
			for k, q := range questions {
				got := said(t, command(q...))
				switch {
				case bytes.Equal(got, answers[k]):
				case e.fused && q[0] == "limits":
					alike(t, got, answers[k])
				default:
					t.Errorf("%v: it says\n%s\nand linux-amd64\n%s", q, got, answers[k])
				}
			}
			serves(t, command("serve", "examples", "--listen", "127.0.0.1:0", "--no-browser"))
		})
	}
}

// made builds the program for a target, with the flags of a release.
func made(t *testing.T, to target, path string) string {
	t.Helper()
	if err := (&release{}).build(t.Context(), to, path); err != nil {
		t.Fatal(err)
	}
	return path
}

// said runs a command and gives what it prints.
func said(t *testing.T, c *exec.Cmd) []byte {
	t.Helper()
	var errs bytes.Buffer
	c.Stderr = &errs
	out, err := c.Output()
	if err != nil {
		t.Fatalf("%v: %v: %s", c.Args, err, errs.Bytes())
	}
	return out
}

// windows makes a folder for Wine to keep its Windows in, ends that after the test, and returns the environment to run it with.
// Wine before 8.13 has no bcryptprimitives.dll, which Go's runtime takes random numbers from (Windows 7 and later have it): there
// one stands in that passes ProcessPrng(bytes, length) on to RtlGenRandom (SystemFunction036 of advapi32), which takes the same.
func windows(t *testing.T, wine string) []string {
	t.Helper()
	prefix := filepath.Join(t.TempDir(), "prefix")
	env := []string{"WINEPREFIX=" + prefix, "WINEDEBUG=-all", "WINEDLLOVERRIDES=mscoree,mshtml=", "DISPLAY="}
	run := func(name string, args ...string) {
		c := exec.Command(name, args...)
		c.Env = append(os.Environ(), env...)
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%s %v: %v: %s", name, args, err, out)
		}
	}
	server := filepath.Join(filepath.Dir(wine), "wineserver64")
	if _, err := exec.LookPath(server); err != nil {
		server = "wineserver"
	}
	run(wine, "wineboot", "--init")
	t.Cleanup(func() {
		c := exec.Command(server, "--kill")
		c.Env = append(os.Environ(), env...)
		_ = c.Run() // of this prefix alone; it may have ended by itself
		c = exec.Command(server, "--wait")
		c.Env = append(os.Environ(), env...)
		_ = c.Run()
	})
	dll := filepath.Join(prefix, "drive_c", "windows", "system32", "bcryptprimitives.dll")
	if _, err := os.Stat(dll); err == nil {
		return env
	}
	const linker = "x86_64-w64-mingw32-ld"
	if _, err := exec.LookPath(linker); err != nil {
		skip(t, "this Wine has no bcryptprimitives.dll, and there is no "+linker+" to make one")
	}
	exports := filepath.Join(t.TempDir(), "exports.def")
	if err := os.WriteFile(exports, []byte("LIBRARY bcryptprimitives.dll\nEXPORTS\n ProcessPrng=advapi32.SystemFunction036\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	run(linker, "-shared", "--entry", "0", "-o", dll, exports)
	return env
}

// serves starts a command that serves the page, asks it from outside for the page, its script and the rigs, and ends it.
func serves(t *testing.T, c *exec.Cmd) {
	t.Helper()
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() {
		_ = c.Process.Kill()
		_ = c.Wait()
	}()
	late := time.AfterFunc(5*time.Minute, func() { _ = c.Process.Kill() })
	defer late.Stop()
	line, err := bufio.NewReader(out).ReadString('\n')
	address, ok := strings.CutPrefix(strings.TrimSpace(line), "listening on ")
	if err != nil || !ok {
		t.Fatalf("serve printed %q, %v", line, err)
	}
	page := fetched(t, address, "text/html")
	script := regexp.MustCompile(`<script[^>]* src="\.?/?([^"]+)"`).FindSubmatch(page)
	if script == nil {
		t.Fatalf("the page has no script: %s", page)
	}
	if len(fetched(t, address+string(script[1]), "javascript")) < 1000 {
		t.Errorf("hardly any script")
	}
	var rigs []struct {
		File    string `json:"file"`
		Problem string `json:"problem"`
	}
	if err := json.Unmarshal(fetched(t, address+"api/rigs", "application/json"), &rigs); err != nil || len(rigs) < 5 {
		t.Errorf("%d rigs are served, %v", len(rigs), err)
	}
	for _, r := range rigs {
		if r.Problem != "" {
			t.Errorf("%s: %s", r.File, r.Problem)
		}
	}
}

// fetched asks for an address; its kind must hold a word.
func fetched(t *testing.T, address, kind string) []byte {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 3*time.Minute)
	defer cancel()
	q, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	a, err := http.DefaultClient.Do(q)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	text, err := io.ReadAll(a.Body)
	if err != nil || a.StatusCode != http.StatusOK || !strings.Contains(a.Header.Get("Content-Type"), kind) {
		t.Fatalf("%s: %s, %s, %v: %s", address, a.Status, a.Header.Get("Content-Type"), err, text)
	}
	return text
}

// rim, hours, is four of the smallest cells of the map. Where a multiplication and an addition round once and not twice, the search
// for the direction that keeps two parts apart may end at another one; what it proves of a cell is as true, but the last cells at the
// border of what is free may come out otherwise. What was seen is three cells.
const rim = 4 * 0.25 / 15

// alike tells whether two answers of limits differ by no more than the rim, and in the two numbers not at all.
func alike(t *testing.T, a, b []byte) {
	t.Helper()
	type doc struct {
		ByDec []struct {
			From   float64      `json:"dec_from_deg"`
			West   [][2]float64 `json:"west_free_h"`
			East   [][2]float64 `json:"east_free_h"`
			Stop   *float64     `json:"stop_h"`
			Resume *float64     `json:"resume_h"`
		} `json:"by_declination"`
		Two struct {
			West float64 `json:"west_deg"`
			East float64 `json:"east_deg"`
		} `json:"two_number"`
		Room map[string]float64 `json:"room_percent"`
	}
	var x, y doc
	if err := json.Unmarshal(a, &x); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &y); err != nil {
		t.Fatal(err)
	}
	if x.Two != y.Two || len(x.ByDec) != len(y.ByDec) || len(y.ByDec) == 0 || len(x.Room) != len(y.Room) {
		t.Fatalf("two numbers %+v and %+v, %d and %d rows", x.Two, y.Two, len(x.ByDec), len(y.ByDec))
	}
	for k := range y.Room {
		if d := math.Abs(x.Room[k] - y.Room[k]); !(d <= 0.05) {
			t.Errorf("room %s: %v and %v", k, x.Room[k], y.Room[k])
		}
	}
	near := func(p, q *float64) bool { return (p == nil) == (q == nil) && (p == nil || math.Abs(*p-*q) <= rim) }
	for i, r := range x.ByDec {
		s := y.ByDec[i]
		ends := func(p, q [2]float64) bool { return near(&p[0], &q[0]) && near(&p[1], &q[1]) }
		if r.From != s.From || !slices.EqualFunc(r.West, s.West, ends) || !slices.EqualFunc(r.East, s.East, ends) ||
			!near(r.Stop, s.Stop) || !near(r.Resume, s.Resume) {
			t.Errorf("%+v and %+v", r, s)
		}
	}
}
