package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"legroom/report"
	"legroom/rig"
)

type setupIn struct {
	ID      string   `path:"id" maxLength:"400" doc:"the rig's id, with slashes escaped as %2F"`
	Date    string   `query:"date" format:"date" doc:"the evening's; tonight's when left out"`
	Without []string `query:"without,explode" maxItems:"100" doc:"conditions that do not hold"`
}

// SetupSeen is a set-up list to which the owner, looking at the rig, has said yes in every line.
type SetupSeen struct {
	Night       string          `json:"night" format:"date"`
	Fingerprint string          `json:"fingerprint" doc:"of the rig that the owner saw the list of"`
	Without     []string        `json:"without,omitempty" maxItems:"100" doc:"conditions confirmed not to hold"`
	Lines       []rig.SetupLine `json:"lines" maxItems:"7" doc:"the list as the owner saw it"`
}

type setupPutIn struct {
	ID   string `path:"id" maxLength:"400" doc:"the rig's id, with slashes escaped as %2F"`
	Body SetupSeen
}

func (s *server) setupRoutes(api huma.API) {
	huma.Get(api, "/api/rigs/{id}/setup", func(_ context.Context, in *setupIn) (*body[report.ConfirmDoc], error) {
		return s.setup(in, func(*rig.Rig) error { return nil })
	}, named("getSetup", "The set-up list of the rig as it stands on disk, and whether it is confirmed for a night", http.StatusNotFound))
	huma.Put(api, "/api/rigs/{id}/setup", s.putSetup, named("putSetup", "Confirm the set-up list for a night", http.StatusNotFound, http.StatusConflict))
	huma.Delete(api, "/api/rigs/{id}/setup", func(_ context.Context, in *setupIn) (*body[report.ConfirmDoc], error) {
		return s.setup(in, func(r *rig.Rig) error { _, err := r.Withdraw(); return err })
	}, named("deleteSetup", "Take the confirmation back", http.StatusNotFound))
}

// setup reads a rig from disk, does something with it and says how its set-up stands after that.
func (s *server) setup(in *setupIn, do func(*rig.Rig) error) (*body[report.ConfirmDoc], error) {
	data, err := s.folder.read(rigFile(in.ID))
	if err != nil {
		return nil, s.wrong(err)
	}
	r, err := rig.Parse(data, s.folder.on(rigFile(in.ID)))
	if err != nil {
		return nil, s.wrong(err)
	}
	if _, err := r.Known(nil, in.Without); err != nil {
		return nil, s.wrong(err)
	}
	if err := do(r); err != nil {
		return nil, s.wrong(err)
	}
	now := time.Now()
	set := r.SetupTonight(in.Without, now)
	if in.Date != "" {
		set = r.SetupFor(in.Date, in.Without, now)
	}
	doc := report.Confirm(r, set, nil, false)
	doc.File, doc.SetupFile = s.folder.name(doc.File), s.folder.name(doc.SetupFile)
	doc.Unconfirmed = strings.ReplaceAll(doc.Unconfirmed, s.folder.path+"/", "")
	return &body[report.ConfirmDoc]{doc}, nil
}

// putSetup confirms the list that the owner saw, when it is that of the rig on disk and a check finds no error in it.
func (s *server) putSetup(_ context.Context, in *setupPutIn) (*body[report.ConfirmDoc], error) {
	b := in.Body
	return s.setup(&setupIn{in.ID, b.Night, b.Without}, func(r *rig.Rig) error {
		if now := r.Fingerprint(); now != b.Fingerprint {
			return huma.Error409Conflict(fmt.Sprintf("the rig on disk (fingerprint %s) is not the one whose list was ticked (%s): save the changes, or look at the list again", now, b.Fingerprint))
		}
		if err := report.Confirmable(r, b.Without); err != nil {
			return huma.Error409Conflict(strings.ReplaceAll(err.Error(), s.folder.path+"/", ""))
		}
		return r.Confirm(b.Night, b.Without, b.Lines, time.Now())
	})
}
