package journal

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"legroom/watch"
)

var evening = time.Date(2026, 3, 14, 19, 0, 0, 0, time.UTC)

// record number i of an invented night: mostly samples, with some of every other kind.
func record(i int) watch.Record {
	at := evening.Add(time.Duration(i) * time.Second)
	p := func(x float64) *float64 { return &x }
	x := float64(i)
	switch i % 10 {
	case 3:
		return watch.Record{At: at, Kind: watch.KindDecision, Decision: &watch.Decision{From: watch.Watching, To: watch.Warned, Cause: watch.ByGap,
			Blind: []watch.Reason{watch.BlindOld, watch.BlindSide}, Why: fmt.Sprintf("=%d, and a \"comma\"\nand δ", i), LeftS: p(x / 7), Shield: true}}
	case 5:
		return watch.Record{At: at, Kind: watch.KindCommand, Command: &watch.Command{Name: "abort", Sent: at, Ended: at.Add(time.Millisecond), Answer: "accepted", OK: true}}
	case 7:
		return watch.Record{At: at, Kind: watch.KindError, Error: &watch.Failure{Where: "read", Kind: "link", Text: strings.Repeat("no answer ", 1+i%1500)}}
	case 9:
		return watch.Record{At: at, Kind: watch.KindEvent, Event: &watch.Event{ID: int64(i), At: at, Key: "gap", Level: watch.Alarm, Text: "near"}}
	}
	return watch.Record{At: at, Kind: watch.KindSample, Sample: &watch.Sample{Asked: at, Got: at.Add(20 * time.Millisecond), RADeg: x / 3, DecDeg: 40.1, SideSaid: "west",
		Side: "west", SideHow: watch.ByPath, HourH: x / 3600, RAAxisDeg: p(90 + x/240), DecAxisDeg: p(49.9), Tracking: "yes", Slewing: "no", Parked: "no",
		Motion: watch.Tracks, GapMM: p(120 - x/100), LowerMM: p(101 - x/100), ZoneMM: p(31.5), A: "leg 2", B: "camera", LeftS: p(5000 - x)}}
}

func records(from, n int) []watch.Record {
	var rs []watch.Record
	for i := range n {
		rs = append(rs, record(from+i))
	}
	return rs
}

var session = Session{Program: "test", Rig: "terrace", Print: "abc", Mount: "toy", Document: strings.Repeat("name: terrace\n", 900)}

func within(t testing.TB) context.Context {
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	t.Cleanup(cancel)
	return ctx
}

// keep hands rows over in steps of three, each acknowledged before the next when each is set, and closes the journal.
func keep(t testing.TB, path string, from, n int, each bool) {
	t.Helper()
	j := Open(path, Options{Session: session})
	for i := 0; i < n; i += 3 {
		if err := j.Record(records(from+i, min(3, n-i))); err != nil {
			t.Fatal(err)
		}
		if each || i%999 == 0 {
			if err := j.Flush(within(t)); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := j.Flush(within(t)); err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
}

// all reads everything, up to an error.
func all(t testing.TB, path string) ([]Row, error) {
	t.Helper()
	r, err := OpenReader(path)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	var rows []Row
	for row, err := range r.Records(within(t), time.Time{}, time.Time{}) {
		if err != nil {
			return rows, err
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// same compares rows with the records that they should be, from the first sequence number on.
func same(t testing.TB, rows []Row, seq int64, want []watch.Record) {
	t.Helper()
	if len(rows) != len(want) {
		t.Fatalf("%d rows, want %d", len(rows), len(want))
	}
	for i, r := range rows {
		if r.Seq != seq+int64(i) || !reflect.DeepEqual(r.Record, want[i]) {
			t.Fatalf("row %d (number %d, want %d):\n%+v\nwant\n%+v", i, r.Seq, seq+int64(i), r.Record, want[i])
		}
	}
}

func TestNightReadsBackInOrder(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "night.db")
	keep(t, path, 0, 300, true)
	keep(t, path, 300, 2500, false)
	rows, err := all(t, path)
	if err != nil {
		t.Fatal(err)
	}
	same(t, rows, 1, records(0, 2800))
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	ss, err := r.Sessions(within(t))
	if err != nil || len(ss) != 2 || ss[0].ID != 1 || ss[1].Print != "abc" || ss[1].Document != session.Document || !ss[1].Started.Equal(record(300).At) {
		t.Fatalf("%+v %v", ss, err)
	}
	if rows[0].Session != 1 || rows[299].Session != 1 || rows[300].Session != 2 {
		t.Error("sessions of the rows")
	}
	for _, span := range [][2]int{{0, 2800}, {0, 1}, {63, 65}, {700, 1900}, {2799, 2800}, {2800, 9000}, {-50, 3}} {
		var got []Row
		for row, err := range r.Records(within(t), evening.Add(time.Duration(span[0])*time.Second), evening.Add(time.Duration(span[1])*time.Second)) {
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, row)
		}
		lo, hi := min(max(span[0], 0), 2800), min(span[1], 2800)
		same(t, got, int64(lo)+1, records(lo, hi-lo))
	}
	s, err := r.LastSample(within(t), "toy", "abc")
	if err != nil || !reflect.DeepEqual(s, record(2798).Sample) {
		t.Errorf("%+v %v", s, err)
	}
	if s, err := r.LastSample(within(t), "toy", "abd"); s != nil || err != nil {
		t.Errorf("a sample of another rig: %+v %v", s, err)
	}
	nights, err := r.Nights(within(t), func(t time.Time) (string, error) { return t.Add(-12 * time.Hour).Format(time.DateOnly), nil })
	if err != nil || len(nights) != 1 || nights[0].Evening != "2026-03-14" || !nights[0].From.Equal(evening) || !nights[0].To.Equal(record(2799).At) {
		t.Errorf("%+v %v", nights, err)
	}
}

// The time of a row is found by an index, and each second does not write to it.
func TestSpanUsesTheIndex(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	keep(t, path, 0, 3, false)
	s, err := openStore(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	for _, q := range []string{"SELECT min(seq) FROM record WHERE seq % 64 = 0 AND at >= 3 AND at < 7",
		"SELECT seq FROM record WHERE seq % 64 = 0 AND at < 3 ORDER BY at DESC LIMIT 1"} {
		rows, err := s.db.Query("EXPLAIN QUERY PLAN " + q)
		if err != nil {
			t.Fatal(err)
		}
		plan := ""
		for rows.Next() {
			var a, b, c int
			var text string
			if err := rows.Scan(&a, &b, &c, &text); err != nil {
				t.Fatal(err)
			}
			plan += text + "; "
		}
		if !strings.Contains(plan, "record_at") {
			t.Errorf("%s: %s", q, plan)
		}
	}
}

// A clock that was set back in the middle of a night hides no row.
func TestClockSetBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	j := Open(path, Options{Session: session})
	for i := range 2000 {
		r := record(i * 10)
		if i >= 1000 {
			r.At = r.At.Add(-2 * time.Hour)
		}
		if err := j.Record([]watch.Record{r}); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	from, to := record(5000).At, record(9000).At
	n := 0
	for row, err := range r.Records(within(t), from, to) {
		if err != nil || row.At.Before(from) || !row.At.Before(to) {
			t.Fatal(row, err)
		}
		n++
	}
	if n != 800 {
		t.Errorf("%d rows between the two moments, which the clock passed twice; want 400 of each", n)
	}
}

// With a disk that does not answer the loop goes on; samples give way to what matters more; what is lost is said, counted and
// written down.
func TestQueueIsBounded(t *testing.T) {
	dir := t.TempDir()
	blocked := filepath.Join(dir, "a")
	if err := os.WriteFile(blocked, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(blocked, "night.db") // the folder is a file
	j := Open(path, Options{Session: session, queue: 20000})
	if err := j.Ready(); err == nil {
		t.Fatal("opened")
	}
	var lost error
	for i := range 200 {
		if err := j.Record([]watch.Record{record(10 * i)}); errors.Is(err, ErrLost) {
			lost = err
		}
	}
	s := j.Stats()
	if lost == nil || s.Lost == 0 || s.Taken != 200 || int64(s.Waiting) != 200-s.Lost || s.Trouble == "" || s.Acknowledged != 0 {
		t.Fatalf("%+v, %v", s, lost)
	}
	if err := j.Record([]watch.Record{record(3)}); errors.Is(err, ErrLost) || err == nil {
		t.Errorf("a decision that fits: %v", err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	if err := j.Flush(ctx); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("acknowledged with no file: %v", err)
	}
	if err := os.Remove(blocked); err != nil {
		t.Fatal(err)
	}
	if err := j.Flush(within(t)); err != nil {
		t.Fatal(err)
	}
	if err := j.Record([]watch.Record{record(10)}); err != nil {
		t.Errorf("the disk answers again: %v", err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	rows, err := all(t, path)
	if err != nil || int64(len(rows)) != 200-s.Lost+3 {
		t.Fatalf("%d rows, %d lost, %v", len(rows), s.Lost, err)
	}
	if e := rows[0].Error; e == nil || e.Kind != "lost" || !strings.HasPrefix(e.Text, fmt.Sprintf("%d records", s.Lost)) {
		t.Errorf("%+v", rows[0])
	}
}

func TestWhatJSONCannotSayIsLostAloud(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	j := Open(path, Options{Session: session})
	bad := record(0)
	bad.Sample.RADeg = math.NaN()
	if err := j.Record([]watch.Record{record(1), bad, record(2)}); !errors.Is(err, ErrLost) {
		t.Errorf("%v", err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	if err := j.Record(nil); !errors.Is(err, ErrClosed) {
		t.Errorf("%v", err)
	}
	if rows, err := all(t, path); err != nil || len(rows) != 3 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
}

// Rows go from the old end, by size and by age; numbers go on; the file stops growing.
func TestTrim(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	const most = 4 << 20
	top := int64(0)
	for i := range 6 {
		j := Open(path, Options{Session: session, MaxBytes: most})
		if err := j.Record(records(i*3000, 3000)); err != nil {
			t.Fatal(err)
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		top = max(top, info.Size())
		t.Logf("%d rows: %.1f MB", (i+1)*3000, float64(info.Size())/1e6)
	}
	if top > 3*most {
		t.Errorf("%d bytes for %d", top, most)
	}
	rows, err := all(t, path)
	if err != nil || rows[len(rows)-1].Seq != 18000 || rows[0].Seq < 2000 {
		t.Fatalf("%d … %d, %v", rows[0].Seq, rows[len(rows)-1].Seq, err)
	}
	same(t, rows, rows[0].Seq, records(int(rows[0].Seq)-1, len(rows)))
	r, err := Recover(path)
	if err != nil || r.Gone != 0 || r.AtLeast || r.Rows != int64(len(rows)) {
		t.Fatalf("what was taken away by size is missed, or comes back: %+v %v", r, err)
	}

	// The newest is at 18000 s, or what the recovery wrote: now.
	path = filepath.Join(t.TempDir(), "night.db")
	keep(t, path, 0, 9000, false)
	j := Open(path, Options{Session: session, KeepFor: 1000 * time.Second})
	if err := j.Record(records(9000, 1)); err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	rows, err = all(t, path)
	if err != nil {
		t.Fatal(err)
	}
	same(t, rows, 8001, records(8000, 1001))
	keep(t, path, 9001, 1, false)
	if rows, err = all(t, path); err != nil || rows[len(rows)-1].Seq != 9002 {
		t.Errorf("the next row is %+v, %v", rows[len(rows)-1], err)
	}
}

func TestOtherFilesAreRefused(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "night.db")
	keep(t, path, 0, 30, false)

	db, err := connect(path, "", "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("PRAGMA user_version = 9"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	refused := func(path string, want error) {
		t.Helper()
		j := Open(path, Options{})
		if err := j.Ready(); !errors.Is(err, want) {
			t.Errorf("%v", err)
		}
		err := j.Record(records(0, 2))
		if !errors.Is(err, want) {
			t.Errorf("%v", err)
		}
		t.Log(err)
		if err := j.Close(); !errors.Is(err, ErrLost) || !errors.Is(err, want) {
			t.Errorf("%v", err)
		}
	}
	refused(path, ErrNewer)
	if _, err := OpenReader(path); !errors.Is(err, ErrNewer) {
		t.Errorf("%v", err)
	}
	if _, err := Recover(path); !errors.Is(err, ErrNewer) {
		t.Errorf("%v", err)
	}
	if after, err := os.ReadFile(path); err != nil || string(after) != string(before) {
		t.Error("a newer file was changed", err)
	}

	text := filepath.Join(dir, "letter.txt")
	if err := os.WriteFile(text, []byte(strings.Repeat("Dear all, ", 2000)), 0o644); err != nil {
		t.Fatal(err)
	}
	refused(text, ErrForeign)
	other := filepath.Join(dir, "other.db")
	if db, err = connect(other, "", ""); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE record (x)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	refused(other, ErrForeign)
	if _, err := OpenReader(other); !errors.Is(err, ErrForeign) {
		t.Errorf("%v", err)
	}
}

func TestMigrateKeepsACopy(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	keep(t, path, 0, 100, false)
	db, err := connect(path, "", "")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	next := append(steps[:len(steps):len(steps)], "ALTER TABLE record ADD COLUMN extra TEXT; UPDATE record SET body = ''", "not SQL")
	if err := migrate(db, path, next...); err == nil || !strings.Contains(err.Error(), "to version 3") {
		t.Fatalf("%v", err)
	}
	if rows, err := all(t, path); err != nil || len(rows) != 100 {
		t.Fatalf("half a migration: %d rows, %v", len(rows), err)
	}
	if err := migrate(db, path, next[:2]...); err != nil {
		t.Fatal(err)
	}
	if _, err := all(t, path); !errors.Is(err, ErrNewer) {
		t.Errorf("%v", err)
	}
	rows, err := all(t, path+".version1")
	if err != nil {
		t.Fatal(err)
	}
	same(t, rows, 1, records(0, 100))
}

// A reader that dawdles holds nothing up, and the log stays short.
func TestReaderBesideWriter(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	keep(t, path, 0, 3000, false)
	j := Open(path, Options{Session: session})
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	n := 0
	for row, err := range r.Records(within(t), time.Time{}, time.Time{}) {
		if err != nil {
			t.Fatal(err)
		}
		if n++; row.Seq != int64(n) {
			t.Fatalf("row %d is number %d", n, row.Seq)
		}
		if n%100 == 0 && n <= 10000 {
			if err := j.Record(records(2900+n, 100)); err != nil {
				t.Fatal(err)
			}
			if err := j.Flush(within(t)); err != nil {
				t.Fatal(err)
			}
		}
	}
	if n != 13000 {
		t.Errorf("%d rows", n)
	}
	if info, err := os.Stat(path + "-wal"); err != nil || info.Size() > 10<<20 {
		t.Errorf("the log: %v %v", info.Size(), err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
}
