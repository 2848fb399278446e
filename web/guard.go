package web

import (
	"bytes"
	"errors"
	"io"
	"net"
	"net/http"
	"strings"
	"time"
)

// policy is the Content-Security-Policy: the page takes nothing from anywhere else. Pictures that it draws and saves are blobs.
const policy = "default-src 'self'; img-src 'self' blob: data:; object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// maxBody bounds a request, bytes.
const maxBody = 1 << 20

// readWithin is how long a browser may take to send a request's body.
const readWithin = 10 * time.Second

// guard lets through what comes from the page itself: asked of the address that is listened on (a name that leads here by other
// ways is refused), by no other site, and with the cookie where a key is wanted.
func guard(o Options, next http.Handler) http.Handler {
	hosts := hostsOf(o.Listen)
	var cross http.CrossOriginProtection
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !hosts[strings.ToLower(r.Host)] {
			problem(w, http.StatusMisdirectedRequest, "this server does not answer for %q; open http://%s/", r.Host, o.Listen)
			return
		}
		// Reading is held to the same rule as writing: what the page asks for, no other site may ask for.
		asked := *r
		asked.Method = http.MethodPost
		if err := cross.Check(&asked); err != nil && !(r.Method == http.MethodGet && opening(r)) {
			problem(w, http.StatusForbidden, "this was asked by another site; only the page of this server may ask")
			return
		}
		if o.Key != nil && !o.Key.admits(w, r) {
			return
		}
		if err := takeBody(w, r); err != nil {
			var big *http.MaxBytesError
			if errors.As(err, &big) {
				problem(w, http.StatusRequestEntityTooLarge, "the request is larger than 1 MiB")
				return
			}
			problem(w, http.StatusBadRequest, "the request broke off")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// opening tells whether a person follows a link to the page, from wherever it stands.
func opening(r *http.Request) bool {
	return r.URL.Path == "/" && r.Header.Get("Sec-Fetch-Mode") == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document"
}

// takeBody reads a request's body whole, so that no deadline is left behind on its connection.
func takeBody(w http.ResponseWriter, r *http.Request) error {
	if r.Body == nil || r.Body == http.NoBody {
		return nil
	}
	c := http.NewResponseController(w)
	_ = c.SetReadDeadline(time.Now().Add(readWithin)) // not every writer in a test has one
	data, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxBody))
	if err != nil {
		return err
	}
	_ = c.SetReadDeadline(time.Time{})
	r.Body = io.NopCloser(bytes.NewReader(data))
	return nil
}

// hostsOf lists what a browser may call the server: the address itself and, on loopback, its other names.
func hostsOf(listen string) map[string]bool {
	listen = strings.ToLower(listen)
	hosts := map[string]bool{listen: true}
	host, port, err := net.SplitHostPort(listen)
	if err != nil {
		return hosts
	}
	names := []string{host}
	if Loopback(listen) {
		names = []string{"127.0.0.1", "localhost", "::1"}
	}
	for _, n := range names {
		hosts[net.JoinHostPort(n, port)] = true
		if port == "80" { // browsers leave it out
			hosts[n] = true
			hosts["["+n+"]"] = true
		}
	}
	return hosts
}

// Loopback tells whether a host and port is reached from this machine alone.
func Loopback(listen string) bool {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}
