package report

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

var planned = time.Date(2026, time.October, 24, 10, 11, 12, 345, time.UTC)

func madeUpCalendar(t *testing.T) (NightDoc, []byte) {
	t.Helper()
	_, d := madeUpNightDoc(t)
	d.Schedule[1].Target = "IC 1805; with, all\\of \"them\", and a name so long that its line has to be folded: ÄÖÜ, 北斗七星"
	d.Targets[1].Name = d.Schedule[1].Target
	var b bytes.Buffer
	if err := WriteCalendar(&b, d, planned); err != nil {
		t.Fatal(err)
	}
	return d, b.Bytes()
}

// RFC 5545, section 3.1: lines end in CRLF, hold at most 75 octets, and fold between letters; 3.3.11: what has to be escaped in text;
// 3.6.1: what an event needs, and once only; 3.8.2.4: UTC.
func TestCalendarLines(t *testing.T) {
	d, data := madeUpCalendar(t)
	text := string(data)
	if strings.Count(text, "\n") != strings.Count(text, "\r\n") || strings.Count(text, "\r") != strings.Count(text, "\r\n") || !strings.HasSuffix(text, "\r\n") {
		t.Error("a line does not end in CRLF")
	}
	for i, l := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		if len(l) > 75 || l == "" || !utf8.ValidString(l) {
			t.Errorf("line %d has %d octets: %q", i+1, len(l), l)
		}
	}
	lines := strings.Split(strings.TrimSuffix(strings.ReplaceAll(text, "\r\n ", ""), "\r\n"), "\r\n")
	if lines[0] != "BEGIN:VCALENDAR" || lines[len(lines)-1] != "END:VCALENDAR" {
		t.Errorf("it begins with %s and ends with %s", lines[0], lines[len(lines)-1])
	}
	form := regexp.MustCompile(`^[A-Z-]+(;[A-Z-]+=[A-Z0-9]+)*:.*$`)
	utc := regexp.MustCompile(`^\d{8}T\d{6}Z$`)
	escape := regexp.MustCompile(`\\[\\;,nN]`)
	var open []string
	count := map[string]int{}
	uids := map[string]bool{}
	for _, l := range lines {
		if !form.MatchString(l) {
			t.Errorf("%q is no content line", l)
		}
		name, value, _ := strings.Cut(l, ":")
		name, _, _ = strings.Cut(name, ";")
		switch name {
		case "BEGIN":
			open = append(open, value)
			if value == "VEVENT" {
				count = map[string]int{}
			}
		case "END":
			if len(open) == 0 || open[len(open)-1] != value {
				t.Fatalf("END:%s inside %v", value, open)
			}
			open = open[:len(open)-1]
			if value == "VEVENT" {
				for _, k := range []string{"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "STATUS"} {
					if count[k] != 1 {
						t.Errorf("an event has %d of %s", count[k], k)
					}
				}
			}
		case "DTSTART", "DTEND", "DTSTAMP":
			if !utc.MatchString(value) {
				t.Errorf("%s is not in UTC", l)
			}
		case "UID":
			if uids[value] {
				t.Errorf("%s is there twice", value)
			}
			uids[value] = true
		case "SUMMARY", "DESCRIPTION", "LOCATION":
			if rest := escape.ReplaceAllString(value, ""); strings.ContainsAny(rest, ";,\\") {
				t.Errorf("not escaped: %s", l)
			}
		}
		if len(open) > 0 && open[len(open)-1] == "VEVENT" {
			count[name]++
		}
	}
	if len(open) > 0 || len(uids) != len(d.Schedule) {
		t.Errorf("%d events for %d blocks, %v left open", len(uids), len(d.Schedule), open)
	}
}

// A plan made again replaces its events; another rig, target or start has events of its own.
func TestCalendarUIDs(t *testing.T) {
	_, d := madeUpNightDoc(t)
	first := uid(&d, &d.Schedule[0])
	b := d.Schedule[0]
	b.To, b.SubCount = b.To.Add(time.Hour), 80
	if uid(&d, &b) != first {
		t.Error("the same start has another UID")
	}
	b.UTC[0] = b.UTC[0].Add(time.Minute)
	other := d
	other.Fingerprint = "0000-0000-0000"
	if uid(&d, &b) == first || uid(&other, &d.Schedule[0]) == first {
		t.Error("another start or rig has the same UID")
	}
}

// What a second parser reads is what the plan says.
func TestCalendarBySecondParser(t *testing.T) {
	d, data := madeUpCalendar(t)
	cmd := exec.Command("/usr/bin/python3", "testdata/read_ics.py")
	cmd.Stdin = bytes.NewReader(data)
	var problem strings.Builder
	cmd.Stderr = &problem
	out, err := cmd.Output()
	if err != nil {
		if os.Getenv("LEGROOM_REQUIRE_TOOLS") == "1" {
			t.Fatalf("a second iCalendar parser is required: %v\n%s", err, problem.String())
		}
		t.Skipf("SKIPPED, the calendar was NOT read by a second parser: install python3-icalendar (%v)", err)
	}
	var got struct {
		Version, ProdID string
		Errors          []any
		Events          []struct {
			UID, Summary, Description, Location, Status string
			Start, End, Stamp                           time.Time
			Errors                                      []any
			Alarms                                      []struct {
				Action, Related, Description string
				Seconds                      float64
			}
		}
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	if got.Version != "2.0" || got.ProdID == "" || len(got.Errors) > 0 || len(got.Events) != len(d.Schedule) {
		t.Fatalf("version %q by %q, %d events, errors %v", got.Version, got.ProdID, len(got.Events), got.Errors)
	}
	for i, e := range got.Events {
		b := &d.Schedule[i]
		if !e.Start.Equal(b.From) || !e.End.Equal(b.To) || !e.Stamp.Equal(planned.Truncate(time.Second)) || len(e.Errors) > 0 {
			t.Errorf("event %d lasts from %v to %v, stamped %v, errors %v", i, e.Start, e.End, e.Stamp, e.Errors)
		}
		if !strings.HasPrefix(e.Summary, b.Target+", ") || !strings.Contains(e.Description, b.Why) || !strings.Contains(e.Description, "PLANNED, NOT CONFIRMED") ||
			e.Location != d.Rig || e.Status != "TENTATIVE" || e.UID != uid(&d, b) {
			t.Errorf("event %d: %+v", i, e)
		}
	}
	// The first block's run ends two minutes after it for want of room: somebody should see that it stops.
	if a := got.Events[0].Alarms; len(a) != 1 || a[0].Action != "DISPLAY" || a[0].Seconds != -300 || a[0].Related != "END" || !strings.Contains(a[0].Description, "must stop by 00:08+2") {
		t.Errorf("alarms of the first event: %+v", a)
	}
	if len(got.Events[1].Alarms)+len(got.Events[2].Alarms) > 0 {
		t.Error("an alarm where nothing stops")
	}
	d.Confirmed = true
	var b bytes.Buffer
	if err := WriteCalendar(&b, d, planned); err != nil || !strings.Contains(b.String(), "STATUS:CONFIRMED\r\n") || strings.Contains(b.String(), "NOT CONFIRMED") {
		t.Errorf("a confirmed night: %v\n%s", err, b.String())
	}
}
