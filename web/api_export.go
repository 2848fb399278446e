package web

import (
	"bytes"
	"context"
	"mime"
	"path"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"legroom/axes"
	"legroom/report"
	"legroom/room"
)

type exportIn struct {
	Kind string `path:"kind" enum:"card.pdf,map.svg,map.png,dome.svg,dome.png,map.csv,limits.csv,scene.glb,scene.stl"`
	Body struct {
		Ask
		At   *At    `json:"at,omitempty" doc:"the pose of a scene"`
		Date string `json:"date,omitempty" format:"date" doc:"the evening's, to print on a card or a map; tonight's when left out"`
	}
}

type exportOut struct {
	ContentType        string `header:"Content-Type"`
	ContentDisposition string `header:"Content-Disposition"`
	Body               []byte
}

// mediaTypes of what can be exported, by ending.
var mediaTypes = map[string]string{".pdf": "application/pdf", ".svg": "image/svg+xml", ".png": "image/png", ".csv": "text/csv; charset=utf-8",
	".ics": "text/calendar; charset=utf-8", ".glb": "model/gltf-binary", ".stl": "model/stl", ".yaml": "application/yaml"}

func (s *server) exportRoutes(api huma.API) {
	huma.Post(api, "/api/export/{kind}", func(ctx context.Context, in *exportIn) (*exportOut, error) {
		data, err := s.export(ctx, in)
		if err != nil {
			return nil, s.wrong(err)
		}
		return file(in.Body.ID, in.Kind, data), nil
	}, named("export", "A file to keep: the bytes that the command writes"), files)
}

// file answers with a file that is named after the rig.
func file(id, name string, data []byte) *exportOut {
	base := path.Base(strings.TrimSuffix(rigFile(id), path.Ext(rigFile(id))))
	return &exportOut{mediaTypes[path.Ext(name)], mime.FormatMediaType("attachment", map[string]string{"filename": base + "-" + name}), data}
}

// files says that an operation answers with a file.
func files(o *huma.Operation) {
	content := map[string]*huma.MediaType{}
	for _, t := range mediaTypes {
		content[t] = &huma.MediaType{Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}
	}
	o.Responses = map[string]*huma.Response{"200": {Description: "the file", Content: content}}
}

// Spacings of the gaps in what is exported, degrees, and dots per inch of a picture: as on the command line.
const (
	cardStep  = 2
	mapStep   = 1
	tableStep = 5
	dpi       = 150
)

// export makes a file.
func (s *server) export(ctx context.Context, in *exportIn) ([]byte, error) {
	var b bytes.Buffer
	kind, ending := in.Kind, path.Ext(in.Kind)
	if strings.HasPrefix(kind, "scene.") {
		if in.Body.At == nil {
			return nil, huma.Error422UnprocessableEntity("a scene is of one pose: give at, with side, hour_angle_h and dec_deg")
		}
		w, err := s.anyWork(in.Body.Ask)
		if err != nil {
			return nil, err
		}
		write := report.WriteGLB
		if ending == ".stl" {
			write = report.WriteSTL
		}
		err = write(&b, w.gauge, w.gauge.Model.Head.Angles(in.Body.At.pose()))
		return b.Bytes(), err
	}
	w, err := s.work(in.Body.Ask)
	if err != nil {
		return nil, err
	}
	if kind == "map.csv" {
		err := w.writePoses(ctx, &b)
		return b.Bytes(), err
	}
	m, err := w.fineMap(ctx)
	if err != nil {
		return nil, err
	}
	l, err := m.Limits(ctx, room.LimitOptions{})
	if err != nil {
		return nil, err
	}
	setup := w.setup(in.Body.Date)
	doc := report.Limits(w.gauge.Model.Rig, l, nil, setup, report.CheckErrors(w.gauge))
	if kind == "limits.csv" {
		err := report.WriteLimitsCSV(&b, doc)
		return b.Bytes(), err
	}
	step := float64(mapStep)
	if kind == "card.pdf" {
		step = cardStep
	}
	west, east, err := report.Grids(ctx, m, report.GridOptions{StepDeg: step})
	if err != nil {
		return nil, err
	}
	c := report.ChartOf(m, l, west, east, setup)
	switch {
	case kind == "card.pdf":
		err = report.WriteCard(&b, report.Card{Limits: doc, Chart: c})
	case strings.HasPrefix(kind, "dome."):
		err = c.Write(&b, report.Dome, ending, dpi)
	default:
		err = c.Write(&b, report.Hours, ending, dpi)
	}
	return b.Bytes(), err
}

// writePoses writes what `legroom poses` writes for poses all over the sky.
func (w *work) writePoses(ctx context.Context, b *bytes.Buffer) error {
	g := w.gauge
	lines := report.NewPoseWriter(b, "csv")
	scratch := g.NewScratch()
	for _, side := range []axes.Side{axes.West, axes.East} {
		for dec := -90.0; dec <= 90; dec += tableStep {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			for h := -180.0; h < 180; h += tableStep {
				p := axes.Pose{Side: side, HourAngle: axes.Rad(h), Dec: axes.Rad(dec)}
				ax, err := g.Model.Reach(g.Model.Head.Angles(p))
				if err != nil {
					continue // outside the travel of the axes
				}
				if err := lines.Write(report.Line(g, side, h/axes.DegPerHour, dec, g.Gap(ax, scratch))); err != nil {
					return err
				}
			}
		}
	}
	return nil
}
