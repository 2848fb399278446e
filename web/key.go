package web

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"net/http"
	"slices"
	"strings"
	"sync"

	"github.com/piglig/go-qr"
)

// Key lets one browser in, once: whoever opens the address with the key in it gets a cookie, and the key is spent. A browser that
// is in may ask for another key, for one more.
type Key struct {
	mu      sync.Mutex
	secret  string   // "" when spent
	cookies []string // of the browsers that were let in
}

// browsers bounds how many are let in at once; who comes later puts the first one out.
const browsers = 8

// NewKey makes a key of 128 random bits.
func NewKey() *Key { return &Key{secret: token()} }

// token is 128 random bits in letters that an address may hold.
func token() string {
	b := make([]byte, 16)
	rand.Read(b) // never fails
	return base64.RawURLEncoding.EncodeToString(b)
}

// cookieName is the cookie that shows that the key was used.
const cookieName = "legroom"

// another makes a new key in place of the one before, spent or not.
func (k *Key) another() {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.secret = token()
}

// URL is the address to open, for the owner's eyes alone.
func (k *Key) URL(listen string) string {
	k.mu.Lock()
	defer k.mu.Unlock()
	return "http://" + listen + "/?key=" + k.secret
}

// admits tells whether a request shows the cookie. With the key it gives the cookie and sends the browser on to the page, so that
// the key does not stay in its address line.
func (k *Key) admits(w http.ResponseWriter, r *http.Request) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	if c, err := r.Cookie(cookieName); err == nil && slices.ContainsFunc(k.cookies, func(is string) bool { return equal(c.Value, is) }) {
		return true
	}
	if r.Method == http.MethodGet && r.URL.Path == "/" && equal(r.URL.Query().Get("key"), k.secret) {
		cookie := token()
		k.secret, k.cookies = "", append(k.cookies[max(0, len(k.cookies)-browsers+1):], cookie)
		http.SetCookie(w, &http.Cookie{Name: cookieName, Value: cookie, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return false
	}
	problem(w, http.StatusUnauthorized, "this page opens with the address, or the square code, that the terminal showed when legroom started, or that a page which is open already gives; each works once, for one browser")
	return false
}

// equal compares secrets in constant time; nothing equals an empty one.
func equal(got, want string) bool {
	return want != "" && subtle.ConstantTimeCompare([]byte(got), []byte(want)) == 1
}

// Square draws a text as a QR code for a terminal, two rows of modules a line, dark on light with the quiet zone of four
// modules that the standard (ISO/IEC 18004) asks for.
func Square(text string) (string, error) {
	code, err := go_qr.EncodeText(text, go_qr.Medium)
	if err != nil {
		return "", err
	}
	const quiet = 4
	n := code.Size()
	var b strings.Builder
	for y := -quiet; y < n+quiet; y += 2 {
		b.WriteString("\x1b[30;107m") // black on white, whatever the terminal's colours
		for x := -quiet; x < n+quiet; x++ {
			upper, lower := code.Module(x, y), code.Module(x, y+1) // outside of the code: light
			switch {
			case upper && lower:
				b.WriteString("█")
			case upper:
				b.WriteString("▀")
			case lower:
				b.WriteString("▄")
			default:
				b.WriteString(" ")
			}
		}
		b.WriteString("\x1b[0m\n")
	}
	return b.String(), nil
}
