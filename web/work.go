package web

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"sync"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// work is what has been worked out for one state of a rig and one way to ask: the gauge, and the finished map once somebody needed it.
type work struct {
	gauge  *room.Gauge
	joints func() error // nil when every joint holds

	mu   sync.Mutex
	fine *room.Map
	gaps []byte // the frame of the finest samples
}

// kept bounds how many works are remembered; a finished map takes a few hundred kilobytes.
const kept = 12

// works remembers the latest works by what they follow from.
type works struct {
	mu    sync.Mutex
	order [][sha256.Size]byte // the latest last
	by    map[[sha256.Size]byte]*work
}

// get returns the work under key, made by f when it is not there.
func (c *works) get(key [sha256.Size]byte, f func() (*work, error)) (*work, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i, k := range c.order {
		if k == key {
			c.order = append(append(c.order[:i:i], c.order[i+1:]...), key)
			return c.by[key], nil
		}
	}
	w, err := f()
	if err != nil {
		return nil, err
	}
	if len(c.order) == kept {
		delete(c.by, c.order[0])
		c.order = c.order[1:]
	}
	c.order = append(c.order, key)
	c.by[key] = w
	return w, nil
}

// work prepares a question, and refuses it while a joint does not hold: then no answer would be proven.
func (s *server) work(a Ask) (*work, error) {
	w, err := s.anyWork(a)
	if err != nil {
		return nil, err
	}
	return w, w.joints()
}

// anyWork is work for what needs no proof: a check, a picture of the rig.
func (s *server) anyWork(a Ask) (*work, error) {
	text, err := s.text(a.Draft)
	if err != nil {
		return nil, err
	}
	r, err := rig.Parse(text, s.folder.on(rigFile(a.ID)))
	if err != nil {
		return nil, err
	}
	key, err := json.Marshal([]any{a.ID, s.folder.version(text, s.folder.names(r.Files())), a.Tolerance, a.MarginMM, a.With, a.Without})
	if err != nil {
		return nil, err
	}
	return s.works.get(sha256.Sum256(key), func() (*work, error) { return newWork(r, a) })
}

func newWork(r *rig.Rig, a Ask) (*work, error) {
	if a.MarginMM != nil {
		r.MarginMM.Value = *a.MarginMM
	}
	known, err := r.Known(a.With, a.Without)
	if err != nil {
		return nil, err
	}
	m, err := axes.NewModel(r, known)
	if err != nil {
		return nil, err
	}
	g, err := room.NewGauge(m, room.Options{Mode: rig.ToleranceMode(a.Tolerance)})
	if err != nil {
		return nil, err
	}
	return &work{gauge: g, joints: sync.OnceValue(g.JointsHold)}, nil
}

// fineDeg is the smallest cell of the map that limits and slews are read from, degrees, as on the command line.
const fineDeg = 0.25

// fineMap returns the finished map. Two that ask at once wait for one, unless that one gives up.
func (w *work) fineMap(ctx context.Context) (*room.Map, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.fine != nil {
		return w.fine, nil
	}
	m, err := room.NewMap(ctx, w.gauge, room.MapOptions{CellDeg: fineDeg})
	if err == nil {
		w.fine = m
	}
	return m, err
}
