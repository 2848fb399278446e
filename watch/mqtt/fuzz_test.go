package mqtt

import (
	"net"
	"net/url"
	"strconv"
	"strings"
	"testing"
)

// FuzzAddress: an address is refused without a word of what may be a password, or it is a host and a port that can be dialled, and
// stays so when it is read again.
func FuzzAddress(f *testing.F) {
	for _, s := range []string{"mqtt://127.0.0.1:1883", "TLS://me@[::1]:8883/", "mqtt://me:secret@h:1", "mqtt:me:secret@h:1", "mqtt://h", "mqtt://h:0",
		"mqtt://h:65536", "mqtt://[::1%25lo]:1", "mqtt://a%20b:1", "mqtt://u%00@h:1", "mqtt://h:1?x", "mqtt://h:+1", "mqtt://a:b:1", "mqtt://@:1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		server, user, err := Address(text)
		if err != nil {
			if server != "" || user != "" || strings.Contains(err.Error(), "secret") || strings.Contains(err.Error(), "\n") {
				t.Fatalf("%q %q %v", server, user, err)
			}
			return
		}
		u, err := url.Parse(server)
		if err != nil || u.User != nil {
			t.Fatalf("%q %v", server, err)
		}
		host, port, err := net.SplitHostPort(u.Host)
		if n, e := strconv.Atoi(port); err != nil || e != nil || n < 1 || n > 65535 || host == "" {
			t.Fatalf("%q %v %v", server, err, e)
		}
		again, none, err := Address(server)
		if again != server || none != "" || err != nil {
			t.Fatalf("%q, then %q: %v", server, again, err)
		}
	})
}

// FuzzPrefix: what topics begin with is refused, or makes topics of the standard. Source: MQTT 5.0, 4.7: no wildcards in the name of a
// topic, no NUL, at least one and at most 65535 bytes of UTF-8.
func FuzzPrefix(f *testing.F) {
	for _, s := range []string{"legroom", "a/b", "a/#", "+", "$SYS", "\x00", "\xff", "ü"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, prefix string) {
		if checkPrefix(prefix) != nil {
			return
		}
		p := Publisher{o: Options{Prefix: prefix}}
		if name := p.topic("alive"); strings.ContainsAny(name, "+#\x00") || len(name) > 65535 || strings.ToValidUTF8(name, "") != name || name[0] == '$' {
			t.Fatalf("%q", name)
		}
	})
}
