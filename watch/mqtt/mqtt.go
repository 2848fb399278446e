// Package mqtt tells a broker how the watch does: its status, its events, and that it lives. When the computer dies, the
// broker itself says so, by the last will.
//
// Topics below the prefix, all JSON but the first:
//
//	alive   retained: "watching" while the loop comes round, told again and again, "stale" when it has not for a while, "ended" after a
//	        proper end, and "gone" by the last will
//	status  retained: watch.Status, once a second at most
//	event   watch.Event, one message each
//	hook    watch.Call, when the mount does not obey and this is one of the hooks
package mqtt

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"sync"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"

	"legroom/watch"
)

// Options say which broker is told, and how.
type Options struct {
	Server   string // mqtt://HOST:1883 or tls://HOST:8883
	Prefix   string // of the topics; legroom when ""
	User     string
	Password []byte
	// Stale is how long the loop may be silent before it is called stale; 5 s when 0.
	Stale time.Duration
}

// The words of the topic alive.
const (
	Watching = "watching"
	Stale    = "stale"
	Ended    = "ended"
	Gone     = "gone"
)

// keepAlive, seconds: a broker sends the last will half as long again after the last word.
const keepAlive = 5

// aliveAgain is how often alive is told again: a broker that finds out late that an earlier connection has ended tells its
// last will then, over what the connection since has told.
const aliveAgain = 2 * time.Second

// publishWithin bounds one message; the next status is newer anyway.
const publishWithin = 3 * time.Second

// waiting is how many events wait for a slow broker.
const waiting = 200

// Publisher is the connection to a broker. It comes back by itself when it is lost, and what could not be told meanwhile is
// not told later: Trouble says how much that was.
type Publisher struct {
	o    Options
	conn *autopaho.ConnectionManager
	hang context.CancelFunc // ends the connection
	stop context.CancelFunc // ends what is told
	done chan struct{}

	mu     sync.Mutex
	status *watch.Status // the latest one not yet told
	fed    time.Time
	err    error // why there is no connection
	last   int64 // ID of the latest event
	lost   int64 // events that were not told
	told   int64 // of these, those that Trouble has told
	said   bool  // Trouble has just said that something is wrong

	wake   chan struct{}
	up     chan struct{}
	events chan watch.Event
}

// Open begins to connect, and returns without waiting for it.
func Open(ctx context.Context, o Options) (*Publisher, error) {
	if o.Prefix == "" {
		o.Prefix = "legroom"
	}
	if o.Stale == 0 {
		o.Stale = 5 * time.Second
	}
	if err := checkPrefix(o.Prefix); err != nil {
		return nil, err
	}
	if _, _, err := Address(o.Server); err != nil {
		return nil, fmt.Errorf("MQTT broker: %w", err)
	}
	u, err := url.Parse(o.Server)
	if err != nil {
		return nil, err
	}
	ctx, hang := context.WithCancel(ctx)
	p := &Publisher{o: o, hang: hang, done: make(chan struct{}), wake: make(chan struct{}, 1), up: make(chan struct{}, 1),
		events: make(chan watch.Event, waiting)}
	p.conn, err = autopaho.NewConnection(ctx, autopaho.ClientConfig{
		ServerUrls:                    []*url.URL{u},
		KeepAlive:                     keepAlive,
		CleanStartOnInitialConnection: true,
		ConnectTimeout:                5 * time.Second,
		ReconnectBackoff:              autopaho.NewConstantBackoff(2 * time.Second),
		ConnectUsername:               o.User,
		ConnectPassword:               o.Password,
		WillMessage:                   &paho.WillMessage{Retain: true, QoS: 1, Topic: p.topic("alive"), Payload: []byte(Gone)},
		OnConnectionUp: func(*autopaho.ConnectionManager, *paho.Connack) {
			p.trouble(nil)
			poke(p.up)
		},
		OnConnectionDown: func() bool { p.trouble(errLost); return true },
		OnConnectError:   p.trouble,
	})
	if err != nil {
		hang()
		return nil, fmt.Errorf("MQTT broker %s: %w", o.Server, err)
	}
	ctx, p.stop = context.WithCancel(ctx)
	go p.run(ctx)
	return p, nil
}

var errLost = errors.New("the connection was lost")

func (p *Publisher) trouble(err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.err = err
}

// ErrLost says that events were not told, and how many.
var ErrLost = errors.New("events that the broker was not told, being away or too slow")

// Trouble says why the broker is not told; nil while it is, and before the first try has ended. It is to be asked again and
// again, and says ErrLost as soon as an event is lost and until the broker has caught up; when more were lost since, nil,
// and ErrLost once more, with all of them.
func (p *Publisher) Trouble() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.err != nil:
		p.said = true
		return p.err
	case p.said && p.lost > 0 && len(p.events) > 0:
	case p.said:
		p.said = false
		if p.told == p.lost {
			p.told, p.lost = 0, 0
		}
		return nil
	case p.lost > p.told:
		p.told, p.said = p.lost, true
	default:
		return nil
	}
	return fmt.Errorf("%w: %d", ErrLost, p.lost)
}

// lose counts events that are not told.
func (p *Publisher) lose(n int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.lost += n
}

func (p *Publisher) topic(name string) string { return p.o.Prefix + "/" + name }

func poke(ch chan struct{}) {
	select {
	case ch <- struct{}{}:
	default:
	}
}

// Feed tells the latest status; it does not wait. As long as it is called with statuses that are new, the watch is alive.
func (p *Publisher) Feed(s watch.Status) {
	p.mu.Lock()
	p.status, p.fed = &s, time.Now()
	p.mu.Unlock()
	poke(p.wake)
}

// Event tells one event; it does not wait. When the broker is away, or slow for long, events are lost: the journal has them,
// and Trouble says how many. So it does of those that did not come this far, by the gap in the IDs.
func (p *Publisher) Event(e watch.Event) {
	p.mu.Lock()
	if p.last > 0 && e.ID > p.last+1 {
		p.lost += e.ID - p.last - 1
	}
	p.last = e.ID
	p.mu.Unlock()
	select {
	case p.events <- e:
	default:
		p.lose(1)
	}
}

// Hook is the topic hook as one of the owner's hooks. It is done once the broker has taken the message.
func (p *Publisher) Hook(cutsPower bool) watch.Hook {
	return watch.Hook{Name: "MQTT " + p.topic("hook"), CutsPower: cutsPower, Do: func(ctx context.Context, c watch.Call) error {
		data, err := json.Marshal(c)
		if err != nil {
			return err
		}
		if err := p.conn.AwaitConnection(ctx); err != nil {
			return fmt.Errorf("no connection to the broker: %w", err)
		}
		return p.publish(ctx, "hook", data, false)
	}}
}

func (p *Publisher) publish(ctx context.Context, name string, data []byte, retain bool) error {
	r, err := p.conn.Publish(ctx, &paho.Publish{QoS: 1, Retain: retain, Topic: p.topic(name), Payload: data})
	if err == nil && r != nil && r.ReasonCode >= 0x80 { // MQTT 5, 3.4.2.1: 0x80 and above are failures
		err = fmt.Errorf("the broker refuses the message, reason 0x%02x", r.ReasonCode)
	}
	return err
}

// run tells what there is to tell, one message after the other.
func (p *Publisher) run(ctx context.Context) {
	defer close(p.done)
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	told, alive, since := time.Time{}, "", time.Time{}
	for {
		select {
		case <-ctx.Done():
			return
		case <-p.up:
			alive = "" // the last will may stand there
		case e := <-p.events:
			if !p.send(ctx, "event", e, false) && ctx.Err() == nil {
				p.lose(1)
			}
		case <-p.wake:
		case <-tick.C:
		}
		p.mu.Lock()
		s, fed := p.status, p.fed
		if now := time.Now(); s != nil && now.Sub(told) >= 900*time.Millisecond {
			p.status, told = nil, now
		} else {
			s = nil
		}
		p.mu.Unlock()
		if s != nil {
			p.send(ctx, "status", s, true)
		}
		want := Watching
		if time.Since(fed) > p.o.Stale {
			want = Stale
		}
		if !fed.IsZero() && (want != alive || time.Since(since) >= aliveAgain) {
			c, cancel := context.WithTimeout(ctx, publishWithin)
			if p.publish(c, "alive", []byte(want), true) == nil {
				alive, since = want, time.Now()
			}
			cancel()
		}
	}
}

// send tells something once, or not at all: then it is false.
func (p *Publisher) send(ctx context.Context, name string, what any, retain bool) bool {
	data, err := json.Marshal(what)
	if err != nil {
		return false // a status has no value that JSON lacks: numbers that are none are left out before
	}
	c, cancel := context.WithTimeout(ctx, publishWithin)
	defer cancel()
	return p.publish(c, name, data, retain) == nil
}

// Close tells the end, as the last word, and hangs up.
func (p *Publisher) Close(ctx context.Context) error {
	p.stop()
	<-p.done
	err := p.publish(ctx, "alive", []byte(Ended), true)
	end := p.conn.Disconnect(ctx)
	p.hang()
	return errors.Join(err, end)
}
