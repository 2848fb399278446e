package rig

import (
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

const tonight = "2026-11-25"

// moment is one of that evening or about it, by the clocks of Madrid.
func moment(t *testing.T, s string) time.Time {
	t.Helper()
	x, err := time.Parse(time.RFC3339, s)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// onDisk writes the good document, changed, into a folder and reads it.
func onDisk(t *testing.T, dir string, changes ...string) *Rig {
	t.Helper()
	path := filepath.Join(dir, "mine.yaml")
	if err := os.WriteFile(path, []byte(changed(t, goodText(t), changes...)), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := Load(path)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// confirmed gives a rig that was confirmed at 19:00 for that night.
func confirmed(t *testing.T, without ...string) *Rig {
	t.Helper()
	r := onDisk(t, t.TempDir())
	if err := r.Confirm(tonight, without, r.SetupList(without), moment(t, "2026-11-25T19:00:00+01:00")); err != nil {
		t.Fatal(err)
	}
	return r
}

func TestConfirm(t *testing.T) {
	r := onDisk(t, t.TempDir())
	now := moment(t, "2026-11-26T03:00:00+01:00")
	if s := r.SetupTonight(nil, now); s.Confirmed || s.Night != tonight || s.Reason != "nobody has confirmed the set-up yet" || len(s.Lines) != 7 || !s.At.IsZero() {
		t.Errorf("before: %+v", s)
	}
	if err := r.Confirm(tonight, nil, r.SetupList(nil), moment(t, "2026-11-25T18:00:00.9Z")); err != nil {
		t.Fatal(err)
	}
	if s := r.SetupTonight(nil, now); !s.Confirmed || s.Night != tonight || s.Reason != "" || len(s.Lines) != 7 || s.At.Format(time.RFC3339) != "2026-11-25T19:00:00+01:00" {
		t.Errorf("after: %+v", s)
	}
	again, err := Load(r.Path)
	if err != nil {
		t.Fatal(err)
	}
	if s := again.SetupFor(tonight, nil, now); !s.Confirmed {
		t.Errorf("read anew: %+v", s)
	}
	files, err := os.ReadDir(filepath.Dir(r.Path))
	if err != nil || len(files) != 2 || files[0].Name() != "mine.setup.json" {
		t.Errorf("the folder holds %v, %v", files, err)
	}
	if was, err := r.Withdraw(); !was || err != nil {
		t.Errorf("withdraw: %v, %v", was, err)
	}
	if was, err := r.Withdraw(); was || err != nil {
		t.Errorf("withdraw again: %v, %v", was, err)
	}
	if s := r.SetupFor(tonight, nil, now); s.Confirmed {
		t.Error("still confirmed when it was withdrawn")
	}
}

// A night's set-up is confirmed on the day of its evening or in that night, neither ahead nor afterwards.
func TestConfirmOnlyForTonight(t *testing.T) {
	r := onDisk(t, t.TempDir())
	for _, c := range []struct {
		night, now, want string
	}{
		{tonight, "2026-11-25T00:00:00+01:00", ""},
		{tonight, "2026-11-25T10:00:00+01:00", ""},
		{tonight, "2026-11-26T11:59:59+01:00", ""},
		{tonight, "2026-11-24T23:59:59+01:00", "the night of 2026-11-25 cannot be confirmed now"},
		{tonight, "2026-11-26T12:00:00+01:00", "now that is 2026-11-26"},
		{"2026-11-30", "2026-11-25T10:00:00+01:00", "now that is 2026-11-24 or 2026-11-25"},
		{"2026-02-30", "2026-11-25T10:00:00+01:00", `"2026-02-30" is not a date`},
		{"25.11.2026", "2026-11-25T10:00:00+01:00", "give year-month-day"},
	} {
		if _, err := r.Withdraw(); err != nil {
			t.Fatal(err)
		}
		err := r.Confirm(c.night, nil, r.SetupList(nil), moment(t, c.now))
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s at %s: %v, want %q", c.night, c.now, err, c.want)
		}
		if there := r.SetupFor(c.night, nil, moment(t, c.now)).Confirmed; there != (c.want == "") {
			t.Errorf("%s at %s: confirmed %v", c.night, c.now, there)
		}
	}
}

func TestConfirmRefuses(t *testing.T) {
	now := moment(t, "2026-11-25T19:00:00+01:00")
	dir := t.TempDir()
	r := onDisk(t, dir)
	seen := r.SetupList(nil)
	for name, c := range map[string]struct {
		r       *Rig
		without []string
		seen    []SetupLine
		want    string
	}{
		"a line too few":      {r, nil, seen[:5], "roof, cover, panel is now"},
		"nothing seen":        {r, nil, nil, "feet 550 mm from the centre; and 5 more; go through it again"},
		"another state seen":  {r, []string{"shield on"}, seen, "roof, cover, panel is now: shield on: NO"},
		"no such condition":   {r, []string{"roof shut"}, seen, `no condition "roof shut"`},
		"a rig in no file":    {&Rig{Site: r.Site}, nil, nil, "save it first"},
		"a zone of no planet": {&Rig{Path: r.Path, Site: Site{TimeZone: "Mars/X"}}, nil, nil, `"Mars/X"`},
	} {
		if err := c.r.Confirm(tonight, c.without, c.seen, now); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	if err := os.Mkdir(r.SetupFile(), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := r.Confirm(tonight, nil, seen, now); err == nil || !strings.Contains(err.Error(), "not a plain file is in its place") {
		t.Errorf("a folder in its place: %v", err)
	}
	if _, err := r.Withdraw(); err == nil || !strings.Contains(err.Error(), "it is a folder") {
		t.Errorf("a folder withdrawn: %v", err)
	}
	if files, err := os.ReadDir(dir); err != nil || len(files) != 2 {
		t.Errorf("left in the folder: %v, %v", files, err)
	}
}

// Another night, a changed rig, a clock that was set back: not confirmed, and the answer says which.
func TestStale(t *testing.T) {
	const later = "2026-11-25T23:00:00+01:00"
	for name, c := range map[string]struct {
		confirmedWithout, without []string
		night, now                string
		changes                   []string // to the document after it was confirmed
		want                      string   // "" when it stays confirmed
	}{
		"the same":              {},
		"until noon":            {now: "2026-11-26T11:59:59+01:00"},
		"at the very second":    {now: "2026-11-25T19:00:00+01:00"},
		"the night before":      {night: "2026-11-24", want: "confirmed for the night of 2026-11-25, not for this one"},
		"the night after":       {night: "2026-11-26", now: "2026-11-26T19:00:00+01:00", want: "confirmed for the night of 2026-11-25"},
		"no date":               {night: "tonight", want: `"tonight" is not a date`},
		"clock set back":        {now: "2026-11-25T18:59:59+01:00", want: "yet to come by this computer's clock"},
		"clock far back":        {now: "1970-01-01T00:00:00Z", want: "look whether the clock was set back"},
		"leg turned":            {changes: []string{"first_azimuth_deg: 0 ± 2", "first_azimuth_deg: 10 ± 2"}, want: "leg bearing is now: leg 1 at 10° ± 2°"},
		"riser off":             {changes: []string{"  extension: {diameter_mm: 150, height_mm: 200, wall_mm: 5 ± 0.1, material: aluminium}\n", ""}, want: "riser is now: no pier extension"},
		"what no line shows":    {changes: []string{"size_mm: [3000, 200, 1500]", "size_mm: [3000, 200, 1400]"}, want: "another than the one confirmed (fingerprint"},
		"margin":                {changes: []string{"margin_mm: 30", "margin_mm: 20"}, want: "the rig or its margin"},
		"a comment, the name":   {changes: []string{"# legs half out", "# legs quite out", "name: terrace", "name: balcony"}},
		"only without, not so":  {without: []string{"shield on"}, want: `only for without "shield on"`},
		"only without, so":      {confirmedWithout: []string{"shield on"}, without: []string{"shield on"}},
		"confirmed for more":    {confirmedWithout: []string{"shield on"}},
		"the sweep left out":    {confirmedWithout: []string{"shield on"}, without: []string{"shield on", RotatorSweep}, want: `"rotator sweep"`},
		"the sweep, confirmed":  {confirmedWithout: []string{RotatorSweep, "shield on"}, without: []string{"shield on", RotatorSweep}},
		"a condition less than": {confirmedWithout: []string{RotatorSweep, "shield on"}, without: []string{RotatorSweep}},
	} {
		r := confirmed(t, c.confirmedWithout...)
		if c.changes != nil {
			r = onDisk(t, filepath.Dir(r.Path), c.changes...)
		}
		night, now := tonight, later
		if c.night != "" {
			night = c.night
		}
		if c.now != "" {
			now = c.now
		}
		s := r.SetupFor(night, c.without, moment(t, now))
		if s.Confirmed != (c.want == "") || !strings.Contains(s.Reason, c.want) || s.Confirmed != (s.Reason == "") {
			t.Errorf("%s: %v, %q; want %q", name, s.Confirmed, s.Reason, c.want)
		}
	}
}

// A file that is not as Confirm wrote it confirms nothing, says why, and brings nothing of its own to the screen.
func TestBadConfirmations(t *testing.T) {
	good := confirmed(t)
	text, err := os.ReadFile(good.SetupFile())
	if err != nil {
		t.Fatal(err)
	}
	swap := func(pairs ...string) string { return changed(t, string(text), pairs...) }
	const foreign, touched = "not what `legroom confirm` writes", "changed since `legroom confirm` wrote it"
	for name, c := range map[string]struct{ text, want string }{
		"empty":              {"", foreign},
		"no JSON":            {"confirmed: yes\n", foreign},
		"cut off":            {string(text[:len(text)/2]), foreign},
		"zeros":              {strings.Repeat("\x00", 700), foreign},
		"a list":             {"[]", foreign},
		"null":               {"null", `version ""`},
		"true":               {"true", foreign},
		"too large":          {string(text) + strings.Repeat(" ", 1<<20), "larger than 64 KiB"},
		"deep":               {strings.Repeat("[", 60_000), foreign},
		"older version":      {swap(`"version": 1`, `"version": 0`), `version "0", and this program reads version 1`},
		"newer version":      {swap(`"version": 1`, `"version": 2`), `version "2"`},
		"broken version":     {swap(`"version": 1`, `"version": 1.5`), `version "1.5"`},
		"worded version":     {swap(`"version": 1`, `"version": "1"`), foreign},
		"no version":         {swap(`  "version": 1,`+"\n", ""), `version ""`},
		"further key":        {swap(`"version": 1,`, `"version": 1, "forced": true,`), touched},
		"other letters":      {swap(`"night"`, `"Night"`), touched},
		"key twice":          {swap(`"night": "2026-11-25"`, `"night": "2026-11-24", "night": "2026-11-25"`), touched},
		"line ends":          {strings.ReplaceAll(string(text), "\n", "\r\n"), touched},
		"something behind":   {string(text) + "{}\n", foreign},
		"no date":            {swap(`"2026-11-25"`, `"today"`), foreign},
		"no such date":       {swap(`"2026-11-25"`, `"2026-11-31"`), foreign},
		"other night":        {swap(`"2026-11-25"`, `"2026-11-26"`), "confirmed for the night of 2026-11-26"},
		"written elsewhen":   {swap("2026-11-25T19:00:00", "2026-11-20T19:00:00"), "which is not in that night"},
		"no time":            {swap(`"2026-11-25T19:00:00+01:00"`, `"0001-01-01T00:00:00Z"`), "which is not in that night"},
		"other print":        {swap(good.Fingerprint(), "0000-0000-0000"), "another than the one confirmed"},
		"print that acts":    {swap(good.Fingerprint(), `\u001b[2J\u0007`), "another than the one confirmed"},
		"other number":       {swap("feet 550 mm", "feet 560 mm"), "the list is another than the one confirmed; leg extension is now: head 900 mm high, feet 550 mm"},
		"other condition":    {swap(`"without": []`, "\"without\": [\n    \"shield on\"\n  ]"), "roof, cover, panel is now: shield on: NO"},
		"condition unasked":  {swap(`"without": []`, `"without": null`), foreign},
		"lines null":         {withKey(t, text, "lines", nil), "the list is another than the one confirmed"},
		"a line that misses": {withKey(t, text, "lines", good.SetupList(nil)[1:]), "the list is another than the one confirmed; leg bearing"},
		"a list of before":   {withKey(t, text, "lines", good.SetupList(nil)[:6]), "the list is another than the one confirmed; place is now: from"},
		"a line too many":    {withKey(t, text, "lines", append(good.SetupList(nil), SetupLine{"x", "X", "x"})), "the list is another than the one confirmed"},
	} {
		if err := os.WriteFile(good.SetupFile(), []byte(c.text), 0o644); err != nil {
			t.Fatal(err)
		}
		s := good.SetupFor(tonight, nil, moment(t, "2026-11-25T23:00:00+01:00"))
		if s.Confirmed != (c.want == "") || !strings.Contains(s.Reason, c.want) || strings.ContainsAny(s.Reason, "\x1b\x07\n") || len(s.Reason) > 400 {
			t.Errorf("%s: %v, %q; want %q", name, s.Confirmed, s.Reason, c.want)
		}
	}
}

// withKey sets one key of a confirmation and writes it as the program does.
func withKey(t *testing.T, text []byte, key string, value any) string {
	t.Helper()
	var all map[string]json.RawMessage
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	v, err := json.Marshal(value)
	if err != nil {
		t.Fatal(err)
	}
	all[key] = v
	joined, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	var c Confirmation
	if err := json.Unmarshal(joined, &c); err != nil {
		t.Fatal(err)
	}
	out, err := c.encode()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// What is not a plain file, or may not be read, confirms nothing, and does not keep a reader waiting.
func TestConfirmationThatIsNoFile(t *testing.T) {
	r := confirmed(t)
	now := moment(t, "2026-11-25T23:00:00+01:00")
	file := r.SetupFile()
	kept := filepath.Join(t.TempDir(), "kept.json")
	if err := os.Rename(file, kept); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(file, 0o755); err != nil {
		t.Fatal(err)
	}
	if s := r.SetupFor(tonight, nil, now); s.Confirmed || !strings.Contains(s.Reason, "not a plain file") {
		t.Errorf("a folder: %+v", s)
	}
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS == "windows" {
		return
	}
	if err := os.Symlink(os.DevNull, file); err != nil {
		t.Fatal(err)
	}
	if s := r.SetupFor(tonight, nil, now); s.Confirmed || !strings.Contains(s.Reason, "not a plain file") {
		t.Errorf("a device: %+v", s)
	}
	if was, err := r.Withdraw(); !was || err != nil {
		t.Errorf("a link withdrawn: %v, %v", was, err)
	}
	if s := (&Rig{Site: r.Site}).SetupFor(tonight, nil, now); s.Confirmed || !strings.Contains(s.Reason, "not read from a file") {
		t.Errorf("no file at all: %+v", s)
	}
	if s := (&Rig{Path: r.Path}).SetupTonight(nil, now); s.Confirmed || !strings.Contains(s.Reason, `time zone ""`) {
		t.Errorf("no zone: %+v", s)
	}
}
