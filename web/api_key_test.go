package web

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// A browser that is in lets another in, and neither puts the other out.
func TestAnotherBrowser(t *testing.T) {
	const listen = "192.168.1.20:7433"
	key := NewKey()
	h, err := New(t.Context(), Options{Folder: t.TempDir(), Page: Page(), Listen: listen, Key: key})
	if err != nil {
		t.Fatal(err)
	}
	ask := func(method, url string, cookies ...*http.Cookie) *http.Response {
		r := httptest.NewRequest(method, url, nil)
		for _, c := range cookies {
			r.AddCookie(c)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Result()
	}
	base := "http://" + listen
	if a := ask("POST", base+"/api/key"); a.StatusCode != 401 {
		t.Fatalf("a stranger got a key: status %d", a.StatusCode)
	}
	in := ask("GET", key.URL(listen)).Cookies()
	for i := range browsers + 1 {
		a := ask("POST", base+"/api/key", in[i])
		var d OpenWith
		if err := json.NewDecoder(a.Body).Decode(&d); err != nil || !strings.HasPrefix(d.Address, base+"/?key=") || d.Size < 21 || strings.Count(d.Path, "M") < d.Size {
			t.Fatalf("status %d, %v, %+v", a.StatusCode, err, d)
		}
		b := ask("GET", d.Address)
		if b.StatusCode != 303 || ask("GET", d.Address).StatusCode != 401 {
			t.Fatalf("the address of browser %d does not work once", i)
		}
		in = append(in, b.Cookies()...)
	}
	for i, c := range in {
		want := 200
		if i < len(in)-browsers {
			want = 401
		}
		if a := ask("GET", base+"/api/rigs", c); a.StatusCode != want {
			t.Errorf("browser %d: status %d, not %d", i, a.StatusCode, want)
		}
	}
	newSite(t).get(409, "POST", "/api/key", "")
}
