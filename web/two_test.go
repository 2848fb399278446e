package web

import (
	"encoding/json"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
)

// beside starts a second server over the folder of the first.
func (s *site) beside() *site {
	s.t.Helper()
	b := &site{t: s.t, dir: s.dir}
	b.serve(Options{})
	return b
}

// Two servers on one folder: what one writes the other notices, nothing is written over, and of two that save the same version at
// the same moment one is told so.
func TestTwoServers(t *testing.T) {
	t.Parallel()
	a := newSite(t)
	b := a.beside()
	const id, path = "terrace-riser", "/api/rigs/terrace-riser"
	_, heard, _ := b.listen()
	soon(t, "the list came", func() bool { return strings.Contains(heard(), "event: rigs") })
	var of, was RigText
	a.post(200, "GET", path, nil, &was)
	b.post(200, "GET", path, nil, &of)
	if was.Version != of.Version {
		t.Fatalf("two versions of one file: %s, %s", was.Version, of.Version)
	}
	a.post(200, "PUT", path, Saving{Text: was.Text + "# by a\n", Version: was.Version}, &was)
	soon(t, "the other server's page hears of it", func() bool { return strings.Contains(heard(), `{"id":"`+id+`","version":"`+was.Version+`"}`) })
	var c Conflict
	b.post(409, "PUT", path, Saving{Text: of.Text + "# by b\n", Version: of.Version}, &c)
	if c.Version != was.Version || c.Text != was.Text || a.file(id+".yaml") != was.Text {
		t.Errorf("the conflict shows version %s, not %s; on disk:\n%s", c.Version, was.Version, a.file(id+".yaml"))
	}

	rounds := 50
	if testing.Short() {
		rounds = 10
	}
	for range rounds {
		type answer struct {
			text   string
			status int
			err    error
		}
		answers := make(chan answer, 4)
		start := make(chan struct{})
		for i := range cap(answers) {
			s := []*site{a, b}[i%2]
			text := was.Text + "# round by " + string(rune('a'+i)) + "\n"
			go func() {
				<-start
				body, _ := json.Marshal(Saving{Text: text, Version: was.Version})
				q, err := s.request(t.Context(), "PUT", path, string(body))
				if err != nil {
					answers <- answer{err: err}
					return
				}
				r, err := http.DefaultClient.Do(q)
				if err != nil {
					answers <- answer{err: err}
					return
				}
				_, err = io.Copy(io.Discard, r.Body)
				r.Body.Close()
				answers <- answer{text, r.StatusCode, err}
			}()
		}
		close(start)
		saved := ""
		for range cap(answers) {
			switch got := <-answers; {
			case got.err != nil:
				t.Fatal(got.err)
			case got.status == 200 && saved != "":
				t.Fatal("two were told that the same version was written over")
			case got.status == 200:
				saved = got.text
			case got.status != 409:
				t.Fatalf("status %d", got.status)
			}
		}
		if now := a.file(id + ".yaml"); saved == "" || now != saved {
			t.Fatalf("saved %q, and on disk is %q", clipped(saved), clipped(now))
		}
		a.post(200, "GET", path, nil, &was)
		was.Text = of.Text
		a.post(200, "PUT", path, Saving{Text: was.Text, Version: was.Version}, &was)
	}
	if left, err := filepath.Glob(filepath.Join(a.dir, ".*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}
