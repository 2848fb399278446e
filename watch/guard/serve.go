package guard

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"net"
	"net/http"
	"net/netip"

	"legroom/mount/alpaca"
)

// Handler serves the guarded telescope and the safety monitor, each as number 0 of its type.
func Handler(t *Telescope, m *SafetyMonitor) (http.Handler, error) {
	s := t.w.Status()
	sum := sha256.Sum256([]byte(s.Mount))
	id := "legroom-guard-" + hex.EncodeToString(sum[:8]) // the same for one mount for ever, as the standard asks
	name := s.Desc.Name
	if name == "" {
		name = "Mount"
	}
	return alpaca.NewServer(alpaca.Info{ServerName: "Legroom guard", Manufacturer: "Legroom", ManufacturerVersion: "1", Location: s.Rig},
		alpaca.Served{Listed: alpaca.Listed{DeviceName: name + ", guarded", DeviceType: "Telescope", UniqueID: id + "-telescope"}, Device: t},
		alpaca.Served{Listed: alpaca.Listed{DeviceName: safetyName, DeviceType: "SafetyMonitor", UniqueID: id + "-safety"}, Device: m})
}

// Announce answers discovery on a port until the context ends, for a server that listens at an address. It returns once the
// sockets are open.
func Announce(ctx context.Context, at net.Addr, port int) error {
	where, err := netip.ParseAddrPort(at.String())
	if err != nil {
		return err
	}
	conns, err := alpaca.ListenDiscovery(where.Addr(), port)
	if err != nil {
		return err
	}
	for _, c := range conns {
		go func() { _ = alpaca.Respond(ctx, c, int(where.Port())) }() // ends with the context
	}
	return nil
}
