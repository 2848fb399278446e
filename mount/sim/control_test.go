package sim

import (
	"encoding/json"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"legroom/axes"
)

// The control API switches faults, tells where the mount really is, and refuses what is no such thing.
func TestControl(t *testing.T) {
	m, clk := place(t, load(t, terrace), 4, at(axes.West, -1, 30))
	s := httptest.NewServer(Control(m))
	defer s.Close()
	ask := func(method, path, body string) (int, string) {
		t.Helper()
		r, err := http.NewRequest(method, s.URL+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		if body != "" {
			r.Header.Set("Content-Type", "application/json")
		}
		a, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		text, err := io.ReadAll(a.Body)
		if err != nil {
			t.Fatal(err)
		}
		return a.StatusCode, string(text)
	}
	if code, text := ask("PUT", "/faults", `{"wrong_side":true,"delay_s":0.5}`); code != 200 || m.Faults() != (Faults{WrongSide: true, DelayS: 0.5}) {
		t.Errorf("%d %s: %+v", code, text, m.Faults())
	}
	var f Faults
	if _, text := ask("GET", "/faults", ""); json.Unmarshal([]byte(text), &f) != nil || f != m.Faults() {
		t.Errorf("%s", text)
	}
	if code, _ := ask("PUT", "/faults", `{}`); code != 200 || m.Faults() != (Faults{}) {
		t.Errorf("%d: %+v", code, m.Faults())
	}
	clk.pass(time.Hour)
	var d StateDoc
	if _, text := ask("GET", "/state", ""); json.Unmarshal([]byte(text), &d) != nil || !d.Tracking || d.Side != "west" || d.Seed != 4 ||
		math.Abs(d.True.RA-90) > 0.1 || math.Abs(d.RatePerS.RA*3600-15.04) > 0.01 || d.A == "" || d.GapMM <= 0 {
		t.Errorf("%s", text)
	}
	if code, text := ask("POST", "/slip", `{"ra_axis_deg":-2,"dec_axis_deg":1}`); code != 200 || math.Abs(m.State().Believed.RA-m.State().True.RA-axes.Rad(2)) > 1e-9 {
		t.Errorf("%d %s", code, text)
	}
	if code, _ := ask("POST", "/restart", `{"off_s":60}`); code != 200 || m.State().Power {
		t.Errorf("%d: %+v", code, m.State())
	}
	clk.pass(2 * time.Minute)
	if s := m.State(); !s.Power || s.Restarts != 1 || !s.Tracking {
		t.Errorf("%+v", s)
	}
	if code, _ := ask("POST", "/cut", `{}`); code != 200 || m.State().Power {
		t.Errorf("%d: %+v", code, m.State())
	}
	var c ContactsDoc
	if code, text := ask("GET", "/contacts", ""); code != 200 || json.Unmarshal([]byte(text), &c) != nil || c.LeastMM == nil || c.List == nil {
		t.Errorf("%d %s", code, text)
	}
	if code, _ := ask("DELETE", "/contacts", ""); code != 200 {
		t.Error(code)
	}
	if code, text := ask("GET", "/", ""); code != 200 || !strings.Contains(text, "PUT    /faults") {
		t.Errorf("%d %s", code, text)
	}
	for body, want := range map[string]string{`{"wrong_sied":true}`: "wrong_sied", `{"loss":7}`: "from 0 to 1", `{} {}`: "follows", `[`: "PUT /faults", `null x`: "PUT /faults"} {
		if code, text := ask("PUT", "/faults", body); code != 400 || !strings.Contains(text, want) {
			t.Errorf("%s: %d %s", body, code, text)
		}
	}
	for path, body := range map[string]string{"/slip": `{"ra_axis_deg":900}`, "/restart": `{"off_s":-1}`} {
		if code, _ := ask("POST", path, body); code != 400 {
			t.Errorf("%s %s: %d", path, body, code)
		}
	}
	if code, _ := ask("POST", "/cut", ""); code != http.StatusUnsupportedMediaType {
		t.Errorf("without a type of content: %d", code)
	}
	r := httptest.NewRequest("GET", "http://example.org:80/state", nil)
	w := httptest.NewRecorder()
	if Control(m).ServeHTTP(w, r); w.Code != http.StatusForbidden {
		t.Errorf("asked by another name: %d", w.Code)
	}
}

// The owner sends a parked mount somewhere over the control API, on a side where the mount lets him, and back to its park place.
func TestSlewByControl(t *testing.T) {
	m, clk := place(t, load(t, karoo), 4, nil)
	s := httptest.NewServer(Control(m))
	defer s.Close()
	post := func(path, body string) (int, string, StateDoc) {
		t.Helper()
		a, err := http.Post(s.URL+path, "application/json", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		text, err := io.ReadAll(a.Body)
		if err != nil {
			t.Fatal(err)
		}
		var d StateDoc
		if a.StatusCode == http.StatusOK {
			err = json.Unmarshal(text, &d)
		}
		if err != nil {
			t.Fatal(err)
		}
		return a.StatusCode, string(text), d
	}
	for body, want := range map[string]string{`{"dec_deg":30}`: "give hour_angle_h", `{"hour_angle_h":1}`: "give hour_angle_h", `{"hour_angle_h":13,"dec_deg":0}`: "from -12 to 12",
		`{"hour_angle_h":1,"dec_deg":-91}`: "from -90 to 90", `{"hour_angle_h":1,"dec_deg":0,"side":"left"}`: "give west or east"} {
		if code, text, _ := post("/slew", body); code != http.StatusBadRequest || !strings.Contains(text, want) || !m.State().Parked {
			t.Errorf("%s: %d %s", body, code, text)
		}
	}
	for _, c := range []struct {
		body, side string
		hour, dec  float64
	}{
		{`{"hour_angle_h":-2,"dec_deg":-30,"side":"west"}`, "west", -2, -30},
		{`{"hour_angle_h":1.5,"dec_deg":-10,"side":"east"}`, "east", 1.5, -10},
		{`{"hour_angle_h":1,"dec_deg":-20}`, "east", 1, -20}, // as_told: it stays on its side
	} {
		code, text, d := post("/slew", c.body)
		if code != http.StatusOK || !d.Slewing || d.Parked {
			t.Fatalf("%s: %d %s", c.body, code, text)
		}
		clk.pass(5 * time.Minute)
		now := m.stateDoc()
		// It tracks the place that had this hour angle when it was told: 5 minutes later by 5 min · 86400/86164.1, within 36″.
		if off := now.HourH - c.hour - 5.0/60*1.0027379; now.Slewing || !now.Tracking || now.Side != c.side || math.Abs(off*15) > 0.01 || math.Abs(now.DecDeg-c.dec) > 0.01 {
			t.Errorf("%s: %+v, off by %g h", c.body, now, off)
		}
	}
	if code, text, d := post("/park", `{}`); code != http.StatusOK || !d.Slewing {
		t.Errorf("%d %s", code, text)
	}
	clk.pass(5 * time.Minute)
	if !m.State().Parked {
		t.Errorf("%+v", m.State())
	}
}

// A clock that runs fast is that much ahead, and waits that much less.
func TestClock(t *testing.T) {
	c := NewClock(evening, 600)
	from := time.Now()
	if !c.wait(nil, 60) {
		t.Error("it did not wait")
	}
	if d := time.Since(from); d < 100*time.Millisecond {
		t.Errorf("a minute took %v", d)
	}
	if d := c.Now().Sub(evening); d < time.Minute {
		t.Errorf("and the clock went on by %v", d)
	}
	done := make(chan struct{})
	close(done)
	if c.wait(done, 1e6) {
		t.Error("it waited to the end")
	}
}
