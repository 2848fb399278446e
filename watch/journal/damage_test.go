package journal

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"iter"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"
)

const dbRows = 1200

// filesOf reads what lies on the disk of a journal.
func filesOf(t *testing.T, path string) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	for _, end := range []string{"", "-wal", "-count"} {
		b, err := os.ReadFile(path + end)
		if err == nil {
			all[end] = b
		} else if !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
	}
	return all
}

func put(t *testing.T, path string, all map[string][]byte) {
	t.Helper()
	for end, b := range all {
		if err := os.WriteFile(path+end, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// harm damages one file. cut: its end is gone from a random byte on. pages: one to three pages hold something else. zeros: a stretch
// of up to 20,000 bytes is empty. bytes: a few are other than they were.
func harm(rnd *rand.Rand, b []byte, how string) []byte {
	b = bytes.Clone(b)
	switch how {
	case "cut":
		return b[:rnd.IntN(len(b))]
	case "pages":
		for range 1 + rnd.IntN(3) {
			p := b[rnd.IntN(len(b)/pageSize)*pageSize:][:pageSize]
			for i := range p {
				p[i] = byte(rnd.Uint32())
			}
		}
	case "zeros":
		at := rnd.IntN(len(b))
		clear(b[at:min(len(b), at+1+rnd.IntN(20000))])
	case "bytes":
		for range 1 + rnd.IntN(4) {
			b[rnd.IntN(len(b))] ^= byte(1 + rnd.IntN(255))
		}
	}
	return b
}

// places gives where a part begins in some bytes.
func places(b, part []byte) iter.Seq[int] {
	return func(yield func(int) bool) {
		for at := 0; ; at++ {
			p := bytes.Index(b[at:], part)
			if p < 0 || !yield(at+p) {
				return
			}
			at += p
		}
	}
}

// untouched tells whether the page of the file that holds the stretch is as it was.
func untouched(was, is []byte, end string, at, n int) bool {
	head, size := 0, pageSize
	if end == "-wal" {
		head, size = logHead, frameSize
	}
	lo := head + (at-head)/size*size
	hi := min(lo+size, len(was))
	return at >= head && at+n <= hi && len(is) >= hi && bytes.Equal(was[lo:hi], is[lo:hi])
}

// Whatever happens to the bytes of a journal: it opens, takes new rows, gives back every row whose page was not touched and none
// that was not written, keeps the damaged file, and says how many rows are gone.
func TestDamage(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "night.db")
	keep(t, path, 0, dbRows, false)
	clean := filesOf(t, path)
	j := Open(path, Options{Session: session})
	for i := range 60 { // each in a transaction of its own, in the log
		if err := errors.Join(j.Record(records(dbRows+i*5, 5)), j.Flush(within(t))); err != nil {
			t.Fatal(err)
		}
	}
	unclean := filesOf(t, path)
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	const rows = dbRows + 300
	if len(unclean["-wal"]) < 100*pageSize || clean["-wal"] != nil {
		t.Fatalf("log of %d and %d bytes", len(unclean["-wal"]), len(clean["-wal"]))
	}

	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	n := 0
	for _, c := range []struct {
		name, file string
		was        map[string][]byte
		rows       int64
	}{{"closed", "", clean, dbRows}, {"open, database", "", unclean, rows}, {"open, log", "-wal", unclean, rows}} {
		for _, how := range []string{"cut", "pages", "zeros", "bytes"} {
			var noticed, gone, most int64
			const tries = 3
			for range tries {
				n++
				rnd := rand.New(rand.NewPCG(seed, uint64(n)))
				is := map[string][]byte{}
				for end, b := range c.was {
					is[end] = b
				}
				is[c.file] = harm(rnd, is[c.file], how)
				name := fmt.Sprintf("%s, %s, number %d", c.name, how, n)
				at := filepath.Join(dir, fmt.Sprint(n))
				if err := os.Mkdir(at, 0o755); err != nil {
					t.Fatal(err)
				}
				at = filepath.Join(at, "night.db")
				put(t, at, is)

				// The watch starts.
				j := Open(at, Options{Session: session})
				j.Record(records(9000, 1))
				if err := j.Flush(within(t)); err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				found := j.Stats().Recovered
				if err := j.Close(); err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				extra := int64(1)
				if found != nil {
					extra = 2 // and what the recovery wrote
					noticed++
					if kept, err := os.ReadFile(found.Kept); err != nil || len(kept) != len(is[""]) {
						t.Fatalf("%s: what was damaged is not kept as it was: %v", name, err)
					}
				} else {
					// Damage in the middle shows when it is read; somebody then has it read out.
					if found, err := Recover(at); err != nil || found.AtLeast {
						t.Fatalf("%s: %+v, %v", name, found, err)
					} else if found.Rows+found.Gone != c.rows+1 {
						t.Fatalf("%s: %+v of %d", name, found, c.rows+1)
					} else {
						gone, most = gone+found.Gone, max(most, found.Gone)
						extra = 2
					}
				}
				if found != nil {
					if found.Rows+found.Gone != c.rows || found.AtLeast {
						t.Fatalf("%s: %+v of %d", name, found, c.rows)
					}
					gone, most = gone+found.Gone, max(most, found.Gone)
				}
				got, err := all(t, at)
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				have := map[int64]bool{}
				for _, r := range got[:int64(len(got))-extra] {
					have[r.Seq] = true
					same(t, []Row{r}, r.Seq, records(int(r.Seq)-1, 1))
				}
				for i := range c.rows {
					w, err := encode(record(int(i)))
					if err != nil {
						t.Fatal(err)
					}
					// A page that was split keeps what it held in its unused bytes: of several copies any may be the row.
					whole, where := !have[i+1], ""
					for end, b := range c.was {
						for p := range places(b, w.body) {
							whole = whole && untouched(b, is[end], end, p, len(w.body))
							where += fmt.Sprintf(" %q at byte %d", end, p)
						}
					}
					if whole && where != "" {
						t.Fatalf("%s: row %d lies in%s, where nothing was touched, and is not read out", name, i+1, where)
					}
				}
				os.RemoveAll(filepath.Dir(at))
			}
			t.Logf("%-15s %-6s noticed at the start %d of %d, rows gone %4d on average, %4d at most, of %d", c.name, how, noticed, tries, gone/tries, most, c.rows)
		}
	}
}

// Without the count nobody knows how many rows there were.
func TestCountGone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	keep(t, path, 0, 500, false)
	if err := os.Remove(countName(path)); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, info.Size()/2); err != nil {
		t.Fatal(err)
	}
	j := Open(path, Options{Session: session})
	if err := errors.Join(j.Record(records(500, 1)), j.Flush(within(t))); err != nil && !errors.Is(err, ErrDamaged) {
		t.Fatal(err)
	}
	said := j.Record(nil)
	if r := j.Stats().Recovered; r == nil || !r.AtLeast || r.Rows < 100 || !errors.Is(said, ErrDamaged) {
		t.Errorf("%+v, %v", r, said)
	}
	if again := j.Record(nil); again != nil {
		t.Errorf("said twice: %v", again)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}

	// The database itself gone, and its count there.
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	j = Open(path, Options{Session: session})
	j.Record(records(0, 1))
	if err := j.Flush(within(t)); err != nil {
		t.Fatal(err)
	}
	if r := j.Stats().Recovered; r == nil || r.Rows != 0 || r.Gone == 0 || r.Kept != "" {
		t.Errorf("%+v", r)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	if r, err := Recover(path); err != nil || r.Gone != 0 || r.Rows != 2 {
		t.Errorf("rows are missed twice: %+v, %v", r, err)
	}
}

// A row changed on the disk, so that SQLite sees nothing wrong, is not taken for what was written; those before it are read.
func TestChangedRow(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	keep(t, path, 0, 500, false)
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	w, err := encode(record(250))
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(b, w.body)
	b[at+bytes.Index(w.body, []byte("49.9"))] = '1'
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	rows, err := all(t, path)
	if !errors.Is(err, ErrDamaged) {
		t.Fatal(err)
	}
	same(t, rows, 1, records(0, 250))
	r, err := Recover(path)
	if err != nil || r.Rows != 499 || r.Gone != 1 || r.FirstGone != 251 || r.LastGone != 251 {
		t.Errorf("%+v %v", r, err)
	}
	t.Log(r)
	if kept, err := os.ReadFile(r.Kept); err != nil || !bytes.Equal(kept, b) {
		t.Error("the damaged file is not kept", err)
	}
}

// Pages of any content are read without a panic, and yield nothing.
func TestAnyPage(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	page, over := make([]byte, pageSize), make([]byte, pageSize)
	cellsSeen := 0
	for range 300 {
		for i := range page {
			page[i], over[i] = byte(rnd.Uint32())>>(rnd.UintN(2)*7), byte(rnd.Uint32())
		}
		page[0] = leafTable
		binary.BigEndian.PutUint32(over, rnd.Uint32N(3))
		for c := range cells(2, page, func(n uint32) []byte {
			if n > 2 {
				return nil
			}
			return over
		}) {
			cellsSeen++
			if _, ok := c.record(); ok {
				t.Fatal("a row out of noise")
			}
		}
	}
	if cellsSeen == 0 {
		t.Error("nothing was tried")
	}
}

// What a recovery costs.
func BenchmarkRecover(b *testing.B) {
	path := filepath.Join(b.TempDir(), "night.db")
	keep(b, path, 0, 43200, false)
	for b.Loop() {
		if _, err := Recover(path); err != nil {
			b.Fatal(err)
		}
	}
}

// One step of the loop: handed over, and on the disk.
func BenchmarkRecord(b *testing.B) {
	j := Open(filepath.Join(b.TempDir(), "night.db"), Options{Session: session})
	rs := records(0, 1)
	b.Run("handed over", func(b *testing.B) {
		for b.Loop() {
			if err := j.Record(rs); err != nil && !errors.Is(err, ErrLost) {
				b.Fatal(err)
			}
		}
	})
	if err := j.Flush(within(b)); err != nil {
		b.Fatal(err)
	}
	b.Run("on the disk", func(b *testing.B) {
		most := time.Duration(0)
		for b.Loop() {
			t := time.Now()
			if err := errors.Join(j.Record(rs), j.Flush(within(b))); err != nil {
				b.Fatal(err)
			}
			most = max(most, time.Since(t))
		}
		b.ReportMetric(float64(most.Microseconds())/1000, "ms-most")
	})
	if err := j.Close(); err != nil {
		b.Fatal(err)
	}
}
