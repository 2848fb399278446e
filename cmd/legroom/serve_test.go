package main

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"legroom/report"
	"legroom/web"
)

// start runs a command that serves until stop is called; it returns the first line that it prints.
func start(t *testing.T, args ...string) (line string, stop func() error) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	in, out := io.Pipe()
	root := newRoot()
	root.SetArgs(append(args, "--listen", "127.0.0.1:0", "--no-browser"))
	root.SetOut(out)
	root.SetErr(io.Discard)
	done := make(chan error, 1)
	go func() {
		err := root.ExecuteContext(ctx)
		out.CloseWithError(io.EOF)
		done <- err
	}()
	line, err := bufio.NewReader(in).ReadString('\n')
	stop = func() error { cancel(); return <-done }
	if err != nil {
		t.Fatalf("%q printed %q: %v, %v", args, line, err, stop())
	}
	return line, stop
}

// The demo serves copies of the examples, which are gone once it is told to end; serve serves the folder itself.
func TestServe(t *testing.T) {
	temp := t.TempDir()
	t.Setenv("TMPDIR", temp) // where it is looked for on Unix
	t.Setenv("TMP", temp)    // and on Windows
	line, stop := start(t, "demo")
	address, ok := strings.CutPrefix(strings.TrimSpace(line), "listening on ")
	if !ok || !strings.HasPrefix(address, "http://127.0.0.1:") || !strings.HasSuffix(address, "/") {
		t.Errorf("printed %q", line)
	}
	var rigs []web.RigEntry
	fetch(t, address+"api/rigs", &rigs)
	copies, err := filepath.Glob(filepath.Join(temp, "legroom-demo-*", "rigs", "*.yaml"))
	// Beside each lies its list of targets.
	if err != nil || len(rigs) < 5 || len(copies) != 2*len(rigs) {
		t.Errorf("%d rigs are served, %d documents lie in %s, %v", len(rigs), len(copies), temp, err)
	}
	if err := stop(); err != nil {
		t.Error(err)
	}
	if left, err := os.ReadDir(temp); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}

	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "mine.yaml"), []byte(content(t, karoo)), 0o644); err != nil {
		t.Fatal(err)
	}
	line, stop = start(t, "serve", folder, "--format", "json")
	var doc report.ServeDoc
	if err := json.Unmarshal([]byte(line), &doc); err != nil || doc.OpenWith != "" {
		t.Errorf("%s: %v", line, err)
	}
	fetch(t, doc.ListeningOn+"api/rigs", &rigs)
	if len(rigs) != 1 || rigs[0].ID != "mine" {
		t.Errorf("served %+v", rigs)
	}
	if err := stop(); err != nil {
		t.Error(err)
	}
}

func fetch(t *testing.T, url string, out any) {
	t.Helper()
	a, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	if err := json.NewDecoder(a.Body).Decode(out); err != nil {
		t.Fatal(err)
	}
}

// With a key the terminal shows the address, and a square with it.
func TestAnnounce(t *testing.T) {
	for _, name := range []string{"text", "json"} {
		c := newServe()
		var out strings.Builder
		c.SetOut(&out)
		o := web.Options{Listen: "192.168.1.20:7433", Key: web.NewKey()}
		if err := announce(c, &format{name: name}, o); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(out.String(), o.Key.URL(o.Listen)) || strings.Contains(out.String(), "█") != (name == "text") {
			t.Errorf("%s: %s", name, out.String())
		}
	}
}

func TestServeWrong(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"serve"}, "no folder given"}, {[]string{"serve", ".", ".."}, "one folder at a time"}, {[]string{"serve", "nowhere"}, "there is no folder"},
		{[]string{"serve", "serve.go"}, "is a file"}, {[]string{"serve", ".", "--listen", "7433"}, "give an address and a port"},
		{[]string{"serve", ".", "--listen", "0.0.0.0:7433"}, "one address of this machine"}, {[]string{"serve", ".", "--listen", ":7433"}, "one address of this machine"},
		{[]string{"serve", ".", "--listen", "[::]:7433"}, "one address of this machine"}, {[]string{"serve", ".", "--listen", l.Addr().String()}, "another port"},
		{[]string{"serve", ".", "--format", "csv"}, "text or json"}, {[]string{"demo", "--listen", l.Addr().String()}, "another port"},
	} {
		r := legroom(t, "", append(c.args, "--no-browser")...)
		if r.code != wrongUse || r.out != "" || !strings.Contains(r.errors, c.want) {
			t.Errorf("%q: code %d, %q, %q", c.args, r.code, r.out, r.errors)
		}
	}
}
