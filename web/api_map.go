package web

import (
	"compress/gzip"
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"reflect"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"legroom/report"
	"legroom/room"
)

// framesType is the media type of a map.
const framesType = "application/vnd.legroom.frames"

type mapIn struct {
	AcceptEncoding string `header:"Accept-Encoding" hidden:"true"`
	Body           struct {
		Ask
		Page    string    `json:"page" minLength:"1" maxLength:"100" doc:"names the page: a newer question of the same page ends this one"`
		CellDeg []float64 `json:"cell_deg,omitempty" maxItems:"8" doc:"smallest cells of the frames, degrees, 0.1 to 6, each smaller than the one before; [2, 0.25] when left out"`
	}
}

func (s *server) mapRoutes(api huma.API) {
	huma.Post(api, "/api/map", s.streamMap, named("map", "The room map, what is proven coarse first"), func(o *huma.Operation) {
		head := api.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[FrameHead](), true, "")
		o.Responses = map[string]*huma.Response{"200": {Description: "frames, one after the other: see FrameHead", Content: map[string]*huma.MediaType{
			framesType: {Schema: &huma.Schema{Description: "the JSON of each frame", OneOf: []*huma.Schema{head}}}}}}
	})
}

// errSuperseded ends a map that the page does not wait for any more.
var errSuperseded = errors.New("superseded by a newer question of the same page")

// begin takes the place of the page's last map, which ends. The returned end must be called.
func (s *server) begin(ctx context.Context, page string) (_ context.Context, end func()) {
	ctx, cancel := context.WithCancelCause(ctx)
	s.mu.Lock()
	if old := s.waiting[page]; old != nil {
		(*old)(errSuperseded)
	}
	s.waiting[page] = &cancel
	s.mu.Unlock()
	return ctx, func() {
		s.mu.Lock()
		if s.waiting[page] == &cancel {
			delete(s.waiting, page)
		}
		s.mu.Unlock()
		cancel(nil)
	}
}

func (s *server) streamMap(ctx context.Context, in *mapIn) (*huma.StreamResponse, error) {
	cells := in.Body.CellDeg
	if len(cells) == 0 {
		cells = []float64{2, fineDeg}
	}
	for i, c := range cells {
		if !(c >= 0.1 && c <= 6) || i > 0 && c >= cells[i-1] {
			return nil, huma.Error422UnprocessableEntity("cell_deg: give degrees from 6 down to 0.1, each smaller than the one before")
		}
	}
	ctx, end := s.begin(ctx, in.Body.Page)
	w, err := s.work(in.Body.Ask)
	if err != nil {
		end()
		return nil, s.wrong(err)
	}
	return &huma.StreamResponse{Body: func(hc huma.Context) {
		defer end()
		hc.SetHeader("Content-Type", framesType)
		out := &frameWriter{ctx: hc.Context(), out: hc.BodyWriter()}
		if far(hc.RemoteAddr()) && strings.Contains(in.AcceptEncoding, "gzip") {
			hc.SetHeader("Content-Encoding", "gzip")
			out.zip, _ = gzip.NewWriterLevel(hc.BodyWriter(), gzip.BestSpeed)
		}
		last := w.head("end")
		share, err := w.stream(ctx, cells, out.write)
		if err != nil {
			if cause := context.Cause(ctx); cause != nil {
				err = cause
			}
			last.Problem = s.folder.plain(err)
		} else {
			last.Room, last.Last = &share, true
		}
		_ = out.write(frame(last, nil)) // a page that is gone needs no end
		out.close()
	}}, nil
}

// stream works the frames of a map out and sends them: what is proven in coarse cells, a few gaps, then finer of both. What
// was finished before is sent at once.
func (w *work) stream(ctx context.Context, cells []float64, send func([]byte) error) (report.ShareDoc, error) {
	var m *room.Map
	for i, cell := range cells {
		last := i == len(cells)-1
		done := w.finished(cells[len(cells)-1])
		if done != nil && !last {
			continue
		}
		var err error
		switch {
		case done != nil:
			m = done
		case cell == fineDeg:
			m, err = w.fineMap(ctx)
		default:
			m, err = room.NewMap(ctx, w.gauge, room.MapOptions{CellDeg: cell})
		}
		if err == nil {
			err = send(w.stateFrame(m, last))
		}
		if err == nil && i == 0 && !last {
			err = w.sendGaps(ctx, m, gapSteps[:1], send)
		}
		if err != nil {
			return report.ShareDoc{}, err
		}
	}
	if err := w.sendGaps(ctx, m, gapSteps[1:], send); err != nil {
		return report.ShareDoc{}, err
	}
	return report.Room(m), ctx.Err()
}

// gapSteps are the spacings of the samples for colour, degrees. Between them the gap is smooth enough to be interpolated.
var gapSteps = []float64{10, 5, 2.5}

// finished gives the map of that cell when it is there already.
func (w *work) finished(cell float64) *room.Map {
	w.mu.Lock()
	defer w.mu.Unlock()
	if cell == fineDeg {
		return w.fine
	}
	return nil
}

// sendGaps sends samples of both sides at each spacing, or at once the finest when they were taken before.
func (w *work) sendGaps(ctx context.Context, m *room.Map, steps []float64, send func([]byte) error) error {
	finest := gapSteps[len(gapSteps)-1]
	w.mu.Lock()
	ready := w.gaps
	w.mu.Unlock()
	if ready != nil {
		if steps[len(steps)-1] != finest {
			return nil
		}
		return send(ready)
	}
	for _, step := range steps {
		west, east, err := report.Grids(ctx, m, report.GridOptions{StepDeg: step})
		if err != nil {
			return err
		}
		bytes := w.gapFrame(west, east, step == finest)
		if step == finest {
			w.mu.Lock()
			w.gaps = bytes
			w.mu.Unlock()
		}
		if err := send(bytes); err != nil {
			return err
		}
	}
	return nil
}

// far tells whether a page is on another machine: only then is it worth packing what it gets.
func far(addr string) bool {
	host, _, err := net.SplitHostPort(addr)
	ip := net.ParseIP(host)
	return err == nil && ip != nil && !ip.IsLoopback()
}

// frameWriter sends each frame on its way at once.
type frameWriter struct {
	ctx context.Context // of the request
	out io.Writer
	zip *gzip.Writer
}

// writeWithin is how long a page may take to read one frame.
const writeWithin = 20 * time.Second

func (f *frameWriter) write(b []byte) error {
	w, ok := f.out.(http.ResponseWriter)
	if !ok {
		return errors.New("the answer cannot be streamed")
	}
	c := http.NewResponseController(w)
	if err := c.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return err
	}
	if f.ctx.Err() != nil { // else what hurries it comes after this
		_ = c.SetWriteDeadline(time.Now().Add(lastWithin))
	}
	if f.zip == nil {
		if _, err := f.out.Write(b); err != nil {
			return err
		}
		return c.Flush()
	}
	if _, err := f.zip.Write(b); err != nil {
		return err
	}
	if err := f.zip.Flush(); err != nil {
		return err
	}
	return c.Flush()
}

func (f *frameWriter) close() {
	if f.zip != nil {
		_ = f.zip.Close()
	}
}
