package watch

import (
	"errors"
	"os"
	"runtime"
	"testing"
	"time"
)

// A cleaned cache folder gives no second watch the mount for long.
func TestLockCleaned(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("an open file cannot be removed there")
	}
	b := ready(t, deg(40, 45), nil)
	b.w.mu.Lock()
	path := b.w.lock.Name()
	b.w.mu.Unlock()
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	b.until(2*lookEvery, func() bool { return false })
	if f, err := lockMount(b.w.o.LockDir, b.w.Status().Mount); !errors.Is(err, ErrWatched) {
		t.Errorf("a second watch has the mount: %v", err)
		f.Close()
	}
	// One that was quicker keeps it, and that is told.
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	other, err := lockMount(b.w.o.LockDir, b.w.Status().Mount)
	if err != nil {
		t.Fatal(err)
	}
	raised := func() bool {
		for _, a := range b.w.Status().Alarms {
			if a.Key == "lock" {
				return true
			}
		}
		return false
	}
	b.until(2*lookEvery, func() bool { return false })
	if !raised() {
		t.Error("no alarm, though another watch has the mount")
	}
	other.Close()
	b.until(2*lookEvery+time.Second, func() bool { return false })
	if raised() {
		t.Error("an alarm, though the lock was taken again")
	}
}
