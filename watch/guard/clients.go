package guard

import "sync"

// clients remembers which clients have said that they disconnect. The device stays connected, and who has said nothing finds
// it so.
type clients struct {
	mu  sync.Mutex
	off map[uint32]bool
}

// maxGone bounds them.
const maxGone = 1000

func (c *clients) say(client uint32, on bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if on {
		delete(c.off, client)
		return
	}
	if c.off == nil || len(c.off) >= maxGone {
		c.off = map[uint32]bool{}
	}
	c.off[client] = true
}

func (c *clients) gone(client uint32) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.off[client]
}
