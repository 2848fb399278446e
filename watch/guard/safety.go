package guard

import (
	"context"
	"fmt"
	"time"

	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/watch"
)

// SafetyMonitor tells by the standard's one bit how the watch does: safe while it is watching with a fresh look and nothing is
// blind; not safe when a stop is due or done, the watch is blind, its look is old, or the rig's fingerprint is another.
type SafetyMonitor struct {
	w      *watch.Watch
	period time.Duration

	clients clients
}

var _ alpaca.Device = (*SafetyMonitor)(nil)

// NewSafetyMonitor watches a watch. period is the watch's; 1 s when 0.
func NewSafetyMonitor(w *watch.Watch, period time.Duration) *SafetyMonitor {
	if period == 0 {
		period = time.Second
	}
	return &SafetyMonitor{w: w, period: period}
}

const safetyName = "Legroom watch"

// Call implements alpaca.Device. It asks nothing of the mount, and answers at once.
func (m *SafetyMonitor) Call(_ context.Context, c alpaca.Call) (any, error) {
	s := m.w.Status()
	safe := s.Safe(time.Now(), m.period)
	switch c.Member {
	case "issafe":
		return safe, nil
	case "connect", "disconnect":
		m.clients.say(c.ClientID, c.Member == "connect")
		return nil, nil
	case "connected":
		if !c.Put {
			return !m.clients.gone(c.ClientID), nil
		}
		m.clients.say(c.ClientID, c.Bool("Connected"))
		return nil, nil
	case "connecting":
		return false, nil
	case "name":
		return safetyName, nil
	case "description":
		return "Whether the watch of a rig sees all well: a supervision aid, not a safety function", nil
	case "driverinfo":
		return "Legroom", nil
	case "driverversion":
		return "1", nil
	case "interfaceversion":
		return 3, nil
	case "supportedactions":
		return []string{}, nil
	case "devicestate":
		return []stated{{"IsSafe", safe}, {"TimeStamp", time.Now().UTC().Format(time.RFC3339)}}, nil
	}
	return nil, fmt.Errorf("%w: %s", mount.ErrLacks, c.Member)
}

// stated is one entry of devicestate.
type stated struct {
	Name  string
	Value any
}
