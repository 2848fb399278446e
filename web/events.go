package web

import (
	"context"
	"maps"
	"net/http"
	"reflect"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/sse"
)

// lookEvery is how often the folder is looked at for what changed on disk.
const lookEvery = time.Second

func (s *server) eventRoutes(api huma.API) {
	sse.Register(api, huma.Operation{OperationID: "events", Method: http.MethodGet, Path: "/api/events", Summary: "What changes on disk, looked at once a second"},
		map[string]any{"rigs": RigsEvent{}, "file": FileEvent{}},
		func(ctx context.Context, _ *struct{}, send sse.Sender) { s.watch(ctx, send) })
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
