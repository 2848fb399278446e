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
