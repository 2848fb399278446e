package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Text, JSON and CSV of one season say the same, for a rig of each hemisphere.
func TestSeason(t *testing.T) {
	t.Parallel()
	list := filepath.Join(t.TempDir(), "list.csv")
	if err := os.WriteFile(list, []byte("name,ra,dec\nM 42,,\nM 31,,\nour field,5h12m,-30.5\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, rig := range []string{terrace, karoo} {
		args := []string{"season", rig, "--targets", list, "--target", "deep south,10,-85", "--from", "2026-12", "--months", "3", "--least-altitude-deg", "20",
			"--moon-apart-deg", "50", "--moon-lit", "0.4"}
		narrow(t, "season", must(t, done, args...))
		d := valid(t, "season", must(t, done, append(args, "--format", "json")...))
		for _, k := range []string{"margin_mm", "fingerprint", "confirmed", "from", "west_deg", "months.0.dark_h", "targets.0.name", "targets.0.by_month.0.sky_h",
			"targets.0.by_month.0.by_declination.hours", "targets.0.by_month.0.two_number.hours", "targets.0.all.by_declination.cost_percent", "total.all.sky_h"} {
			at(t, d, k)
		}
		if d["from"] != "2026-12" || d["to"] != "2027-02" || at(t, d, "targets.0.name") != "M 42" || at(t, d, "targets.0.best_month") == nil {
			t.Errorf("%s: %v to %v, first %v", rig, d["from"], d["to"], at(t, d, "targets.0"))
		}
		rows, err := csv.NewReader(strings.NewReader(must(t, done, append(args, "--format", "csv")...))).ReadAll()
		if err != nil || len(rows) != 1+4*4 {
			t.Errorf("%s: %d rows, %v", rig, len(rows), err)
		}
		south := rows[len(rows)-1]
		if up := south[5] != "0"; south[0] != "deep south" || up != (rig == karoo) {
			t.Errorf("%s: %v", rig, south)
		}
	}
}

// A picture is written in each of its kinds, and a year is twelve months from January.
func TestSeasonPictures(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for file, start := range map[string]string{"s.svg": "<svg ", "s.png": "\x89PNG", "s.pdf": "%PDF"} {
		path := filepath.Join(dir, file)
		doc := valid(t, "wrote", must(t, done, "season", terrace, "--target", "M 31", "--year", "2028", "--dpi", "60", "--output", path, "--format", "json"))
		if s := content(t, path); at(t, doc, "wrote.0") != path || !strings.HasPrefix(s, start) {
			t.Errorf("%s: %v, starts with %.8q", file, doc, s)
		}
	}
	if svg := content(t, filepath.Join(dir, "s.svg")); !strings.Contains(svg, "Jan 2028 to Dec 2028") {
		t.Error("2028 is not January to December")
	}
}

// One clear error for each wrong use, and no file.
func TestSeasonWrong(t *testing.T) {
	t.Parallel()
	out := filepath.Join(t.TempDir(), "s.gif")
	for want, args := range map[string][]string{
		"no targets":                     {},
		"--from \"2026-13\"":             {"--target", "M 31", "--from", "2026-13"},
		"--from \"next year\"":           {"--target", "M 31", "--from", "next year"},
		"--year 20270":                   {"--target", "M 31", "--year", "20270"},
		"--months 0":                     {"--target", "M 31", "--months", "0"},
		"--months 25":                    {"--target", "M 31", "--months", "25"},
		"[from year]":                    {"--target", "M 31", "--from", "2026-11", "--year", "2027"},
		"given twice":                    {"--target", "M 31", "--target", "m 31"},
		"--least-altitude-deg 95":        {"--target", "M 31", "--least-altitude-deg", "95"},
		"--least-night-min 0":            {"--target", "M 31", "--least-night-min", "0"},
		".svg or .png or .pdf":           {"--target", "M 31", "--output", out},
		"--format \"ics\"":               {"--target", "M 31", "--format", "ics"},
		"--target \"nowhere in heaven\"": {"--target", "nowhere in heaven"},
	} {
		r := legroom(t, "", append([]string{"season", terrace}, args...)...)
		if r.code != wrongUse || r.out != "" || !strings.Contains(r.errors, want) || strings.Count(strings.TrimSpace(r.errors), "\n") > 0 {
			t.Errorf("%v: code %d, out %q, error %q, want %q", args, r.code, r.out, r.errors, want)
		}
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("a file was written")
	}
}

// A season that is interrupted stops, and says so.
func TestSeasonInterrupted(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	root := newRoot()
	var out, errs bytes.Buffer
	root.SetArgs([]string{"season", terrace, "--target", "M 31", "--from", "2026-11"})
	root.SetOut(&out)
	root.SetErr(&errs)
	if err := root.ExecuteContext(ctx); err != context.Canceled || out.Len() > 0 {
		t.Errorf("%v, %q", err, out.String())
	}
}
