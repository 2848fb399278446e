package alpaca

import (
	"html/template"
	"net/http"
	"strconv"
	"strings"
)

var setupPage = template.Must(template.New("setup").Parse(`<!doctype html>
<html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>{{.Title}}</title>
<h1>{{.Title}}</h1>
{{with .About}}<p>{{.}}</p>
{{end}}{{range .Devices}}<p>{{.DeviceType}} {{.DeviceNumber}}: {{.DeviceName}}</p>
{{end}}<p>Nothing is set up on this page.</p>
`))

type setupText struct {
	Title, About string
	Devices      []Listed
}

// setup is the page that the standard asks of every server. What there is to set up has its place elsewhere in Legroom.
func (s *Server) setup(w http.ResponseWriter, _ *http.Request) {
	s.page(w, setupText{Title: s.info.ServerName, About: s.info.ManufacturerVersion, Devices: s.list})
}

func (s *Server) setupDevice(w http.ResponseWriter, r *http.Request) {
	for _, l := range s.list {
		if strings.ToLower(l.DeviceType) == r.PathValue("type") && strconv.Itoa(l.DeviceNumber) == r.PathValue("number") {
			s.page(w, setupText{Title: l.DeviceName, Devices: []Listed{l}})
			return
		}
	}
	plain(w, http.StatusBadRequest, "no such device here: see /management/v1/configureddevices")
}

func (s *Server) page(w http.ResponseWriter, text setupText) {
	limitWrite(w)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_ = setupPage.Execute(w, text)
}
