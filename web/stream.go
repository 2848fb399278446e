package web

import (
	"context"
	"net/http"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/sse"
)

// Progress tells how far an answer is that takes its time.
type Progress struct {
	Done float64 `json:"done" minimum:"0" maximum:"1" doc:"share of the work"`
}

// answerIn is the longest that an answer takes without saying how far it is.
const answerIn = 100 * time.Millisecond

// worked registers a question whose answer takes its time: events tell how far it is, and then comes the answer or what is wrong. It ends
// when the page goes away.
func worked[I, O any](api huma.API, s *server, id, path, summary string, f func(ctx context.Context, in *I, progress func(done float64)) (*O, error)) {
	op := huma.Operation{Method: http.MethodPost, Path: path}
	named(id, summary)(&op)
	sse.Register(api, op, map[string]any{"progress": Progress{}, "answer": *new(O), "problem": huma.ErrorModel{}},
		func(ctx context.Context, in *I, send sse.Sender) {
			var mu sync.Mutex
			var last time.Time
			out, err := f(ctx, in, func(done float64) {
				mu.Lock()
				defer mu.Unlock()
				if time.Since(last) >= answerIn {
					last = time.Now()
					_ = send.Data(Progress{min(max(done, 0), 1)}) // a page that is gone ends the context
				}
			})
			if err != nil {
				_ = send.Data(said(s.wrong(err)))
				return
			}
			_ = send.Data(out)
		})
}

// said is an error as the body of an answer.
func said(err error) *huma.ErrorModel {
	if m, ok := err.(*huma.ErrorModel); ok {
		return m
	}
	return &huma.ErrorModel{Title: http.StatusText(http.StatusUnprocessableEntity), Status: http.StatusUnprocessableEntity, Detail: err.Error()}
}
