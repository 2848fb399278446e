package alpaca

import (
	"net/http/httptest"
	"testing"
)

// One call over loopback, and one look by members and by devicestate.
func BenchmarkLink(b *testing.B) {
	open := func(f *fakeMount) *Telescope {
		s, err := NewServer(Info{}, Served{Listed{"a", "Telescope", 0, "x"}, f})
		if err != nil {
			b.Fatal(err)
		}
		h := httptest.NewServer(s)
		b.Cleanup(h.Close)
		m, err := OpenTelescope(b.Context(), NewHost(h.Listener.Addr().String()), 0)
		if err != nil {
			b.Fatal(err)
		}
		return m
	}
	state := newFake(4)
	state.set("devicestate", stateJSON("RightAscension", 5.5, "Declination", -12.25, "SideOfPier", 1, "SiderealTime", 4.0,
		"Slewing", false, "Tracking", true, "UTCDate", "2026-03-01T21:04:05.678Z", "AtPark", false, "AtHome", false))
	members, whole := open(newFake(3)), open(state)
	b.Run("call", func(b *testing.B) {
		for b.Loop() {
			if _, err := members.Device().Call(b.Context(), Get("rightascension")); err != nil {
				b.Fatal(err)
			}
		}
	})
	for name, m := range map[string]*Telescope{"members": members, "state": whole} {
		b.Run("look by "+name, func(b *testing.B) {
			for b.Loop() {
				if _, err := m.Read(b.Context()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
