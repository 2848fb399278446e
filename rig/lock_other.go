//go:build !(darwin || dragonfly || freebsd || linux || netbsd || openbsd)

package rig

import "sync"

var writing sync.Mutex

// lockFolder keeps other writers of documents in this program out until it is unlocked. A folder cannot be locked here, so that
// two programs that save within the same milliseconds are not kept apart.
func lockFolder(string) (unlock func(), err error) {
	writing.Lock()
	return writing.Unlock, nil
}
