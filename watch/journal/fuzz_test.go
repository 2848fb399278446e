package journal

import (
	"context"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// FuzzJournal: whatever stands in the three files of a journal, checking, reading and recovering end, with rows whose checksums hold
// or an error; what was recovered is sound. The input is a list of (file, place, byte) that change a journal of twenty rows; a
// place behind its end cuts it off there.
func FuzzJournal(f *testing.F) {
	dir := f.TempDir()
	path := filepath.Join(dir, "night.db")
	keep(f, path, 0, 20, false)
	var ends = []string{"", "-wal", "-count"}
	whole := map[string][]byte{}
	for _, end := range ends {
		b, err := os.ReadFile(path + end)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			f.Fatal(err)
		}
		whole[end] = b
	}
	f.Add([]byte{0, 0, 0, 0, 0x20})
	f.Add([]byte{0, 0, 0, 28, 0xff, 0, 0, 0, 29, 0xff})
	f.Add([]byte{2, 0, 0, 8, 0xff})
	f.Add([]byte{0, 0xff, 0xff, 0xff, 0})
	f.Add([]byte{0, 0, 0x10, 3, 0xff, 0, 0, 0x10, 4, 0xff, 0, 0, 0x20, 8, 0})
	f.Fuzz(func(t *testing.T, changes []byte) {
		at := filepath.Join(t.TempDir(), "night.db")
		files := map[string][]byte{}
		for _, end := range ends {
			files[end] = append([]byte(nil), whole[end]...)
		}
		for ; len(changes) >= 5; changes = changes[5:] {
			end := ends[int(changes[0])%len(ends)]
			place := int(binary.BigEndian.Uint32(append([]byte{0}, changes[1:4]...)))
			if b := files[end]; place < len(b) {
				b[place] = changes[4]
			} else {
				files[end] = b[:len(b)*int(changes[4])/256]
			}
		}
		for end, b := range files {
			if len(b) > 0 {
				if err := os.WriteFile(at+end, b, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
		ctx := context.Background()
		_ = sound(at)
		c, err := Check(ctx, at)
		if err == nil && c.Counted && c.Rows != 20 && string(files[""]) == string(whole[""]) {
			t.Fatalf("%+v is called whole", c)
		}
		if _, err := Recover(at); err != nil {
			return
		}
		if _, err := Check(ctx, at); err != nil {
			t.Fatalf("recovered, and not sound: %v", err)
		}
	})
}
