package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"
)

// asked are the paths that take a body; an answer that takes its time is given up soon.
var asked = []string{"read", "edit", "begin", "altitudes", "check", "pose", "slew", "swept", "lengths", "targets", "limits", "map", "night", "night/csv", "export/svg",
	"change/compare", "change/solve", "change/scan", "proof/walk", "proof/fit", "proof/again", "proof/pdf", "load"}

// FuzzBodies: no body of a question has the server panic, or answer that it failed itself.
func FuzzBodies(f *testing.F) {
	dir := f.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../examples")); err != nil {
		f.Fatal(err)
	}
	const host = "127.0.0.1:7433"
	h, err := New(f.Context(), Options{Folder: dir, Page: Page(), Listen: host})
	if err != nil {
		f.Fatal(err)
	}
	id := `{"id": "terrace-long-refractor"`
	for i, rest := range []string{``, `, "changes": [{"op": "set", "path": "support.height_mm", "value": "1"}]`, `, "side": "west", "hour_angle_h": 1e308, "dec_deg": -90`,
		`, "text": "legroom: 1\nsupport: {height_mm: 1e999}"`, `, "changes": [{"op": "move", "path": "a[0]", "value": "-1"}]`, `, "variables": [{"path": "riser", "from": 0, "to": 1e308}], "aim": "past=20"`,
		`, "page": "p", "cell_deg": [6, 0.1]`, `, "begins": "2026-11-26T10:00"`, `, "targets": "targets: [{name: M 31}]", "date": "2026-11-26"`, `, "text": null, "margin_mm": -1`} {
		f.Add(uint8(i), id+rest+"}")
	}
	f.Add(uint8(9), strings.Repeat(`{"a":`, 20000))
	f.Add(uint8(3), "null")
	f.Fuzz(func(t *testing.T, which uint8, body string) {
		path := "/api/" + asked[int(which)%len(asked)]
		ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
		defer cancel()
		q := httptest.NewRequestWithContext(ctx, "POST", "http://"+host+path, strings.NewReader(body))
		q.Header.Set("Content-Type", "application/json")
		q.RemoteAddr = "127.0.0.1:1"
		w := httptest.NewRecorder()
		h.ServeHTTP(w, q)
		switch {
		case w.Code == 200, 400 <= w.Code && w.Code < 500:
		case ctx.Err() != nil: // given up
		default:
			t.Fatalf("%s: %d %s", path, w.Code, w.Body)
		}
		if w.Code == http.StatusForbidden || w.Code == http.StatusMethodNotAllowed {
			t.Fatalf("%s: %d %s: the body was not looked at", path, w.Code, w.Body)
		}
	})
}
