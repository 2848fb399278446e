package alpaca

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"legroom/mount"
)

// swapped is an address at which another server may answer from one moment to the next.
type swapped struct {
	t      *testing.T
	server *httptest.Server
	now    atomic.Pointer[http.Handler]
}

func newSwapped(t *testing.T) *swapped {
	s := &swapped{t: t}
	s.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { (*s.now.Load()).ServeHTTP(w, r) }))
	t.Cleanup(s.server.Close)
	return s
}

// serve puts devices there; without a list the server has only the devices themselves.
func (s *swapped) serve(list bool, devices ...Served) {
	s.t.Helper()
	h, err := NewServer(Info{ServerName: "Test", Manufacturer: "M", ManufacturerVersion: "1", Location: "here"}, devices...)
	if err != nil {
		s.t.Fatal(err)
	}
	var handler http.Handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !list && strings.HasPrefix(r.URL.Path, "/management/") {
			http.NotFound(w, r)
			return
		}
		h.ServeHTTP(w, r)
	})
	s.now.Store(&handler)
	s.server.CloseClientConnections()
}

func (s *swapped) open() *Telescope {
	s.t.Helper()
	m, err := OpenTelescope(s.t.Context(), hostOf(s.t, s.server), 0)
	if err != nil {
		s.t.Fatal(err)
	}
	return m
}

func scope(n int, id, name string, f Device) Served {
	return Served{Listed{DeviceName: name, DeviceType: "Telescope", DeviceNumber: n, UniqueID: id}, f}
}

func named(name string) *fakeMount {
	f := newFake(4)
	f.set("name", name)
	return f
}

// A look at an address where another device answers by now is none, however well it reads; and it says what is wrong. The device that was
// there counts again.
func TestAnotherDevice(t *testing.T) {
	south, north := named("south pier"), named("north pier")
	for name, tt := range map[string]struct {
		list  bool
		after []Served
		says  []string // nothing: it is the same device
	}{
		"the same":             {true, []Served{scope(0, "a", "south pier", south)}, nil},
		"renamed":              {true, []Served{scope(0, "a", "pier in the garden", named("pier in the garden"))}, nil},
		"another":              {true, []Served{scope(0, "b", "north pier", north)}, []string{"north pier", "south pier", "another device"}},
		"another of that name": {true, []Served{scope(0, "b", "south pier", named("south pier"))}, []string{"south pier", "another device"}},
		"another number": {true, []Served{scope(0, "b", "north pier", north), scope(1, "a", "south pier", south)},
			[]string{"number 1", "another device"}},
		"no list, the same":     {false, []Served{scope(0, "b", "south pier", south)}, nil},
		"no list, another name": {false, []Served{scope(0, "b", "north pier", north)}, []string{"north pier", "south pier"}},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSwapped(t)
			s.serve(tt.list, scope(0, "a", "south pier", south))
			tel := s.open()
			read := func() error { _, err := tel.Read(short(t, 5*time.Second)); return err }
			if err := read(); err != nil {
				t.Fatal(err)
			}
			s.serve(tt.list, tt.after...)
			for range 2 {
				err := read()
				if len(tt.says) == 0 && err != nil || len(tt.says) > 0 && !errors.Is(err, mount.ErrAnswer) {
					t.Errorf("%v", err)
				}
				for _, text := range tt.says {
					if !strings.Contains(err.Error(), text) {
						t.Errorf("%v does not say %q", err, text)
					}
				}
			}
			s.serve(tt.list, scope(0, "a", "south pier", south))
			if err := read(); err != nil {
				t.Errorf("the first one again: %v", err)
			}
		})
	}
}

// No command to connect goes to another device.
func TestConnectsNoOther(t *testing.T) {
	other := named("north pier")
	other.set("connected", false)
	s := newSwapped(t)
	s.serve(true, scope(0, "a", "south pier", named("south pier")))
	tel := s.open()
	s.serve(true, scope(0, "b", "north pier", other))
	if err := tel.Connect(short(t, 5*time.Second)); !errors.Is(err, mount.ErrAnswer) || other.put() != "" {
		t.Errorf("%v; it was told: %s", err, other.put())
	}
	if d := tel.Describe(); d.Name != "south pier" {
		t.Errorf("described as %s", d.Name)
	}
}
