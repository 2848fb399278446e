package alpaca

import (
	"context"
	"encoding/json"
	"errors"
	"net"
	"net/netip"
	"slices"
	"strings"
	"testing"
	"time"
)

func listenOn6(t *testing.T) net.Listener {
	t.Helper()
	l, err := net.Listen("tcp", "[::1]:0")
	if err != nil {
		t.Skip("no IPv6 on loopback here: ", err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

// respond answers discovery on a socket, and returns whom to ask.
func respond(t *testing.T, conn net.PacketConn, port int) netip.AddrPort {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- Respond(ctx, conn, port) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	return conn.LocalAddr().(*net.UDPAddr).AddrPort()
}

func loopback(t *testing.T, address string) net.PacketConn {
	t.Helper()
	conns, err := ListenDiscovery(netip.MustParseAddr(address), 0)
	if err != nil {
		t.Skip("cannot listen: ", err)
	}
	return conns[0]
}

func TestDiscovery(t *testing.T) {
	for _, address := range []string{"127.0.0.1", "::1"} {
		t.Run(address, func(t *testing.T) {
			one := respond(t, loopback(t, address), 7434)
			two := respond(t, loopback(t, address), 22222)
			got, err := Discover(short(t, 300*time.Millisecond), []netip.AddrPort{two, one})
			at := netip.MustParseAddr(address)
			want := []netip.AddrPort{netip.AddrPortFrom(at, 7434), netip.AddrPortFrom(at, 22222)}
			if err != nil || !slices.Equal(got, want) {
				t.Errorf("%v, %v; want %v", got, err, want)
			}
		})
	}
}

func TestDiscoveryOfBadResponders(t *testing.T) {
	conn := loopback(t, "127.0.0.1")
	defer conn.Close()
	go func() {
		buf := make([]byte, 100)
		for {
			_, from, err := conn.ReadFrom(buf)
			if err != nil {
				return
			}
			for _, text := range []string{"", "x", "{}", `{"AlpacaPort":"80"}`, `{"alpacaport":80}`, `{"AlpacaPort":0}`,
				`{"AlpacaPort":65536}`, `{"AlpacaPort":-1}`, `{"AlpacaPort":80.5}`, `[80]`} {
				_, _ = conn.WriteTo([]byte(text), from)
			}
		}
	}()
	at := conn.LocalAddr().(*net.UDPAddr).AddrPort()
	if got, err := Discover(short(t, 200*time.Millisecond), []netip.AddrPort{at}); len(got) != 0 || err != nil {
		t.Errorf("%v, %v", got, err)
	}
}

// The request is the standard's payload; anything else gets no answer.
func TestResponderAnswersTheStandardOnly(t *testing.T) {
	at := respond(t, loopback(t, "127.0.0.1"), 7434)
	conn, err := net.DialUDP("udp", nil, net.UDPAddrFromAddrPort(at))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	buf := make([]byte, 100)
	for _, tt := range []struct{ ask, answer string }{
		{"hello", ""}, {"alpacadiscovery", ""}, {"alpacadiscovery2", ""}, {"alpacadiscovery1", `{"AlpacaPort":7434}`},
	} {
		_, _ = conn.Write([]byte(tt.ask))
		_ = conn.SetReadDeadline(time.Now().Add(100 * time.Millisecond))
		if n, _ := conn.Read(buf); string(buf[:n]) != tt.answer {
			t.Errorf("%q is answered by %q, want %q", tt.ask, buf[:n], tt.answer)
		}
	}
}

func TestBroadcastAddresses(t *testing.T) {
	for network, want := range map[string]string{"192.168.7.9/24": "192.168.7.255", "10.1.2.3/12": "10.15.255.255",
		"127.0.0.1/8": "127.255.255.255", "172.16.0.9/30": "172.16.0.11"} {
		ip, n, err := net.ParseCIDR(network)
		if err != nil {
			t.Fatal(err)
		}
		if got, ok := broadcast(&net.IPNet{IP: ip, Mask: n.Mask}); !ok || got.String() != want {
			t.Errorf("%s: %s, want %s", network, got, want)
		}
	}
	targets, err := Everywhere()
	for _, want := range []string{"127.0.0.1:32227", "[::1]:32227"} {
		if err != nil || !slices.Contains(targets, netip.MustParseAddrPort(want)) {
			t.Errorf("%v, %v: no %s", targets, err, want)
		}
	}
}

// FuzzDiscovery: no answer to discovery makes more of itself than a port, and a responder answers nothing but the question.
func FuzzDiscovery(f *testing.F) {
	for _, s := range []string{`{"AlpacaPort":11111}`, `{"AlpacaPort":0}`, `{"AlpacaPort":1e3}`, `{"alpacaport":1}`, `{"AlpacaPort":1,"AlpacaPort":2}`, `[]`, discoveryAsk,
		discoveryAsk + "more", "alpacadiscovery"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		port, err := parseDiscovery(text)
		if err == nil && (port == 0 || !json.Valid(text) || !strings.Contains(string(text), "AlpacaPort")) {
			t.Fatalf("port %d from %q", port, text)
		}
		if err != nil && port != 0 {
			t.Fatalf("port %d with %v", port, err)
		}
		in := &datagram{text: text}
		if err := Respond(t.Context(), in, 4711); !errors.Is(err, net.ErrClosed) {
			t.Fatal(err)
		}
		if asked := strings.HasPrefix(string(text), discoveryAsk); asked != (in.answer == `{"AlpacaPort":4711}`) || !asked && in.answer != "" {
			t.Fatalf("%q is answered with %q", text, in.answer)
		}
	})
}

// datagram is a socket to which one datagram comes.
type datagram struct {
	net.PacketConn
	text   []byte
	read   bool
	answer string
}

func (d *datagram) ReadFrom(b []byte) (int, net.Addr, error) {
	if d.read {
		return 0, nil, net.ErrClosed
	}
	d.read = true
	return copy(b, d.text), &net.UDPAddr{}, nil
}

func (d *datagram) WriteTo(b []byte, _ net.Addr) (int, error) {
	d.answer += string(b)
	return len(b), nil
}

func (d *datagram) Close() error { return nil }
