package web

import (
	"bufio"
	"encoding/json"
	"io"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/sim"
	"legroom/rig"
	"legroom/room"
	"legroom/watch"
)

// steps reads a watch's stream and gives what comes, one value an event.
func (s *site) steps(after string) (next func(name string, into any) bool, end func()) {
	s.t.Helper()
	a := s.ask("GET", "/api/watch/stream"+after, "")
	if a.StatusCode != http.StatusOK || a.Header.Get("Content-Type") != "text/event-stream" {
		s.t.Fatalf("stream: status %d, %s", a.StatusCode, a.Header.Get("Content-Type"))
	}
	in := bufio.NewReader(a.Body)
	return func(name string, into any) bool {
		event := ""
		for {
			line, err := in.ReadString('\n')
			if err != nil {
				return false
			}
			if e, ok := strings.CutPrefix(line, "event: "); ok {
				event = strings.TrimSpace(e)
			}
			if data, ok := strings.CutPrefix(line, "data: "); ok && event == name {
				if err := json.Unmarshal([]byte(data), into); err != nil {
					s.t.Fatalf("%v in %s", err, data)
				}
				return true
			}
		}
	}, func() { a.Body.Close() }
}

// until waits for a state of which ok says yes.
func (s *site) until(what string, ok func(WatchStep) bool) WatchStep {
	s.t.Helper()
	next, end := s.steps("")
	defer end()
	late := time.AfterFunc(20*time.Second, end)
	defer late.Stop()
	var last WatchStep
	for {
		var d WatchStep
		if !next("step", &d) {
			s.t.Fatalf("never %s; the last state was %+v", what, last)
		}
		if ok(d) {
			return d
		}
		last = d
	}
}

func TestNoWatch(t *testing.T) {
	s := newSite(t)
	var d WatchDoc
	s.post(200, "GET", "/api/watch", nil, &d)
	if d.Running || d.Start != startWatch {
		t.Errorf("%+v", d)
	}
	for path, body := range map[string]string{"stop": "", "release": "", "park": "", "acknowledge": `{"key": "gap"}`, "snooze": `{"minutes": 5}`, "confirm": `{"side": "west"}`} {
		if got := s.get(409, "POST", "/api/watch/"+path, body); !strings.Contains(got, "no watch runs") {
			t.Errorf("%s: %s", path, got)
		}
	}
	s.get(409, "GET", "/api/watch/events", "")
	next, end := s.steps("")
	defer end()
	if next("step", &WatchStep{}) {
		t.Error("a state of no watch")
	}
}

// A night through the API: blind until the reference pose is confirmed, tracking, the owner's stop, letting go.
func TestWatchOrders(t *testing.T) {
	t.Parallel()
	w := newWatchedSim(t, 20, 45, 1)
	s := newSiteWith(t, Options{Watch: w.Watched})
	var d WatchDoc
	s.post(200, "GET", "/api/watch", nil, &d)
	if !d.Running || d.Rig != "Pier for tests" || d.MarginMM != 30 || d.TimeZone != "Europe/Rome" || len(d.Parts) == 0 || d.Head == nil || d.ID != "" {
		t.Errorf("%+v", d)
	}
	// 20° past counterweight-down on side west is −4.67 h; the tube points to declination 45°.
	st := s.until("blind for want of a reference, and stopped", func(d WatchStep) bool { return len(d.Blind) > 0 && d.Rung == watch.Stopped })
	if st.Safe || st.Blind[0] != watch.BlindReference || len(st.BlindWhy) != 1 || st.Cause != watch.ByBlind || known(st, "blind reference") {
		t.Errorf("%+v", st)
	}
	if h, dec := st.Sample.HourH, st.Sample.DecDeg; h < -4.68 || h > -4.6 || dec < 44.99 || dec > 45.01 {
		t.Errorf("hour angle %g h, declination %g°", h, dec)
	}
	// The pairs are those that the gauge has there.
	at := axes.Angles{RA: axes.Rad(*st.Sample.RAAxisDeg), Dec: axes.Rad(*st.Sample.DecAxisDeg)}
	want := w.Gauge.Gap(at, w.Gauge.NewScratch())
	if len(st.Nearest) != nearestPairs || st.Nearest[0].GapMM < want.Nearest.Gap-0.01 || st.Nearest[0].GapMM > want.Nearest.Gap+0.01 {
		t.Errorf("%+v, not %g", st.Nearest, want.Nearest.Gap)
	}

	if got := s.get(409, "POST", "/api/watch/acknowledge", `{"key": "nothing"}`); !strings.Contains(got, `there is no alarm`) {
		t.Error(got)
	}
	s.get(204, "POST", "/api/watch/acknowledge", `{"key": "blind reference"}`)
	s.until("acknowledged, and still shown", func(d WatchStep) bool {
		return known(d, "blind reference") && !known(d, "stop") && len(d.Blind) == 1
	})
	s.get(422, "POST", "/api/watch/confirm", `{"side": "up"}`)
	s.get(204, "POST", "/api/watch/confirm", `{"side": "west"}`)
	st = s.until("not blind", func(d WatchStep) bool { return len(d.Blind) == 0 })
	if st.Sample.Side != "west" || st.Sample.SideHow != watch.ByOwner && st.Sample.SideHow != watch.ByPath {
		t.Errorf("%+v", st.Sample)
	}

	if err := w.mount.SetTracking(true); err != nil {
		t.Fatal(err)
	}
	s.until("watching", func(d WatchStep) bool { return d.Rung == watch.Watching && d.Safe && d.LeftS != nil && *d.LeftS > 60 })

	for _, body := range []string{`{"minutes": 0}`, `{"minutes": 31}`, `{}`} {
		s.get(422, "POST", "/api/watch/snooze", body)
	}
	s.get(204, "POST", "/api/watch/snooze", `{"minutes": 10}`)
	s.until("snoozed", func(d WatchStep) bool { return d.Snoozed != nil })

	if got := s.get(409, "POST", "/api/watch/release", ""); !strings.Contains(got, "nobody has pressed stop") {
		t.Error(got)
	}
	s.get(204, "POST", "/api/watch/stop", "")
	st = s.until("stopped", func(d WatchStep) bool { return d.Rung == watch.Stopped })
	if st.Cause != watch.ByStopper || !st.Held || st.Safe || w.mount.State().Tracking {
		t.Errorf("%+v, tracking %v", st, w.mount.State().Tracking)
	}
	s.get(204, "POST", "/api/watch/release", "")
	was := st.Counts.Steps
	s.until("two steps on", func(d WatchStep) bool { return d.Counts.Steps > was+2 })
	if w.mount.State().Tracking {
		t.Error("letting go set the mount in motion")
	}
	if err := w.mount.SetTracking(true); err != nil {
		t.Fatal(err)
	}
	s.until("watching again", func(d WatchStep) bool { return d.Rung == watch.Watching && d.Safe && !d.Held })

	var all WatchEvents
	s.post(200, "GET", "/api/watch/events?after=1", nil, &all)
	for i, e := range all.Events {
		if e.ID != int64(i+2) {
			t.Errorf("event %d has number %d", i, e.ID)
		}
	}
	for _, key := range []string{"confirm", "acknowledge", "snooze", "stop"} {
		found := false
		for _, e := range all.Events {
			found = found || e.Key == key
		}
		if !found {
			t.Errorf("no event of %s in %+v", key, all.Events)
		}
	}
}

// known tells whether an alarm was acknowledged.
func known(d WatchStep, key string) bool {
	for _, a := range d.Alarms {
		if a.Key == key {
			return a.Known
		}
	}
	return false
}

// Parking is for a way that is proven.
// Who collects figures finds those of the watch and its journal, and none where nothing is watched.
func TestWatchFigures(t *testing.T) {
	t.Parallel()
	w := newWatchedSim(t, 20, 45, 1)
	s := newSiteWith(t, Options{Watch: w.Watched})
	s.until("a reading", func(d WatchStep) bool { return d.Sample != nil })
	if got := s.get(200, "GET", "/metrics", ""); strings.Contains(got, "legroom_gap") { // nobody has confirmed where the tube is
		t.Errorf("blind, and a gap is told:\n%s", got)
	}
	s.get(204, "POST", "/api/watch/confirm", `{"side": "west"}`)
	s.until("not blind", func(d WatchStep) bool { return len(d.Blind) == 0 })
	got := s.get(200, "GET", "/metrics", "")
	for _, want := range []string{"legroom_gap_lower_meters ", `legroom_rung{legroom_rung="stopp`, "# EOF\n"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in\n%s", want, got)
		}
	}
	newSite(t).get(404, "GET", "/metrics", "")
}

func TestWatchPark(t *testing.T) {
	t.Parallel()
	w := newWatchedSim(t, 20, 45, 10)
	s := newSiteWith(t, Options{Watch: w.Watched})
	s.until("a reading", func(d WatchStep) bool { return d.Sample != nil })
	if got := s.get(409, "POST", "/api/watch/park", ""); !strings.Contains(got, "blind") {
		t.Error(got)
	}
	s.get(204, "POST", "/api/watch/confirm", `{"side": "west"}`)
	s.until("not blind", func(d WatchStep) bool { return len(d.Blind) == 0 && d.Rung == watch.Stopped })
	s.get(204, "POST", "/api/watch/park", "")
	s.until("parked", func(d WatchStep) bool { return d.Sample.Parked == "yes" })
	if c := w.mount.Contacts(); len(c.List) > 0 {
		t.Errorf("%+v", c)
	}
}

// A state comes when the loop has come round, and only then: a loop that has ended leaves the page with nothing.
func TestStreamIsFresh(t *testing.T) {
	t.Parallel()
	w := newWatchedSim(t, 20, 45, 10)
	s := newSiteWith(t, Options{Watch: w.Watched})
	s.until("a reading", func(d WatchStep) bool { return d.Sample != nil })
	var got WatchEvents
	next, end := s.steps("")
	if !next("events", &got) || got.Events[0].Key != "start" {
		t.Errorf("%+v", got)
	}
	end()
	w.end()
	got = WatchEvents{}
	next, end = s.steps("?after=1")
	if !next("events", &got) || got.Events[0].ID != 2 || got.Events[len(got.Events)-1].Key != "end" {
		t.Errorf("%+v", got)
	}
	time.AfterFunc(time.Second, end)
	if next("step", &WatchStep{}) {
		t.Error("an old state was sent")
	}
}

// The watch is for the page of this server alone.
func TestWatchGuarded(t *testing.T) {
	t.Parallel()
	w := newWatchedSim(t, 20, 45, 10)
	s := newSiteWith(t, Options{Watch: w.Watched})
	for _, h := range [][]string{{"Origin", "http://elsewhere.example"}, {"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Site", "same-site"}, {"Origin", "null"}} {
		for _, path := range []string{"stop", "release", "park"} {
			s.get(403, "POST", "/api/watch/"+path, "", h...)
		}
		s.get(403, "GET", "/api/watch", "", h...)
		s.get(403, "GET", "/api/watch/stream", "", h...)
	}
	s.get(421, "POST", "/api/watch/stop", "", "Host", "elsewhere.example")
	for _, e := range w.Watch.Events(0) {
		if strings.Contains(e.Text, "owner") {
			t.Error("it was stopped all the same")
		}
	}
	a := s.ask("POST", "/api/watch/stop", "", "Origin", "http://"+s.host)
	defer a.Body.Close()
	if _, err := io.Copy(io.Discard, a.Body); err != nil || a.StatusCode != 204 {
		t.Errorf("status %d, %v", a.StatusCode, err)
	}
}

// A page that does not read keeps neither the loop nor another page.
func TestWatchSlowPage(t *testing.T) {
	t.Parallel()
	w := newWatchedSim(t, 20, 45, 10)
	s := newSiteWith(t, Options{Watch: w.Watched})
	for range 50 {
		_, end := s.steps("") // never read
		defer end()
	}
	was := w.Watch.Status().Counts.Steps
	s.until("twenty steps more", func(d WatchStep) bool { return d.Counts.Steps > was+20 })
	if err := w.mount.SetFaults(sim.Faults{HalfOpen: true}); err != nil {
		t.Fatal(err)
	}
	s.until("blind", func(d WatchStep) bool { return len(d.Blind) > 1 })
}

// The list of rigs says which of them is watched.
func TestWatchedRig(t *testing.T) {
	t.Parallel()
	w := newWatchedSim(t, 20, 45, 1)
	s := newSiteWith(t, Options{Watch: w.Watched})
	watched := func() (ids []string) {
		var list []RigEntry
		s.post(200, "GET", "/api/rigs", nil, &list)
		for _, e := range list {
			if e.Watched {
				ids = append(ids, e.ID)
			}
		}
		return ids
	}
	if got := watched(); len(got) > 0 {
		t.Errorf("the watched rig lies elsewhere, and %q are said to be it", got)
	}
	w.Gauge = gaugeOf(t, s, "terrace-riser")
	if got := watched(); !slices.Equal(got, []string{"terrace-riser"}) {
		t.Errorf("watched: %q", got)
	}
}

// gaugeOf is what a watch of a rig of the folder would answer by.
func gaugeOf(t *testing.T, s *site, id string) *room.Gauge {
	t.Helper()
	r, err := rig.Load(filepath.Join(s.dir, id+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := room.NewGauge(m, room.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return g
}
