package journal

import (
	"bufio"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

var kills = flag.Int("kills", 20, "how often the writer is killed")

// child makes the test's own program a writer instead, when it is started with this variable.
const child = "LEGROOM_JOURNAL_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(child); path != "" {
		if err := writeForever(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// writeForever hands rows over in small steps, row number n being record n-1, and prints each number that is acknowledged.
func writeForever(path string) error {
	j := Open(path, Options{Session: session})
	if err := j.Ready(); err != nil {
		return err
	}
	n := int(j.Stats().LastSeq)
	for i := 0; ; i++ {
		step := 1 + i%4
		if err := j.Record(records(n, step)); err != nil {
			return err
		}
		for j.Stats().Waiting > 0 {
			time.Sleep(100 * time.Microsecond)
		}
		n += step
		if s := j.Stats(); s.LastSeq != int64(n) {
			return fmt.Errorf("%+v after %d rows", s, n)
		}
		if _, err := fmt.Println(n); err != nil {
			return err
		}
	}
}

// The writer dies at any moment, again and again on the same file: every row that was acknowledged is there, in order and as it was.
func TestKill(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	path := filepath.Join(t.TempDir(), "night.db")
	acknowledged, seen, more := 0, 0, 0
	for k := range *kills {
		c := exec.Command(os.Args[0])
		c.Env = append(os.Environ(), child+"="+path)
		c.Stderr = os.Stderr
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		after := time.Duration(rnd.IntN(120)) * time.Millisecond
		var timer *time.Timer
		if k%4 == 0 { // also while the file is being opened
			timer = time.AfterFunc(after, func() { c.Process.Kill() })
		}
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			n, err := strconv.Atoi(lines.Text())
			if err != nil {
				t.Fatal(err)
			}
			acknowledged = max(acknowledged, n)
			if timer == nil {
				timer = time.AfterFunc(after, func() { c.Process.Kill() })
			}
		}
		var exit *exec.ExitError
		if err := c.Wait(); !errors.As(err, &exit) || exit.Exited() {
			t.Fatalf("the writer ended by itself: %v", err)
		}
		if err := sound(path); err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(path); acknowledged == 0 && err != nil {
			continue
		}
		r, err := OpenReader(path)
		if err != nil {
			if acknowledged == 0 {
				continue // killed before the tables were made
			}
			t.Fatal(err)
		}
		rows, err := r.read(t.Context(), int64(seen), int64(acknowledged)+100)
		for err == nil && len(rows) > 0 {
			for _, s := range rows {
				want, e := encode(record(seen))
				if e != nil {
					t.Fatal(e)
				}
				if seen++; s.seq != int64(seen) || s.body != string(want.body) {
					t.Fatalf("kill %d: row %d is number %d, %s", k, seen, s.seq, s.body)
				}
			}
			rows, err = r.read(t.Context(), int64(seen), int64(acknowledged)+100)
		}
		if err := errors.Join(err, r.Close()); err != nil {
			t.Fatal(err)
		}
		if seen < acknowledged {
			t.Fatalf("kill %d: %d rows acknowledged, %d there", k, acknowledged, seen)
		}
		more += seen - acknowledged
		acknowledged = seen
	}
	t.Logf("%d kills, %d rows acknowledged, none lost; %d more were there", *kills, acknowledged-more, more)
	if seen == 0 {
		t.Error("nothing was ever written")
	}
}
