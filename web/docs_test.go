package web

import (
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"legroom/docs"
)

var (
	linkTo  = regexp.MustCompile(`(?:href|src)="([^"]*)"`)
	anchors = regexp.MustCompile(` id="([^"]*)"`)
	reads   = regexp.MustCompile(`<Read to="([^"#]*)(?:#([^"{]*))?`)
	howTo   = regexp.MustCompile(`(?s)howTo = \{(.*?)\}`)
	quoted  = regexp.MustCompile(`"([^"]+)"`)
)

// document asks for a document as the page's links do.
func document(t *testing.T, path string) (status int, body string) {
	t.Helper()
	w := httptest.NewRecorder()
	documents(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w.Code, w.Body.String()
}

// Every document is a page, and all that it links to is there: documents, paragraphs, pictures, styles. Nothing is elsewhere.
func TestDocumentsHoldTogether(t *testing.T) {
	names, err := fs.Glob(docs.Files, "*.md")
	if err != nil || len(names) < 10 {
		t.Fatal(names, err)
	}
	page := Page()
	seen := 0
	for _, name := range names {
		at := docsAt + strings.TrimSuffix(name, ".md")
		status, body := document(t, at+"?theme=red")
		if status != http.StatusOK || !strings.Contains(body, `data-theme="red"`) || strings.Contains(body, "<title> ·") {
			t.Errorf("%s: %d", at, status)
		}
		for _, m := range linkTo.FindAllStringSubmatch(body, -1) {
			to := m[1]
			seen++
			if file, ok := strings.CutPrefix(to, "/"); ok && !strings.HasPrefix(to, docsAt) {
				if _, err := fs.Stat(page, file); err != nil {
					t.Errorf("%s links to %s: %v", at, to, err)
				}
				continue
			}
			path, part, _ := strings.Cut(to, "#")
			switch {
			case path == "":
				path = at
			case strings.HasPrefix(path, "drawings/") || strings.HasSuffix(path, ".png"):
				path = docsAt + strings.TrimPrefix(path, docsAt)
			case !strings.HasPrefix(path, docsAt):
				t.Errorf("%s links to %s", at, to)
				continue
			}
			paragraph(t, at, path, part)
		}
	}
	if seen < 100 {
		t.Errorf("only %d links", seen)
	}
}

// paragraph checks that a document has a paragraph; none named is the whole.
func paragraph(t *testing.T, from, path, part string) {
	t.Helper()
	status, body := document(t, path)
	if status != http.StatusOK {
		t.Errorf("%s links to %s: %d", from, path, status)
		return
	}
	if part == "" {
		return
	}
	for _, m := range anchors.FindAllStringSubmatch(body, -1) {
		if m[1] == part {
			return
		}
	}
	t.Errorf("%s links to %s#%s: there is no such paragraph", from, path, part)
}

// Every link of the page to a document leads to a paragraph that is there.
func TestPageLinksToParagraphs(t *testing.T) {
	n := 0
	err := filepath.WalkDir("page/src", func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		for _, m := range reads.FindAllStringSubmatch(string(data), -1) {
			n++
			paragraph(t, file, docsAt+m[1], m[2])
		}
		if m := howTo.FindSubmatch(data); m != nil {
			for _, q := range quoted.FindAllSubmatch(m[1], -1) {
				n++
				paragraph(t, file, docsAt+"measure", string(q[1]))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if n < 20 {
		t.Errorf("only %d links", n)
	}
}

func TestDocumentsThatAreNotThere(t *testing.T) {
	for _, path := range []string{docsAt + "nothing", docsAt + "../server", docsAt + "files.go", docsAt + "drawings/", docsAt + "drawings/x.svg"} {
		if status, _ := document(t, path); status != http.StatusNotFound {
			t.Errorf("%s: %d", path, status)
		}
	}
	if _, body := document(t, docsAt+`sky?theme="><script>`); strings.Contains(body, "<script") || strings.Contains(body, "data-theme") {
		t.Error("a theme that is none is written into the page")
	}
}
