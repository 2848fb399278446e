package indi

import (
	"context"
	"errors"
	"net"
	"runtime"
	"strings"
	"testing"
	"time"

	"legroom/mount"
)

// Whatever a server does, a call ends by its deadline and says what it was.
func TestHostileServers(t *testing.T) {
	for name, tt := range map[string]struct {
		greet string
		mute  bool
		kind  error
	}{
		"silent":       {"", true, mount.ErrLink},
		"garbage":      {"HTTP/1.1 400 Bad Request\r\n\r\n", true, mount.ErrAnswer},
		"binary":       {"\x00\x01\x02\xff", true, mount.ErrAnswer},
		"half":         {`<defSwitchVector device="M" name="CONNECTION" state="Ok"><defSwitch name="CONN`, true, mount.ErrLink},
		"entities":     {`<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><message message="&b;"/>`, true, mount.ErrAnswer},
		"attributes":   {"<defSwitchVector " + strings.Repeat(`a="b" `, 100_000), true, mount.ErrAnswer},
		"huge":         {`<defTextVector device="M" name="DRIVER_INFO" state="Ok">` + strings.Repeat(`<defText name="a">b</defText>`, 10_000), true, mount.ErrAnswer},
		"deep":         {strings.Repeat("<a>", 10_000), true, mount.ErrAnswer},
		"other device": {strings.ReplaceAll(defConnected+defPlace, `"M"`, `"N"`), true, mount.ErrLink},
		"many others":  {strings.Repeat(strings.ReplaceAll(defPlace, `"M"`, `"N"`), 10_000), true, mount.ErrLink},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newScript(t)
			s.do(func() { s.greet, s.mute = tt.greet, tt.mute })
			limit := 300 * time.Millisecond
			if tt.kind == mount.ErrAnswer {
				limit = 20 * second // it is told by what the server says, long before
			}
			begun := time.Now()
			_, err := Open(within(t, limit), "indi://"+s.address+"/M")
			if took := time.Since(begun); !errors.Is(err, tt.kind) || !errors.Is(err, mount.ErrLink) || took > limit+5*second {
				t.Errorf("%v after %v, want %v", err, took, tt.kind)
			}
		})
	}
}

// A driver that defines properties without end fills nothing: a session keeps those of a telescope alone.
func TestManyProperties(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	var text strings.Builder
	for i := range 20_000 {
		text.WriteString(strings.Replace(defTrack, trackState, "P"+strings.Repeat("x", i%7)+time.Duration(i).String(), 1))
	}
	s.say(text.String())
	if _, err := tel.Read(within(t, 10*second)); err != nil {
		t.Fatal(err)
	}
	if n := len(tel.link.last()); n != len(whole) {
		t.Errorf("%d properties are kept, want %d", n, len(whole))
	}
}

// answering is a connection on which the answer has come before the question has quite gone out.
type answering struct {
	net.Conn
	answer func()
}

func (a answering) Write(b []byte) (int, error) {
	a.answer()
	return len(b), nil
}

// The mount restarts just as it is asked: the driver takes the place away and defines it anew before the answer is looked for.
func TestTakenAwayAndBack(t *testing.T) {
	here, there := net.Pipe()
	defer here.Close()
	defer there.Close()
	place := Element{Op: Def, Vector: Vector{Device: "M", Name: placeOfDate, Kind: Number, State: Ok}}
	gone := Element{Op: Delete, Vector: Vector{Device: "M", Name: placeOfDate}}
	var s *session
	s = newSession(answering{here, func() {
		s.take(gone)
		s.take(place)
	}}, "M")
	for range 3 {
		s.take(place)
	}
	if err := s.ask(within(t, 5*second), placeOfDate); err != nil {
		t.Error(err)
	}
	s.end(errClosed)
}

// A half-open connection is found by a deadline, given up, and made anew by the next call.
func TestHalfOpen(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	s.do(func() { s.mute = true })
	if _, err := tel.Read(within(t, 100*time.Millisecond)); !errors.Is(err, mount.ErrLink) || !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("%v", err)
	}
	s.do(func() { s.mute = false })
	// The look that ran into it has told of it, so the next one is plain.
	if _, err := tel.Read(within(t, 5*second)); err != nil {
		t.Fatal(err)
	}
	s.do(func() {
		if s.total != 2 {
			t.Errorf("%d connections, want 2", s.total)
		}
		s.mute = true
	})
	// A stop that gets no answer gives the connection up too, so that the next try is not sent into the void.
	if err := tel.Abort(within(t, 100*time.Millisecond)); !errors.Is(err, mount.ErrLink) {
		t.Fatalf("%v", err)
	}
	s.do(func() { s.mute = false })
	s.on(abort, setSwitch(abort, "Ok", "", "ABORT"))
	if err := tel.Abort(within(t, 5*second)); err != nil {
		t.Fatal(err)
	}
	if _, err := tel.Read(within(t, 5*second)); !errors.Is(err, mount.ErrLink) || !strings.Contains(err.Error(), "again") {
		t.Errorf("a loss that no look had told: %v", err)
	}
	if _, err := tel.Read(within(t, 5*second)); err != nil {
		t.Error(err)
	}
}

// A connection that was lost and made anew between two looks is told once: the mount may have lost its power meanwhile.
func TestReconnect(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	for range 3 {
		s.cut()
		eventually(t, "the loss", func() bool { tel.link.mu.Lock(); defer tel.link.mu.Unlock(); return tel.link.s.ended() != nil })
		if d := tel.Describe(); d.Driver != "made up" {
			t.Errorf("without a connection: %+v", d)
		}
		if _, err := tel.Read(within(t, 5*second)); !errors.Is(err, mount.ErrLink) {
			t.Fatalf("%v", err)
		}
		if _, err := tel.Read(within(t, 5*second)); err != nil {
			t.Fatal(err)
		}
	}
	// After a restart the driver is not connected to its mount.
	s.do(func() { s.defs = []string{defOffline, defInfo} })
	s.cut()
	eventually(t, "a driver that is not connected", func() bool {
		_, err := tel.Read(within(t, 5*second))
		return errors.Is(err, mount.ErrNotConnected)
	})
	if err := tel.Abort(within(t, 5*second)); !errors.Is(err, mount.ErrNotConnected) {
		t.Errorf("%v", err)
	}
	s.on(connection, setSwitch(connection, "Busy", "CONNECT", "DISCONNECT"),
		setSwitch(connection, "Ok", "CONNECT", "DISCONNECT")+strings.Join(whole[1:], ""))
	s.do(func() { s.defs = whole })
	if err := tel.Connect(within(t, 5*second)); err != nil {
		t.Fatal(err)
	}
	if _, err := tel.Read(within(t, 5*second)); err != nil {
		t.Error(err)
	}
}

// A driver that was disconnected and connected again between two looks, and one that went away.
func TestDropped(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	s.say(setSwitch(connection, "Idle", "DISCONNECT", "CONNECT") + setSwitch(connection, "Ok", "CONNECT", "DISCONNECT"))
	if _, err := tel.Read(within(t, 5*second)); !errors.Is(err, mount.ErrNotConnected) {
		t.Errorf("%v", err)
	}
	if _, err := tel.Read(within(t, 5*second)); err != nil {
		t.Error(err)
	}
	s.say(`<delProperty device="M"/>`)
	s.do(func() { s.defs = nil })
	if _, err := tel.Read(within(t, 200*time.Millisecond)); !errors.Is(err, mount.ErrNotConnected) && !errors.Is(err, mount.ErrLink) {
		t.Errorf("%v", err)
	}
}

// Nothing listens: a call says so at once, and tries again do not come in a flood.
func TestNobodyThere(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	_ = l.Close()
	tel := &Telescope{link: newLink(address, "M"), noted: map[string]bool{}}
	defer tel.Close()
	tries, end := 0, time.Now().Add(500*time.Millisecond)
	for time.Now().Before(end) {
		if _, err := tel.Read(within(t, second)); !errors.Is(err, mount.ErrLink) {
			t.Fatalf("%v", err)
		}
		tries++
	}
	if tries > 8 { // 0, 50, 150, 350, 750 ms, …
		t.Errorf("%d tries in half a second", tries)
	}
	_ = tel.Close()
	if _, err := tel.Read(within(t, second)); !errors.Is(err, mount.ErrLink) {
		t.Errorf("closed: %v", err)
	}
}

func TestAddresses(t *testing.T) {
	for _, address := range []string{"", "indi://", "indi://127.0.0.1:7624", "indi://127.0.0.1:7624/", "indi://127.0.0.1/M", "alpaca://127.0.0.1:1/0",
		"indi://a@127.0.0.1:7624/M", "indi://127.0.0.1:7624/M?x=1", "indi://127.0.0.1:7624/M#x", "127.0.0.1:7624/M"} {
		if _, err := Open(within(t, second), address); err == nil || !strings.Contains(err.Error(), "HOST:PORT/DEVICE") {
			t.Errorf("%q: %v", address, err)
		}
	}
}

// Closing leaves no goroutine behind.
func TestNothingLeft(t *testing.T) {
	s := newScript(t, whole...)
	before := runtime.NumGoroutine()
	for range 10 {
		tel := s.open()
		if _, err := tel.Read(within(t, 5*second)); err != nil {
			t.Fatal(err)
		}
		_ = tel.Close()
	}
	eventually(t, "the goroutines' end", func() bool { return runtime.NumGoroutine() <= before })
}
