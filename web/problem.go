package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"legroom/rig"
)

// String gives a defect on one line.
func (d Defect) String() string {
	e := rig.Error{Pos: rig.Position{File: d.File, Line: d.Line, Col: d.Col}, Path: d.Path, Problem: d.Problem, Remedy: d.Remedy}
	return e.Error()
}

// defects lists what makes a document unreadable, in the words of the loader, files named as paths in the folder.
func (f *folder) defects(err error) []Defect {
	if err == nil {
		return []Defect{}
	}
	var all rig.Errors
	var one *rig.Error
	switch {
	case errors.As(err, &all):
	case errors.As(err, &one):
		all = rig.Errors{one}
	default:
		return []Defect{{Problem: f.plain(err)}}
	}
	out := make([]Defect, len(all))
	for i, e := range all {
		out[i] = Defect{File: f.name(e.Pos.File), Line: e.Pos.Line, Col: e.Pos.Col, Path: e.Path, Problem: e.Problem, Remedy: e.Remedy}
	}
	return out
}

// plain gives an error's text without the folder's own path.
func (f *folder) plain(err error) string {
	return strings.ReplaceAll(err.Error(), f.path+"/", "")
}

// wrong turns an error into the problem that the API answers with.
func (s *server) wrong(err error) error {
	var status huma.StatusError
	var doc rig.Errors
	var one *rig.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &status):
		return err
	case errors.Is(err, errOutside):
		return huma.Error404NotFound(err.Error())
	case errors.Is(err, fs.ErrNotExist):
		return huma.Error404NotFound("there is no such file in the served folder")
	case errors.As(err, &doc), errors.As(err, &one):
		defects := s.folder.defects(err)
		details := make([]error, len(defects))
		for i, d := range defects {
			text := d.Problem
			if d.Remedy != "" {
				text += "; " + d.Remedy
			}
			place := strings.TrimSpace(rig.Position{File: d.File, Line: d.Line, Col: d.Col}.String() + " " + d.Path)
			details[i] = &huma.ErrorDetail{Message: text, Location: place}
		}
		return huma.Error422UnprocessableEntity(defects[0].String(), details...)
	}
	return huma.Error422UnprocessableEntity(s.folder.plain(err))
}

// problem answers with an RFC 9457 document where there is no operation.
func problem(w http.ResponseWriter, status int, format string, args ...any) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(huma.ErrorModel{Title: http.StatusText(status), Status: status, Detail: fmt.Sprintf(format, args...)})
}

// Error, GetStatus and ContentType make a Conflict the answer to a saving.
func (c *Conflict) Error() string             { return c.Detail }
func (c *Conflict) GetStatus() int            { return c.Status }
func (c *Conflict) ContentType(string) string { return "application/problem+json" }
