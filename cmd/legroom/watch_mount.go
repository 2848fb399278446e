package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/mount/indi"
)

// openWithin is how long a driver may take to find its mount.
const openWithin = 30 * time.Second

const mountForms = "give alpaca://HOST:PORT/N or indi://HOST:PORT/DEVICE, such as alpaca://127.0.0.1:7434/0"

// mountAddress puts the address of a mount into the one form that its lock goes by, so that two watches find each other out.
func mountAddress(text string) (string, error) {
	wrong := func(what string) error { return fmt.Errorf("--mount %q: %s; %s", text, what, mountForms) }
	u, err := url.Parse(text)
	if err != nil {
		return "", wrong("this is no address")
	}
	scheme, host := strings.ToLower(u.Scheme), strings.ToLower(strings.TrimSuffix(u.Hostname(), "."))
	port, err := strconv.ParseUint(u.Port(), 10, 16)
	switch {
	case scheme != "alpaca" && scheme != "indi":
		return "", wrong("the protocol has to be alpaca or indi")
	case host == "" || strings.HasSuffix(host, "."):
		return "", wrong("there is no host")
	case err != nil || port == 0:
		return "", wrong("there is no port")
	case u.User != nil || u.RawQuery != "" || u.Fragment != "":
		return "", wrong("there is more in it than host, port and device")
	}
	ip, err := netip.ParseAddr(host)
	if strings.Contains(host, ":") && (err != nil || !strings.HasPrefix(u.Host, "[")) {
		return "", wrong("a host with a colon is an address of IPv6, in brackets: indi://[::1]:7624/DEVICE")
	}
	if err == nil {
		host = ip.Unmap().String()
	}
	if host == "localhost" {
		host = "127.0.0.1"
	}
	device := strings.TrimPrefix(u.Path, "/")
	if scheme == "alpaca" {
		n, err := strconv.ParseUint(device, 10, 31)
		if err != nil {
			return "", wrong(fmt.Sprintf("%q is no device number", device))
		}
		device = strconv.FormatUint(n, 10)
	} else if device == "" {
		return "", wrong("there is no device name")
	}
	out := url.URL{Scheme: scheme, Host: net.JoinHostPort(host, strconv.FormatUint(port, 10)), Path: "/" + device}
	return out.String(), nil
}

// openMount opens a mount by either protocol.
func openMount(ctx context.Context, address string) (mount.Telescope, error) {
	ctx, cancel := context.WithTimeout(ctx, openWithin)
	defer cancel()
	var tel mount.Telescope
	var err error
	if strings.HasPrefix(address, "indi:") {
		tel, err = indi.Open(ctx, address)
	} else {
		tel, err = alpaca.Open(ctx, address)
	}
	if err != nil {
		return nil, fmt.Errorf("the mount at %s: %w; is it switched on, its driver running, and is this its address?", address, err)
	}
	return tel, nil
}

// discover finds the one telescope that answers by Alpaca discovery within a time, other than a guard of this program.
func discover(ctx context.Context, targets []netip.AddrPort, within time.Duration) (string, error) {
	c, cancel := context.WithTimeout(ctx, within)
	servers, err := alpaca.Discover(c, targets)
	cancel()
	if err != nil {
		return "", fmt.Errorf("--discover: %w", err)
	}
	var found, about []string
	for _, at := range servers {
		host := alpaca.NewHost(at.String())
		list, err := host.Devices(ctx)
		host.Close()
		if err != nil {
			about = append(about, fmt.Sprintf("%v does not list its devices: %v", at, err))
			continue
		}
		for _, d := range list {
			if d.DeviceType != "Telescope" || strings.HasPrefix(d.UniqueID, "legroom-guard-") {
				continue
			}
			address := fmt.Sprintf("alpaca://%v/%d", at, d.DeviceNumber)
			if !slices.Contains(found, address) {
				found = append(found, address)
				about = append(about, fmt.Sprintf("%s is %q", address, d.DeviceName))
			}
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		about = append(about, "no telescope answers; give its address as --mount")
		return "", errors.New("--discover: " + strings.Join(about, "; "))
	}
	return "", fmt.Errorf("--discover: %s; say which one with --mount", strings.Join(about, "; "))
}
