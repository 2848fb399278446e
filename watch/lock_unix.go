//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package watch

import (
	"os"
	"syscall"
)

// openLocked opens the file with a lock that nobody else holds.
func openLocked(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		if err == syscall.EWOULDBLOCK {
			return nil, ErrWatched
		}
		return nil, err
	}
	return f, nil
}
