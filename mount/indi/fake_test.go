package indi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// The session of a mount in the protocol's own text, as REFERENCES and memory have it.
const (
	defConnected = `<defSwitchVector device="M" name="CONNECTION" state="Ok" perm="rw" rule="OneOfMany"><defSwitch name="CONNECT">On</defSwitch><defSwitch name="DISCONNECT">Off</defSwitch></defSwitchVector>`
	defOffline   = `<defSwitchVector device="M" name="CONNECTION" state="Idle" perm="rw" rule="OneOfMany"><defSwitch name="CONNECT">Off</defSwitch><defSwitch name="DISCONNECT">On</defSwitch></defSwitchVector>`
	defInfo      = `<defTextVector device="M" name="DRIVER_INFO" state="Idle" perm="ro"><defText name="DRIVER_NAME">made up</defText><defText name="DRIVER_VERSION">0.1</defText></defTextVector>`
	defPlace     = `<defNumberVector device="M" name="EQUATORIAL_EOD_COORD" state="Ok" perm="rw"><defNumber name="RA" format="%9.6m" min="0" max="24" step="0">5:30:00</defNumber><defNumber name="DEC" format="%9.6m" min="-90" max="90" step="0">-0:15:00</defNumber></defNumberVector>`
	defOnPlace   = `<defSwitchVector device="M" name="ON_COORD_SET" state="Idle" perm="rw" rule="OneOfMany"><defSwitch name="TRACK">Off</defSwitch><defSwitch name="SLEW">Off</defSwitch><defSwitch name="SYNC">On</defSwitch></defSwitchVector>`
	defSide      = `<defSwitchVector device="M" name="TELESCOPE_PIER_SIDE" state="Ok" perm="ro" rule="OneOfMany"><defSwitch name="PIER_WEST">On</defSwitch><defSwitch name="PIER_EAST">Off</defSwitch></defSwitchVector>`
	defTrack     = `<defSwitchVector device="M" name="TELESCOPE_TRACK_STATE" state="Busy" perm="rw" rule="OneOfMany"><defSwitch name="TRACK_ON">On</defSwitch><defSwitch name="TRACK_OFF">Off</defSwitch></defSwitchVector>`
	defAbort     = `<defSwitchVector device="M" name="TELESCOPE_ABORT_MOTION" state="Idle" perm="rw" rule="AtMostOne"><defSwitch name="ABORT">Off</defSwitch></defSwitchVector>`
	defPark      = `<defSwitchVector device="M" name="TELESCOPE_PARK" state="Idle" perm="rw" rule="OneOfMany"><defSwitch name="PARK">Off</defSwitch><defSwitch name="UNPARK">On</defSwitch></defSwitchVector>`
	defWE        = `<defSwitchVector device="M" name="TELESCOPE_MOTION_WE" state="Idle" perm="rw" rule="AtMostOne"><defSwitch name="MOTION_WEST">Off</defSwitch><defSwitch name="MOTION_EAST">Off</defSwitch></defSwitchVector>`
	defNS        = `<defSwitchVector device="M" name="TELESCOPE_MOTION_NS" state="Idle" perm="rw" rule="AtMostOne"><defSwitch name="MOTION_NORTH">Off</defSwitch><defSwitch name="MOTION_SOUTH">Off</defSwitch></defSwitchVector>`
	defGeo       = `<defNumberVector device="M" name="GEOGRAPHIC_COORD" state="Ok" perm="rw"><defNumber name="LAT" format="%g" min="-90" max="90" step="0">-33:30</defNumber><defNumber name="LONG" format="%g" min="0" max="360" step="0">289:15:00</defNumber><defNumber name="ELEV" format="%g" min="0" max="9000" step="0">10</defNumber></defNumberVector>`
	defUTC       = `<defTextVector device="M" name="TIME_UTC" state="Ok" perm="rw"><defText name="UTC">2026-03-01T21:04:05</defText><defText name="OFFSET">1.00</defText></defTextVector>`
	defLST       = `<defNumberVector device="M" name="TIME_LST" state="Ok" perm="ro"><defNumber name="LST" format="%g" min="0" max="24" step="0">4:30:00</defNumber></defNumberVector>`
	defMode      = `<defSwitchVector device="M" name="TELESCOPE_TRACK_MODE" state="Ok" perm="rw" rule="OneOfMany"><defSwitch name="TRACK_SIDEREAL">On</defSwitch><defSwitch name="TRACK_LUNAR">Off</defSwitch><defSwitch name="TRACK_CUSTOM">Off</defSwitch></defSwitchVector>`
	defRate      = `<defNumberVector device="M" name="TELESCOPE_TRACK_RATE" state="Ok" perm="rw"><defNumber name="TRACK_RATE_RA" format="%g" min="-1000" max="1000" step="0">14.5</defNumber><defNumber name="TRACK_RATE_DE" format="%g" min="-1000" max="1000" step="0">0.5</defNumber></defNumberVector>`
)

var whole = []string{defConnected, defInfo, defPlace, defOnPlace, defSide, defTrack, defAbort, defPark, defWE, defNS, defGeo, defUTC, defLST, defMode, defRate}

// script is a server that answers from texts alone.
type script struct {
	t       *testing.T
	address string

	mu      sync.Mutex
	defs    []string            // what it has
	answers map[string][]string // to the next new vectors, by name: what to send at once
	mute    bool                // it takes everything and says nothing
	greet   string              // sent to whoever connects
	heard   []string            // "NAME MEMBER=text …" of each new vector
	asked   int
	conns   map[net.Conn]bool
	total   int // connections so far
}

func newScript(t *testing.T, defs ...string) *script {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &script{t: t, address: l.Addr().String(), defs: slices.Clone(defs), answers: map[string][]string{}, conns: map[net.Conn]bool{}}
	var running sync.WaitGroup
	running.Go(func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			s.mu.Lock()
			s.conns[c] = true
			s.total++
			greet := s.greet
			s.mu.Unlock()
			running.Go(func() { s.serve(c, greet) })
		}
	})
	t.Cleanup(func() {
		_ = l.Close()
		s.cut()
		running.Wait()
	})
	return s
}

func (s *script) serve(c net.Conn, greet string) {
	defer c.Close()
	_, _ = io.WriteString(c, greet)
	r := NewReader(c)
	for {
		e, err := r.Next()
		if err != nil {
			if err != io.EOF && !errors.Is(err, net.ErrClosed) && !strings.Contains(err.Error(), "reset by peer") {
				s.t.Errorf("the client sent what cannot be read: %v", err)
			}
			return
		}
		_, _ = io.WriteString(c, s.answer(e))
	}
}

func (s *script) answer(e Element) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.mute {
		return ""
	}
	var text string
	switch e.Op {
	case Get:
		s.asked++
		for _, def := range s.defs {
			if e.Name == "" || strings.Contains(def, fmt.Sprintf("name=%q state", e.Name)) {
				text += def + "\n"
			}
		}
	case New:
		line := e.Name
		for _, m := range e.Members {
			line += " " + m.Name + "=" + m.Text
		}
		s.heard = append(s.heard, line)
		text = strings.Join(s.answers[e.Name], "\n")
		delete(s.answers, e.Name)
	}
	return text
}

// on is what is said to the next wish for a property.
func (s *script) on(name string, answers ...string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.answers[name] = answers
}

// say sends a text to all clients.
func (s *script) say(text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for c := range s.conns {
		_, _ = io.WriteString(c, text)
	}
}

func (s *script) do(f func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f()
}

// cut closes all connections.
func (s *script) cut() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for c := range s.conns {
		_ = c.Close()
		delete(s.conns, c)
	}
}

func (s *script) last() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.heard) == 0 {
		return ""
	}
	return s.heard[len(s.heard)-1]
}

func (s *script) open() *Telescope {
	s.t.Helper()
	tel, err := Open(within(s.t, 5*time.Second), "indi://"+s.address+"/M")
	if err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(func() { _ = tel.Close() })
	return tel
}

func within(t *testing.T, d time.Duration) context.Context {
	ctx, cancel := context.WithTimeout(context.Background(), d)
	t.Cleanup(cancel)
	return ctx
}

// setSwitch is a set of a property in the protocol's text.
func setSwitch(name, state string, on, off string) string {
	text := fmt.Sprintf(`<setSwitchVector device="M" name=%q state=%q>`, name, state)
	for _, m := range strings.Fields(on) {
		text += fmt.Sprintf(`<oneSwitch name=%q>On</oneSwitch>`, m)
	}
	for _, m := range strings.Fields(off) {
		text += fmt.Sprintf(`<oneSwitch name=%q>Off</oneSwitch>`, m)
	}
	return text + "</setSwitchVector>\n"
}

func setPlace(state, ra, dec string) string {
	return fmt.Sprintf(`<setNumberVector device="M" name="EQUATORIAL_EOD_COORD" state=%q><oneNumber name="RA">%s</oneNumber><oneNumber name="DEC">%s</oneNumber></setNumberVector>`+"\n", state, ra, dec)
}

// eventually waits for something that another goroutine does.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("not in time: %s", what)
		}
	}
}
