package indi

import (
	"context"
	"errors"
	"io"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"legroom/mount"
)

// An element that drips is cut off, on either side; silence between elements is not.
func TestDrip(t *testing.T) {
	drip := func(c net.Conn) (sent int) {
		for _, b := range []byte(`  <message message="a slow word"/>`) {
			time.Sleep(2 * time.Second)
			if _, err := c.Write([]byte{b}); err != nil {
				return sent
			}
			sent++
		}
		return sent
	}
	const most = 2 + int(elementTime/(2*time.Second)) + 1
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		var s Server
		c := newClient(near)
		s.admit(c)
		go s.serve(c)
		time.Sleep(time.Hour)
		if _, err := io.WriteString(far, `<getProperties version="1.7"/>`); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Hour)
		if n := drip(far); n < 3 || n > most {
			t.Errorf("the server took %d bytes, want at most %d", n, most)
		}
		synctest.Wait()
		if len(s.clients) != 0 {
			t.Error("the client is still there")
		}
	})
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		s := newSession(near, "M")
		time.Sleep(time.Hour)
		if n := drip(far); n < 3 || n > most {
			t.Errorf("the client took %d bytes, want at most %d", n, most)
		}
		if err := s.wait(context.Background(), func() (bool, error) { return false, nil }); !errors.Is(err, mount.ErrLink) {
			t.Errorf("%v", err)
		}
	})
}

// A client that does not take what it asked for is dropped after a while, whatever little it is.
func TestDeaf(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe() // without any buffer
		var s Server
		if err := s.Define(switches("A", "OneOfMany", "x", "x", "y")); err != nil {
			t.Fatal(err)
		}
		c := newClient(near)
		s.admit(c)
		go s.serve(c)
		if _, err := io.WriteString(far, `<getProperties version="1.7"/>`); err != nil {
			t.Fatal(err)
		}
		time.Sleep(writeTime + time.Second)
		synctest.Wait()
		if len(s.clients) != 0 {
			t.Error("the client is still there")
		}
	})
}
