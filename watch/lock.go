package watch

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// ErrWatched says that another watch has this mount already.
var ErrWatched = errors.New("another watch has this mount")

// relock takes the lock again where its file is no longer the one that others would open, as after somebody has cleaned the folder.
func (w *Watch) relock() {
	w.mu.Lock()
	held := w.lock
	w.mu.Unlock()
	mine, err := held.Stat()
	if err != nil {
		return // closed: the watch is ending
	}
	if now, err := os.Stat(held.Name()); err == nil && os.SameFile(mine, now) {
		return
	}
	lock, err := lockMount(w.o.LockDir, w.status.Mount)
	w.mu.Lock()
	defer w.mu.Unlock()
	if err != nil {
		w.alarms.raise("lock", Alarm, "the lock of the mount is gone, and cannot be taken again: %v", err)
		return
	}
	w.alarms.over("lock")
	if held.Close() != nil { // the watch has ended meanwhile
		_ = lock.Close()
		return
	}
	w.lock = lock
}

// lockMount takes the lock of a mount, by its address. The operating system frees it when this program ends, however it ends.
func lockMount(dir, address string) (*os.File, error) {
	if dir == "" {
		cache, err := os.UserCacheDir()
		if err != nil {
			return nil, fmt.Errorf("no place for the lock of the mount: %w", err)
		}
		dir = filepath.Join(cache, "legroom")
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("no place for the lock of the mount: %w", err)
	}
	sum := sha256.Sum256([]byte(strings.ToLower(address)))
	path := filepath.Join(dir, "watch-"+hex.EncodeToString(sum[:8])+".lock")
	f, err := openLocked(path)
	if errors.Is(err, ErrWatched) {
		return nil, fmt.Errorf("%w: %s (lock %s); end that one first", err, address, path)
	}
	if err != nil {
		return nil, fmt.Errorf("the lock of the mount: %w", err)
	}
	return f, nil
}
