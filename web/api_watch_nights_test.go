package web

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"legroom/watch"
	"legroom/watch/journal"
)

// writeJournal keeps a journal of one night of an hour, a sample a second, and returns its file.
func writeJournal(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("../watch/testdata/pier.yaml")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "night.journal")
	j := journal.Open(path, journal.Options{Session: journal.Session{Program: "test", Rig: "Pier for tests", Document: string(text)}})
	var all []watch.Record
	for i := range 3601 {
		at := evening.Add(time.Duration(i) * time.Second)
		c := watch.Sample{Asked: at, Got: at, Side: "west", RAAxisDeg: at64(20 + float64(i)/240), DecAxisDeg: at64(45), LowerMM: at64(100 - float64(i)/60)}
		if i == 1801 {
			c.LowerMM = at64(1) // one second of little room, which no thinning may lose
		}
		if i == 2500 {
			c.Blind = []watch.Reason{watch.BlindSide} // and one of which nothing is proven
		}
		all = append(all, watch.Record{At: at, Kind: watch.KindSample, Sample: &c})
	}
	for i, e := range []watch.Event{{ID: 1, Key: "start", Level: watch.Note, Text: "watching"}, {ID: 2, Key: "stop", Level: watch.Alarm, Text: "stopping: gap"}} {
		e.At = evening.Add(time.Duration(i) * 30 * time.Minute)
		all = append(all, watch.Record{At: e.At, Kind: watch.KindEvent, Event: &e})
	}
	if err := j.Record(all); err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func at64(x float64) *float64 { return &x }

func TestNights(t *testing.T) {
	s := newSiteWith(t, Options{Journal: writeJournal(t)})
	var list NightsDoc
	s.post(200, "GET", "/api/watch/nights", nil, &list)
	if !list.Kept || len(list.Nights) != 1 || list.Nights[0].Evening != "2026-11-25" || list.TimeZone != "Europe/Rome" {
		t.Fatalf("%+v", list)
	}
	var d NightRecord
	s.post(200, "GET", "/api/watch/nights/2026-11-25", nil, &d)
	if d.Of != 3601 || len(d.Samples) > nightSamples+2 || len(d.Samples) < nightSamples/2 || len(d.Records) != 2 || d.Problem != "" || len(d.Sessions) != 1 ||
		!d.From.Equal(evening) || !d.To.Equal(evening.Add(time.Hour)) {
		t.Errorf("%d samples of %d, %d records, %q, %d sessions, %v to %v", len(d.Samples), d.Of, len(d.Records), d.Problem, len(d.Sessions), d.From, d.To)
	}
	least, blind := 1e9, 0
	for i, c := range d.Samples {
		if len(c.Blind) > 0 {
			if blind++; c.LowerMM != nil || !c.Got.Equal(evening.Add(2500*time.Second)) {
				t.Errorf("blind: %+v", c)
			}
			continue
		}
		least = min(least, *c.LowerMM)
		if i > 0 && !c.Got.After(d.Samples[i-1].Got) {
			t.Fatalf("sample %d is not after the one before", i)
		}
	}
	if least != 1 || blind != 1 {
		t.Errorf("the least gap is %g mm, not 1; blind in %d", least, blind)
	}
	s.get(404, "GET", "/api/watch/nights/2026-11-24", "")
	s.get(422, "GET", "/api/watch/nights/yesterday", "")
}

func TestNoJournal(t *testing.T) {
	for _, c := range []struct {
		o    Options
		kept bool
	}{{Options{}, false}, {Options{Journal: filepath.Join(t.TempDir(), "none")}, true}} {
		s := newSiteWith(t, c.o)
		var list NightsDoc
		s.post(200, "GET", "/api/watch/nights", nil, &list)
		if list.Kept != c.kept || len(list.Nights) != 0 {
			t.Errorf("%+v", list)
		}
		s.get(404, "GET", "/api/watch/nights/2026-11-25", "")
	}
	foreign := filepath.Join(t.TempDir(), "foreign")
	if err := os.WriteFile(foreign, []byte("this is no journal at all, and long enough to be one: 0123456789 0123456789 0123456789"), 0o600); err != nil {
		t.Fatal(err)
	}
	newSiteWith(t, Options{Journal: foreign}).get(422, "GET", "/api/watch/nights", "")
}
