//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package rig

import (
	"errors"
	"os"
	"syscall"
	"time"
)

// lockWithin is how long another program may take to write into the folder: a write takes some milliseconds.
const lockWithin = 5 * time.Second

// lockFolder keeps other writers of documents, in this program and in others, out of a folder until it is unlocked: between looking
// what stands there and writing over it nobody comes in. A file system that knows no locks goes without.
func lockFolder(dir string) (unlock func(), err error) {
	f, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	for end := time.Now().Add(lockWithin); ; time.Sleep(5 * time.Millisecond) {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if errors.Is(err, syscall.EWOULDBLOCK) && time.Now().Before(end) {
			continue
		}
		if errors.Is(err, syscall.EWOULDBLOCK) {
			f.Close()
			return nil, errors.New(dir + " is being written by another program; try again")
		}
		return func() { f.Close() }, nil
	}
}
