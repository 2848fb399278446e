package journal

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// A sound journal is counted to the last row, beside its writer too; one that is cut, or has lost its end, is called damaged, is
// left as it is, and is sound again once it has been read out.
func TestCheck(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.db")
	j := Open(path, Options{Session: Session{Program: "test"}})
	if err := j.Record(records(0, 3000)); err != nil {
		t.Fatal(err)
	}
	if err := j.Flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	if c, err := Check(t.Context(), path); err != nil || c != (Census{Sessions: 1, Rows: 3000, Counted: true}) {
		t.Errorf("beside its writer: %+v, %v", c, err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	if c, err := Check(t.Context(), path); err != nil || c.Rows != 3000 {
		t.Errorf("closed: %+v, %v", c, err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, whole[:len(whole)*2/3], 0o644); err != nil {
		t.Fatal(err)
	}
	if c, err := Check(t.Context(), path); !errors.Is(err, ErrDamaged) {
		t.Errorf("cut off: %+v, %v", c, err)
	}
	if now, err := os.ReadFile(path); err != nil || len(now) != len(whole)*2/3 {
		t.Errorf("the check changed the file: %d bytes, %v", len(now), err)
	}
	r, err := Recover(path)
	if err != nil || r.Rows == 0 || r.Gone == 0 || r.AtLeast || r.Rows+r.Gone != 3000 {
		t.Fatalf("%+v, %v", r, err)
	}
	if c, err := Check(t.Context(), path); err != nil || c.Rows < r.Rows || c.Gone != 0 {
		t.Errorf("after the recovery: %+v, %v", c, err)
	}
	if _, err := Check(t.Context(), path+"x"); err == nil {
		t.Error("no file")
	}
}
