// Package web serves the local page: an HTTP API over a folder of rigs, and the page that uses it.
//
// The server keeps nothing of what the page works on: a question brings the text of the rig with it, and its answer follows from
// that text, the files beside it and the question alone.
package web

import (
	"context"
	"crypto/sha256"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"sync"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// Options says what a server serves.
type Options struct {
	Folder  string   // of rigs
	Page    fs.FS    // the built page
	Listen  string   // host and port that it listens on, such as 127.0.0.1:7433
	Demo    bool     // the rigs are copies of the examples
	Watch   *Watched // that runs in this process; nil: none
	Journal string   // file of the nights that were watched; "": none
	Key     *Key     // what a browser must show once; nil: none, on loopback
}

// server answers for one folder.
type server struct {
	o      Options
	folder *folder
	works  *works

	mu      sync.Mutex
	waiting map[string]*context.CancelCauseFunc // by page: ends the map that it waits for
}

// New returns the handler of the page and its API. The folder stays open until ctx ends.
func New(ctx context.Context, o Options) (http.Handler, error) {
	path, err := filepath.Abs(o.Folder)
	if err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(path)
	if err != nil {
		return nil, err
	}
	context.AfterFunc(ctx, func() { root.Close() })
	s := &server{o: o, folder: &folder{path: path, root: root}, works: &works{by: map[[sha256.Size]byte]*work{}},
		waiting: map[string]*context.CancelCauseFunc{}}
	mux := http.NewServeMux()
	s.routes(humago.New(mux, config()))
	mux.HandleFunc("/api/", func(w http.ResponseWriter, r *http.Request) {
		problem(w, http.StatusNotFound, "there is nothing at %s %s; /api/openapi.json lists what there is", r.Method, r.URL.Path)
	})
	if o.Watch != nil {
		mux.HandleFunc("GET /metrics", o.Watch.figures)
	}
	mux.HandleFunc("GET "+docsAt, documents)
	mux.Handle("/", page(o.Page))
	return guard(o, mux), nil
}

func init() {
	huma.DefaultArrayNullable = false // lists are written empty, never null; the library has this for all of a program alone
}

// config describes the API; nothing in it loads from elsewhere.
func config() huma.Config {
	c := huma.DefaultConfig("Legroom", "1")
	c.OpenAPIPath, c.DocsPath, c.SchemasPath, c.CreateHooks = "/api/openapi", "", "", nil
	c.Info.Description = "The local page's own interface. It is a planning aid, not a safety function."
	return c
}

// OpenAPI returns the OpenAPI 3.1 document of the API as JSON.
func OpenAPI() ([]byte, error) {
	api := humago.New(http.NewServeMux(), config())
	(&server{}).routes(api)
	return api.OpenAPI().MarshalJSON()
}

func (s *server) routes(api huma.API) {
	s.rigRoutes(api)
	s.beginRoutes(api)
	s.eventRoutes(api)
	s.draftRoutes(api)
	s.poseRoutes(api)
	s.mapRoutes(api)
	s.limitRoutes(api)
	s.targetRoutes(api)
	s.nightRoutes(api)
	s.altitudeRoutes(api)
	s.setupRoutes(api)
	s.exportRoutes(api)
	s.proofRoutes(api)
	s.changeRoutes(api)
	s.loadRoutes(api)
	s.watchRoutes(api)
	s.keyRoutes(api)
	describe(api.OpenAPI())
}

// body is a request or an answer that is one JSON document.
type body[T any] struct{ Body T }
