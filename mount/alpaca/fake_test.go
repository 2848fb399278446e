package alpaca

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"legroom/mount"
)

// fakeMount is a device that answers from a table of values, and remembers what was put.
type fakeMount struct {
	mu     sync.Mutex
	values map[string]any // a value or an error, by member
	puts   []string       // "member Name=value …"
}

// newFake is a mount that has everything the client reads, at the given interface version.
func newFake(version int) *fakeMount {
	return &fakeMount{values: map[string]any{
		"connected": true, "name": "a mount of the tests", "driverinfo": "made up", "driverversion": "0.1",
		"interfaceversion": version, "equatorialsystem": 1,
		"cansettracking": true, "canslewasync": true, "canpark": true, "canunpark": true, "cansetpierside": false, "canmoveaxis": true,
		"rightascension": 5.5, "declination": -12.25, "sideofpier": 1, "siderealtime": 4.0,
		"utcdate": "2026-03-01T21:04:05.6780000Z", "tracking": true, "slewing": false, "atpark": false, "athome": false,
		"sitelatitude": 48.5, "sitelongitude": 11.25, "trackingrate": 0, "rightascensionrate": 0.0, "declinationrate": 0.0,
		"destinationsideofpier": 0,
	}}
}

func (f *fakeMount) set(member string, v any) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.values[member] = v
}

func (f *fakeMount) Call(_ context.Context, c Call) (any, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	v, ok := f.values[c.Member]
	if c.Put {
		line := c.Member
		m, _ := MemberOf("telescope", c.Member, true)
		for _, p := range m.Params {
			line += fmt.Sprintf(" %s=%v", p.Name, c.Args[p.Name])
		}
		f.puts = append(f.puts, line)
		if err, bad := f.values["put "+c.Member].(error); bad {
			return nil, err
		}
		if c.Member == "connected" {
			f.values["connected"] = c.Bool("Connected")
		}
		return nil, nil
	}
	if err, bad := v.(error); bad {
		return nil, err
	}
	if !ok {
		return nil, fmt.Errorf("%w: %s", mount.ErrLacks, c.Member)
	}
	return v, nil
}

func (f *fakeMount) put() string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return strings.Join(f.puts, "; ")
}

// serveFake puts devices behind a server on loopback.
func serveFake(t *testing.T, f Device) (*httptest.Server, *Host) {
	t.Helper()
	s, err := NewServer(Info{ServerName: "Test", Manufacturer: "M", ManufacturerVersion: "1", Location: "here"},
		Served{Listed{"Scope", "Telescope", 0, "id-0"}, f}, Served{Listed{"Safe", "SafetyMonitor", 0, "id-1"}, f})
	if err != nil {
		t.Fatal(err)
	}
	h := httptest.NewServer(s)
	t.Cleanup(h.Close)
	return h, hostOf(t, h)
}

func hostOf(t *testing.T, s *httptest.Server) *Host {
	h := NewHost(s.Listener.Addr().String())
	t.Cleanup(h.Close)
	return h
}

func openFake(t *testing.T, f Device) *Telescope {
	t.Helper()
	_, host := serveFake(t, f)
	m, err := OpenTelescope(t.Context(), host, 0)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// stateJSON is a devicestate as a server sends it.
func stateJSON(pairs ...any) json.RawMessage {
	type item struct {
		Name  string
		Value any
	}
	var items []item
	for i := 0; i < len(pairs); i += 2 {
		items = append(items, item{pairs[i].(string), pairs[i+1]})
	}
	b, err := json.Marshal(items)
	if err != nil {
		panic(err)
	}
	return b
}

func short(t *testing.T, d time.Duration) context.Context {
	ctx, cancel := context.WithTimeout(t.Context(), d)
	t.Cleanup(cancel)
	return ctx
}
