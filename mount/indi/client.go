package indi

import (
	"errors"
	"net"
	"sync"
	"sync/atomic"
	"time"
)

const (
	maxQueue  = 1 << 20         // bytes that wait for a slow client
	writeTime = 5 * time.Second // in which a client must take what is sent
	maxWants  = 256             // things that one client may ask for by name
)

// client is one connection to a Server.
type client struct {
	conn   net.Conn
	heard  atomic.Int64 // when it last said something, ns of the Unix epoch; 0: never
	wanted map[ask]bool // under the server's lock

	mu    sync.Mutex
	queue []byte
	more  chan struct{} // one is in it when there is something to send
	gone  chan struct{}
	drop  func() // closes it, from anywhere and again
}

// ask is what a client wants to be told of: a property; without a name a device; without both everything.
type ask struct{ device, name string }

func newClient(conn net.Conn) *client {
	c := &client{conn: conn, wanted: map[ask]bool{}, more: make(chan struct{}, 1), gone: make(chan struct{})}
	c.drop = sync.OnceFunc(func() {
		close(c.gone)
		_ = conn.Close()
	})
	go c.write()
	return c
}

func (c *client) want(device, name string) error {
	if c.wanted[ask{}] || c.wanted[ask{device, ""}] || c.wanted[ask{device, name}] {
		return nil
	}
	if len(c.wanted) == maxWants {
		return errors.New("it asks for too many things by name")
	}
	c.wanted[ask{device, name}] = true
	return nil
}

// wants tells whether the client asked for a property, or, without a name, for anything of the device.
func (c *client) wants(device, name string) bool {
	if name == "" {
		for w := range c.wanted {
			if w.device == device {
				return true
			}
		}
	}
	return c.wanted[ask{}] || c.wanted[ask{device, ""}] || c.wanted[ask{device, name}]
}

// send queues bytes. A client that does not take them is dropped, so that it delays nobody.
func (c *client) send(b []byte) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.queue)+len(b) > maxQueue {
		c.drop()
		return
	}
	c.queue = append(c.queue, b...)
	select {
	case c.more <- struct{}{}:
	default:
	}
}

func (c *client) write() {
	for {
		select {
		case <-c.more:
		case <-c.gone:
			return
		}
		c.mu.Lock()
		b := c.queue
		c.queue = nil
		c.mu.Unlock()
		_ = c.conn.SetWriteDeadline(time.Now().Add(writeTime))
		if _, err := c.conn.Write(b); err != nil {
			c.drop()
			return
		}
	}
}
