package web

import (
	"context"
	"net/http"
	"reflect"
	"runtime/debug"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/sse"

	"legroom/report"
	"legroom/rig"
)

// rigPath names a rig in the path of a request; its slashes are escaped there.
type rigPath struct {
	ID string `path:"id" maxLength:"400" doc:"the rig's id, with slashes escaped as %2F"`
}

func (s *server) rigRoutes(api huma.API) {
	huma.Get(api, "/api/health", func(context.Context, *struct{}) (*body[Health], error) {
		return &body[Health]{Health{Program: "legroom", Version: version(), Listen: s.o.Listen, Demo: s.o.Demo}}, nil
	}, named("health", "Is the server there"))
	huma.Get(api, "/api/rigs", func(context.Context, *struct{}) (*body[[]RigEntry], error) {
		list, err := s.folder.rigs()
		return &body[[]RigEntry]{list}, err
	}, named("listRigs", "The rigs of the folder"))
	huma.Get(api, "/api/rigs/{id}", func(_ context.Context, in *rigPath) (*body[RigText], error) {
		r, err := s.stored(in.ID)
		return &body[RigText]{r}, err
	}, named("getRig", "A rig as it stands on disk"))
	huma.Put(api, "/api/rigs/{id}", s.putRig, named("putRig", "Write a rig over the version that was read"), conflicting(api))
	huma.Post(api, "/api/rigs", s.postRig, named("postRig", "A new rig from templates", http.StatusConflict))
	huma.Get(api, "/api/templates", func(context.Context, *struct{}) (*body[report.TemplatesDoc], error) {
		return &body[report.TemplatesDoc]{report.Templates()}, nil
	}, named("templates", "What a new rig can start from"))
	huma.Post(api, "/api/lengths", func(_ context.Context, in *struct{ Body Chosen }) (*body[report.LengthsDoc], error) {
		c := in.Body
		doc, err := report.Lengths(rig.NewOptions{Support: c.Support, Extension: c.Extension, Mount: c.Mount, Tube: c.Tube})
		return &body[report.LengthsDoc]{doc}, defective(err)
	}, named("lengths", "The lengths that templates ask for"))
	sse.Register(api, huma.Operation{OperationID: "events", Method: http.MethodGet, Path: "/api/events", Summary: "What changes on disk, looked at once a second"},
		map[string]any{"rigs": RigsEvent{}, "file": FileEvent{}},
		func(ctx context.Context, _ *struct{}, send sse.Sender) { s.watch(ctx, time.Second, send) })
}

// Chosen names the templates of a new rig.
type Chosen struct {
	Support   string `json:"support"`
	Extension string `json:"extension,omitempty"`
	Mount     string `json:"mount"`
	Tube      string `json:"tube"`
}

// conflicting says what an operation answers when the file has changed meanwhile.
func conflicting(api huma.API) func(*huma.Operation) {
	return func(o *huma.Operation) {
		schema := api.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[Conflict](), true, "")
		o.Responses = map[string]*huma.Response{"409": {Description: "the file has changed meanwhile; nothing is written",
			Content: map[string]*huma.MediaType{"application/problem+json": {Schema: schema}}}}
	}
}

// version is the program's own.
func version() string {
	if b, ok := debug.ReadBuildInfo(); ok && b.Main.Version != "" {
		return b.Main.Version
	}
	return "unknown"
}

// named gives an operation its name, and lists the problems that it answers with beside the usual ones.
func named(id, summary string, problems ...int) func(*huma.Operation) {
	return func(o *huma.Operation) {
		o.OperationID, o.Summary = id, summary
		o.Errors = append(problems, http.StatusUnprocessableEntity)
	}
}
