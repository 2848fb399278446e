package journal

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"legroom/watch"
)

func written(t *testing.T, n int) (*Reader, []Session) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "night.db")
	keep(t, path, 0, n, false)
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	s, err := r.Sessions(within(t))
	if err != nil {
		t.Fatal(err)
	}
	return r, s
}

func TestJSONRoundTrip(t *testing.T) {
	r, sessions := written(t, 2500)
	var b bytes.Buffer
	if err := WriteJSON(&b, sessions, r.Records(within(t), time.Time{}, time.Time{})); err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Version  int
		Sessions []Session
		Records  []Row
	}
	d := json.NewDecoder(&b)
	d.DisallowUnknownFields()
	if err := d.Decode(&doc); err != nil {
		t.Fatal(err)
	}
	if doc.Version != 1 || len(doc.Sessions) != 1 || doc.Sessions[0] != sessions[0] {
		t.Errorf("%+v", doc.Sessions)
	}
	same(t, doc.Records, 1, records(0, 2500))

	b.Reset()
	none := func(func(Row, error) bool) {}
	if err := WriteJSON(&b, nil, none); err != nil || !json.Valid(b.Bytes()) || !strings.Contains(b.String(), `"sessions":[]`) {
		t.Errorf("%v %s", err, b.String())
	}
}

// Every value of every record stands in its column, and comes back out of it.
func TestCSVRoundTrip(t *testing.T) {
	r, _ := written(t, 300)
	var b bytes.Buffer
	if err := WriteCSV(&b, r.Records(within(t), time.Time{}, time.Time{})); err != nil {
		t.Fatal(err)
	}
	table, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(table) != 301 {
		t.Fatalf("%d lines", len(table))
	}
	names := map[string]bool{}
	for _, n := range table[0] {
		if n == "" || names[n] {
			t.Errorf("column %q, empty or twice", n)
		}
		names[n] = true
	}
	for i, line := range table[1:] {
		cells := map[string]string{}
		for k, c := range line {
			cells[table[0][k]] = c
		}
		if cells["seq"] != strconv.Itoa(i+1) || cells["session"] != "1" {
			t.Fatalf("%v", cells)
		}
		delete(cells, "seq")
		delete(cells, "session")
		body, err := json.Marshal(record(i))
		if err != nil {
			t.Fatal(err)
		}
		var tree map[string]any
		if err := json.Unmarshal(body, &tree); err != nil {
			t.Fatal(err)
		}
		check := func(name string, v any) {
			got := cells[name]
			delete(cells, name)
			want := fmt.Sprint(v)
			switch x := v.(type) {
			case nil:
				want = ""
			case float64:
				if f, err := strconv.ParseFloat(got, 64); err == nil && f == x {
					return
				}
			case string:
				if at, err := time.Parse(time.RFC3339Nano, x); err == nil {
					if back, err := time.Parse(time.RFC3339Nano, got); err == nil && back.Equal(at) {
						return
					}
				}
				if strings.HasPrefix(x, "=") {
					want = "'" + x
				}
			case []any:
				var parts []string
				for _, e := range x {
					parts = append(parts, fmt.Sprint(e))
				}
				want = strings.Join(parts, " ")
			}
			if got != want {
				t.Fatalf("line %d, %s: %q, want %q", i+2, name, got, want)
			}
		}
		for k, v := range tree {
			if inner, ok := v.(map[string]any); ok {
				for k2, v2 := range inner {
					check(k+"_"+k2, v2)
				}
			} else {
				check(k, v)
			}
		}
		for name, rest := range cells {
			if rest != "" && rest != "0" && rest != "false" {
				t.Fatalf("line %d: %s is %q, and the record has no such value", i+2, name, rest)
			}
		}
	}
}

// What breaks off in the middle is a whole document, and the error is told.
func TestExportBreaksOff(t *testing.T) {
	rows := iter.Seq2[Row, error](func(yield func(Row, error) bool) {
		if yield(Row{Seq: 1, Record: record(0)}, nil) {
			yield(Row{}, ErrDamaged)
		}
	})
	var b bytes.Buffer
	if err := WriteJSON(&b, nil, rows); !errors.Is(err, ErrDamaged) || !json.Valid(b.Bytes()) {
		t.Errorf("%v %s", err, b.String())
	}
	b.Reset()
	if err := WriteCSV(&b, rows); !errors.Is(err, ErrDamaged) || strings.Count(b.String(), "\n") != 2 {
		t.Errorf("%v %s", err, b.String())
	}
	full, err := os.Open(os.DevNull) // for reading only
	if err != nil {
		t.Fatal(err)
	}
	defer full.Close()
	ok := iter.Seq2[Row, error](func(yield func(Row, error) bool) { yield(Row{Seq: 1, Record: watch.Record{}}, nil) })
	if WriteJSON(full, nil, ok) == nil || WriteCSV(full, ok) == nil {
		t.Error("a file that cannot be written, silently")
	}
}
