package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"strings"
	"unicode"

	"github.com/danielgtaylor/huma/v2"

	"legroom/report"
	"legroom/rig"
)

// rigPath names a rig in the path of a request; its slashes are escaped there.
type rigPath struct {
	ID string `path:"id" maxLength:"400" doc:"the rig's id, with slashes escaped as %2F"`
}

func (s *server) rigRoutes(api huma.API) {
	huma.Get(api, "/api/health", func(context.Context, *struct{}) (*body[Health], error) {
		return &body[Health]{Health{Program: "legroom", Version: report.Version().Version, Listen: s.o.Listen, Demo: s.o.Demo}}, nil
	}, named("health", "Is the server there"))
	huma.Get(api, "/api/rigs", func(context.Context, *struct{}) (*body[[]RigEntry], error) {
		list, err := s.rigs()
		return &body[[]RigEntry]{list}, s.wrong(err)
	}, named("listRigs", "The rigs of the folder"))
	huma.Get(api, "/api/rigs/{id}", func(_ context.Context, in *rigPath) (*body[RigText], error) {
		r, err := s.stored(in.ID)
		return &body[RigText]{r}, s.wrong(err)
	}, named("getRig", "A rig as it stands on disk", http.StatusNotFound))
	huma.Put(api, "/api/rigs/{id}", s.putRig, named("putRig", "Write a rig over the version that was read", http.StatusNotFound), conflicting(api))
	huma.Post(api, "/api/rigs", s.postRig, named("postRig", "A new rig from templates", http.StatusConflict))
	huma.Get(api, "/api/templates", func(context.Context, *struct{}) (*body[report.TemplatesDoc], error) {
		return &body[report.TemplatesDoc]{report.Templates()}, nil
	}, named("templates", "What a new rig can start from"))
	huma.Post(api, "/api/lengths", func(_ context.Context, in *struct{ Body Chosen }) (*body[report.LengthsDoc], error) {
		c := in.Body
		doc, err := report.Lengths(rig.NewOptions{Support: c.Support, Extension: c.Extension, Mount: c.Mount, Tube: c.Tube})
		return &body[report.LengthsDoc]{doc}, s.wrong(err)
	}, named("lengths", "The lengths that templates ask for"))
}

// rigs lists the rigs of the folder, and says which of them is watched.
func (s *server) rigs() ([]RigEntry, error) {
	list, err := s.folder.rigs()
	watched := s.watchedID()
	for i := range list {
		list[i].Watched = watched != "" && list[i].ID == watched
	}
	return list, err
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

// named gives an operation its name, and lists the problems that it answers with beside the usual ones.
func named(id, summary string, problems ...int) func(*huma.Operation) {
	return func(o *huma.Operation) {
		o.OperationID, o.Summary = id, summary
		o.Errors = append(problems, http.StatusUnprocessableEntity)
		o.BodyReadTimeout = -1 // the guard has read the body; a deadline left behind would end long answers
	}
}

// stored reads a rig as it stands on disk.
func (s *server) stored(id string) (RigText, error) {
	data, err := s.folder.read(rigFile(id))
	if err != nil {
		return RigText{}, err
	}
	return s.textOf(id, data), nil
}

// textOf describes a rig whose main file holds data.
func (s *server) textOf(id string, data []byte) RigText {
	doc := s.read(id, data)
	return RigText{ID: id, Version: s.folder.version(data, doc.Files), Text: string(data), Doc: doc}
}

// putIn is a text to write over the version that was read.
type putIn struct {
	ID   string `path:"id" maxLength:"400" doc:"the rig's id, with slashes escaped as %2F"`
	Body Saving
}

// putRig writes a rig that can be read over the version that the page's text was made from.
func (s *server) putRig(_ context.Context, in *putIn) (*body[RigText], error) {
	name := rigFile(in.ID)
	data, err := s.folder.read(name)
	if err != nil {
		return nil, s.wrong(err)
	}
	file := s.folder.on(name)
	text := []byte(in.Body.Text)
	if in.Body.Version != s.folder.version(data, s.folder.sources(name, data)) {
		return nil, s.conflict(in.ID, name)
	}
	if _, err := rig.Parse(text, file); err != nil {
		return nil, s.wrong(err)
	}
	d, err := rig.OpenDocument(file)
	if err != nil {
		return nil, s.wrong(err)
	}
	if string(d.Bytes()) != string(data) {
		return nil, s.conflict(in.ID, name)
	}
	if err := d.Replace(text); err != nil {
		return nil, s.wrong(err)
	}
	if err := d.WriteFile(file); errors.Is(err, rig.ErrChanged) {
		return nil, s.conflict(in.ID, name)
	} else if err != nil {
		return nil, s.unwritten(name, err)
	}
	return &body[RigText]{s.textOf(in.ID, text)}, nil
}

// conflict says what stands on disk now.
func (s *server) conflict(id, name string) error {
	c := &Conflict{Title: http.StatusText(http.StatusConflict), Status: http.StatusConflict,
		Detail: name + " has changed on disk since it was read; nothing is written"}
	if data, err := s.folder.read(name); err == nil {
		c.Text, c.Version = string(data), s.folder.version(data, s.folder.sources(name, data))
	}
	return c
}

// unwritten says why a file could not be written; nothing of it is there.
func (s *server) unwritten(name string, err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		err = at.Err
	}
	return huma.Error500InternalServerError(name + " cannot be written, and is as it was: " + s.folder.plain(err))
}

// postRig starts a rig from templates, in a file that is not there yet.
func (s *server) postRig(_ context.Context, in *struct{ Body Choice }) (*body[RigText], error) {
	c := in.Body
	id := c.ID
	if id == "" {
		id = s.freeID(c.Name)
	}
	name := rigFile(id)
	if err := s.folder.check(name); err != nil {
		return nil, s.wrong(err)
	}
	if strings.TrimSpace(c.Name) == "" {
		return nil, huma.Error422UnprocessableEntity("the name is empty; give the rig a name, such as Terrace")
	}
	data, err := rig.NewDocument(newOptions(c))
	if err != nil {
		return nil, s.wrong(err)
	}
	d, err := rig.EditDocument(data)
	if err != nil {
		return nil, s.wrong(err)
	}
	file := s.folder.on(name)
	if _, err := os.Lstat(file); err == nil {
		return nil, huma.Error409Conflict(name + " is there already; give another id")
	}
	if err := d.WriteFile(file); errors.Is(err, fs.ErrExist) {
		return nil, huma.Error409Conflict(name + " is there already; give another id")
	} else if err != nil {
		return nil, s.unwritten(name, err)
	}
	return &body[RigText]{s.textOf(id, data)}, nil
}

// freeID makes an id of a rig's name that no file has.
func (s *server) freeID(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	base := strings.Join(words, "-")
	if len(base) > 60 {
		base = strings.ToValidUTF8(base[:60], "")
	}
	if base == "" {
		base = "rig"
	}
	id := base
	for i := 2; ; i++ {
		if _, err := s.folder.root.Lstat(filepath.FromSlash(path.Clean(rigFile(id)))); errors.Is(err, fs.ErrNotExist) || i > 1000 {
			return id
		}
		id = base + fmt.Sprintf("-%d", i)
	}
}
