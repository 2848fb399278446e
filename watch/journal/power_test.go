//go:build linux && (amd64 || arm64)

package journal

import (
	"encoding/binary"
	"errors"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"legroom/watch"
)

var cuts = flag.Int("cuts", 40, "how many power cuts are played through")

// cut is what a power cut leaves of an image: of what was not synced, some is there and some not, in any order, writes in sectors of
// 512 bytes. What is synced stays, as the operating system promises, and a write does not harm the bytes beside it.
func (m *image) cut(rnd *rand.Rand) map[string][]byte {
	left := map[string][]byte{}
	for name, b := range m.safe {
		left[name] = slices.Clone(b)
	}
	for name, ops := range m.loose {
		ops = slices.Clone(ops)
		switch rnd.IntN(4) {
		case 0: // the last ones are lost
			ops = ops[:rnd.IntN(len(ops)+1)]
		case 1: // any are lost
			ops = slices.DeleteFunc(ops, func(op) bool { return rnd.IntN(2) == 0 })
		case 2: // in another order as well
			ops = slices.DeleteFunc(ops, func(op) bool { return rnd.IntN(4) == 0 })
			rnd.Shuffle(len(ops), func(i, k int) { ops[i], ops[k] = ops[k], ops[i] })
		}
		torn := rnd.IntN(2) == 0
		for _, o := range ops {
			if o.kind != 'w' || !torn {
				left[name] = apply(left[name], o)
				continue
			}
			for at := 0; at < len(o.data); {
				n := min(len(o.data)-at, 512-int(o.at+int64(at))%512)
				if rnd.IntN(3) > 0 {
					left[name] = apply(left[name], op{'w', name, o.at + int64(at), o.data[at : at+n]})
				}
				at += n
			}
		}
	}
	return left
}

// after plays a power cut through: it opens what is left, and tells how many rows are there, and whether damage was noticed.
func after(t *testing.T, left map[string][]byte) (rows int, damaged bool) {
	t.Helper()
	dir := t.TempDir()
	defer os.RemoveAll(dir)
	writeImage(t, dir, left)
	path := filepath.Join(dir, "night.db")
	j := Open(path, Options{Session: session})
	if err := j.Ready(); err != nil {
		return 0, true
	}
	damaged = j.Stats().Recovered != nil
	before := j.Stats().LastSeq
	err := errors.Join(j.Record([]watch.Record{record(7)}), j.Close())
	if errors.Is(err, ErrDamaged) {
		return 0, true // noticed as it was written to
	}
	if err != nil && !damaged {
		t.Fatal(err)
	}
	got, err := all(t, path)
	if err != nil {
		return 0, true
	}
	if !damaged {
		same(t, got[len(got)-1:], before+1, []watch.Record{record(7)})
		got = got[:len(got)-1]
		same(t, got, 1, records(0, len(got)))
	}
	return len(got), damaged
}

// The power is cut at any point, in the middle of a commit or of a checkpoint, with a file system that keeps its word about what
// is synced and nothing else: it opens, nothing looks damaged, and every acknowledged row is there. With one that breaks its word
// rows are lost, which shows that this test would see it.
func TestPowerCut(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	d := newDisk(t)
	path := filepath.Join(t.TempDir(), "night.db")
	type ack struct{ op, rows int }
	acks := []ack{{}}
	n := 0
	for range 3 { // three times opened and closed
		j := Open(path, Options{Session: session, vfs: d.name})
		for range 120 {
			step := 1 + rnd.IntN(30)
			if err := errors.Join(j.Record(records(n, step)), j.Flush(within(t))); err != nil {
				t.Fatal(err)
			}
			n += step
			acks = append(acks, ack{d.length(), n})
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if rows, err := all(t, path); err != nil || len(rows) != n {
		t.Fatal(len(rows), err)
	}
	ops := d.ops
	kinds := map[string]int{}
	var busy []int // operations of checkpoints
	for i, o := range ops {
		kinds[string(o.kind)+" "+strings.TrimPrefix(o.file, "night.db")]++
		if o.file == "night.db" || o.kind == 't' || o.kind == 'd' {
			busy = append(busy, i)
		}
	}
	t.Logf("%d rows, operations: %v", n, kinds)

	for _, honest := range []bool{true, false} {
		points := map[int]bool{}
		for i := range *cuts {
			p := 1 + rnd.IntN(len(ops))
			if i%2 == 0 {
				p = min(busy[rnd.IntN(len(busy))]+rnd.IntN(4), len(ops))
			}
			points[p] = true
		}
		m := &image{safe: map[string][]byte{}, loose: map[string][]op{}}
		lost, extra, noticed, tried := 0, 0, 0, 0
		for i := range ops {
			m.step(ops[i], honest)
			if !points[i+1] || !honest && tried == 10 {
				continue
			}
			tried++
			k, _ := slices.BinarySearchFunc(acks, i+2, func(a ack, at int) int { return a.op - at })
			acked := acks[k-1].rows
			left := m.cut(rnd)
			// The count is not synced: what it was at some time, whole, or nothing.
			if c := (counter{last: int64(acks[rnd.IntN(k)].rows)}); c.last > 0 {
				left["night.db-count"] = c.bytes()
				if rnd.IntN(8) == 0 {
					left["night.db-count"] = binary.BigEndian.AppendUint64(nil, 0)
				}
			}
			rows, damaged := after(t, left)
			if damaged {
				noticed++
			}
			if rows < acked {
				lost++
			} else {
				extra += rows - acked
			}
			if honest && (damaged || rows < acked) {
				t.Fatalf("power cut after operation %d of %d: %d rows acknowledged, %d there, damaged %v", i+1, len(ops), acked, rows, damaged)
			}
		}
		t.Logf("syncs kept %v: %d power cuts, acknowledged rows lost in %d of them, damage noticed in %d, %d rows more than acknowledged", honest, tried, lost, noticed, extra)
		if !honest && lost == 0 {
			t.Error("syncs that do nothing lose nothing: the test sees nothing")
		}
	}
}

// A full disk and a sync that fails: said, waited for, and nothing twice or lost.
func TestDiskFails(t *testing.T) {
	d := newDisk(t)
	path := filepath.Join(t.TempDir(), "night.db")
	j := Open(path, Options{Session: session, vfs: d.name})
	if err := errors.Join(j.Record(records(0, 50)), j.Flush(within(t))); err != nil {
		t.Fatal(err)
	}
	n := 50
	for _, how := range []func(bool){d.full.Store, d.sick.Store, d.full.Store} {
		how(true)
		j.Record(records(n, 10))
		n += 10
		for j.Stats().Trouble == "" {
			if within(t).Err() != nil {
				t.Fatal("no trouble")
			}
		}
		if s := j.Stats(); s.Acknowledged != int64(n-10) || s.Waiting != 10 {
			t.Fatalf("%+v", s)
		}
		if err := j.Record(records(n, 1)); err == nil {
			t.Error("silent")
		} else {
			t.Log(err)
		}
		n++
		how(false)
		if err := j.Flush(within(t)); err != nil {
			t.Fatal(err)
		}
		if err := j.Record(nil); err != nil {
			t.Error(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	rows, err := all(t, path)
	if err != nil {
		t.Fatal(err)
	}
	same(t, rows, 1, records(0, n))
}
