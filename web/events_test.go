package web

import (
	"bufio"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"
)

// listen collects the events of a page until its stream ends.
func (s *site) listen() (a *http.Response, got func() string, ended chan struct{}) {
	s.t.Helper()
	a = s.ask("GET", "/api/events", "")
	if a.StatusCode != 200 || a.Header.Get("Content-Type") != "text/event-stream" {
		s.t.Fatalf("events: status %d, %s", a.StatusCode, a.Header.Get("Content-Type"))
	}
	var mu sync.Mutex
	var all strings.Builder
	ended = make(chan struct{})
	go func() {
		defer close(ended)
		in := bufio.NewReader(a.Body)
		for {
			line, err := in.ReadString('\n')
			mu.Lock()
			all.WriteString(line)
			mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	return a, func() string { mu.Lock(); defer mu.Unlock(); return all.String() }, ended
}

// What changes on disk reaches the page: rigs that come and go, files that change, those of sections too.
func TestEvents(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	a, got, ended := s.listen()
	soon(t, "the list came", func() bool {
		return strings.Contains(got(), "event: rigs") && strings.Contains(got(), `"id":"terrace-riser"`)
	})
	s.write("new.yaml", "legroom: 1\nname: New\n")
	soon(t, "the new rig came", func() bool { return strings.Contains(got(), `"id":"new"`) })
	if strings.Contains(got(), "event: file") {
		t.Errorf("a file changed that did not: %s", got())
	}
	s.write("terrace/tube.yaml", s.file("terrace/tube.yaml")+"# by hand\n")
	soon(t, "all three rigs with that tube changed", func() bool { return strings.Count(got(), "event: file") == 3 })
	if strings.Contains(got(), `{"id":"karoo-newtonian","version"`) {
		t.Errorf("a rig changed that has no such tube: %s", got())
	}
	var r RigText
	if err := json.Unmarshal([]byte(s.get(200, "GET", "/api/rigs/terrace-riser", "")), &r); err != nil || !strings.Contains(got(), `{"id":"terrace-riser","version":"`+r.Version+`"}`) {
		t.Errorf("version %s is not in %s", r.Version, got())
	}
	if err := os.Remove(filepath.Join(s.dir, "new.yaml")); err != nil {
		t.Fatal(err)
	}
	soon(t, "the rig went", func() bool {
		parts := strings.Split(got(), "event: rigs")
		return len(parts) >= 3 && !strings.Contains(parts[len(parts)-1], `"id":"new"`)
	})
	a.Body.Close()
	<-ended
}

// When the server stops, every stream ends, and nothing of it goes on.
func TestNothingGoesOn(t *testing.T) {
	before := runtime.NumGoroutine()
	var streams []chan struct{}
	t.Run("serve", func(t *testing.T) {
		s := newSite(t)
		for range 3 {
			_, _, ended := s.listen()
			streams = append(streams, ended)
		}
		a := s.ask("POST", "/api/map", `{"id": "karoo-newtonian", "page": "p", "cell_deg": [1, 0.1]}`)
		if _, err := io.ReadFull(a.Body, make([]byte, 1000)); err != nil {
			t.Fatal(err)
		}
		start := time.Now()
		t.Cleanup(func() { // runs before the server is told to stop
			a.Body.Close()
			if d := time.Since(start); d > 30*time.Second {
				t.Errorf("took %v", d)
			}
		})
	})
	for _, ended := range streams {
		<-ended
	}
	http.DefaultClient.CloseIdleConnections()
	soon(t, "no goroutine is left", func() bool { return runtime.NumGoroutine() <= before })
}
