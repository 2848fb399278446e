package web

import (
	"bufio"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// site is a server on 127.0.0.1 over a folder of its own that holds the examples.
type site struct {
	t    testing.TB
	dir  string
	host string // and port
	end  func() // of the server
}

// newSite starts a server that stops with the test, and fails the test when it does not stop cleanly.
func newSite(t testing.TB) *site {
	t.Helper()
	return newSiteWith(t, Options{})
}

// newSiteWith also shows a watch, or the nights of a journal.
func newSiteWith(t testing.TB, o Options) *site {
	t.Helper()
	s := &site{t: t, dir: t.TempDir()}
	if err := os.CopyFS(s.dir, os.DirFS("../examples")); err != nil {
		t.Fatal(err)
	}
	s.serve(o)
	return s
}

// serve starts the server over the site's folder.
func (s *site) serve(o Options) {
	s.t.Helper()
	if s.host == "" {
		s.host = "127.0.0.1:0"
	}
	l, err := net.Listen("tcp", s.host)
	if err != nil {
		s.t.Fatal(err)
	}
	s.host = l.Addr().String()
	ctx, stop := context.WithCancel(context.Background())
	o.Folder, o.Page, o.Listen = s.dir, Page(), s.host
	h, err := New(ctx, o)
	if err != nil {
		s.t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- Serve(ctx, l, h) }()
	s.end = sync.OnceFunc(func() {
		http.DefaultClient.CloseIdleConnections()
		stop()
		if err := <-done; err != nil {
			s.t.Errorf("the server did not stop cleanly: %v", err)
		}
	})
	s.t.Cleanup(s.end)
}

// request makes a request; a body makes it JSON.
func (s *site) request(ctx context.Context, method, path, body string, headers ...string) (*http.Request, error) {
	r, err := http.NewRequestWithContext(ctx, method, "http://"+s.host+path, strings.NewReader(body))
	if err != nil {
		return nil, err
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i+1 < len(headers); i += 2 {
		if headers[i] == "Host" {
			r.Host = headers[i+1]
		}
		r.Header.Set(headers[i], headers[i+1])
	}
	return r, nil
}

// ask sends a request and gives the answer, whatever it is.
func (s *site) ask(method, path, body string, headers ...string) *http.Response {
	s.t.Helper()
	r, err := s.request(context.Background(), method, path, body, headers...)
	if err != nil {
		s.t.Fatal(err)
	}
	a, err := http.DefaultClient.Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	return a
}

// get sends a request, wants a status and returns the answer's text.
func (s *site) get(status int, method, path, body string, headers ...string) string {
	s.t.Helper()
	a := s.ask(method, path, body, headers...)
	defer a.Body.Close()
	text, err := io.ReadAll(a.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	if a.StatusCode != status {
		s.t.Fatalf("%s %s: status %d, not %d: %s", method, path, a.StatusCode, status, clipped(string(text)))
	}
	return string(text)
}

// post sends v as JSON, wants a status and reads the answer into out.
func (s *site) post(status int, method, path string, v, out any) {
	s.t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		s.t.Fatal(err)
	}
	text := s.get(status, method, path, string(data))
	if out != nil {
		if err := json.Unmarshal([]byte(text), out); err != nil {
			s.t.Fatalf("%s %s: %v in %s", method, path, err, clipped(text))
		}
	}
}

func clipped(s string) string {
	if len(s) > 600 {
		return s[:600] + "…"
	}
	return s
}

// write puts a file into the folder.
func (s *site) write(name, text string) {
	s.t.Helper()
	if err := os.WriteFile(filepath.Join(s.dir, name), []byte(text), 0o644); err != nil {
		s.t.Fatal(err)
	}
}

// file reads a file of the folder.
func (s *site) file(name string) string {
	s.t.Helper()
	data, err := os.ReadFile(filepath.Join(s.dir, name))
	if err != nil {
		s.t.Fatal(err)
	}
	return string(data)
}

// names lists the folder, files below it too.
func (s *site) names() string {
	var out []string
	err := filepath.WalkDir(s.dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			out = append(out, path)
		}
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return strings.Join(out, "\n")
}

// gotFrame is one frame as a page reads it.
type gotFrame struct {
	FrameHead
	planes [][]byte
}

// frames reads the frames of an answer to the last; the error is io.EOF when the stream ends where it should.
func frames(r io.Reader, each func(gotFrame) error) error {
	in := bufio.NewReader(r)
	for {
		var size [4]byte
		if _, err := io.ReadFull(in, size[:]); err != nil {
			return err
		}
		head := make([]byte, binary.LittleEndian.Uint32(size[:]))
		if _, err := io.ReadFull(in, head); err != nil {
			return err
		}
		var f gotFrame
		if err := json.Unmarshal(head, &f.FrameHead); err != nil {
			return err
		}
		for _, p := range f.Planes {
			bytes := map[string]int{"uint8": 1, "int16": 2, "uint16": 2}[p.Type]
			data := make([]byte, f.Rows*f.Columns*bytes)
			if _, err := io.ReadFull(in, data); err != nil {
				return err
			}
			f.planes = append(f.planes, data)
		}
		if err := each(f); err != nil {
			return err
		}
	}
}

// mapOf asks for a map and returns its frames.
func (s *site) mapOf(body string) []gotFrame {
	s.t.Helper()
	a := s.ask("POST", "/api/map", body)
	defer a.Body.Close()
	if a.StatusCode != http.StatusOK {
		text, _ := io.ReadAll(a.Body)
		s.t.Fatalf("map: status %d: %s", a.StatusCode, text)
	}
	var out []gotFrame
	if err := frames(a.Body, func(f gotFrame) error { out = append(out, f); return nil }); !errors.Is(err, io.EOF) {
		s.t.Fatal(err)
	}
	return out
}

// soon waits until f holds.
func soon(t testing.TB, what string, f func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if f() {
			return
		}
	}
	t.Fatalf("waited in vain until %s", what)
}
