package mqtt

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"testing"
	"time"

	server "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"

	"legroom/watch"
)

// broker is a server on loopback that hands on all that is published below legroom.
func broker(t *testing.T) (*server.Server, string, <-chan packets.Packet) {
	t.Helper()
	s := server.New(&server.Options{InlineClient: true, Logger: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err := s.AddHook(new(auth.AllowHook), nil); err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.AddListener(listeners.NewNet("loopback", l)); err != nil {
		t.Fatal(err)
	}
	got := make(chan packets.Packet, 100)
	if err := s.Subscribe("legroom/#", 1, func(_ *server.Client, _ packets.Subscription, p packets.Packet) { got <- p }); err != nil {
		t.Fatal(err)
	}
	go func() { _ = s.Serve() }()
	t.Cleanup(func() { s.Close() })
	return s, "mqtt://" + l.Addr().String(), got
}

// next waits for the next message of a topic.
func next(t *testing.T, got <-chan packets.Packet, topic string) string {
	t.Helper()
	for end := time.After(10 * time.Second); ; {
		select {
		case p := <-got:
			if p.TopicName == topic {
				return string(p.Payload)
			}
		case <-end:
			t.Fatalf("nothing came on %s", topic)
		}
	}
}

func TestPublishes(t *testing.T) {
	t.Parallel()
	_, url, got := broker(t)
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	p, err := Open(ctx, Options{Server: url, Stale: 1200 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	if err := p.conn.AwaitConnection(ctx); err != nil {
		t.Fatal(err)
	}
	p.Feed(watch.Status{Rung: watch.Warned, At: time.Now()})
	var s watch.Status
	if err := json.Unmarshal([]byte(next(t, got, "legroom/status")), &s); err != nil || s.Rung != watch.Warned {
		t.Errorf("%v %+v", err, s)
	}
	if w := next(t, got, "legroom/alive"); w != Watching {
		t.Errorf("alive %q", w)
	}
	p.Event(watch.Event{ID: 7, Text: "x"})
	var e watch.Event
	if err := json.Unmarshal([]byte(next(t, got, "legroom/event")), &e); err != nil || e.ID != 7 {
		t.Errorf("%v %+v", err, e)
	}
	if w := next(t, got, "legroom/alive"); w != Stale { // nothing feeds it any more
		t.Errorf("alive %q", w)
	}
	h := p.Hook(true)
	if err := h.Do(ctx, watch.Call{Rung: watch.Hooked}); err != nil || !h.CutsPower {
		t.Error(err)
	}
	var c watch.Call
	if err := json.Unmarshal([]byte(next(t, got, "legroom/hook")), &c); err != nil || c.Rung != watch.Hooked {
		t.Errorf("%v %+v", err, c)
	}
	if err := p.Close(ctx); err != nil {
		t.Error(err)
	}
	if w := next(t, got, "legroom/alive"); w != Ended {
		t.Errorf("alive %q", w)
	}
}

// A computer that dies says nothing; the broker does.
func TestLastWill(t *testing.T) {
	t.Parallel()
	_, url, got := broker(t)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	p, err := Open(ctx, Options{Server: url})
	if err != nil {
		t.Fatal(err)
	}
	if err := p.conn.AwaitConnection(ctx); err != nil {
		t.Fatal(err)
	}
	p.Feed(watch.Status{})
	if w := next(t, got, "legroom/alive"); w != Watching {
		t.Errorf("alive %q", w)
	}
	p.conn.TerminateConnectionForTest()
	if w := next(t, got, "legroom/alive"); w != Gone {
		t.Errorf("alive %q", w)
	}
	// It comes back by itself.
	if w := next(t, got, "legroom/alive"); w != Watching {
		t.Errorf("alive %q", w)
	}
	_ = p.Close(ctx)
}

func TestBadAddress(t *testing.T) {
	for _, o := range []Options{{Server: "127.0.0.1:1883"}, {Server: "http://127.0.0.1/"}, {Server: "mqtt://127.0.0.1:1", Prefix: "a/#"}} {
		if _, err := Open(t.Context(), o); err == nil {
			t.Errorf("%+v: no error", o)
		}
	}
}
