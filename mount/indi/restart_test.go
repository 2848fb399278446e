package indi

import (
	"errors"
	"net"
	"strings"
	"testing"
	"time"

	"legroom/mount"
)

// lost waits until the session of a telescope has ended.
func lost(t *testing.T, tel *Telescope) {
	t.Helper()
	eventually(t, "the loss", func() bool { tel.link.mu.Lock(); defer tel.link.mu.Unlock(); return tel.link.s.ended() != nil })
}

// gone tells whether one of the next looks, up to one that is well, says that the driver was without its mount.
func gone(t *testing.T, tel *Telescope) bool {
	t.Helper()
	told := false
	for range 5 {
		_, err := tel.Read(within(t, 5*second))
		if err == nil {
			return told
		}
		told = told || errors.Is(err, mount.ErrNotConnected)
	}
	t.Fatal("it is never well again")
	return false
}

// A driver that goes away or loses its mount, and then its server with it, all between two looks, and is back connected: the mount may have
// lost its power. A link that was lost alone tells nothing of the mount.
func TestRestartedWithinThePause(t *testing.T) {
	off := setSwitch(connection, "Idle", "DISCONNECT", "CONNECT")
	busy := setPlace("Busy", "6", "1")
	for name, tt := range map[string]struct {
		last string // what is said last
		then func(s *script, tel *Telescope)
		want bool
	}{
		"the link alone":              {"", func(s *script, _ *Telescope) { s.cut() }, false},
		"the driver had gone":         {`<delProperty device="M"/>`, func(s *script, _ *Telescope) { s.cut() }, true},
		"the driver was disconnected": {off, func(s *script, _ *Telescope) { s.cut() }, true},
		"the mount was slewing":       {busy, func(s *script, _ *Telescope) { s.cut() }, true},
		"slewing, and no answer in time": {busy, func(s *script, tel *Telescope) {
			s.do(func() { s.mute = true })
			_, _ = tel.Read(within(t, 50*time.Millisecond))
			s.do(func() { s.mute = false })
		}, false},
		"seen disconnected in a session that ended too": {"", func(s *script, tel *Telescope) {
			s.do(func() { s.defs = []string{defOffline} })
			s.cut()
			lost(t, tel)
			_ = tel.Abort(within(t, 5*second)) // connects, and hears of it
			s.do(func() { s.defs = whole })
			s.cut()
		}, true},
		"disconnected in a session that never settled": {"", func(s *script, tel *Telescope) {
			s.do(func() { s.greet, s.mute = defOffline, true })
			s.cut()
			lost(t, tel)
			_ = tel.Abort(within(t, 100*time.Millisecond))
			s.do(func() { s.greet, s.mute = "", false })
		}, true},
	} {
		t.Run(name, func(t *testing.T) {
			s := newScript(t, whole...)
			tel := s.open()
			if _, err := tel.Read(within(t, 5*second)); err != nil {
				t.Fatal(err)
			}
			s.say(tt.last)
			if tt.last != "" {
				seen := "Busy"
				eventually(t, "what was said last", func() bool {
					known := tel.link.last()
					return !known[connection].connected() || known[placeOfDate].State.String() == seen
				})
			}
			tt.then(s, tel)
			lost(t, tel)
			if told := gone(t, tel); told != tt.want {
				t.Errorf("told that the driver was without its mount: %v", told)
			}
			if _, err := tel.Read(within(t, 5*second)); err != nil {
				t.Errorf("told more than once: %v", err)
			}
		})
	}
}

// Where nothing listens for a moment, the server was not running, and its driver neither.
func TestServerRestarted(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	gate, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := gate.Addr().String()
	_ = gate.Close()
	tel.link.mu.Lock()
	there := tel.link.address
	tel.link.address = address
	tel.link.mu.Unlock()
	s.cut()
	lost(t, tel)
	if err := tel.Abort(within(t, second)); !errors.Is(err, mount.ErrLink) || !strings.Contains(err.Error(), "refused") {
		t.Fatalf("%v", err)
	}
	tel.link.mu.Lock()
	tel.link.address = there
	tel.link.mu.Unlock()
	if !gone(t, tel) {
		t.Error("the server was away, and the driver is told to have been there")
	}
}
