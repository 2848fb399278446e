package web

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"io/fs"
	"net/http"
	"strings"
)

// The built page, as `npm run build` in web/page leaves it.
//
//go:embed all:page/dist
var built embed.FS

// Page is the built page.
func Page() fs.FS {
	page, err := fs.Sub(built, "page/dist")
	if err != nil {
		panic("web: " + err.Error()) // the path is a constant
	}
	return page
}

// page serves the files of a page. Their names say nothing of their content, so that each has a tag of it, which the browser asks
// about every time.
func page(files fs.FS) http.Handler {
	serve := http.FileServerFS(files)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name := strings.TrimPrefix(r.URL.Path, "/")
		if name == "" {
			name = "index.html"
		}
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			problem(w, http.StatusMethodNotAllowed, "%s is read, not written", r.URL.Path)
			return
		}
		data, err := fs.ReadFile(files, name)
		if err != nil || name != "index.html" && r.URL.Path == "/index.html" {
			problem(w, http.StatusNotFound, "there is nothing at %s", r.URL.Path)
			return
		}
		sum := sha256.Sum256(data)
		w.Header().Set("ETag", `"`+base64.RawURLEncoding.EncodeToString(sum[:12])+`"`)
		w.Header().Set("Cache-Control", "no-cache")
		serve.ServeHTTP(w, r)
	})
}
