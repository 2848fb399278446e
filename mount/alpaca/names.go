package alpaca

import (
	"net"
	"net/netip"
	"os"
	"strings"
)

// called tells whether a request's Host is this computer: an address, localhost or its own name, plain or in .local. A page on the
// web that has its own name point to this computer (DNS rebinding) sends that name, and would otherwise be let in by the browser
// as its own server.
func called(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.ToLower(strings.TrimSuffix(strings.Trim(host, "[]"), "."))
	if _, err := netip.ParseAddr(host); err == nil || host == "localhost" || host == "" {
		return true
	}
	own, err := os.Hostname()
	own = strings.ToLower(own)
	return err == nil && own != "" && (host == own || host == own+".local")
}
