package alpaca

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"time"
)

const (
	// DiscoveryPort is the standard's UDP port.
	DiscoveryPort = 32227

	discoveryAsk  = "alpacadiscovery1"
	discoveryTime = 2 * time.Second
	// maxFound bounds what a hostile network can make of an answer.
	maxFound = 256
)

// discoveryGroup is the standard's IPv6 multicast group, of link scope.
var discoveryGroup = netip.MustParseAddr("ff12::a1:9aca")

// Everywhere lists whom to ask for all servers near by: this computer, every IPv4 network that it is on by broadcast, and every
// link by IPv6 multicast.
func Everywhere() ([]netip.AddrPort, error) {
	ask := []netip.Addr{netip.AddrFrom4([4]byte{127, 0, 0, 1}), netip.IPv6Loopback()}
	links, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	for _, link := range links {
		if link.Flags&net.FlagUp == 0 {
			continue
		}
		if link.Flags&net.FlagMulticast != 0 {
			ask = append(ask, discoveryGroup.WithZone(link.Name))
		}
		addresses, err := link.Addrs()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", link.Name, err)
		}
		for _, a := range addresses {
			if b, ok := broadcast(a); ok && link.Flags&(net.FlagBroadcast|net.FlagLoopback) != 0 {
				ask = append(ask, b)
			}
		}
	}
	var targets []netip.AddrPort
	for _, a := range ask {
		targets = append(targets, netip.AddrPortFrom(a, DiscoveryPort))
	}
	return targets, nil
}

// broadcast is the highest address of an IPv4 network.
func broadcast(a net.Addr) (netip.Addr, bool) {
	p, err := netip.ParsePrefix(a.String())
	if err != nil || !p.Addr().Is4() {
		return netip.Addr{}, false
	}
	b := p.Addr().As4()
	for i := p.Bits(); i < 32; i++ {
		b[i/8] |= 0x80 >> (i % 8)
	}
	return netip.AddrFrom4(b), true
}

// Discover asks the targets and returns the servers that answered, sorted, until the context ends, or for two seconds if it
// has no deadline. A target that cannot be reached is passed over; all of them is an error.
func Discover(ctx context.Context, targets []netip.AddrPort) ([]netip.AddrPort, error) {
	if _, ok := ctx.Deadline(); !ok {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, discoveryTime)
		defer cancel()
	}
	var v4, v6 []netip.AddrPort
	for _, t := range targets {
		if t.Addr().Is4() {
			v4 = append(v4, t)
		} else {
			v6 = append(v6, t)
		}
	}
	var mu sync.Mutex
	found := map[netip.AddrPort]bool{}
	take := func(a netip.AddrPort) {
		mu.Lock()
		defer mu.Unlock()
		if len(found) < maxFound {
			found[a] = true
		}
	}
	errs := make(chan error, 2)
	go func() { errs <- discover(ctx, "udp4", v4, take) }()
	go func() { errs <- discover(ctx, "udp6", v6, take) }()
	err1, err2 := <-errs, <-errs
	if err := errors.Join(err1, err2); err != nil && len(found) == 0 {
		return nil, err
	}
	var servers []netip.AddrPort
	for a := range found {
		servers = append(servers, a)
	}
	slices.SortFunc(servers, netip.AddrPort.Compare)
	return servers, nil
}

// discover asks the targets of one family, twice because datagrams get lost, and hands on every answer.
func discover(ctx context.Context, network string, targets []netip.AddrPort, take func(netip.AddrPort)) error {
	if len(targets) == 0 {
		return nil
	}
	conn, err := net.ListenUDP(network, nil)
	if err != nil {
		return err
	}
	defer conn.Close()
	ends, _ := ctx.Deadline()
	again := time.Now().Add(time.Until(ends) / 3)
	if err := send(conn, targets); err != nil {
		return err
	}
	sent := 1
	buf := make([]byte, 1024)
	for ctx.Err() == nil {
		// Short turns, so that a context that is called off ends the wait.
		_ = conn.SetReadDeadline(time.Now().Add(50 * time.Millisecond))
		n, from, err := conn.ReadFromUDPAddrPort(buf)
		if err == nil {
			if port, err := parseDiscovery(buf[:n]); err == nil {
				take(netip.AddrPortFrom(from.Addr().Unmap(), port))
			}
		}
		if sent == 1 && time.Now().After(again) {
			sent++
			_ = send(conn, targets)
		}
	}
	return nil
}

// send asks every target, and fails only if none could be asked.
func send(conn *net.UDPConn, targets []netip.AddrPort) error {
	var errs []error
	for _, t := range targets {
		if _, err := conn.WriteToUDPAddrPort([]byte(discoveryAsk), t); err != nil {
			errs = append(errs, err)
		}
	}
	if len(errs) == len(targets) {
		return errors.Join(errs...)
	}
	return nil
}

func parseDiscovery(text []byte) (uint16, error) {
	o, err := object(text)
	if err != nil {
		return 0, err
	}
	port, err := o.value("AlpacaPort", Int)
	if err != nil {
		return 0, err
	}
	n := port.(int)
	if n < 1 || n > 65535 {
		return 0, fmt.Errorf("AlpacaPort %d is no port", n)
	}
	return uint16(n), nil
}

// Respond answers discovery on a socket with the port of the API, until the context ends. It closes the socket.
func Respond(ctx context.Context, conn net.PacketConn, port int) error {
	stop := context.AfterFunc(ctx, func() { conn.Close() })
	defer stop()
	defer conn.Close()
	answer := fmt.Appendf(nil, `{"AlpacaPort":%d}`, port)
	buf := make([]byte, 1024)
	for {
		n, from, err := conn.ReadFrom(buf)
		if ctx.Err() != nil {
			return nil
		}
		if errors.Is(err, net.ErrClosed) {
			return err
		}
		if err != nil {
			time.Sleep(10 * time.Millisecond) // a report about an answer that was not delivered, on some systems
			continue
		}
		if strings.HasPrefix(string(buf[:n]), discoveryAsk) {
			_, _ = conn.WriteTo(answer, from)
		}
	}
}

// ListenDiscovery opens the sockets on which a server that listens at an address can be discovered, for Respond. A loopback
// address is found from this computer alone, when it is asked by that address. Any other opens all IPv4 and IPv6 networks, on
// a port that is shared with other servers.
func ListenDiscovery(at netip.Addr, port int) ([]net.PacketConn, error) {
	if at.IsLoopback() {
		conn, err := net.ListenUDP("udp", net.UDPAddrFromAddrPort(netip.AddrPortFrom(at, uint16(port))))
		if err != nil {
			return nil, err
		}
		return []net.PacketConn{conn}, nil
	}
	links, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	var conns []net.PacketConn
	var errs []error
	join := func(network string, link *net.Interface, group netip.Addr) bool {
		// A multicast listener shares its port, and takes what comes to the computer by broadcast too.
		conn, err := net.ListenMulticastUDP(network, link, net.UDPAddrFromAddrPort(netip.AddrPortFrom(group, uint16(port))))
		if err != nil {
			errs = append(errs, err)
			return false
		}
		conns = append(conns, conn)
		return true
	}
	v4 := false
	for _, link := range links {
		if link.Flags&net.FlagUp == 0 {
			continue
		}
		// One socket takes the broadcasts of all links. The group is every computer's own; without a link the join would need
		// a default route, which a telescope's own network does not have.
		v4 = v4 || join("udp4", &link, netip.AddrFrom4([4]byte{224, 0, 0, 1}))
		if link.Flags&net.FlagMulticast != 0 {
			join("udp6", &link, discoveryGroup)
		}
	}
	if len(conns) == 0 {
		return nil, errors.Join(errs...)
	}
	return conns, nil
}
