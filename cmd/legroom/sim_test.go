package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"io"
	"math"
	"net"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/mount/indi"
	"legroom/mount/sim"
	"legroom/report"
)

// startSim runs `legroom sim` until the test ends, and returns what it printed.
func startSim(t *testing.T, args ...string) (doc report.SimDoc, stop func() error) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	in, out := io.Pipe()
	root := newRoot()
	root.SetArgs(append([]string{"sim", "--format", "json"}, args...))
	root.SetOut(out)
	root.SetErr(io.Discard)
	done := make(chan error, 1)
	go func() {
		err := root.ExecuteContext(ctx)
		out.CloseWithError(io.EOF)
		done <- err
	}()
	line, err := bufio.NewReader(in).ReadString('\n')
	stop = func() error { cancel(); return <-done }
	if err == nil {
		err = json.Unmarshal([]byte(line), &doc)
	}
	if err != nil {
		t.Fatalf("%q printed %q: %v, %v", args, line, err, stop())
	}
	return doc, stop
}

// The command serves one mount by both protocols; its clock runs as fast as it was told, and the control API knows of it.
func TestSim(t *testing.T) {
	const factor = 200
	doc, stop := startSim(t, karoo, "--alpaca", "127.0.0.1:0", "--indi", "127.0.0.1:0", "--control", "127.0.0.1:0",
		"--clock", "200", "--seed", "7", "--at", "2026-11-25T21:00:00Z")
	defer func() {
		if err := stop(); err != nil {
			t.Error(err)
		}
	}()
	if doc.Seed != 7 || doc.Clock != factor || !strings.Contains(doc.Habits, "as_told") {
		t.Errorf("%+v", doc)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	a, err := alpaca.Open(ctx, doc.Alpaca)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	b, err := indi.Open(ctx, doc.INDI)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if r, err := b.Read(ctx); err != nil || r.Parked != mount.Yes {
		t.Errorf("at the start: %+v, %v", r, err)
	}
	if err := a.Unpark(ctx); err != nil {
		t.Fatal(err)
	}
	first, err := a.Read(ctx)
	if err != nil || first.Tracking != mount.Yes || first.Parked != mount.No {
		t.Fatalf("%+v, %v", first, err)
	}
	time.Sleep(300 * time.Millisecond)
	second, err := a.Read(ctx)
	if err != nil {
		t.Fatal(err)
	}
	ran, waited := second.UTC.Sub(first.UTC).Seconds(), second.Got.Sub(first.Asked).Seconds()
	if ran < 0.3*factor || ran > waited*factor*1.01 {
		t.Errorf("the mount's clock went on by %.1f s in %.3f s", ran, waited)
	}
	if r, err := b.Read(ctx); err != nil || r.Tracking != mount.Yes {
		t.Errorf("by INDI: %+v, %v", r, err)
	}
	var state sim.StateDoc
	fetch(t, doc.Control+"state", &state)
	if !state.Tracking || state.Seed != 7 || math.Abs(state.True.Dec) > 0.01 {
		t.Errorf("%+v", state)
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPut, doc.Control+"faults", strings.NewReader(`{"wrong_side":true}`))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	answer, err := http.DefaultClient.Do(r)
	if err != nil || answer.StatusCode != http.StatusOK {
		t.Fatalf("%v, %v", answer, err)
	}
	answer.Body.Close()
	if wrong, err := a.Read(ctx); err != nil || wrong.Side == second.Side {
		t.Errorf("wrong side: %v, %v", wrong.Side, err)
	}
}

// Every curl of the docs does what it says to a simulated mount: its control, its Alpaca API, and that of the guard, which is the same.
func TestDocsCurl(t *testing.T) {
	doc, stop := startSim(t, karoo, "--alpaca", "127.0.0.1:0", "--control", "127.0.0.1:0", "--seed", "7", "--at", "2026-11-26T12:12:00Z")
	defer func() {
		if err := stop(); err != nil {
			t.Error(err)
		}
	}()
	device := strings.TrimSuffix(strings.Replace(doc.Alpaca, "alpaca://", "http://", 1), "/0")
	serves := strings.NewReplacer("http://127.0.0.1:7436/", doc.Control, "http://127.0.0.1:7434", device, "http://127.0.0.1:7435", device)
	if _, err := curl("curl -X PUT -d Connected=true " + device + "/api/v1/telescope/0/connected"); err != nil { // as the watch does
		t.Fatal(err)
	}
	docs, err := filepath.Glob("../../docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	slews := 0
	for _, path := range docs {
		for _, m := range regexp.MustCompile("(?m)^    (curl .*)$|`(curl http[^`]*)`").FindAllStringSubmatch(content(t, path), -1) {
			line := m[1] + m[2]
			answer, err := curl(serves.Replace(line))
			if err != nil || strings.Contains(answer, `"ErrorNumber"`) && !strings.Contains(answer, `"ErrorNumber":0`) {
				t.Errorf("%s: %s: %v: %s", path, line, err, answer)
			}
			if strings.Contains(line, "slew") {
				var state sim.StateDoc
				if fetch(t, doc.Control+"state", &state); !state.Slewing {
					t.Errorf("%s: %s: %+v", path, line, state)
				}
				slews++
			}
		}
	}
	if slews < 2 {
		t.Errorf("the docs tell of %d ways to slew", slews)
	}
}

// curl asks what a line of curl with --json, -X, -d and an address asks.
func curl(line string) (string, error) {
	method, kind, address := http.MethodGet, "application/x-www-form-urlencoded", ""
	var body []string
	args := regexp.MustCompile(`'[^']*'|"[^"]*"|[^\s'"]+`).FindAllString(line, -1)[1:]
	for i := 0; i < len(args); i++ {
		value := func() string { i++; return strings.Trim(args[i], `'"`) }
		switch args[i] {
		case "--json":
			method, kind, body = http.MethodPost, "application/json", []string{value()}
		case "-X":
			method = value()
		case "-d":
			body = append(body, value())
		default:
			address = args[i]
		}
	}
	r, err := http.NewRequest(method, address, strings.NewReader(strings.Join(body, "&")))
	if err != nil {
		return "", err
	}
	r.Header.Set("Content-Type", kind)
	a, err := http.DefaultClient.Do(r)
	if err != nil {
		return "", err
	}
	defer a.Body.Close()
	text, err := io.ReadAll(a.Body)
	if err == nil && a.StatusCode != http.StatusOK {
		err = errors.New(a.Status)
	}
	return string(text), err
}

func TestSimSaysWhatItCannot(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	free := l.Addr().String()
	l.Close()
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"sim"}, "no rig document given"}, {[]string{"sim", karoo}, "nothing to serve; give --alpaca"},
		{[]string{"sim", karoo, "--alpaca", "0.0.0.0:0"}, "give a loopback address"},
		{[]string{"sim", karoo, "--indi", "7624"}, "give a loopback address"},
		{[]string{"sim", karoo, "--alpaca", "127.0.0.1:0", "--control", "192.0.2.1:80"}, "give a loopback address"},
		{[]string{"sim", karoo, "--alpaca", free, "--control", free}, "--alpaca is there already: --control needs a port of its own"},
		{[]string{"sim", karoo, "--alpaca", "127.0.0.1:0", "--clock", "0"}, "a number from 0.01 to 1000"},
		{[]string{"sim", karoo, "--alpaca", "127.0.0.1:0", "--seed", "x"}, "give a whole number"},
		{[]string{"sim", karoo, "--alpaca", "127.0.0.1:0", "--at", "tonight"}, "give a moment such as"},
		{[]string{"sim", karoo, "--alpaca", "127.0.0.1:0", "--with", "roof shut"}, "roof shut"},
		{[]string{"sim", "nowhere.yaml", "--alpaca", "127.0.0.1:0"}, "nowhere.yaml"},
	} {
		if r := legroom(t, "", c.args...); r.code != wrongUse || !strings.Contains(r.errors, c.want) {
			t.Errorf("%q: %d, %s", c.args, r.code, r.errors)
		}
	}
}
