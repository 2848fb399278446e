package alpaca

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"legroom/mount"
)

// ask sends a raw request to a server, and returns status, content type and body.
func ask(t *testing.T, s *httptest.Server, method, path, body string) (int, string, string) {
	t.Helper()
	req, err := http.NewRequest(method, s.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if body != "" {
		req.Header.Set("Content-Type", formType)
	}
	resp, err := s.Client().Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, resp.Header.Get("Content-Type"), string(text)
}

// The standard's rules for requests, from REFERENCES: paths in lower case; GET with query keys in any case; PUT as a form with
// exact names; 400 with plain text for a request that is not understood; 200 with an ErrorNumber for a driver's error.
func TestRequests(t *testing.T) {
	f := newFake(3)
	f.set("athome", &mount.Refused{Number: 0x502, Message: "the switch is stuck"})
	f.set("altitude", mount.ErrNotConnected)
	f.set("put park", mount.ErrParked)
	f.set("azimuth", &HTTPError{http.StatusInternalServerError, "burnt"})
	f.set("focallength", math.NaN())
	s, _ := serveFake(t, f)
	const api = "/api/v1/telescope/0/"
	for _, tt := range []struct {
		method, path, body string
		status             int
		text               string // in the body
	}{
		{"GET", api + "rightascension", "", 200, `{"Value":5.5,"ClientTransactionID":0,"ServerTransactionID":`},
		{"GET", api + "rightascension?ClientID=1&ClientTransactionID=42", "", 200, `"ClientTransactionID":42,`},
		{"GET", api + "rightascension?clientid=1&clienttransactionid=42", "", 200, `"ClientTransactionID":42,`},
		{"GET", api + "rightascension?CLIENTTRANSACTIONID=4294967295", "", 200, `"ClientTransactionID":4294967295,`},
		{"GET", api + "slewing", "", 200, `"Value":false,`},
		{"GET", api + "canmoveaxis?Axis=1", "", 200, `"Value":true,`},
		{"GET", api + "canmoveaxis?aXIS=1", "", 200, `"Value":true,`},
		{"GET", api + "destinationsideofpier?RightAscension=3.25&declination=-1e1", "", 200, `"Value":0,`},
		{"GET", "/api/v1/safetymonitor/0/issafe", "", 200, `"ErrorNumber":1024,`},
		{"PUT", api + "tracking", "Tracking=True&ClientTransactionID=5", 200, `"ClientTransactionID":5,`},
		{"PUT", api + "tracking", "Tracking=fALSE", 200, `"ErrorNumber":0,"ErrorMessage":""}`},
		{"PUT", api + "abortslew", "", 200, `{"ClientTransactionID":0,`},
		{"PUT", api + "action", "Action=x&Parameters=", 200, `"ErrorNumber":0,`},
		// Ids in another case are other parameters, and those are passed over.
		{"PUT", api + "unpark", "clienttransactionid=5", 200, `"ClientTransactionID":0,`},
		{"PUT", api + "unpark", "Unknown=5", 200, `"ErrorNumber":0,`},

		// The driver's errors
		{"GET", api + "athome", "", 200, `"ErrorNumber":1282,"ErrorMessage":"the switch is stuck"}`},
		{"GET", api + "altitude", "", 200, `"ErrorNumber":1031,`},
		{"GET", api + "siteelevation", "", 200, `"ErrorNumber":1024,`},
		{"GET", api + "focallength", "", 200, `"ErrorNumber":1280,`},
		{"PUT", api + "park", "ClientTransactionID=6", 200, `{"ClientTransactionID":6,`},
		{"PUT", api + "park", "", 200, `"ErrorNumber":1032,`},
		{"GET", api + "azimuth", "", 500, "burnt"},

		// Not understood
		{"GET", "/api/v1/telescope/1/rightascension", "", 400, "no device"},
		{"GET", "/api/v1/telescope/-1/rightascension", "", 400, "no device"},
		{"GET", "/api/v1/telescope/x/rightascension", "", 400, "no device"},
		{"GET", "/api/v1/telescope/99999999999/rightascension", "", 400, "no device"},
		{"GET", "/api/v1/Telescope/0/rightascension", "", 400, "no device"},
		{"GET", "/api/v1/dome/0/azimuth", "", 400, "no device"},
		{"GET", api + "RightAscension", "", 400, "has no"},
		{"GET", api + "rightascensions", "", 400, "has no"},
		{"GET", api + "abortslew", "", 400, "has no"},
		{"PUT", api + "rightascension", "RightAscension=1", 400, "has no"},
		{"GET", "/api/v1/telescope/0", "", 400, "lower case"},
		{"GET", "/api/v2/telescope/0/slewing", "", 400, "lower case"},
		{"GET", api + "canmoveaxis", "", 400, "Axis is missing"},
		{"GET", api + "canmoveaxis?Axis=", "", 400, "whole number"},
		{"GET", api + "canmoveaxis?Axis=1.0", "", 400, "whole number"},
		{"GET", api + "canmoveaxis?Axis=1&axis=1", "", 400, "more than once"},
		{"GET", api + "canmoveaxis?Axis=%zz", "", 400, "cannot be read"},
		{"GET", api + "slewing?ClientID=-1", "", 400, "ClientID"},
		{"GET", api + "slewing?ClientID=x", "", 400, "ClientID"},
		{"GET", api + "slewing?ClientTransactionID=4294967296", "", 400, "ClientTransactionID"},
		{"GET", api + "slewing?ClientTransactionID=", "", 400, "ClientTransactionID"},
		{"PUT", api + "tracking", "", 400, "Tracking is missing"},
		{"PUT", api + "tracking?Tracking=True", "", 400, "Tracking is missing"},
		{"PUT", api + "tracking", "tracking=True", 400, "there is tracking"},
		{"PUT", api + "tracking", "Tracking=1", 400, "true or false"},
		{"PUT", api + "tracking", "Tracking=True&Tracking=False", 400, "more than once"},
		{"PUT", api + "tracking", "Tracking=True&ClientID=-3", 400, "ClientID"},
		{"PUT", api + "tracking", "Tracking=True;ClientID=3", 400, "cannot be read"},
		{"PUT", api + "moveaxis", "Axis=0&Rate=1,5", 400, "decimal point"},
		{"PUT", api + "moveaxis", "Axis=0&Rate=NaN", 400, "decimal point"},
		{"PUT", api + "moveaxis", "Axis=0&Rate=Inf", 400, "decimal point"},
		{"PUT", api + "moveaxis", "Axis=0&Rate=0x1p2", 400, "decimal point"},
		{"PUT", api + "moveaxis", "Axis=0&Rate=1e999", 400, "decimal point"},
		{"PUT", api + "moveaxis", "Axis=0&Rate=", 400, "decimal point"},
		{"PUT", api + "action", "Action=x&Parameters=" + strings.Repeat("x", maxForm), 400, "more than"},
		{"POST", api + "tracking", "Tracking=True", 405, "GET or PUT"},
		{"GET", "/elsewhere", "", 404, ""},
	} {
		status, kind, text := ask(t, s, tt.method, tt.path, tt.body)
		name := fmt.Sprintf("%s %.80s %.40s", tt.method, tt.path, tt.body)
		if status != tt.status || !strings.Contains(text, tt.text) {
			t.Errorf("%s: %d %s; want %d with %q", name, status, text, tt.status, tt.text)
		}
		want := "text/plain; charset=utf-8"
		if tt.status == 200 {
			want = "application/json"
		}
		if kind != want {
			t.Errorf("%s: Content-Type %q, want %q", name, kind, want)
		}
	}
}

func TestPutWithAnotherContentType(t *testing.T) {
	s, _ := serveFake(t, newFake(3))
	req, _ := http.NewRequest("PUT", s.URL+"/api/v1/telescope/0/tracking", strings.NewReader(`{"Tracking":true}`))
	req.Header.Set("Content-Type", "application/json")
	resp, err := s.Client().Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != 400 {
		t.Errorf("status %d", resp.StatusCode)
	}
}

func TestServerTransactionsCount(t *testing.T) {
	s, _ := serveFake(t, newFake(3))
	last := uint32(0)
	for _, path := range []string{"/api/v1/telescope/0/slewing", "/management/apiversions", "/api/v1/telescope/0/altitude"} {
		_, _, text := ask(t, s, "GET", path, "")
		o, err := object([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if n, err := o.uint32("ServerTransactionID"); err != nil || n != last+1 {
			t.Errorf("%s: %d after %d (%v)", path, n, last, err)
		} else {
			last = n
		}
	}
}

type panicking struct{}

func (panicking) Call(context.Context, Call) (any, error) { panic("out of cheese") }

func TestPanicIs500(t *testing.T) {
	s, _ := serveFake(t, panicking{})
	status, kind, text := ask(t, s, "GET", "/api/v1/telescope/0/slewing", "")
	if status != 500 || !strings.HasPrefix(kind, "text/plain") || !strings.Contains(text, "out of cheese") {
		t.Errorf("%d %s %s", status, kind, text)
	}
}

func TestManagement(t *testing.T) {
	s, host := serveFake(t, newFake(3))
	versions, err := host.Versions(t.Context())
	if err != nil || len(versions) != 1 || versions[0] != 1 {
		t.Errorf("versions %v, %v", versions, err)
	}
	info, err := host.Info(t.Context())
	if want := (Info{"Test", "M", "1", "here"}); err != nil || info != want {
		t.Errorf("info %v, %v", info, err)
	}
	devices, err := host.Devices(t.Context())
	if err != nil || len(devices) != 2 || devices[0] != (Listed{"Scope", "Telescope", 0, "id-0"}) {
		t.Errorf("devices %v, %v", devices, err)
	}
	status, _, text := ask(t, s, "GET", "/management/v1/configureddevices?clienttransactionid=3", "")
	if status != 200 || !strings.Contains(text, `"DeviceType":"Telescope","DeviceNumber":0,"UniqueID":"id-0"}`) ||
		!strings.Contains(text, `"ClientTransactionID":3`) {
		t.Errorf("%d %s", status, text)
	}
	if status, _, _ := ask(t, s, "GET", "/management/apiversions?ClientID=x", ""); status != 400 {
		t.Errorf("status %d", status)
	}
	for path, want := range map[string]string{"/setup": "Test", "/setup/v1/telescope/0/setup": "Scope"} {
		status, kind, text := ask(t, s, "GET", path, "")
		if status != 200 || kind != "text/html; charset=utf-8" || !strings.Contains(text, "<h1>"+want+"</h1>") {
			t.Errorf("%s: %d %s %s", path, status, kind, text)
		}
	}
	if status, _, _ := ask(t, s, "GET", "/setup/v1/telescope/7/setup", ""); status != 400 {
		t.Errorf("status %d", status)
	}
}

func TestServerRefusesOddLists(t *testing.T) {
	f := newFake(3)
	for _, devices := range [][]Served{
		{{Listed{"a", "Toaster", 0, "x"}, f}},
		{{Listed{"a", "Telescope", -1, "x"}, f}},
		{{Listed{"a", "Telescope", 0, ""}, f}},
		{{Listed{"", "Telescope", 0, "x"}, f}},
		{{Listed{"a", "Telescope", 0, "x"}, nil}},
		{{Listed{"a", "Telescope", 0, "x"}, f}, {Listed{"b", "telescope", 0, "y"}, f}},
		{{Listed{"a", "Telescope", 0, "x"}, f}, {Listed{"b", "Telescope", 1, "x"}, f}},
	} {
		if _, err := NewServer(Info{}, devices...); err == nil {
			t.Errorf("took %v", devices)
		}
	}
}

// Every member of the tables goes from Remote through Server to the device with its arguments, and its value comes back, so
// that what stands between can pass everything on. Two servers in a row make no difference.
func TestEveryMemberPassesThrough(t *testing.T) {
	values := map[Kind]any{Bool: true, Int: -3, Float: 1.0 / 3, Text: "ä\"<&>", List: json.RawMessage(`[{"Minimum":0.5,"Maximum":2}]`)}
	for _, deviceType := range []string{"telescope", "safetymonitor"} {
		var got Call
		_, inner := serveFake(t, deviceFunc(func(_ context.Context, c Call) (any, error) {
			got = c
			m, _ := MemberOf(deviceType, c.Member, c.Put)
			return values[m.Value], nil
		}))
		_, outer := serveFake(t, inner.Device(deviceType, 0))
		remote := outer.Device(deviceType, 0)
		if n := len(Members(deviceType)); n < 17 {
			t.Fatalf("%d members", n)
		}
		for _, m := range Members(deviceType) {
			args := Args{}
			for _, p := range m.Params {
				args[p.Name] = values[p.Kind]
			}
			v, err := remote.Call(t.Context(), Call{Put: m.Put, Member: m.Name, Args: args})
			if err != nil {
				t.Errorf("%v: %v", m, err)
				continue
			}
			want, _ := json.Marshal(values[m.Value])
			if have, _ := json.Marshal(v); string(have) != string(want) {
				t.Errorf("%v: value %s, want %s", m, have, want)
			}
			if fmt.Sprint(got.Args) != fmt.Sprint(args) || got.Put != m.Put || got.Member != m.Name {
				t.Errorf("%v: arrived as %v", m, got)
			}
		}
	}
}

func TestErrorsPassThrough(t *testing.T) {
	for _, want := range []error{
		&mount.Refused{Number: 0x777, Message: "ω & <b>"}, &mount.Refused{Number: 0x408, Kind: mount.ErrParked, Message: "parked"},
		&HTTPError{400, "what?"}, &HTTPError{500, "burnt"},
	} {
		_, inner := serveFake(t, deviceFunc(func(context.Context, Call) (any, error) { return nil, want }))
		_, outer := serveFake(t, inner.Device("telescope", 0))
		_, err := outer.Device("telescope", 0).Call(t.Context(), Get("slewing"))
		if !strings.HasSuffix(fmt.Sprint(err), want.Error()) {
			t.Errorf("%v came as %v", want, err)
		}
		var r, w *mount.Refused
		if errors.As(want, &w) && (!errors.As(err, &r) || *r != *w) {
			t.Errorf("%v came as %v", want, err)
		}
	}
}

type deviceFunc func(context.Context, Call) (any, error)

func (f deviceFunc) Call(ctx context.Context, c Call) (any, error) { return f(ctx, c) }

func FuzzRequest(f *testing.F) {
	for _, s := range [][3]string{
		{"GET", "canmoveaxis?Axis=1&clientid=3", ""}, {"PUT", "moveaxis", "Axis=0&Rate=1.5&ClientTransactionID=9"},
		{"PUT", "tracking", "Tracking=true"}, {"PUT", "action", "Action=%41&Parameters="},
		{"GET", "destinationsideofpier?RightAscension=1&Declination=-9", ""},
	} {
		f.Add(s[0] == "PUT", s[1], s[2])
	}
	calls := make(chan Call, 1)
	s, err := NewServer(Info{}, Served{Listed{"a", "Telescope", 0, "x"}, deviceFunc(func(_ context.Context, c Call) (any, error) {
		calls <- c
		return nil, nil
	})})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, put bool, target, body string) {
		method := "GET"
		if put {
			method = "PUT"
		}
		req, err := http.NewRequest(method, "http://127.0.0.1/api/v1/telescope/0/"+target, strings.NewReader(body))
		if err != nil {
			return
		}
		req.Header.Set("Content-Type", formType)
		w := httptest.NewRecorder()
		s.ServeHTTP(w, req)
		switch w.Code {
		case 200:
		case 301, 307, 400, 404, 405:
			return
		default:
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
		if !strings.HasPrefix(req.URL.Path, "/api/v1/telescope/0/") {
			return
		}
		c := <-calls
		m, ok := MemberOf("telescope", c.Member, c.Put)
		if !ok || c.Put != put || len(c.Args) != len(m.Params) {
			t.Fatalf("%v for %v", c, m)
		}
		for _, p := range m.Params {
			switch v := c.Args[p.Name].(type) {
			case bool:
				ok = p.Kind == Bool
			case int:
				ok = p.Kind == Int && v == int(int32(v))
			case float64:
				ok = p.Kind == Float && !math.IsNaN(v) && !math.IsInf(v, 0)
			case string:
				ok = p.Kind == Text
			}
			if !ok {
				t.Fatalf("%v for %v", c.Args[p.Name], p)
			}
		}
		if _, err := parseAnswer(w.Body.Bytes(), None, c.Transaction); err != nil {
			t.Fatal(err)
		}
	})
}
