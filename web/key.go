package web

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"net/http"
	"strings"
	"sync"

	"github.com/piglig/go-qr"
)

// Key lets one browser in, once: whoever opens the address with the key in it gets a cookie, and the key is spent.
type Key struct {
	mu     sync.Mutex
	secret string // "" when spent
	cookie string // "" until the key is spent
}

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

// URL is the address to open, for the owner's eyes alone.
func (k *Key) URL(listen string) string { return "http://" + listen + "/?key=" + k.secret }

// admits tells whether a request shows the cookie. With the key it gives the cookie and sends the browser on to the page, so that
// the key does not stay in its address line.
func (k *Key) admits(w http.ResponseWriter, r *http.Request) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	if c, err := r.Cookie(cookieName); err == nil && equal(c.Value, k.cookie) {
		return true
	}
	if r.Method == http.MethodGet && r.URL.Path == "/" && equal(r.URL.Query().Get("key"), k.secret) {
		k.secret, k.cookie = "", token()
		http.SetCookie(w, &http.Cookie{Name: cookieName, Value: k.cookie, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return false
	}
	problem(w, http.StatusUnauthorized, "this page opens with the address, or the square code, that the terminal showed when legroom started; it works once, for one browser")
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
