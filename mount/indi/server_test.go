package indi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// serve runs a server for the test and gives its address.
func serve(t testing.TB, s *Server) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("Serve: %v", err)
		}
	})
	return l.Addr().String()
}

// switches makes a vector of switches; those of on are on.
func switches(name, rule string, on string, members ...string) Vector {
	v := Vector{Device: "M", Name: name, Kind: Switch, State: Idle, Perm: "rw", Rule: rule}
	for _, m := range members {
		v.Members = append(v.Members, Member{Name: m, On: m == on})
	}
	return v
}

// served is a mount of the tests on a Server. It slews at once, and its abort leaves tracking on.
type served struct {
	*Server
	t  testing.TB
	mu sync.Mutex
	at sky.Equatorial // hours and degrees are on the wire
	n  int            // looks
}

func newServed(t testing.TB) *served {
	m := &served{Server: &Server{}, t: t, at: sky.Equatorial{RA: axes.FromHours(5), Dec: axes.Rad(-20)}}
	m.New, m.Asked = m.wish, m.asked
	number := func(name, perm string, members ...Member) Vector {
		return Vector{Device: "M", Name: name, Kind: Number, State: Ok, Perm: perm, Members: members}
	}
	for _, v := range []Vector{
		switches(connection, "OneOfMany", "DISCONNECT", "CONNECT", "DISCONNECT"),
		number(placeOfDate, "rw", Member{Name: "RA", Max: 24, Number: 5}, Member{Name: "DEC", Min: -90, Max: 90, Number: -20}),
		switches(onPlace, "OneOfMany", "SYNC", "TRACK", "SLEW", "SYNC"),
		switches(pierSide, "OneOfMany", "PIER_EAST", "PIER_WEST", "PIER_EAST"),
		switches(trackState, "OneOfMany", "TRACK_ON", "TRACK_ON", "TRACK_OFF"),
		switches(abort, "AtMostOne", "", "ABORT"),
		switches(park, "OneOfMany", "UNPARK", "PARK", "UNPARK"),
		switches(motionWE, "AtMostOne", "", "MOTION_WEST", "MOTION_EAST"),
		switches(motionNS, "AtMostOne", "", "MOTION_NORTH", "MOTION_SOUTH"),
		number(timeLST, "ro", Member{Name: "LST", Max: 24}),
		number(geographic, "rw", Member{Name: "LAT", Min: -90, Max: 90, Number: 48}, Member{Name: "LONG", Max: 360, Number: 11}),
	} {
		m.must(m.Define(v))
	}
	return m
}

func (m *served) must(err error) {
	if err != nil {
		m.t.Error(err)
	}
}

func (m *served) asked(device, name string) {
	if name == timeLST {
		m.mu.Lock()
		defer m.mu.Unlock()
		m.n++
		m.must(m.Update(Vector{Device: "M", Name: timeLST, Members: []Member{{Name: "LST", Number: 1 + float64(m.n)/36000}}}))
	}
}

func (m *served) wish(v Vector) {
	set := func(name string, state State, on, off string) {
		set := Vector{Device: "M", Name: name, State: state}
		for _, n := range strings.Fields(on) {
			set.Members = append(set.Members, Member{Name: n, On: true})
		}
		for _, n := range strings.Fields(off) {
			set.Members = append(set.Members, Member{Name: n})
		}
		m.must(m.Set(set))
	}
	on := strings.Join(v.On(), " ")
	switch v.Name {
	case connection:
		set(connection, Busy, "CONNECT", "DISCONNECT")
		set(connection, Ok, "CONNECT", "DISCONNECT")
	case trackState:
		if on == "TRACK_OFF" {
			set(trackState, Idle, on, "TRACK_ON")
		} else {
			set(trackState, Busy, on, "TRACK_OFF")
		}
	case onPlace:
		set(onPlace, Ok, on, "SYNC")
	case placeOfDate:
		dec, _ := v.Member("DEC")
		if dec.Number < -60 {
			m.must(m.Set(Vector{Device: "M", Name: placeOfDate, State: Alert, Message: "below the horizon"}))
			m.must(m.Set(Vector{Device: "M", Name: placeOfDate, State: Ok}))
			return
		}
		m.must(m.Set(Vector{Device: "M", Name: placeOfDate, State: Busy}))
		m.must(m.Set(Vector{Device: "M", Name: placeOfDate, State: Ok, Members: v.Members}))
	case abort:
		set(abort, Ok, "", "ABORT")
	case park:
		set(park, Busy, on, map[string]string{"PARK": "UNPARK", "UNPARK": "PARK"}[on])
		set(park, Ok, "", "")
	case motionNS:
		set(motionNS, Idle, "", "MOTION_NORTH MOTION_SOUTH")
	case motionWE:
		set(motionWE, Idle, "", "MOTION_WEST MOTION_EAST")
	}
}

// The client on this package's own server.
func TestClientAndServer(t *testing.T) {
	m := newServed(t)
	address := serve(t, m.Server)
	tel, err := Open(within(t, 5*second), "indi://"+address+"/M")
	if err != nil {
		t.Fatal(err)
	}
	defer tel.Close()
	read := func() mount.Reading {
		t.Helper()
		r, err := tel.Read(within(t, 5*second))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := read()
	if r.Side != axes.East || !r.SideSaid || r.Tracking != mount.Yes || math.Abs(axes.Hours(r.RA)-5) > 1e-12 || r.SiderealSaid {
		t.Errorf("%+v", r)
	}
	if err := tel.Slew(within(t, 5*second), sky.Equatorial{RA: axes.FromHours(7.25), Dec: axes.Rad(33)}, nil); err != nil {
		t.Fatal(err)
	}
	if r = read(); math.Abs(axes.Hours(r.RA)-7.25) > 1e-9 || math.Abs(axes.Deg(r.Dec)-33) > 1e-9 {
		t.Errorf("it stands at %v h, %v°", axes.Hours(r.RA), axes.Deg(r.Dec))
	}
	var refused *mount.Refused
	err = tel.Slew(within(t, 5*second), sky.Equatorial{Dec: axes.Rad(-70)}, nil)
	if !errors.As(err, &refused) || refused.Message != "below the horizon" {
		t.Errorf("%v", err)
	}
	// Abort leaves tracking on: a stop needs both.
	if err := tel.Abort(within(t, 5*second)); err != nil || read().Tracking != mount.Yes {
		t.Errorf("%v", err)
	}
	if err := tel.SetTracking(within(t, 5*second), false); err != nil {
		t.Error(err)
	}
	for range ticks { // its clock has to be seen to run
		r = read()
	}
	if r.Tracking != mount.No || !r.SiderealSaid {
		t.Errorf("%+v", r)
	}
	if err := tel.SetTracking(within(t, 5*second), true); err != nil || read().Tracking != mount.Yes {
		t.Errorf("%v", err)
	}
	if err := tel.ZeroRates(within(t, 5*second)); err != nil {
		t.Error(err)
	}
	if err := tel.Park(within(t, 5*second)); err != nil || read().Parked != mount.Yes {
		t.Errorf("%v", err)
	}
	if err := tel.Unpark(within(t, 5*second)); err != nil || read().Parked != mount.No {
		t.Errorf("%v", err)
	}
	m.Delete("M", park)
	if r = read(); r.Parked != mount.Unsaid || !misses(r, park) {
		t.Errorf("%+v", r)
	}
	if names, err := Devices(within(t, 5*second), address); err != nil || len(names) != 1 || names[0] != "M" {
		t.Errorf("%v, %v", names, err)
	}
}

// peer is a raw client.
type peer struct {
	net.Conn
	*Reader
	t *testing.T
}

func dial(t *testing.T, address, hello string) *peer {
	t.Helper()
	c, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Close() })
	_ = c.SetDeadline(time.Now().Add(20 * second))
	p := &peer{c, NewReader(c), t}
	p.say(hello)
	return p
}

func (p *peer) say(text string) {
	p.t.Helper()
	if _, err := io.WriteString(p.Conn, text); err != nil {
		p.t.Fatal(err)
	}
}

func (p *peer) hear() Element {
	p.t.Helper()
	e, err := p.Next()
	if err != nil {
		p.t.Fatal(err)
	}
	return e
}

// Wishes that cannot be are answered to the one who has them, and to nobody else.
func TestServerRefuses(t *testing.T) {
	m := newServed(t)
	address := serve(t, m.Server)
	other := dial(t, address, `<getProperties version="1.7" device="M" name="TELESCOPE_ABORT_MOTION"/>`)
	if e := other.hear(); e.Op != Def || e.Name != abort {
		t.Fatalf("%+v", e)
	}
	p := dial(t, address, "")
	for _, tt := range [][2]string{
		{`<newNumberVector device="M" name="EQUATORIAL_EOD_COORD"><oneNumber name="RA">25</oneNumber></newNumberVector>`, "from 0 to 24"},
		{`<newNumberVector device="M" name="EQUATORIAL_EOD_COORD"><oneNumber name="RA">x</oneNumber></newNumberVector>`, "no number"},
		{`<newNumberVector device="M" name="EQUATORIAL_EOD_COORD"><oneNumber name="AZ">1</oneNumber></newNumberVector>`, "no member"},
		{`<newNumberVector device="M" name="EQUATORIAL_EOD_COORD"/>`, "no member"},
		{`<newSwitchVector device="M" name="EQUATORIAL_EOD_COORD"><oneSwitch name="RA">On</oneSwitch></newSwitchVector>`, "not a Switch"},
		{`<newNumberVector device="M" name="TIME_LST"><oneNumber name="LST">1</oneNumber></newNumberVector>`, "only be read"},
		{`<newSwitchVector device="M" name="TELESCOPE_PARK"><oneSwitch name="PARK">Off</oneSwitch></newSwitchVector>`, "OneOfMany"},
		{`<newSwitchVector device="M" name="TELESCOPE_MOTION_WE"><oneSwitch name="MOTION_WEST">On</oneSwitch><oneSwitch name="MOTION_EAST">On</oneSwitch></newSwitchVector>`, "AtMostOne"},
		{`<newSwitchVector device="M" name="NOTHING"><oneSwitch name="PARK">On</oneSwitch></newSwitchVector>`, "no property"},
		{`<newSwitchVector device="Z" name="TELESCOPE_PARK"><oneSwitch name="PARK">On</oneSwitch></newSwitchVector>`, "no property"},
	} {
		p.say(tt[0])
		if e := p.hear(); e.Op == Set && e.State != Alert || !strings.Contains(e.Message, tt[1]) {
			t.Errorf("%s: %+v, want %q", tt[0], e, tt[1])
		}
	}
	p.say(`<getProperties version="1.7"/>`)
	for range 11 {
		if e := p.hear(); e.Op != Def || e.State == Alert {
			t.Errorf("%+v", e)
		}
	}
	p.say(`<newSwitchVector device="M" name="TELESCOPE_ABORT_MOTION"><oneSwitch name="ABORT">On</oneSwitch></newSwitchVector>`)
	for _, c := range []*peer{p, other} { // the first thing that the other one hears after its definition
		if e := c.hear(); e.Op != Set || e.Name != abort || e.State != Ok {
			t.Errorf("%+v", e)
		}
	}
	m.Say("M", "good night")
	m.Delete("M", "")
	if e := p.hear(); e.Op != Message || e.Message != "good night" {
		t.Errorf("%+v", e)
	}
	for _, c := range []*peer{p, other} {
		e := c.hear()
		if e.Op == Message { // the other one asked for a property of this device, so it hears the device
			e = c.hear()
		}
		if e.Op != Delete || e.Device != "M" || e.Name != "" {
			t.Errorf("%+v", e)
		}
	}
}

// Only what can be told is defined and set.
func TestDefine(t *testing.T) {
	var s Server
	good := switches("A", "OneOfMany", "x", "x", "y")
	if err := s.Define(good); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(v *Vector){
		"device": func(v *Vector) { v.Device = "" }, "name": func(v *Vector) { v.Name = "" }, "kind": func(v *Vector) { v.Kind = BLOB },
		"state": func(v *Vector) { v.State = Unstated }, "perm": func(v *Vector) { v.Perm = "r" }, "rule": func(v *Vector) { v.Rule = "" },
		"twice": func(v *Vector) { v.Members = append(v.Members, Member{Name: "x"}) },
		"nan":   func(v *Vector) { v.Members = []Member{{Name: "x", Number: math.NaN()}} },
	} {
		v := good
		spoil(&v)
		if err := s.Define(v); !errors.Is(err, mount.ErrValue) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, v := range []Vector{{Device: "M", Name: "B"}, {Device: "M", Name: "A", Members: []Member{{Name: "z"}}}} {
		if err := s.Set(v); !errors.Is(err, mount.ErrLacks) {
			t.Errorf("%+v: %v", v, err)
		}
	}
	if err := s.Set(Vector{Device: "M", Name: "A", Members: []Member{{Name: "x", Number: math.Inf(1)}}}); !errors.Is(err, mount.ErrValue) {
		t.Errorf("%v", err)
	}
}

// Clients that do not read, that flood, that send garbage or half an element, or that only hold a connection, keep nobody else
// from being served, and the ones that break the protocol are gone.
func TestHostileClients(t *testing.T) {
	m := newServed(t)
	address := serve(t, m.Server)
	tel, err := Open(within(t, 5*second), "indi://"+address+"/M")
	if err != nil {
		t.Fatal(err)
	}
	defer tel.Close()

	deaf := dial(t, address, `<getProperties version="1.7"/>`) // and never reads
	flood := dial(t, address, "")
	var flooding sync.WaitGroup
	flooding.Go(func() {
		for { // until the server drops it, for not reading either
			if _, err := io.WriteString(flood, strings.Repeat(`<getProperties version="1.7"/>`, 50)); err != nil {
				return
			}
		}
	})
	for _, text := range []string{"garbage <", `<!DOCTYPE x>`, "<a>" + strings.Repeat("<b>", 100), `<message message="` + strings.Repeat("x", maxElement),
		`<getProperties version="1.7"/></x>`, manyWants()} {
		p := dial(t, address, "")
		_, _ = io.WriteString(p, text) // it may be dropped before the end
		for {
			if _, err := p.Next(); err != nil {
				var timeout net.Error
				if errors.As(err, &timeout) && timeout.Timeout() {
					t.Errorf("%.40q was not dropped", text)
				}
				break
			}
		}
	}
	dial(t, address, `<newSwitchVector device="M" name="TELESCOPE_P`)
	for range 3 * maxClients {
		dial(t, address, "")
	}
	// The deaf one is dropped once more waits for it than is kept.
	big := Vector{Device: "M", Name: "BIG", Kind: Text, State: Ok, Perm: "ro", Members: []Member{{Name: "t", Text: strings.Repeat("y", maxElement-1024)}}}
	if err := m.Define(big); err != nil {
		t.Fatal(err)
	}
	for i := range 200 {
		if err := m.Set(big); err != nil {
			t.Fatal(err)
		}
		if i%4 == 0 { // which also makes sure that this client has read so far
			if _, err := tel.Read(within(t, 5*second)); err != nil {
				t.Fatal(err)
			}
		}
	}
	flooding.Wait()
	_ = deaf.SetDeadline(time.Now().Add(20 * second)) // its first one may have passed on a busy machine
	if n, err := io.Copy(io.Discard, deaf); err != nil && strings.Contains(err.Error(), "timeout") || n > 150*maxElement {
		t.Errorf("the deaf client was sent %d bytes, and is still there: %v", n, err)
	}
	if err := tel.SetTracking(within(t, 5*second), false); err != nil {
		t.Error(err)
	}
	eventually(t, "few clients", func() bool { m.Server.mu.Lock(); defer m.Server.mu.Unlock(); return len(m.clients) <= maxClients })
}

func manyWants() string {
	var text strings.Builder
	for i := range maxWants + 1 {
		fmt.Fprintf(&text, `<getProperties version="1.7" device="M" name="P%d"/>`, i)
	}
	return text.String()
}
