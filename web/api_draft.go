package web

import (
	"context"
	"fmt"
	"path"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/report"
	"legroom/rig"
)

type editIn struct {
	Body struct {
		Draft
		Changes []Change `json:"changes" maxItems:"1000"`
	}
}

func (s *server) draftRoutes(api huma.API) {
	huma.Post(api, "/api/read", func(_ context.Context, in *struct{ Body Draft }) (*body[Doc], error) {
		text, err := s.text(in.Body)
		if err != nil {
			return nil, s.wrong(err)
		}
		return &body[Doc]{s.read(in.Body.ID, text)}, nil
	}, named("read", "What follows from a text, or what makes it unreadable"))
	huma.Post(api, "/api/edit", func(_ context.Context, in *editIn) (*body[Edited], error) {
		text, err := s.text(in.Body.Draft)
		if err != nil {
			return nil, s.wrong(err)
		}
		d, err := rig.Draft(text, s.folder.on(rigFile(in.Body.ID)))
		for i, c := range in.Body.Changes {
			if err != nil {
				break
			}
			if err = change(d, c); err != nil && len(in.Body.Changes) > 1 {
				err = fmt.Errorf("change %d: %w", i+1, err)
			}
		}
		if err != nil {
			return nil, s.wrong(err)
		}
		return &body[Edited]{Edited{Text: string(d.Bytes()), Doc: s.read(in.Body.ID, d.Bytes())}}, nil
	}, named("edit", "Change a text and keep its comments: every change, or none"))
}

// text gives the text of a draft, the file's when it has none of its own, and refuses an id that leads out of the folder.
func (s *server) text(d Draft) ([]byte, error) {
	name := rigFile(d.ID)
	if d.Text == nil {
		return s.folder.read(name)
	}
	return []byte(*d.Text), s.folder.check(name)
}

// change makes one change. What a section takes from a file is overridden in the document itself.
func change(d *rig.Document, c Change) error {
	if err := d.Adopt(c.Path); err != nil {
		return err
	}
	switch c.Op {
	case "set":
		return d.Set(c.Path, c.Value)
	case "delete":
		return d.Delete(c.Path)
	case "insert":
		return d.Insert(c.Path, c.Value)
	case "move":
		to, err := strconv.Atoi(c.Value)
		if err != nil {
			return &rig.Error{Path: c.Path, Problem: fmt.Sprintf("%q is no index", c.Value), Remedy: "give the index in the list that the entry shall have, the first is 0"}
		}
		return d.Move(c.Path, to)
	case "duplicate":
		return d.Duplicate(c.Path, c.Value)
	}
	return d.Note(c.Path, c.Value)
}

// read describes what follows from the text of a rig.
func (s *server) read(id string, text []byte) Doc {
	d := Doc{ID: id, Errors: []Defect{}, Quantities: []Quantity{}, Settings: []Setting{}, Conditions: []string{}, Findings: []report.FindingDoc{}, Defaults: []report.DefaultDoc{},
		Parts: []Part{}, Joined: [][2]string{}, Joints: []Joint{}, CrossingMM: []float64{}, Files: []string{}}
	file := s.folder.on(rigFile(id))
	if doc, err := rig.EditDocument(text); err == nil {
		from := doc.From()
		for section, name := range from {
			from[section] = path.Join(path.Dir(rigFile(id)), name)
		}
		d.Sections = Sections{Support: from["support"], Mount: from["mount"], Tube: from["tube"]}
	}
	r, err := rig.Parse(text, file)
	var m *axes.Model
	if err == nil {
		d.Files = s.folder.names(r.Files())
		m, err = axes.NewModel(r, nil)
	} else {
		d.Files = s.folder.sources(rigFile(id), text)
	}
	if err != nil {
		d.Errors = s.folder.defects(err)
		return d
	}
	d.Fingerprint, d.Name, d.MarginMM = r.Fingerprint(), r.Name, r.MarginMM.Value
	d.Site = &Site{r.Site.LatitudeDeg, r.Site.LongitudeDeg, r.Site.ElevationM, r.Site.TimeZone, [][2]float64{}}
	d.Site.Horizon = append(d.Site.Horizon, r.Site.Horizon...)
	d.Quantities, d.Settings = s.quantities(r, text), settings(r)
	d.Conditions = r.ConditionNames()
	for _, f := range r.Findings() {
		d.Findings = append(d.Findings, report.FindingDoc{Level: f.Level, Path: f.Path, Text: f.Text, File: s.folder.name(f.Position.File), Line: f.Position.Line, Col: f.Position.Col})
	}
	for _, f := range report.JointFindings(m) {
		f.File = s.folder.name(f.File)
		d.Findings = append(d.Findings, f)
	}
	d.Findings = report.Weighed(d.Findings)
	for _, u := range r.Defaults() {
		d.Defaults = append(d.Defaults, report.DefaultDoc{Path: u.Path, Value: u.Value, Why: u.Why})
	}
	asm := m.Assembly
	for _, p := range asm.Parts {
		d.Parts = append(d.Parts, Part{p.Name, p.Frame, p.Shape, p.SizeMM, p.MassKg, p.Condition, p.From})
	}
	for _, pairs := range [][][2]int{asm.Joined, asm.Turning} {
		for _, j := range pairs {
			d.Joined = append(d.Joined, [2]string{asm.Parts[j[0]].Name, asm.Parts[j[1]].Name})
		}
	}
	for _, list := range []struct {
		path   string
		joints []rig.Joint
	}{{"joints", r.Joints}, {"mount.joints", r.Mount.Joints}} {
		for i, j := range list.joints {
			d.Joints = append(d.Joints, Joint{fmt.Sprintf("%s[%d]", list.path, i), j[0], j[1]})
		}
	}
	t := m.Travel
	d.Travel = &Travel{axes.Deg(t.RAFrom), axes.Deg(t.RATo), axes.Deg(t.DecFrom), axes.Deg(t.DecTo)}
	d.CrossingMM = asm.CrossingMM[:]
	d.Head = headOf(m)
	k := r.Masses()
	d.MassKg = report.MassDoc{Support: k.Support, Mount: k.Mount, Counterweights: k.Counterweights, Tube: k.Tube, Total: k.Total()}
	return d
}

func headOf(m *axes.Model) *Head {
	xyz := func(v r3.Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }
	h, zero := &m.Head, m.Zero()
	return &Head{axes.Deg(h.Latitude), xyz(h.X), xyz(h.W), xyz(h.P), h.Aligned, axes.Deg(zero.RA), axes.Deg(zero.Dec)}
}

// quantities lists the measures of a rig with the notes behind them.
func (s *server) quantities(r *rig.Rig, text []byte) []Quantity {
	lines := map[string][]string{r.Path: strings.Split(string(text), "\n")}
	for _, f := range r.Files() {
		if data, err := s.folder.read(s.folder.name(f)); err == nil {
			lines[f] = strings.Split(string(data), "\n")
		}
	}
	out := make([]Quantity, 0, len(r.Quantities))
	for _, q := range r.Quantities {
		about := describeQuantity(r, q.Path)
		about.Path, about.Value, about.Tolerance, about.Unit, about.Source = q.Path, q.Value, q.Tol, q.Unit, q.Source
		if q.Source != rig.Default {
			about.File, about.Line, about.Col = s.folder.name(q.Pos.File), q.Pos.Line, q.Pos.Col
			if l := lines[q.Pos.File]; q.Pos.Line >= 1 && q.Pos.Line <= len(l) {
				about.Note = rig.NoteOf(strings.TrimSuffix(l[q.Pos.Line-1], "\r"))
			}
		}
		out = append(out, about)
	}
	return out
}
