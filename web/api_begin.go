package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"legroom/rig"
)

// copyIn is a text to keep beside a rig's file.
type copyIn struct {
	ID   string `path:"id" maxLength:"400" doc:"the rig's id, with slashes escaped as %2F"`
	Body struct {
		Text string `json:"text" doc:"the main file of the copy"`
	}
}

// beginRoutes are for what is not on disk yet: a new rig before it is written, and a draft whose file someone else has changed.
func (s *server) beginRoutes(api huma.API) {
	huma.Post(api, "/api/begin", func(_ context.Context, in *struct{ Body Choice }) (*body[Edited], error) {
		data, err := rig.NewDocument(newOptions(in.Body))
		if err != nil {
			return nil, s.wrong(err)
		}
		return &body[Edited]{Edited{Text: string(data), Doc: s.read("new", data)}}, nil
	}, named("begin", "What a new rig from templates would be; nothing is written"))
	huma.Post(api, "/api/rigs/{id}/copies", s.postCopy, named("postCopy", "Write a text to a new file beside a rig's", http.StatusNotFound))
}

func newOptions(c Choice) rig.NewOptions {
	return rig.NewOptions{Name: c.Name, LatitudeDeg: c.LatitudeDeg, LongitudeDeg: c.LongitudeDeg, ElevationM: c.ElevationM, TimeZone: c.TimeZone,
		Support: c.Support, Extension: c.Extension, Mount: c.Mount, Tube: c.Tube, Answers: c.Answers}
}

// postCopy writes a draft to a file of its own in the rig's folder, so that the files it takes sections from are found. A draft
// that cannot be read is kept too: it is the owner's work.
func (s *server) postCopy(_ context.Context, in *copyIn) (*body[RigText], error) {
	if err := s.folder.check(rigFile(in.ID)); err != nil {
		return nil, s.wrong(err)
	}
	data := []byte(in.Body.Text)
	for i := 1; i <= 1000; i++ {
		id := strings.TrimSuffix(in.ID, ".yml") + "-copy"
		if i > 1 {
			id = fmt.Sprintf("%s-%d", id, i)
		}
		f, err := s.folder.root.OpenFile(filepath.FromSlash(rigFile(id)), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err == nil {
			_, err = f.Write(data)
			if e := f.Close(); err == nil {
				err = e
			}
			if err != nil {
				err = errors.Join(err, s.folder.root.Remove(filepath.FromSlash(rigFile(id))))
			}
		}
		if err != nil {
			return nil, s.unwritten(rigFile(id), err)
		}
		return &body[RigText]{s.textOf(id, data)}, nil
	}
	return nil, huma.Error409Conflict("there are a thousand copies of " + in.ID + " already; remove some")
}
