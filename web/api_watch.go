package web

import (
	"bytes"
	"context"
	"net/http"
	"path/filepath"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/sse"

	"legroom/axes"
	"legroom/report"
	"legroom/room"
	"legroom/watch"
	"legroom/watch/journal"
	"legroom/watch/metrics"
)

// Watched is the watch that runs in this process. Its loop belongs to whoever started it: the page shows it, and passes the owner's
// word on.
type Watched struct {
	Watch *watch.Watch
	Gauge *room.Gauge // what the watch answers by
	// Journal is what becomes of the journal; nil without one.
	Journal func() journal.Stats
}

// figures answers with how the watch does, as OpenMetrics text.
func (w *Watched) figures(out http.ResponseWriter, _ *http.Request) {
	var stats *journal.Stats
	if w.Journal != nil {
		now := w.Journal()
		stats = &now
	}
	status := w.Watch.Status()
	var b bytes.Buffer
	if err := metrics.Write(&b, &status, stats, time.Now(), w.Watch.Period()); err != nil {
		problem(out, http.StatusInternalServerError, "%v", err)
		return
	}
	out.Header().Set("Content-Type", metrics.ContentType)
	_, _ = b.WriteTo(out) // whoever asked may be gone
}

// stepEvery is how often it is looked whether the loop has come round.
const stepEvery = 50 * time.Millisecond

// watchRoutes are what the place Watch asks. Without a watch in this process each but the first is refused.
func (s *server) watchRoutes(api huma.API) {
	huma.Get(api, "/api/watch", func(context.Context, *struct{}) (*body[WatchDoc], error) {
		return &body[WatchDoc]{s.watchDoc()}, nil
	}, named("watch", "Whether a watch runs in this process, and what it watches"))
	sse.Register(api, huma.Operation{OperationID: "watchStream", Method: http.MethodGet, Path: "/api/watch/stream",
		Summary: "The watch's state at every step of its loop from now on, and its events"},
		map[string]any{"step": WatchStep{}, "events": WatchEvents{}},
		func(ctx context.Context, in *afterIn, send sse.Sender) {
			if w := s.o.Watch; w != nil {
				w.stream(ctx, in.After, send)
			}
		})
	huma.Get(api, "/api/watch/events", func(_ context.Context, in *afterIn) (*body[WatchEvents], error) {
		w, err := s.watched()
		if err != nil {
			return nil, err
		}
		return &body[WatchEvents]{WatchEvents{after(w.Watch, in.After)}}, nil
	}, named("watchEvents", "The watch's events, the oldest first, 500 at most", http.StatusConflict))
	s.watchOrders(api)
	s.journalRoutes(api)
}

// watchOrders are the owner's words to the watch.
func (s *server) watchOrders(api huma.API) {
	order(s, api, "stop", "Stop the mount now, and keep it stopped", func(_ context.Context, w *watch.Watch, _ *struct{}) error {
		w.Stop()
		return nil
	})
	order(s, api, "release", "Let go of a stop that was ordered; nothing moves by that", func(_ context.Context, w *watch.Watch, _ *struct{}) error {
		return w.Release()
	})
	order(s, api, "park", "Park, if the way there is proven", func(ctx context.Context, w *watch.Watch, _ *struct{}) error {
		return w.Park(ctx)
	})
	order(s, api, "acknowledge", "Say that an alarm was heard; it stays until it is over", func(_ context.Context, w *watch.Watch, in *body[Heard]) error {
		return w.Acknowledge(in.Body.Key)
	})
	order(s, api, "snooze", "Silence the warning before a stop; the stop comes when it is due", func(_ context.Context, w *watch.Watch, in *body[Snooze]) error {
		return w.Snooze(time.Duration(in.Body.Minutes * float64(time.Minute)))
	})
	order(s, api, "confirm", "Say that the rig was looked at, and stands as the mount says", func(_ context.Context, w *watch.Watch, in *body[Looked]) error {
		side, err := axes.ParseSide(in.Body.Side)
		if err != nil {
			return err
		}
		return w.ConfirmReference(side)
	})
}

// order registers one word of the owner. What the watch says no to is a 409 in its words.
func order[I any](s *server, api huma.API, name, summary string, do func(context.Context, *watch.Watch, *I) error) {
	huma.Post(api, "/api/watch/"+name, func(ctx context.Context, in *I) (*struct{}, error) {
		w, err := s.watched()
		if err != nil {
			return nil, err
		}
		if err := do(ctx, w.Watch, in); err != nil {
			return nil, huma.Error409Conflict(err.Error())
		}
		return nil, nil
	}, named("watch"+strings.ToUpper(name[:1])+name[1:], summary, http.StatusConflict))
}

// watched is the watch of this process.
func (s *server) watched() (*Watched, error) {
	if s.o.Watch == nil {
		return nil, huma.Error409Conflict("no watch runs in this process; start one with: " + startWatch)
	}
	return s.o.Watch, nil
}

// startWatch is the command that watches and serves the page.
const startWatch = "legroom watch RIG --mount ADDRESS --listen 127.0.0.1:7433 --journal FILE"

type afterIn struct {
	After int64 `query:"after" minimum:"0" doc:"the last event that is known; 0: all"`
}

func after(w *watch.Watch, id int64) []watch.Event {
	if list := w.Events(id); list != nil {
		return list
	}
	return []watch.Event{}
}

func (s *server) watchDoc() WatchDoc {
	w := s.o.Watch
	if w == nil {
		return WatchDoc{Start: startWatch, Notes: []string{}, CrossingMM: []float64{}, Parts: []report.PartDoc{}}
	}
	g := w.Gauge
	m, r := g.Model, g.Model.Rig
	st := w.Watch.Status()
	d := WatchDoc{Running: true, Start: startWatch, Started: &st.Started, Mount: st.Mount, Driver: strings.TrimSpace(st.Desc.Name + " " + st.Desc.Version),
		Notes: append([]string{}, st.Desc.Notes...), Rig: r.Name, Fingerprint: st.Print, MarginMM: g.MarginMM, TimeZone: r.Site.TimeZone,
		Head: headOf(m), CrossingMM: m.Assembly.CrossingMM[:], Protect: &st.Protect, CanPark: st.Desc.Can.Park && r.Mount.Park != nil,
		Parts: report.Parts(m, axes.Angles{})}
	d.ID = s.watchedID()
	return d
}

// watchedID is the id of the rig that is watched; empty when no watch runs here, or its rig lies elsewhere.
func (s *server) watchedID() string {
	if s.o.Watch == nil {
		return ""
	}
	path := s.o.Watch.Gauge.Model.Rig.Path
	file := s.folder.name(path)
	if path == "" || s.folder.on(file) != absolute(path) {
		return ""
	}
	return strings.TrimSuffix(file, ".yaml")
}

func absolute(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		return abs
	}
	return path
}

// stream sends what each step of the loop gives and each event, until the page goes away. A state is sent when the loop has just
// come round and never again, so that what arrives is no older than its way here; when the loop does not come round, nothing does.
func (w *Watched) stream(ctx context.Context, last int64, send sse.Sender) {
	events, end := w.Watch.Subscribe()
	defer end()
	tell := func() error {
		list := after(w.Watch, last)
		if len(list) == 0 {
			return nil
		}
		last = list[len(list)-1].ID
		return send.Data(WatchEvents{list})
	}
	st := w.Watch.Status()
	if first := w.Watch.Events(0); len(first) > 0 && last > first[len(first)-1].ID {
		last = 0 // the page knows another watch's events
	}
	if tell() != nil {
		return
	}
	seen := st.At
	tick := time.NewTicker(stepEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-events:
			if tell() != nil {
				return
			}
		case <-tick.C:
			if st = w.Watch.Status(); st.At.Equal(seen) {
				continue
			}
			seen = st.At
			if send.Data(w.step(st)) != nil {
				return
			}
		}
	}
}

// step adds to a state what the picture of the rig needs.
func (w *Watched) step(st watch.Status) WatchStep {
	d := WatchStep{Status: st, Nearest: []report.Nearest{}, Safe: st.Safe(st.At, time.Second)}
	d.Blind, d.BlindWhy, d.Alarms = append([]watch.Reason{}, st.Blind...), append([]string{}, st.BlindWhy...), append([]watch.AlarmState{}, st.Alarms...)
	if c := st.Sample; c != nil && c.RAAxisDeg != nil && c.DecAxisDeg != nil {
		at := axes.Angles{RA: axes.Rad(*c.RAAxisDeg), Dec: axes.Rad(*c.DecAxisDeg)}
		d.Nearest = report.Pairs(w.Gauge.Model, w.Gauge.Nearest(at, nearestPairs))
		on := func(side axes.Side) AxisAngles {
			g := w.Gauge.Model.Head.Angles(axes.Pose{Side: side, HourAngle: axes.Rad(15 * c.HourH), Dec: axes.Rad(c.DecDeg)})
			return AxisAngles{axes.Deg(g.RA), axes.Deg(g.Dec)}
		}
		d.Sides = &SideAngles{on(axes.West), on(axes.East)}
	}
	return d
}

// nearestPairs is how many pairs the place Watch lists.
const nearestPairs = 5

// WatchDoc is what a watch watches: what stays the same while it runs.
type WatchDoc struct {
	Running     bool             `json:"running"`
	Start       string           `json:"start" doc:"the command that starts one"`
	Started     *time.Time       `json:"started"`
	ID          string           `json:"id" doc:"of the rig in the served folder; empty when it lies elsewhere"`
	Mount       string           `json:"mount" doc:"its address"`
	Driver      string           `json:"driver" doc:"what the driver calls the mount"`
	Notes       []string         `json:"notes" doc:"what the driver lacks or does against the standard"`
	Rig         string           `json:"rig"`
	Fingerprint string           `json:"fingerprint"`
	MarginMM    float64          `json:"margin_mm"`
	TimeZone    string           `json:"time_zone" doc:"of the site"`
	CanPark     bool             `json:"can_park"`
	Protect     *watch.Protected `json:"protect,omitempty"`
	Head        *Head            `json:"head,omitempty"`
	CrossingMM  []float64        `json:"crossing_mm"`
	Parts       []report.PartDoc `json:"parts" doc:"placed as with both axes at 0"`
}

// WatchStep is the watch's state after one step of its loop.
type WatchStep struct {
	watch.Status
	Safe    bool             `json:"safe" doc:"as the safety monitor has it: nothing blind, no stop due or under way"`
	Nearest []report.Nearest `json:"nearest" doc:"the nearest pairs where the axes are, or on the tighter side while the side is not known; closest first"`
	Sides   *SideAngles      `json:"sides,omitempty" doc:"the axis angles by which the mount points there, on each side; whole turns may be missing"`
}

// SideAngles are the axis angles of one direction on each side.
type SideAngles struct {
	West AxisAngles `json:"west"`
	East AxisAngles `json:"east"`
}

// WatchEvents are events in their order.
type WatchEvents struct {
	Events []watch.Event `json:"events"`
}

// Heard names an alarm.
type Heard struct {
	Key string `json:"key" minLength:"1" maxLength:"100"`
}

// Snooze is how long a warning is to be silent.
type Snooze struct {
	Minutes float64 `json:"minutes" exclusiveMinimum:"0" maximum:"30"`
}

// Looked is what the owner saw at the rig.
type Looked struct {
	Side string `json:"side" enum:"west,east" doc:"the pointing state"`
}
