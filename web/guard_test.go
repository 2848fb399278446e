package web

import (
	"image"
	"image/color"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// Only the page of this server may ask, by the address that is listened on.
func TestGuard(t *testing.T) {
	s := newSite(t)
	_, port, _ := strings.Cut(s.host, ":")
	own := "http://" + s.host
	for _, c := range []struct {
		name, method, path string
		headers            []string
		status             int
	}{
		{"by address", "GET", "/api/health", nil, 200},
		{"by localhost", "GET", "/api/health", []string{"Host", "LocalHost:" + port}, 200},
		{"by IPv6", "GET", "/api/health", []string{"Host", "[::1]:" + port}, 200},
		{"another name that leads here", "GET", "/api/health", []string{"Host", "rebound.example:" + port}, 421},
		{"another port", "GET", "/api/health", []string{"Host", "127.0.0.1:1"}, 421},
		{"no port", "GET", "/", []string{"Host", "127.0.0.1"}, 421},
		{"the page by another name", "GET", "/", []string{"Host", "rebound.example"}, 421},

		{"its own page", "POST", "/api/read", []string{"Origin", own}, 200},
		{"its own page, says the browser", "POST", "/api/read", []string{"Origin", own, "Sec-Fetch-Site", "same-origin"}, 200},
		{"no browser", "POST", "/api/read", nil, 200},
		{"another site", "POST", "/api/read", []string{"Origin", "http://evil.example"}, 403},
		{"another site, says the browser", "POST", "/api/read", []string{"Sec-Fetch-Site", "cross-site"}, 403},
		{"another port of this machine", "POST", "/api/read", []string{"Origin", "http://127.0.0.1:1"}, 403},
		{"another port, says the browser", "POST", "/api/read", []string{"Sec-Fetch-Site", "same-site"}, 403},
		{"a page from a file", "POST", "/api/read", []string{"Origin", "null"}, 403},
		{"events for another site", "GET", "/api/events", []string{"Origin", "http://evil.example"}, 403},
		{"the list for another site", "GET", "/api/rigs", []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "no-cors"}, 403},
		{"in another site's frame", "GET", "/", []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate", "Sec-Fetch-Dest", "iframe"}, 403},
		{"a link to the page", "GET", "/", []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate", "Sec-Fetch-Dest", "document"}, 200},
		{"a link into the API", "GET", "/api/rigs", []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate", "Sec-Fetch-Dest", "document"}, 403},
		{"a form of another site", "PUT", "/api/rigs/terrace-riser", []string{"Origin", "http://evil.example"}, 403},
	} {
		body := ""
		if c.method != "GET" {
			body = `{"id": "terrace-riser"}`
		}
		a := s.ask(c.method, c.path, body, c.headers...)
		a.Body.Close()
		if a.StatusCode != c.status {
			t.Errorf("%s: status %d, not %d", c.name, a.StatusCode, c.status)
		}
		if a.Header.Get("Content-Security-Policy") != policy || a.Header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: without its headers: %v", c.name, a.Header)
		}
	}
}

// The policy lets the page load from its own server alone, run no text as a program, and the page names nothing from elsewhere.
func TestNothingFromElsewhere(t *testing.T) {
	for _, rule := range strings.Split(policy, ";") {
		words := strings.Fields(rule)
		for _, w := range words[1:] {
			if w != "'self'" && w != "'none'" && (words[0] != "img-src" || w != "blob:" && w != "data:") {
				t.Errorf("%s allows %s", words[0], w)
			}
		}
	}
	if !strings.HasPrefix(policy, "default-src 'self';") {
		t.Error("what no rule names is not held to the own server")
	}
	seen := 0
	err := fs.WalkDir(Page(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".html") && !strings.HasSuffix(name, ".css") {
			return err
		}
		data, err := fs.ReadFile(Page(), name)
		seen++
		for _, m := range regexp.MustCompile(`(?i)(?:src|href)\s*=\s*["']?([^"'\s>]+)|url\(\s*["']?([^"')]+)|@import\s+["']([^"']+)`).FindAllStringSubmatch(string(data), -1) {
			if to := m[1] + m[2] + m[3]; strings.Contains(to, "//") {
				t.Errorf("%s loads %s", name, to)
			}
		}
		if regexp.MustCompile(`(?i)<script[^>]*>[^<]`).Match(data) {
			t.Errorf("%s has a script within, which the policy does not run", name)
		}
		return err
	})
	if err != nil || seen == 0 {
		t.Errorf("%d files, %v", seen, err)
	}
}

// From other machines one browser gets in, once.
func TestKey(t *testing.T) {
	const listen = "192.168.1.20:7433"
	key := NewKey()
	reached := 0
	h := guard(Options{Listen: listen, Key: key}, http.HandlerFunc(func(http.ResponseWriter, *http.Request) { reached++ }))
	ask := func(url string, cookies ...*http.Cookie) *http.Response {
		r := httptest.NewRequest("GET", url, nil)
		for _, c := range cookies {
			r.AddCookie(c)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Result()
	}
	base, url := "http://"+listen, key.URL(listen)
	secret := strings.TrimPrefix(url, base+"/?key=")
	if len(secret) != 22 || NewKey().URL(listen) == url {
		t.Errorf("%s is no 128 bits", url)
	}
	for _, u := range []string{base + "/", base + "/api/rigs", base + "/?key=", base + "/?key=" + secret[1:], base + "/api/rigs?key=" + secret} {
		if a := ask(u, &http.Cookie{Name: cookieName, Value: ""}); a.StatusCode != 401 || reached > 0 {
			t.Errorf("%s: status %d without the key", u, a.StatusCode)
		}
	}
	if a := ask("http://127.0.0.1:7433/?key=" + secret); a.StatusCode != 421 {
		t.Errorf("by another address: status %d", a.StatusCode)
	}
	a := ask(url)
	if a.StatusCode != 303 || a.Header.Get("Location") != "/" || len(a.Cookies()) != 1 || reached > 0 {
		t.Fatalf("with the key: status %d, %v", a.StatusCode, a.Header)
	}
	c := a.Cookies()[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Value == secret || len(c.Value) != 22 {
		t.Errorf("cookie %+v", c)
	}
	if a := ask(url); a.StatusCode != 401 {
		t.Errorf("with the key again: status %d", a.StatusCode)
	}
	if a := ask(base+"/api/rigs", c); a.StatusCode != 200 || reached != 1 {
		t.Errorf("with the cookie: status %d", a.StatusCode)
	}
	if a := ask(base+"/api/rigs", &http.Cookie{Name: cookieName, Value: secret}); a.StatusCode != 401 {
		t.Errorf("with the key as cookie: status %d", a.StatusCode)
	}
}

// A reader of QR codes, another's work than their writer, gets the address out of what the terminal shows.
func TestSquare(t *testing.T) {
	want := NewKey().URL("192.168.1.20:7433")
	text, err := Square(want)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(regexp.MustCompile(`\x1b\[[0-9;]*m`).ReplaceAllString(text, ""), "\n"), "\n")
	const scale = 4
	width := len([]rune(lines[0]))
	img := image.NewGray(image.Rect(0, 0, width*scale, 2*len(lines)*scale))
	for y, line := range lines {
		for x, r := range []rune(line) {
			for dy, dark := range []bool{r == '█' || r == '▀', r == '█' || r == '▄'} {
				for k := range scale * scale {
					c := color.Gray{Y: 255}
					if dark {
						c.Y = 0
					}
					img.SetGray(x*scale+k%scale, (2*y+dy)*scale+k/scale, c)
				}
			}
		}
	}
	bits, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	if err != nil || got.GetText() != want {
		t.Errorf("read %v, %v; want %s", got, err, want)
	}
	if width > 80 {
		t.Errorf("%d columns are more than a terminal has", width)
	}
}
