package guard

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/watch"
)

// table is a device that answers every member with a value of its kind, and counts what came.
type table struct {
	mu    sync.Mutex
	calls map[string]int
	wait  time.Duration // each call takes
	done  atomic.Int32  // calls that came to their end
	most  atomic.Int32  // at a time
	now   atomic.Int32
}

func (d *table) Call(ctx context.Context, c alpaca.Call) (any, error) {
	d.most.Store(max(d.most.Load(), d.now.Add(1)))
	defer d.now.Add(-1)
	d.mu.Lock()
	if d.calls == nil {
		d.calls = map[string]int{}
	}
	d.calls[fmt.Sprint(c.Put, c.Member)]++
	d.mu.Unlock()
	if d.wait > 0 {
		select {
		case <-time.After(d.wait):
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	d.done.Add(1)
	return valueOf(c), nil
}

// valueOf is a value that tells the member apart where its kind can.
func valueOf(c alpaca.Call) any {
	m, _ := alpaca.MemberOf("telescope", c.Member, c.Put)
	switch m.Value {
	case alpaca.Bool:
		return len(c.Member)%2 == 0
	case alpaca.Int:
		return len(c.Member)
	case alpaca.Float:
		return float64(len(c.Member)) + 0.25
	case alpaca.Text:
		return "the mount's " + c.Member
	case alpaca.List:
		return []int{len(c.Member)}
	}
	return nil
}

// over puts the guard of a bench over another device.
func (b *bench) over(d alpaca.Device) {
	b.t.Helper()
	var err error
	if b.guard, err = New(b.w, d, theMap(b.t).Gauge().Model.Rig, b.guard.o); err != nil {
		b.t.Fatal(err)
	}
	b.serve()
}

func argsOf(m alpaca.Member) alpaca.Args {
	a := alpaca.Args{}
	for _, p := range m.Params {
		a[p.Name] = map[alpaca.Kind]any{alpaca.Bool: false, alpaca.Int: 1, alpaca.Float: 0.0, alpaca.Text: ""}[p.Kind]
	}
	return a
}

// Every member of the standard gets through to the mount and its value back, but for those that are the guard's own.
func TestEveryMember(t *testing.T) {
	b := newBench(t, deg(70, 45), Options{}, nil)
	d := &table{}
	b.over(d)
	own := map[string]bool{"GET sideofpier": true, "GET destinationsideofpier": true, "GET devicestate": true, "GET supportedactions": true,
		"PUT disconnect": true, "PUT connected": true, "PUT action": true, "PUT commandblind": true, "PUT commandbool": true, "PUT commandstring": true}
	for _, m := range alpaca.Members("telescope") {
		c := alpaca.Call{Put: m.Put, Member: m.Name, Args: argsOf(m)}
		method := map[bool]string{false: "GET", true: "PUT"}[m.Put]
		if m.Put && commands[m.Name] != nil || own[method+" "+m.Name] {
			continue // tried on their own
		}
		v, err := b.tel.Call(t.Context(), c)
		want, got := fmt.Sprint(valueOf(c)), fmt.Sprint(v)
		if raw, ok := v.(json.RawMessage); ok {
			got = string(raw)
		}
		if err != nil || got != want || d.calls[fmt.Sprint(m.Put, m.Name)] != 1 {
			t.Errorf("%s %s: %s %v, came %d times", method, m.Name, got, err, d.calls[fmt.Sprint(m.Put, m.Name)])
		}
	}
	for name := range commands {
		if _, ok := alpaca.MemberOf("telescope", name, true); !ok {
			t.Errorf("the standard has no %s", name)
		}
	}
}

// One client's hanging up takes no stop back, and a stop waits for nobody.
func TestStopsGoOn(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(70, 45), Options{}, nil)
	d := &table{wait: 400 * time.Millisecond}
	b.over(d)
	var all sync.WaitGroup
	for range 3 * atOnce { // readers that keep the mount busy
		all.Go(func() { _, _ = b.tel.Call(t.Context(), alpaca.Get("tracking")) })
	}
	time.Sleep(50 * time.Millisecond)
	for _, stop := range []alpaca.Call{alpaca.Put("abortslew", nil), alpaca.Put("tracking", alpaca.Args{"Tracking": false}),
		alpaca.Put("moveaxis", alpaca.Args{"Axis": 0, "Rate": 0.0})} {
		ctx, hangUp := context.WithTimeout(t.Context(), 100*time.Millisecond)
		if _, err := b.tel.Call(ctx, stop); err == nil {
			t.Error("not hung up")
		}
		hangUp()
		key := fmt.Sprint(true, stop.Member)
		if !b.until(100*time.Millisecond, func() bool { d.mu.Lock(); defer d.mu.Unlock(); return d.calls[key] == 1 }) {
			t.Errorf("%s has not come to the mount: it waits", stop.Member)
		}
	}
	all.Wait()
	if !b.until(2*time.Second, func() bool { return d.done.Load() == 3*atOnce+3 }) {
		t.Errorf("%d calls were brought to their end", d.done.Load())
	}
	if n := d.most.Load(); n > atOnce+3 {
		t.Errorf("%d calls at a time", n)
	}
}

// The side is the watch's, in both places where the standard tells it, and so is the side on which a slew would end.
func TestSides(t *testing.T) {
	b := newBench(t, deg(70, 45), Options{}, nil)
	b.over(sideTable{side: 0}) // the mount says east, against what was confirmed
	if v := b.get("sideofpier"); v != 1 {
		t.Errorf("side of pier %v", v)
	}
	if v := fmt.Sprintf("%s", b.get("devicestate")); !strings.Contains(v, `"Name":"SideOfPier","Value":1`) || !strings.Contains(v, `"Name":"Other","Value":"x"`) {
		t.Error(v)
	}
	dest := func(at axes.Angles) any {
		v, err := b.tel.Call(t.Context(), alpaca.Call{Member: "destinationsideofpier", Args: b.place(at)})
		if err != nil {
			t.Error(err)
		}
		return v
	}
	west, east := deg(70, 60), deg(-45, -60)
	if v := dest(east); v != 0 {
		t.Errorf("east by both: %v", v)
	}
	if v := dest(west); v != -1 {
		t.Errorf("the document says west, the mount east: %v", v)
	}
	if text, is := no(b.put("slewtocoordinatesasync", b.place(west))); !is || !strings.Contains(text, "own_rules") {
		t.Error(text)
	}
	b.over(sideTable{side: -1})
	if v := dest(west); v != 1 {
		t.Errorf("the document alone: %v", v)
	}
}

// sideTable is a mount that says one side whatever is asked.
type sideTable struct{ side int }

func (d sideTable) Call(_ context.Context, c alpaca.Call) (any, error) {
	switch c.Member {
	case "sideofpier", "destinationsideofpier":
		return d.side, nil
	case "devicestate":
		return []stated{{"SideOfPier", d.side}, {"Other", "x"}}, nil
	}
	return nil, mount.ErrLacks
}

// A client that disconnects sees that it has, and nobody else does: the mount stays connected for the watch.
func TestConnected(t *testing.T) {
	b := newBench(t, deg(70, 45), Options{}, nil)
	other := alpaca.NewHost(strings.TrimPrefix(b.url, "http://"))
	defer other.Close()
	if err := b.put("connected", alpaca.Args{"Connected": false}); err != nil {
		t.Fatal(err)
	}
	v, err := other.Device("telescope", 0).Call(t.Context(), alpaca.Get("connected"))
	if b.get("connected") != false || v != true || err != nil {
		t.Errorf("%v %v %v", b.get("connected"), v, err)
	}
	if err := b.put("connected", alpaca.Args{"Connected": true}); err != nil || b.get("connected") != true {
		t.Error(err)
	}
	if err := b.put("disconnect", nil); err != nil || b.get("connected") != false {
		t.Error(err)
	}
	if _, err := b.real.Call(t.Context(), alpaca.Get("tracking")); err != nil {
		t.Errorf("the watch has lost the mount: %v", err)
	}
}

// Safe while all is well; not when the watch has stopped the mount, is blind for want of a link, or the document has changed.
func TestSafetyMonitor(t *testing.T) {
	t.Parallel()
	var print atomic.Value
	print.Store(theMap(t).Gauge().Model.Rig.Fingerprint())
	b := newBench(t, deg(70, 45), Options{Period: 300 * time.Millisecond}, func(o *watch.Options) {
		o.Fingerprint = func() (string, error) { return print.Load().(string), nil }
	})
	safe := func() any {
		v, err := b.safe.Call(t.Context(), alpaca.Get("issafe"))
		if err != nil {
			t.Error(err)
		}
		return v
	}
	if safe() != true {
		t.Errorf("%+v", b.w.Status())
	}
	for _, m := range alpaca.Members("safetymonitor") {
		if _, ok := map[string]bool{"action": true, "commandblind": true, "commandbool": true, "commandstring": true}[m.Name]; ok {
			continue
		}
		if _, err := b.safe.Call(t.Context(), alpaca.Call{Put: m.Put, Member: m.Name, Args: argsOf(m)}); err != nil {
			t.Errorf("%s: %v", m.Name, err)
		}
	}
	b.w.Stop()
	if !b.until(2*time.Second, func() bool { return safe() == false }) {
		t.Error("safe while it is being stopped")
	}
	if !b.until(10*time.Second, func() bool { return b.w.Status().Rung == watch.Stopped && b.w.Release() == nil }) || safe() != false {
		t.Error("safe after a stop")
	}
	if err := b.put("tracking", alpaca.Args{"Tracking": true}); err != nil {
		t.Fatal(err)
	}
	if !b.until(3*time.Second, func() bool { return safe() == true }) {
		t.Errorf("watching again: %s %v", b.w.Status().Rung, b.w.Status().BlindWhy)
	}
	f := b.sim.Faults()
	f.HalfOpen = true
	if err := b.sim.SetFaults(f); err != nil {
		t.Fatal(err)
	}
	if !b.until(5*time.Second, func() bool { return safe() == false }) {
		t.Error("safe without a link")
	}
	f.HalfOpen = false
	_ = b.sim.SetFaults(f)
	if !b.until(9*time.Second, func() bool { return safe() == true }) {
		t.Fatalf("%v", b.w.Status().BlindWhy)
	}
	print.Store("another")
	if !b.until(12*time.Second, func() bool { return safe() == false }) {
		t.Error("safe with another document")
	}
}

// Many clients at once, and each gets the answers to its own questions.
func TestManyClients(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(70, 45), Options{}, nil)
	var all sync.WaitGroup
	var busy atomic.Int32
	for i := range 12 {
		all.Go(func() {
			host := alpaca.NewHost(strings.TrimPrefix(b.url, "http://"))
			host.Deadline = 20 * time.Second
			defer host.Close()
			d := host.Device("telescope", 0)
			for range 10 {
				if v, err := d.Call(t.Context(), alpaca.Get("sitelatitude")); err != nil || v.(float64) != 45 {
					t.Errorf("%v %v", v, err)
				}
			}
			if i < 3 { // of several that send the mount elsewhere one gets its way
				if _, err := d.Call(t.Context(), alpaca.Put("slewtocoordinatesasync", b.place(deg(60+float64(i), 50)))); err != nil {
					if text, is := no(err); !is {
						t.Error(text)
					}
					busy.Add(1)
				}
			}
		})
	}
	all.Wait()
	b.stands()
	if s := b.w.Status(); busy.Load() != 2 || s.Counts.Stops > 0 || s.Counts.Unprotected > 0 {
		t.Errorf("%d were told to wait; %+v", busy.Load(), s.Counts)
	}
}

// Huge bodies, requests that drip, and a thousand connections do not hold up the loop; what a good client asks goes on.
func TestHostile(t *testing.T) {
	b := newBench(t, deg(70, 45), Options{}, func(o *watch.Options) { o.Period = time.Second })
	address := strings.TrimPrefix(b.url, "http://")
	ctx, end := context.WithTimeout(t.Context(), 6*time.Second)
	defer end()
	var all sync.WaitGroup
	dial := func() net.Conn {
		c, err := (&net.Dialer{Timeout: time.Second}).DialContext(ctx, "tcp", address)
		if err != nil {
			return nil
		}
		return c
	}
	for range 4 { // huge bodies, by the form and by a length that is a lie
		all.Go(func() {
			for ctx.Err() == nil {
				body := io.LimitReader(endless{}, 8<<20)
				r, _ := http.NewRequestWithContext(ctx, http.MethodPut, b.url+"/api/v1/telescope/0/slewtocoordinatesasync", body)
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				if a, err := http.DefaultClient.Do(r); err == nil {
					_, _ = io.Copy(io.Discard, io.LimitReader(a.Body, 1<<20))
					a.Body.Close()
				}
			}
		})
	}
	for i := range 1000 {
		all.Go(func() {
			c := dial()
			if c == nil {
				return
			}
			defer c.Close()
			text := "PUT /api/v1/telescope/0/abortslew HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 100000\r\n\r\n" + strings.Repeat("a", 100)
			if i%2 == 0 {
				text = "GET /api/v1/telescope/0/devicestate HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n" // asks, and never reads
			}
			for j := 0; ctx.Err() == nil; j++ {
				if _, err := c.Write([]byte{text[j%len(text)]}); err != nil {
					return
				}
				time.Sleep(50 * time.Millisecond)
			}
		})
	}
	all.Wait()
	s := b.w.Status()
	t.Logf("longest step %.2f s, %d steps", s.Counts.WorstStepS, s.Counts.Steps)
	if s.Counts.WorstStepS > 2 || s.Counts.Stops > 0 || len(s.Blind) > 0 {
		t.Errorf("longest step %.2f s, %v, %s", s.Counts.WorstStepS, s.BlindWhy, s.Why)
	}
	if !b.until(15*time.Second, func() bool {
		_, err := b.tel.Call(t.Context(), alpaca.Get("tracking"))
		return err == nil
	}) {
		t.Error("a good client is kept out afterwards")
	}
}

type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = 'a'
	}
	return len(p), nil
}

// The standard's own rules on the guard: envelope, status codes, case of parameters, numbers of errors.
func TestStandard(t *testing.T) {
	b := newBench(t, deg(70, 45), Options{}, nil)
	ask := func(method, path, form string) (int, map[string]any) {
		r, err := http.NewRequestWithContext(t.Context(), method, b.url+path, strings.NewReader(form))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		a, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		var v map[string]any
		_ = json.NewDecoder(a.Body).Decode(&v)
		return a.StatusCode, v
	}
	into := b.place(into)
	form := url.Values{"RightAscension": {fmt.Sprint(into["RightAscension"])}, "Declination": {fmt.Sprint(into["Declination"])},
		"ClientID": {"7"}, "ClientTransactionID": {"99"}}
	code, v := ask("PUT", "/api/v1/telescope/0/slewtocoordinatesasync", form.Encode())
	if code != 200 || v["ErrorNumber"] != float64(0x40B) || v["ClientTransactionID"] != 99.0 || v["ServerTransactionID"].(float64) < 1 || !strings.Contains(v["ErrorMessage"].(string), "camera") {
		t.Errorf("%d %v", code, v)
	}
	if code, _ := ask("PUT", "/api/v1/telescope/0/slewtocoordinatesasync", strings.ToLower(form.Encode())); code != 400 {
		t.Errorf("parameters in lower case: %d", code)
	}
	if code, _ := ask("GET", "/api/v1/telescope/1/tracking", ""); code != 400 {
		t.Errorf("no such device: %d", code)
	}
	if code, v := ask("GET", "/api/v1/telescope/0/tracking?clientid=7&CLIENTTRANSACTIONID=3", ""); code != 200 || v["Value"] != true || v["ClientTransactionID"] != 3.0 {
		t.Errorf("%d %v", code, v)
	}
	host := alpaca.NewHost(strings.TrimPrefix(b.url, "http://"))
	defer host.Close()
	list, err := host.Devices(t.Context())
	if err != nil || len(list) != 2 || list[0].UniqueID == list[1].UniqueID || list[1].DeviceType != "SafetyMonitor" {
		t.Errorf("%+v %v", list, err)
	}
}

func TestDiscovery(t *testing.T) {
	ctx, end := context.WithCancel(t.Context())
	defer end()
	spare, err := net.ListenUDP("udp", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	port := spare.LocalAddr().(*net.UDPAddr).Port
	spare.Close()
	if err := Announce(ctx, &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 4321}, port); err != nil {
		t.Fatal(err)
	}
	c, stop := context.WithTimeout(t.Context(), 500*time.Millisecond)
	defer stop()
	found, err := alpaca.Discover(c, []netip.AddrPort{netip.AddrPortFrom(netip.MustParseAddr("127.0.0.1"), uint16(port))})
	if err != nil || len(found) != 1 || found[0].Port() != 4321 {
		t.Errorf("%v %v", found, err)
	}
}

// A mount of another protocol, seen through the same interface: reads come from the watch, slews and stops go to the mount.
func TestTranslated(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(70, 45), Options{}, nil)
	host := alpaca.NewHost(b.far)
	defer host.Close()
	tel, err := alpaca.OpenTelescope(t.Context(), host, 0)
	if err != nil {
		t.Fatal(err)
	}
	b.over(Translate(b.w, tel, b.site))
	again, err := alpaca.Open(t.Context(), "alpaca://"+strings.TrimPrefix(b.url, "http://")+"/0")
	if err != nil {
		t.Fatal(err)
	}
	r, err := again.Read(t.Context())
	d := again.Describe()
	if err != nil || !r.SideSaid || r.Side != axes.West || r.Tracking != mount.Yes || !r.SiderealSaid || !r.UTCSaid || d.Equinox != mount.OfDate || !d.Can.Slew || !d.Can.SetTracking || d.Can.MoveAxis[0] {
		t.Errorf("%+v %+v %v", r, d, err)
	}
	if err := b.put("slewtocoordinatesasync", b.place(deg(65, 50))); err != nil {
		t.Fatal(err)
	}
	if b.get("slewing") != true {
		t.Error("not under way")
	}
	b.stands()
	if text, is := no(b.put("slewtocoordinates", b.place(into))); !is || !strings.Contains(text, "camera") {
		t.Error(text)
	}
	if err := b.put("slewtocoordinates", b.place(deg(60, 50))); err != nil || b.sim.State().Slewing {
		t.Errorf("%v", err)
	}
	for member, want := range map[string]float64{"targetdeclination": 40, "declination": 40} {
		if v := b.get(member).(float64); v < want-0.01 || v > want+0.01 {
			t.Errorf("%s %v", member, v)
		}
	}
	if text, is := no(b.put("moveaxis", alpaca.Args{"Axis": 0, "Rate": 0.5})); is || !strings.Contains(text, "0x400") {
		t.Error(text)
	}
	for member, args := range map[string]alpaca.Args{"abortslew": nil, "tracking": {"Tracking": false}, "park": nil} {
		if err := b.put(member, args); err != nil && member != "park" {
			t.Errorf("%s: %v", member, err)
		}
	}
}
