package web

import (
	"context"
	"maps"
	"net/http"
	"reflect"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/sse"
)

// lookEvery is how often the folder is looked at for what changed on disk.
const lookEvery = time.Second

func (s *server) eventRoutes(api huma.API) {
	sse.Register(api, huma.Operation{OperationID: "events", Method: http.MethodGet, Path: "/api/events", Summary: "What changes on disk, looked at once a second; and the watch of this process, its state at every step and its events"},
		map[string]any{"rigs": RigsEvent{}, "file": FileEvent{}, "watch": WatchDoc{}, "step": WatchStep{}, "events": WatchEvents{}},
		func(ctx context.Context, in *afterIn, send sse.Sender) { s.tell(ctx, in.After, send) })
}

// tell tells one page all that it must hear by itself until it goes away. It is one stream: a browser has six connections to a server,
// for all its tabs.
func (s *server) tell(ctx context.Context, after int64, send sse.Sender) {
	var mu sync.Mutex
	one := sse.Sender(func(m sse.Message) error {
		mu.Lock()
		defer mu.Unlock()
		return send(m)
	})
	if one.Data(s.watchDoc()) != nil {
		return
	}
	var wg sync.WaitGroup
	defer wg.Wait()
	if w := s.o.Watch; w != nil {
		ctx, end := context.WithCancel(ctx)
		defer end()
		wg.Go(func() { w.stream(ctx, after, one) })
	}
	s.watch(ctx, one)
}

// watch tells one page what changes in the folder until the page goes away: the list at once, then what is new.
func (s *server) watch(ctx context.Context, send sse.Sender) {
	stamps, _ := s.folder.files()
	list, err := s.rigs()
	if err != nil || send.Data(RigsEvent{list}) != nil {
		return
	}
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		now, err := s.folder.files()
		if err != nil || maps.Equal(now, stamps) {
			continue
		}
		stamps = now
		next, err := s.rigs()
		if err != nil {
			continue
		}
		before := map[string]RigEntry{}
		for _, e := range list {
			before[e.ID] = e
		}
		if !reflect.DeepEqual(next, list) && send.Data(RigsEvent{next}) != nil {
			return
		}
		for _, e := range next {
			if old, known := before[e.ID]; known && old.Version != e.Version {
				if send.Data(FileEvent{e.ID, e.Version}) != nil {
					return
				}
			}
		}
		list = next
	}
}
