package alpaca

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"legroom/mount"
)

// The envelope and the error numbers as REFERENCES has them: Alpaca device API, OpenAPI document AlpacaDeviceAPI_v1.
func TestAnswers(t *testing.T) {
	const ids = `"ClientTransactionID":7,"ServerTransactionID":9,`
	const ok = ids + `"ErrorNumber":0,"ErrorMessage":""`
	for _, tt := range []struct {
		name, body string
		want       Kind
		value      any
		kind       error
	}{
		{"true", `{"Value":true,` + ok + `}`, Bool, true, nil},
		{"false, fields in another order", `{` + ok + `,"Value":false}`, Bool, false, nil},
		{"whole number", `{"Value":-1,` + ok + `}`, Int, -1, nil},
		{"number", `{"Value":23.5,` + ok + `}`, Float, 23.5, nil},
		{"number without a point", `{"Value":12,` + ok + `}`, Float, 12.0, nil},
		{"number with an exponent", `{"Value":1.5E-3,` + ok + `}`, Float, 0.0015, nil},
		{"text", `{"Value":"é\n",` + ok + `}`, Text, "é\n", nil},
		{"no text", `{"Value":null,` + ok + `}`, Text, "", nil},
		{"nothing", `{` + ok + `}`, None, nil, nil},
		{"a field that the standard does not have", `{` + ok + `,"Extra":{"Value":[1]}}`, None, nil, nil},
		{"error message null", `{` + ids + `"ErrorNumber":0,"ErrorMessage":null}`, None, nil, nil},

		{"comma for the point", `{"Value":23,5,` + ok + `}`, Float, nil, mount.ErrAnswer},
		{"number as text", `{"Value":"23.5",` + ok + `}`, Float, nil, mount.ErrAnswer},
		{"truth as text", `{"Value":"true",` + ok + `}`, Bool, nil, mount.ErrAnswer},
		{"truth as number", `{"Value":1,` + ok + `}`, Bool, nil, mount.ErrAnswer},
		{"null for a number", `{"Value":null,` + ok + `}`, Float, nil, mount.ErrAnswer},
		{"broken number where a whole one is due", `{"Value":1.0,` + ok + `}`, Int, nil, mount.ErrAnswer},
		{"whole number out of 32 bits", `{"Value":2147483648,` + ok + `}`, Int, nil, mount.ErrAnswer},
		{"number too large", `{"Value":1e999,` + ok + `}`, Float, nil, mount.ErrAnswer},
		{"NaN", `{"Value":NaN,` + ok + `}`, Float, nil, mount.ErrAnswer},
		{"object for a list", `{"Value":{},` + ok + `}`, List, nil, mount.ErrAnswer},
		{"no value", `{` + ok + `}`, Bool, nil, mount.ErrAnswer},
		{"value in another case", `{"value":true,` + ok + `}`, Bool, nil, mount.ErrAnswer},
		{"value twice", `{"Value":true,` + ok + `,"Value":false}`, Bool, nil, mount.ErrAnswer},
		{"error number in another case", `{"Value":true,` + ids + `"errornumber":0,"ErrorMessage":""}`, Bool, nil, mount.ErrAnswer},
		{"error number as text", `{"Value":true,` + ids + `"ErrorNumber":"0","ErrorMessage":""}`, Bool, nil, mount.ErrAnswer},
		{"no error number", `{"Value":true,` + ids + `"ErrorMessage":""}`, Bool, nil, mount.ErrAnswer},
		{"no error message", `{"Value":true,` + ids + `"ErrorNumber":0}`, Bool, nil, mount.ErrAnswer},
		{"another request's answer", `{"Value":true,"ClientTransactionID":8,"ServerTransactionID":9,"ErrorNumber":0,"ErrorMessage":""}`,
			Bool, nil, mount.ErrAnswer},
		{"no client transaction", `{"Value":true,"ServerTransactionID":9,"ErrorNumber":0,"ErrorMessage":""}`, Bool, nil, mount.ErrAnswer},
		{"no server transaction", `{"Value":true,"ClientTransactionID":7,"ErrorNumber":0,"ErrorMessage":""}`, Bool, nil, mount.ErrAnswer},
		{"server transaction below 0", `{"ClientTransactionID":7,"ServerTransactionID":-1,"ErrorNumber":0,"ErrorMessage":""}`,
			None, nil, mount.ErrAnswer},
		{"server transaction out of 32 bits", `{"ClientTransactionID":7,"ServerTransactionID":4294967296,"ErrorNumber":0,"ErrorMessage":""}`,
			None, nil, mount.ErrAnswer},
		{"empty", ``, None, nil, mount.ErrAnswer},
		{"a page", `<!doctype html><title>hello</title>`, None, nil, mount.ErrAnswer},
		{"a list", `[{}]`, None, nil, mount.ErrAnswer},
		{"cut off", `{"Value":true,` + ids, Bool, nil, mount.ErrAnswer},
		{"more behind it", `{` + ok + `}{}`, None, nil, mount.ErrAnswer},
		{"nested without end", strings.Repeat(`{"Value":`, 20000), None, nil, mount.ErrAnswer},

		{"not implemented", `{` + ids + `"ErrorNumber":1024,"ErrorMessage":"no"}`, Float, nil, mount.ErrLacks},
		{"invalid value", `{` + ids + `"ErrorNumber":1025,"ErrorMessage":"no"}`, Float, nil, mount.ErrValue},
		{"value not set", `{` + ids + `"ErrorNumber":1026,"ErrorMessage":"no"}`, Float, nil, mount.ErrNotSet},
		{"not connected", `{` + ids + `"ErrorNumber":1031,"ErrorMessage":"no"}`, Float, nil, mount.ErrNotConnected},
		{"parked", `{` + ids + `"ErrorNumber":1032,"ErrorMessage":"no"}`, None, nil, mount.ErrParked},
		{"slaved", `{` + ids + `"ErrorNumber":1033,"ErrorMessage":"no"}`, None, nil, mount.ErrSlaved},
		{"invalid operation", `{"Value":0,` + ids + `"ErrorNumber":1035,"ErrorMessage":"no"}`, Float, nil, mount.ErrState},
		{"action not implemented", `{` + ids + `"ErrorNumber":1036,"ErrorMessage":"no"}`, Text, nil, mount.ErrLacks},
		{"driver's own", `{` + ids + `"ErrorNumber":1280,"ErrorMessage":"no"}`, Float, nil, mount.ErrRefused},
		{"a number that the standard does not have", `{` + ids + `"ErrorNumber":-2147220480,"ErrorMessage":"no"}`, Float, nil, mount.ErrRefused},
	} {
		v, err := parseAnswer([]byte(tt.body), tt.want, 7)
		if v != tt.value {
			t.Errorf("%s: value %#v, want %#v", tt.name, v, tt.value)
		}
		if (err == nil) != (tt.kind == nil) || !errors.Is(err, tt.kind) {
			t.Errorf("%s: error %v, want %v", tt.name, err, tt.kind)
		}
		var r *mount.Refused
		refused := errors.Is(err, mount.ErrRefused)
		if refused == errors.Is(err, mount.ErrAnswer) && err != nil || refused != errors.As(err, &r) {
			t.Errorf("%s: error %v is refused and garbage, or neither", tt.name, err)
		}
		if r != nil && r.Message != "no" {
			t.Errorf("%s: message %q", tt.name, r.Message)
		}
	}
}

func TestNamesOfAnotherCaseAreNamed(t *testing.T) {
	_, err := parseAnswer([]byte(`{"value":true,"ClientTransactionID":7,"ServerTransactionID":9,"ErrorNumber":0,"ErrorMessage":""}`), Bool, 7)
	if err == nil || !strings.Contains(err.Error(), "only value") {
		t.Errorf("got %v", err)
	}
}

// Every error goes out under a number that comes in as the same kind.
func TestErrorNumbersThereAndBack(t *testing.T) {
	for _, kind := range []error{mount.ErrLacks, mount.ErrValue, mount.ErrNotSet, mount.ErrNotConnected, mount.ErrParked,
		mount.ErrSlaved, mount.ErrState} {
		n, text := errorNumber(kind)
		if !errors.Is(refused(n, text), kind) {
			t.Errorf("%v goes out as 0x%X", kind, n)
		}
	}
	for _, tt := range []struct {
		err    error
		number int
	}{
		{&mount.Refused{Number: 0x5AB}, 0x5AB},
		{&mount.Refused{Kind: mount.ErrParked}, 0x408},
		{mount.ErrSide, 0x40B},
		{mount.ErrLink, 0x500},
		{errors.New("anything"), 0x500},
	} {
		if n, _ := errorNumber(tt.err); n != tt.number {
			t.Errorf("%v goes out as 0x%X, want 0x%X", tt.err, n, tt.number)
		}
	}
}

func FuzzAnswer(f *testing.F) {
	const ok = `"ClientTransactionID":7,"ServerTransactionID":9,"ErrorNumber":0,"ErrorMessage":""`
	for k, s := range []string{`{` + ok + `}`, `{"Value":true,` + ok + `}`, `{"Value":-1,` + ok + `}`, `{"Value":1.5,` + ok + `}`,
		`{"Value":"x",` + ok + `}`, `{"Value":[{"Name":"RightAscension","Value":1.5}],` + ok + `}`, `{"Value":NaN,` + ok + `}`, `[`, `{"a":`} {
		f.Add([]byte(s), int8(k%6))
	}
	f.Fuzz(func(t *testing.T, body []byte, kind int8) {
		want := Kind(kind)
		if want < None || want > List {
			return
		}
		v, err := parseAnswer(body, want, 7)
		if err != nil {
			if v != nil || errors.Is(err, mount.ErrAnswer) == errors.Is(err, mount.ErrRefused) {
				t.Fatalf("value %v with error %v", v, err)
			}
			return
		}
		if !json.Valid(body) || !strings.Contains(string(body), "7") {
			t.Fatalf("took %q", body)
		}
		switch v := v.(type) {
		case nil:
			if want != None {
				t.Fatalf("no %s", want)
			}
		case bool:
			if want != Bool {
				t.Fatalf("%v for %s", v, want)
			}
		case int:
			if want != Int || v != int(int32(v)) {
				t.Fatalf("%v for %s", v, want)
			}
		case float64:
			if want != Float || math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%v for %s", v, want)
			}
		case string:
			if want != Text {
				t.Fatalf("%v for %s", v, want)
			}
		case json.RawMessage:
			if _, err := list(v); want != List || err != nil {
				t.Fatalf("%s for %s: %v", v, want, err)
			}
			_, _ = stateOf(v)
		default:
			t.Fatalf("%T", v)
		}
	})
}
