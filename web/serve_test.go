package web

import (
	"fmt"
	"io"
	"net"
	"strings"
	"testing"
)

// dial opens a connection that stays open until the server has stopped: newSite fails the test when that does not come cleanly.
// It must be called with a list that is closed by an earlier cleanup than the site's.
type dialled []net.Conn

func (d *dialled) to(s *site) net.Conn {
	s.t.Helper()
	c, err := net.Dial("tcp", s.host)
	if err != nil {
		s.t.Fatal(err)
	}
	*d = append(*d, c)
	return c
}

func (d *dialled) close() {
	for _, c := range *d {
		c.Close()
	}
}

// A browser opens connections before it has anything to ask, and leaves them open when a tab of it dies. They keep no server from
// stopping.
func TestStopsWithUnusedConnections(t *testing.T) {
	var open dialled
	t.Cleanup(open.close)
	s := newSite(t)
	for range 3 {
		open.to(s)
	}
	s.get(200, "GET", "/api/health", "") // by when those before it were taken up, too
}

// A page that asks for a map and does not read it, as one on a phone that sleeps, keeps no server from stopping either.
func TestStopsWhileAPageReadsNothing(t *testing.T) {
	var open dialled
	t.Cleanup(open.close)
	s := newSite(t)
	c := open.to(s)
	if err := c.(*net.TCPConn).SetReadBuffer(4 << 10); err != nil {
		t.Fatal(err)
	}
	ask := `{"id": "terrace-riser", "page": "p", "cell_deg": [0.1]}`
	fmt.Fprintf(c, "POST /api/map HTTP/1.1\r\nHost: %s\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n%s", s.host, len(ask), ask)
	head := make([]byte, 15)
	if _, err := io.ReadFull(c, head); err != nil || !strings.HasSuffix(string(head), "200 OK") {
		t.Fatalf("%q, %v", head, err)
	}
}
