package alpaca

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"legroom/mount"
)

const (
	// deadline of a call whose context has none.
	deadline = 2 * time.Second
	// readTries is how often a read is tried within its deadline. One that ran into the deadline is not tried again.
	readTries  = 3
	firstPause = 20 * time.Millisecond
	// maxBody bounds an answer. The longest that the standard has are lists of a few dozen texts.
	maxBody = 256 << 10
)

// Host is a computer that serves devices. Its connections are pooled, and shared by its devices.
type Host struct {
	// Deadline of each call whose context has none. It is also what a Telescope gives each of its calls.
	Deadline time.Duration

	address     string // host:port
	http        *http.Client
	client      uint32
	transaction atomic.Uint32
	dials       atomic.Uint32 // connections made so far
}

// NewHost makes a client of the server at host:port. Nothing is sent yet.
func NewHost(address string) *Host {
	h := &Host{Deadline: deadline, address: address, client: 1 + rand.Uint32N(1<<31-1)}
	h.http = &http.Client{
		// Straight to the device: no proxy from the environment, no redirect, no compression that could blow up.
		Transport: &http.Transport{
			DialContext:            h.dial,
			DisableCompression:     true,
			MaxIdleConnsPerHost:    8,
			IdleConnTimeout:        30 * time.Second,
			MaxResponseHeaderBytes: 16 << 10,
		},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	return h
}

func (h *Host) dial(ctx context.Context, network, address string) (net.Conn, error) {
	conn, err := (&net.Dialer{}).DialContext(ctx, network, address)
	if err == nil {
		h.dials.Add(1)
	}
	return conn, err
}

// Close gives up the idle connections.
func (h *Host) Close() { h.http.CloseIdleConnections() }

// Device names a device of the host, its type in lower case. Nothing is sent yet.
func (h *Host) Device(deviceType string, number int) *Remote {
	return &Remote{host: h, deviceType: deviceType, number: number}
}

// Remote is a device behind a server. It is a Device itself.
type Remote struct {
	host       *Host
	deviceType string
	number     int
}

// Call sends one call with the arguments that its table names. It ends by the context's deadline, or the host's if that has
// none. Reads are tried again while there is time, everything else is sent once. Errors: mount.ErrLink, mount.ErrAnswer, a
// *mount.Refused, an *HTTPError.
func (r *Remote) Call(ctx context.Context, c Call) (any, error) {
	m, ok := MemberOf(r.deviceType, c.Member, c.Put)
	if !ok {
		return nil, fmt.Errorf("%s %s: %w: not in the standard for a %s", c.method(), c.Member, mount.ErrLacks, r.deviceType)
	}
	form, err := c.Args.encode()
	if err != nil {
		return nil, fmt.Errorf("%s: %w: %w", c.Member, mount.ErrValue, err)
	}
	path := fmt.Sprintf("/api/v1/%s/%d/%s", r.deviceType, r.number, c.Member)
	v, err := r.host.exchange(ctx, c.method(), path, form, func(body []byte, transaction uint32) (any, error) {
		return parseAnswer(body, m.Value, transaction)
	})
	if err != nil {
		return nil, fmt.Errorf("%s %s: %w", c.method(), c.Member, err)
	}
	return v, nil
}

type parser func(body []byte, transaction uint32) (any, error)

// exchange sends a request, reads again and again where that does no harm, and parses the answer.
func (h *Host) exchange(ctx context.Context, method, path string, form url.Values, parse parser) (any, error) {
	if _, ok := ctx.Deadline(); !ok {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, h.Deadline)
		defer cancel()
	}
	for try := 1; ; try++ {
		v, err := h.once(ctx, method, path, form, parse)
		if err == nil || method != http.MethodGet || try == readTries || ctx.Err() != nil ||
			!errors.Is(err, mount.ErrLink) && !errors.Is(err, mount.ErrAnswer) {
			return v, err
		}
		select {
		case <-ctx.Done():
			return nil, err
		case <-time.After(firstPause << (try - 1)):
		}
	}
}

func (h *Host) once(ctx context.Context, method, path string, form url.Values, parse parser) (any, error) {
	transaction := h.nextTransaction()
	full := url.Values{}
	for name, v := range form {
		full[name] = v
	}
	full.Set("ClientID", strconv.FormatUint(uint64(h.client), 10))
	full.Set("ClientTransactionID", strconv.FormatUint(uint64(transaction), 10))

	target := url.URL{Scheme: "http", Host: h.address, Path: path}
	var body io.Reader
	if method == http.MethodGet {
		target.RawQuery = full.Encode()
	} else {
		body = strings.NewReader(full.Encode())
	}
	req, err := http.NewRequestWithContext(ctx, method, target.String(), body)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", mount.ErrLink, err)
	}
	if body != nil {
		req.Header.Set("Content-Type", formType)
	}
	resp, err := h.http.Do(req)
	if err != nil {
		return nil, h.lost(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(io.LimitReader(resp.Body, maxBody+1))
	switch {
	case err != nil:
		return nil, h.lost(err)
	case len(text) > maxBody:
		return nil, fmt.Errorf("%w: more than %d bytes", mount.ErrAnswer, maxBody)
	case resp.StatusCode != http.StatusOK:
		return nil, &HTTPError{Status: resp.StatusCode, Text: clipped(string(text))}
	}
	return parse(text, transaction)
}

// lost is what a failed exchange comes to. After a time-out the idle connections are given up too: they lead to the same
// computer, and may be half open.
func (h *Host) lost(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		err = u.Err // without the address and its query
	}
	if errors.Is(err, context.DeadlineExceeded) {
		h.http.CloseIdleConnections()
		return fmt.Errorf("%w: no answer in time: %w", mount.ErrLink, err)
	}
	return fmt.Errorf("%w: %w", mount.ErrLink, err)
}

// nextTransaction counts 1, 2, … and steps over 0 when it wraps.
func (h *Host) nextTransaction() uint32 {
	for {
		if n := h.transaction.Add(1); n != 0 {
			return n
		}
	}
}
