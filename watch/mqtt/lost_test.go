package mqtt

import (
	"context"
	"errors"
	"fmt"
	"net"
	"strings"
	"testing"
	"time"

	"legroom/watch"
)

// rounds asks what is wrong as often as a loop would, and gives the answers: how many events were not told, 0 when all is
// well.
func rounds(t *testing.T, p *Publisher, n int) (said []int) {
	t.Helper()
	for range n {
		err := p.Trouble()
		if err == nil {
			said = append(said, 0)
			continue
		}
		var lost int
		_, number, ok := strings.Cut(err.Error(), ErrLost.Error()+": ")
		if _, e := fmt.Sscan(number, &lost); !ok || e != nil || !errors.Is(err, ErrLost) {
			t.Fatalf("%v", err)
		}
		said = append(said, lost)
	}
	return said
}

// A broker that is slow: what did not fit is told with its number, at once, as long as it is behind, and in all once it is
// not.
func TestSlowBroker(t *testing.T) {
	p := &Publisher{events: make(chan watch.Event, waiting)} // nobody takes them
	want := func(when string, n int, want ...int) {
		t.Helper()
		if got := rounds(t, p, n); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s: %v, want %v", when, got, want)
		}
	}
	id := int64(6)
	event := func(n int) {
		for range n {
			id++
			p.Event(watch.Event{ID: id})
		}
	}
	event(waiting)
	want("all fit", 2, 0, 0)
	event(3)
	want("three too many", 2, 3, 3)
	event(4)
	want("and four", 1, 7)
	for range waiting {
		if e := <-p.events; e.ID < 7 || e.ID >= 7+waiting {
			t.Fatalf("%+v", e)
		}
	}
	want("it has caught up", 4, 0, 7, 0, 0)
	event(1)
	<-p.events
	want("all well again", 2, 0, 0)
	id += 5 // missed on the way here
	event(1)
	<-p.events
	want("five missed before", 3, 5, 0, 0)
	p.trouble(errLost)
	p.lose(2)
	for range 2 {
		if err := p.Trouble(); !errors.Is(err, errLost) {
			t.Errorf("away: %v", err)
		}
	}
	p.trouble(nil)
	want("there again", 4, 0, 2, 0, 0)
}

// A broker that is not there: what is not told meanwhile is counted.
func TestAbsentBrokerLoses(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	l.Close() // nobody is there
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	p, err := Open(ctx, Options{Server: "mqtt://" + address})
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close(ctx)
	for i := range 3 {
		p.Event(watch.Event{ID: int64(i + 1)})
	}
	lost := func() int64 { p.mu.Lock(); defer p.mu.Unlock(); return p.lost }
	for lost() < 3 {
		if ctx.Err() != nil {
			t.Fatalf("%d lost, %v", lost(), p.Trouble())
		}
		time.Sleep(time.Millisecond)
	}
}
