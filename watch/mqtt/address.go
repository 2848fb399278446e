package mqtt

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Address takes a broker's address apart, mqtt://[USER@]HOST:PORT or tls://[USER@]HOST:PORT, into Options.Server and Options.User. Its
// error repeats nothing of it: a password may stand in it.
func Address(text string) (server, user string, err error) {
	wrong := func(what string) (string, string, error) {
		return "", "", fmt.Errorf("%s; give mqtt://[USER@]HOST:PORT or tls://[USER@]HOST:PORT", what)
	}
	u, err := url.Parse(text)
	if err != nil {
		return wrong("this is no address")
	}
	scheme, host := strings.ToLower(u.Scheme), u.Hostname()
	port, err := strconv.ParseUint(u.Port(), 10, 16)
	switch _, has := u.User.Password(); {
	case has:
		return "", "", errors.New("a password on the command line is seen by everybody; put it into the variable LEGROOM_MQTT_PASSWORD")
	case scheme != "mqtt" && scheme != "tls":
		return wrong("the protocol has to be mqtt or tls")
	case host == "" || strings.ContainsFunc(host, odd):
		return wrong("there is no host")
	case strings.Contains(host, ":") && !isAddress(host):
		return wrong("a host with a colon is an address of IPv6, in brackets")
	case err != nil || port == 0:
		return wrong("there is no port")
	case u.Path != "" && u.Path != "/" || u.RawQuery != "" || u.ForceQuery || u.Fragment != "":
		return wrong("there is more in it than user, host and port")
	}
	if user = u.User.Username(); !written(user) {
		return wrong("the user's name has signs that cannot be sent")
	}
	out := url.URL{Scheme: scheme, Host: net.JoinHostPort(host, strconv.FormatUint(port, 10))}
	return out.String(), user, nil
}

func isAddress(host string) bool {
	_, err := netip.ParseAddr(host)
	return err == nil
}

func odd(r rune) bool {
	return r == utf8.RuneError || unicode.IsControl(r) || unicode.IsSpace(r) || strings.ContainsRune(`/\?#@[]`, r)
}

// written tells whether a text is one that MQTT lets through. Source: MQTT 5.0, 1.5.4: well-formed UTF-8, no control characters.
func written(s string) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, unicode.IsControl) && len(s) <= maxText
}

// maxText bounds a user's name and what topics begin with, bytes. The protocol's bound is 65535.
const maxText = 1000

// checkPrefix says what topics cannot begin with.
func checkPrefix(prefix string) error {
	switch {
	case !written(prefix):
		return fmt.Errorf("MQTT prefix of %d bytes: give up to %d, without control characters", len(prefix), maxText)
	case strings.ContainsAny(prefix, "+#"):
		return fmt.Errorf("MQTT prefix %q: + and # have a meaning of their own in topics", prefix)
	case strings.HasPrefix(prefix, "$"):
		return fmt.Errorf("MQTT prefix %q: topics that begin with $ are the broker's own", prefix)
	}
	return nil
}
