package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"legroom/watch"
	"legroom/watch/journal"
)

// Two nights of a journal: listed, told in the time of the site, and written whole.
func TestReplay(t *testing.T) {
	doc, err := os.ReadFile("../../examples/karoo-newtonian.yaml")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "night.db")
	j := journal.Open(path, journal.Options{Session: journal.Session{Program: "legroom test", Rig: "Karoo", Print: "0123", Mount: "alpaca://127.0.0.1:1/0", Document: string(doc)}})
	var all []watch.Record
	for night := range 2 {
		begin := time.Date(2026, 11, 24+night, 20, 0, 0, 0, time.UTC) // 22 h in South Africa
		for i := range 130 {
			at, gap := begin.Add(time.Duration(i)*time.Second), 50-float64(i)/10
			all = append(all, watch.Record{At: at, Kind: watch.KindSample, Sample: &watch.Sample{Got: at, LowerMM: &gap, A: "leg 2", B: "camera"}})
		}
		at := begin.Add(3 * time.Minute)
		all = append(all,
			watch.Record{At: at, Kind: watch.KindDecision, Decision: &watch.Decision{From: watch.Watching, To: watch.Stopping, Why: "gap 37 mm"}},
			watch.Record{At: at, Kind: watch.KindCommand, Command: &watch.Command{Name: "tracking off", Answer: "no link to the mount"}},
			watch.Record{At: at, Kind: watch.KindEvent, Event: &watch.Event{Key: "stop", Level: watch.Alarm, Text: "stopping: gap 37 mm"}})
	}
	late := time.Date(2026, 11, 25, 22, 30, 0, 0, time.UTC) // half an hour past midnight
	all = append(all, watch.Record{At: late, Kind: watch.KindEvent, Event: &watch.Event{Key: "stop", Level: watch.Warning, Text: "a stop is due soon, at RA axis -0.0°, declination axis -10.0°"}})
	if err := j.Record(all); err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	legroom := func(code int, args ...string) (string, string) {
		var out, errs bytes.Buffer
		if got := run(args, strings.NewReader(""), &out, &errs); got != code {
			t.Fatalf("%v: exit code %d, not %d: %s%s", args, got, code, out.String(), errs.String())
		}
		return out.String(), errs.String()
	}
	if got, _ := legroom(0, "replay", path); strings.Count(got, "evening of 2026-11-2") != 2 || !strings.Contains(got, "evening of 2026-11-24   22:00 to 22:0") ||
		!strings.Contains(got, "evening of 2026-11-25   22:00 to 00:30 on 2026-11-26 (") {
		t.Error(got)
	}
	got, _ := legroom(0, "replay", path, "--last")
	for _, want := range []string{"Night of 2026-11-25/26, times of Africa/Johannesburg\n! alarm, error or failed command   ? warning   » decision   > command",
		"\n\n2026-11-26\n00:30:00  ? a stop is due soon, at RA axis 0.0°, declination axis -10.0°\n", `rig "Karoo"`, "22:03:00  » from watching to stopping: gap 37 mm", "! tracking off failed: no link",
		"! stopping: gap 37 mm", "130 samples; least gap proven 37.1 mm, leg 2 to camera, at 22:02:09"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in %s", want, got)
		}
	}
	if got, _ := legroom(0, "replay", path, "--night", "2026-11-24", "--format", "csv"); strings.Count(got, "\n") != 134 || strings.Contains(got, "2026-11-25T") {
		t.Errorf("%d lines", strings.Count(got, "\n"))
	}
	got, _ = legroom(0, "replay", path, "--format", "json")
	var whole struct {
		Records []watch.Record
	}
	if err := json.Unmarshal([]byte(got), &whole); err != nil || len(whole.Records) != 267 {
		t.Errorf("%d records, %v", len(whole.Records), err)
	}
	for _, c := range []struct {
		want string
		args []string
	}{
		{"the journal has 2026-11-24, 2026-11-25", []string{"replay", path, "--night", "2026-11-23"}},
		{"there is no journal", []string{"replay", path + "x"}},
		{"name one journal", []string{"replay"}},
		{"give one of them", []string{"replay", path, "--last", "--night", "2026-11-24"}},
		{"not a database", []string{"replay", "../../examples/karoo-newtonian.yaml"}},
		{"--format", []string{"replay", path, "--format", "xml"}},
	} {
		if _, errs := legroom(2, c.args...); !strings.Contains(errs, c.want) {
			t.Errorf("%v: %s", c.args, errs)
		}
	}
}

// A journal is checked, found damaged when its end is cut off, and read out.
func TestReplayCheckAndRecover(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	j := journal.Open(path, journal.Options{Session: journal.Session{Program: "legroom test"}})
	var all []watch.Record
	for i := range 2000 {
		at := time.Date(2026, 11, 24, 20, 0, i, 0, time.UTC)
		all = append(all, watch.Record{At: at, Kind: watch.KindSample, Sample: &watch.Sample{Got: at, A: "leg 2", B: "camera"}})
	}
	if err := errors.Join(j.Record(all), j.Close()); err != nil {
		t.Fatal(err)
	}
	legroom := func(code int, args ...string) (string, string) {
		var out, errs bytes.Buffer
		if got := run(args, strings.NewReader(""), &out, &errs); got != code {
			t.Fatalf("%v: exit code %d, not %d: %s%s", args, got, code, out.String(), errs.String())
		}
		return out.String(), errs.String()
	}
	if got, _ := legroom(0, "replay", path, "--check"); !strings.HasPrefix(got, "2000 rows of 1 sessions are as they were written\n") {
		t.Error(got)
	}
	if err := os.Truncate(path, 100<<10); err != nil {
		t.Fatal(err)
	}
	if _, errs := legroom(1, "replay", path, "--check"); !strings.Contains(errs, "--recover") {
		t.Error(errs)
	}
	got, _ := legroom(0, "replay", path, "--recover", "--format", "json")
	var r journal.Recovery
	if err := json.Unmarshal([]byte(got), &r); err != nil || r.Rows == 0 || r.Rows+r.Gone != 2000 {
		t.Errorf("%v: %s", err, got)
	}
	legroom(0, "replay", path, "--check", "--format", "json")
	legroom(2, "replay", path, "--check", "--recover")
	legroom(2, "replay", path, "--check", "--last")
	legroom(2, "replay", path+"x", "--recover")
}
