package alpaca

import (
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
)

// Addresses and the computer's own names are answered; a name from elsewhere is not, by no member and no page.
func TestHostNames(t *testing.T) {
	own, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	for host, ok := range map[string]bool{"127.0.0.1:11111": true, "[::1]:80": true, "::1": true, "192.168.1.9": true, "LocalHost:1": true, "localhost.": true,
		own: true, strings.ToUpper(own) + ".local:7": true, "": true, "rebound.example:11111": false, "127.0.0.1.example": false, own + ".example": false,
		"localhost.example": false, "1.2.3": false} {
		if called(host) != ok {
			t.Errorf("%q: %v", host, !ok)
		}
	}
	s, err := NewServer(Info{})
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/management/apiversions", "/setup", "/api/v1/telescope/0/slewing"} {
		r := httptest.NewRequest(http.MethodGet, path, nil)
		r.Host = "rebound.example:11111"
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}
