package main

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

const terraceTargets = "../../examples/terrace/targets.yaml"

// moment reads a time of a document, which is RFC 3339; null is the zero time.
func moment(t *testing.T, v any) time.Time {
	t.Helper()
	if v == nil {
		return time.Time{}
	}
	at, err := time.Parse(time.RFC3339, v.(string))
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// windows reads a list of [from, to], in order and apart.
func windows(t *testing.T, v any) [][2]time.Time {
	t.Helper()
	var out [][2]time.Time
	for _, w := range v.([]any) {
		p := [2]time.Time{moment(t, w.([]any)[0]), moment(t, w.([]any)[1])}
		if !p[0].Before(p[1]) || len(out) > 0 && !out[len(out)-1][1].Before(p[0]) {
			t.Errorf("windows out of order: %v", v)
		}
		out = append(out, p)
	}
	return out
}

// holds tells whether some window holds all from a to b.
func holds(ws [][2]time.Time, a, b time.Time) bool {
	return slices.ContainsFunc(ws, func(w [2]time.Time) bool { return !a.Before(w[0]) && !b.After(w[1]) })
}

// movedRig writes the Karoo's rig for another place, its head set to the new latitude.
func movedRig(t *testing.T, lat, lon float64, zone string) string {
	t.Helper()
	s := content(t, karoo)
	for old, now := range map[string]string{
		`latitude_deg: -32.4`:                   fmt.Sprintf("latitude_deg: %g", lat),
		`longitude_deg: 22.6`:                   fmt.Sprintf("longitude_deg: %g", lon),
		`time_zone: Africa/Johannesburg`:        "time_zone: " + zone,
		`polar_axis: {altitude_deg: 32.4 ± 0.2`: fmt.Sprintf("polar_axis: {altitude_deg: %g ± 0.2", math.Abs(lat)),
		`name: Karoo, Newtonian on a pier`:      "name: Elsewhere",
	} {
		if strings.Count(s, old) != 1 {
			t.Fatalf("%q is not in the rig once", old)
		}
		s = strings.Replace(s, old, now, 1)
	}
	s = regexp.MustCompile(`(?m)^  horizon: .*$`).ReplaceAllString(s, "  horizon: []")
	path := filepath.Join(t.TempDir(), "elsewhere.yaml")
	if err := os.WriteFile(path, []byte(s), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// The keys that other programs read are literally there, and what they say agrees with itself and with the limits.
func TestNightJSON(t *testing.T) {
	t.Parallel()
	rigs := []string{terrace, karoo}
	if testing.Short() {
		rigs = rigs[:1]
	}
	for _, rig := range rigs {
		args := []string{"night", rig, "--date", "2026-10-24", "--targets", terraceTargets, "--download-s", "3", "--dither-s", "12", "--format", "json"}
		d := valid(t, "night", must(t, done, args...))
		for _, k := range []string{"sunset", "dark_from", "dark_to", "sunrise", "moon.lit", "moon.rise", "moon.set", "targets.0.name", "targets.0.transit", "targets.0.usable",
			"targets.0.stop", "targets.0.resume", "targets.0.flip", "targets.0.idle_min", "targets.0.sub_count", "targets.0.lost_min", "targets.0.moon_separation_deg",
			"targets.0.max_altitude_deg", "schedule.0.target", "schedule.0.side", "schedule.0.from", "schedule.0.to", "schedule.0.sub_count",
			"fingerprint", "margin_mm", "tolerance_mm", "tolerance_mode", "confirmed", "unconfirmed", "pair.text", "other_limits.sub_count"} {
			at(t, d, k)
		}
		if d["confirmed"] != false || d["night"] != "2026-10-24" || at(t, d, "limits.mode") != "declination" || at(t, d, "other_limits.mode") != "two-number" {
			t.Errorf("%s: %v, %v, %v", rig, d["confirmed"], d["night"], d["limits"])
		}
		sunset, sunrise := moment(t, d["sunset"]), moment(t, d["sunrise"])
		dark := [][2]time.Time{{moment(t, d["dark_from"]), moment(t, d["dark_to"])}}
		usable := map[string][2][][2]time.Time{}
		for _, v := range d["targets"].([]any) {
			g := v.(map[string]any)
			name := g["name"].(string)
			all := windows(t, g["usable"])
			sides := [2][][2]time.Time{windows(t, g["usable_west"]), windows(t, g["usable_east"])}
			usable[name] = sides
			for _, w := range append(append(all, sides[0]...), sides[1]...) {
				if !holds(dark, w[0], w[1]) || !holds(all, w[0], w[1]) {
					t.Errorf("%s: usable %v, dark %v", name, w, dark)
				}
			}
			lost := at(t, g, "lost").(map[string]any)
			sum := 0.0
			for _, x := range lost {
				sum += x.(float64)
			}
			if math.Abs(sum-sunrise.Sub(sunset).Minutes()) > 0.1 {
				t.Errorf("%s: the night's time adds up to %v min of %v", name, sum, sunrise.Sub(sunset).Minutes())
			}
			if rigs := lost["no_room_min"].(float64) + lost["idle_min"].(float64) + lost["flip_min"].(float64); math.Abs(rigs-g["lost_min"].(float64)) > 1e-4 {
				t.Errorf("%s: the rig costs %v min, its causes %v", name, g["lost_min"], rigs)
			}
			n := 0
			for _, b := range g["blocks"].([]any) {
				n += int(b.(map[string]any)["sub_count"].(float64))
			}
			if float64(n) != g["sub_count"] || (n == 0) != (g["why_not"] != "") || (n == 0) != (g["first_side"] == nil) {
				t.Errorf("%s: %v sub-exposures, %d in blocks, why not: %q", name, g["sub_count"], n, g["why_not"])
			}
		}
		stopsAgree(t, rig, d["targets"].([]any))
		last := moment(t, d["dark_from"])
		total := 0
		for _, v := range d["schedule"].([]any) {
			b := v.(map[string]any)
			from, to, side := moment(t, b["from"]), moment(t, b["to"]), map[any]int{"west": 0, "east": 1}[b["side"]]
			if from.Before(last) || !holds(usable[b["target"].(string)][side], from, to) {
				t.Errorf("block %v is not usable, or before %v", b, last)
			}
			n := b["sub_count"].(float64)
			if need := n*(b["sub_s"].(float64)+3) + (n-1)*12; need > to.Sub(from).Seconds() || to.Sub(from).Seconds() >= need+60 {
				t.Errorf("block of %v for %v s of exposures", to.Sub(from), need)
			}
			begin, end := moment(t, at(t, b, "come.begin")), moment(t, at(t, b, "come.end"))
			if begin.After(end) || end.After(from) || !from.Equal(moment(t, b["utc"].([]any)[0])) || !strings.HasSuffix(b["utc"].([]any)[0].(string), "Z") || b["why"] == "" {
				t.Errorf("block %v", b)
			}
			last, total = to, total+int(n)
		}
		if total == 0 || float64(total) != d["sub_count"] {
			t.Errorf("%s: %d sub-exposures scheduled, said %v", rig, total, d["sub_count"])
		}

		// The other limits are what they are when asked for.
		two := valid(t, "night", must(t, done, append(args, "--limits", "two-number")...))
		if at(t, two, "other_limits.sub_count") != d["sub_count"] || two["sub_count"] != at(t, d, "other_limits.sub_count") || at(t, two, "limits.west_deg") != at(t, d, "limits.west_deg") {
			t.Errorf("%s: by declination %v and %v, by two numbers %v and %v", rig, d["sub_count"], d["other_limits"], two["sub_count"], two["other_limits"])
		}
		for i, v := range two["targets"].([]any) {
			one := d["targets"].([]any)[i].(map[string]any)
			if at(t, v, "sub_count") != at(t, one, "other_limits.sub_count") || fmt.Sprint(at(t, v, "usable")) != fmt.Sprint(at(t, one, "other_limits.usable")) {
				t.Errorf("%s: %v", rig, at(t, v, "name"))
			}
		}
	}
}

// stopsAgree checks the targets' stops and starts by the clock against `legroom limits` for their apparent declinations: hour angles
// that the sky runs through at the sidereal rate from the transit on. A target with an extent is another matter.
func stopsAgree(t *testing.T, rig string, targets []any) {
	t.Helper()
	var decs []string
	var kept []map[string]any
	for _, v := range targets {
		g := v.(map[string]any)
		if g["name"] != "M 31" && (g["stop"] != nil || g["resume"] != nil) {
			decs, kept = append(decs, fmt.Sprintf("%.2f", g["apparent_dec_deg"].(float64))), append(kept, g)
		}
	}
	if len(kept) == 0 {
		t.Fatalf("%s: no target stops or starts", rig)
	}
	rows := valid(t, "limits", must(t, done, "limits", rig, "--dec-deg", strings.Join(decs, ","), "--format", "json"))["by_declination"].([]any)
	for i, g := range kept {
		for key, h := range map[string]any{"stop": at(t, rows[i], "stop_h"), "resume": at(t, rows[i], "resume_h")} {
			if g[key] == nil {
				continue
			}
			hour, ok := h.(float64)
			if !ok {
				t.Errorf("%s: %s at %v, but no hour angle", g["name"], key, g[key])
				continue
			}
			const turn = 86164.0905 // seconds
			off := moment(t, g[key]).Sub(moment(t, g["transit"])).Seconds() - hour/24*turn
			off -= turn * math.Round(off/turn) // the transit may be another night's
			// The declination that was asked for is rounded to 0.01°.
			if math.Abs(off) > 20 {
				t.Errorf("%s: %s at %v is %.0f s from what the limits say", g["name"], key, g[key], off)
			}
		}
	}
}

// Clocks that change in the night, a polar day and night, the far side of the date line, targets that never rise or never set.
func TestNightPlaces(t *testing.T) {
	if testing.Short() {
		t.Skip("SKIPPED in short mode: many plans take long under the race detector")
	}
	t.Parallel()
	plan := func(rig, date string, more ...string) (map[string]any, string) {
		args := append([]string{"night", rig, "--date", date, "--target", "north,37.95,89.26", "--target", "M 42", "--target", "south,0,-85"}, more...)
		text := planned(t, args...)
		narrow(t, rig+" "+date, text)
		return valid(t, "night", planned(t, append(args, "--format", "json")...)), text
	}
	target := func(d map[string]any, i int) map[string]any { return d["targets"].([]any)[i].(map[string]any) }

	d, text := plan(terrace, "2026-10-24")
	if s := d["sunset"].(string); !strings.HasPrefix(s, "2026-10-24T19:2") || !strings.HasSuffix(s, "+02:00") || !strings.HasSuffix(d["sunrise"].(string), "+01:00") {
		t.Errorf("sunset %v, sunrise %v", d["sunset"], d["sunrise"])
	}
	for _, want := range []string{"UTC+02:00, THE CLOCKS CHANGE to UTC+01:00", "sets 19:26+2 (17:26 UTC)", "rises 07:31+1 (06:31 UTC)"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in %s", want, text)
		}
	}
	if g := target(d, 2); g["why_not"] != "never above the horizon here" || len(g["usable"].([]any)) > 0 || g["stop"] != nil {
		t.Errorf("a target that never rises: %v", g)
	}
	// The pole star is up all night: nothing but dawn ends it.
	if g := target(d, 0); g["why_not"] != "" || at(t, g, "lost.horizon_min") != 0.0 {
		t.Errorf("a target that never sets: %v", g)
	}
	if before, _ := plan(terrace, "2026-10-23"); !strings.HasSuffix(before["sunrise"].(string), "+02:00") {
		t.Errorf("the night before: %v", before["sunrise"])
	}

	svalbard := movedRig(t, 78.2, 15.6, "Arctic/Longyearbyen")
	d, text = plan(svalbard, "2026-06-21")
	if d["sun"] != "never_sets" || d["dark"] != "never" || d["sunset"] != nil || d["dark_from"] != nil || d["dark_to"] != nil || d["sunrise"] != nil || len(d["schedule"].([]any)) > 0 {
		t.Errorf("polar day: %v %v, dark from %v", d["sun"], d["dark"], d["dark_from"])
	}
	if !strings.Contains(text, "polar day, it does not set") || !strings.Contains(text, "IT DOES NOT GET DARK") || target(d, 0)["why_not"] != "it does not get dark" {
		t.Error(text)
	}
	// At noon the Sun stands 11.6° below the horizon: it goes through −18°, and never through −6°.
	d, text = plan(svalbard, "2026-12-21")
	if d["sun"] != "never_rises" || d["dark"] != "from_dusk_to_dawn" || d["sunset"] != nil || d["dark_from"] == nil || !strings.Contains(text, "polar night") {
		t.Errorf("polar night: %v %v from %v", d["sun"], d["dark"], d["dark_from"])
	}
	d, _ = plan(svalbard, "2026-12-21", "--sun", "civil")
	if d["dark"] != "from_noon_to_noon" || d["dark_from"] != nil || d["dark_to"] != nil || d["dark_below_deg"] != -6.0 {
		t.Errorf("below −6° all day: %v from %v", d["dark"], d["dark_from"])
	}

	d, text = plan(movedRig(t, 1.9, -157.4, "Pacific/Kiritimati"), "2026-03-10")
	if s := d["sunset"].(string); !strings.HasPrefix(s, "2026-03-10T18:") || !strings.HasSuffix(s, "+14:00") || !strings.HasPrefix(at(t, d, "utc.sunset").(string), "2026-03-10T04:") {
		t.Errorf("sunset %v, in UTC %v", s, at(t, d, "utc.sunset"))
	}
	if !strings.Contains(text, "Pacific/Kiritimati, UTC+14:00") {
		t.Error(text)
	}
}

// Whatever form a night is written in, the file begins as it should, and says the same as standard output.
func TestNightFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("SKIPPED in short mode: many plans take long under the race detector")
	}
	t.Parallel()
	dir := t.TempDir()
	args := []string{"night", terrace, "--date", "2026-11-10", "--targets", terraceTargets}
	for end, start := range map[string]string{"pdf": "%PDF", "svg": "<svg ", "png": "\x89PNG", "ics": "BEGIN:VCALENDAR\r\n", "csv": "target,side,", "json": "{", "txt": "Terrace"} {
		path := filepath.Join(dir, "n."+end)
		if out := must(t, done, append(args, "--output", path)...); out != "wrote "+path+"\n" {
			t.Errorf("%s: %q", end, out)
		}
		s := content(t, path)
		if !strings.HasPrefix(s, start) || len(s) < 500 {
			t.Errorf("%s: %d bytes that begin with %.20q", end, len(s), s)
		}
		format := map[string]string{"csv": "csv", "json": "json", "txt": "text"}[end]
		if format != "" && must(t, done, append(args, "--format", format)...) != s {
			t.Errorf("%s is not what --format %s writes", end, format)
		}
		if end == "pdf" {
			must(t, done, append(args, "--output", path)...)
			if content(t, path) != s {
				t.Error("the same plan gave another page")
			}
		}
	}
	rows, err := csv.NewReader(strings.NewReader(must(t, done, append(args, "--format", "csv", "--table", "targets")...))).ReadAll()
	if err != nil || len(rows) != 10 || rows[0][0] != "target" || rows[1][0] != "M 31" {
		t.Errorf("targets: %v, %v", rows, err)
	}
	valid(t, "wrote", must(t, done, append(args, "--output", filepath.Join(dir, "m.pdf"), "--format", "json")...))
}

// Options reach the plan: each takes away, or says, what it should.
func TestNightOptions(t *testing.T) {
	if testing.Short() {
		t.Skip("SKIPPED in short mode: many plans take long under the race detector")
	}
	t.Parallel()
	subs := func(more ...string) float64 {
		args := append([]string{"night", terrace, "--date", "2026-10-24", "--target", "M 31", "--format", "json"}, more...)
		return at(t, valid(t, "night", planned(t, args...)), "targets.0.sub_count").(float64)
	}
	all := subs()
	for _, less := range [][]string{{"--sub-s", "600"}, {"--download-s", "60"}, {"--dither-s", "60"}, {"--least-altitude-deg", "60"}, {"--moon-apart-deg", "60"}, {"--margin", "60"}, {"--tolerance", "worst"}, {"--sun", "-25"}} {
		if n := subs(less...); n >= all {
			t.Errorf("%v: %v sub-exposures, %v without", less, n, all)
		}
	}
	for _, more := range [][]string{{"--sun", "nautical"}, {"--sun", "civil"}, {"--sub-s", "60"}} {
		if n := subs(more...); n <= all {
			t.Errorf("%v: %v sub-exposures, %v without", more, n, all)
		}
	}
	// A full Moon matters, but not where a Moon lit less than all of it does not.
	if n := subs("--moon-apart-deg", "60", "--moon-lit", "1"); n != all {
		t.Errorf("%v sub-exposures, want %v", n, all)
	}
}

// Without a date it is tonight's, by the site's clock.
func TestNightTonight(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		t.Fatal(err)
	}
	evening := func() string { return time.Now().In(zone).Add(-12 * time.Hour).Format(time.DateOnly) }
	before := evening()
	d := valid(t, "night", must(t, done, "night", terrace, "--target", "m31", "--format", "json"))
	if after := evening(); d["night"] != before && d["night"] != after {
		t.Errorf("tonight is %v, want %v", d["night"], before)
	}
}
