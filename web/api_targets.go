package web

import (
	"cmp"
	"context"
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"
	"unicode"

	"github.com/danielgtaylor/huma/v2"

	"legroom/axes"
	"legroom/rig"
	"legroom/sky"
)

func (s *server) targetRoutes(api huma.API) {
	huma.Get(api, "/api/targets", func(_ context.Context, in *struct {
		Q string `query:"q" maxLength:"100" doc:"a designation, a name, or a part of one"`
	}) (*body[Found], error) {
		return &body[Found]{search(in.Q)}, nil
	}, named("findTargets", "Search the built-in list of objects"))
	huma.Post(api, "/api/targets", s.editTargets, named("editTargets", "Read a list of targets, after changes that keep its comments: every change, or none"))
	huma.Get(api, "/api/rigs/{id}/targets", func(_ context.Context, in *rigPath) (*body[TargetList], error) {
		list, err := s.targets(in.ID)
		return &body[TargetList]{list}, s.wrong(err)
	}, named("getTargets", "The owner's targets for a rig"))
	huma.Put(api, "/api/rigs/{id}/targets", s.putTargets, named("putTargets", "Write the owner's targets; an empty text takes the list away"), conflicting(api))
}

// maxFound bounds an answer to a search.
const maxFound = 20

// search looks a name up as the lists of targets do, and after that for objects with the letters in it.
func search(q string) Found {
	out := Found{Objects: []SkyObject{}}
	key := letters(q)
	if key == "" {
		return out
	}
	type match struct {
		o    sky.Object
		rank int
	}
	var all []match
	exact, err := sky.Find(q)
	var unknown *sky.UnknownObject
	errors.As(err, &unknown)
	for _, o := range sky.Catalogue() {
		rank := -1
		better := func(r int) {
			if rank < 0 || r < rank {
				rank = r
			}
		}
		if err == nil && o.Designation == exact.Designation {
			better(0)
		}
		if unknown != nil && slices.Contains(unknown.Near, o.String()) {
			better(3)
		}
		for _, name := range slices.Concat([]string{o.Designation}, o.Also, o.Names) {
			switch n := letters(name); {
			case strings.HasPrefix(n, key):
				better(1)
			case len(key) > 2 && strings.Contains(n, key):
				better(2)
			}
		}
		if rank >= 0 {
			all = append(all, match{o, rank})
		}
	}
	slices.SortStableFunc(all, func(a, b match) int { return cmp.Compare(a.rank, b.rank) })
	for _, m := range all[:min(len(all), maxFound)] {
		o := m.o
		out.Objects = append(out.Objects, SkyObject{Name: o.String(), Designation: o.Designation, Also: append(append([]string{}, o.Also...), o.Names...), Kind: o.Kind, Constellation: o.Constellation,
			RADeg: axes.Deg(o.Place.RA), DecDeg: axes.Deg(o.Place.Dec), SizeArcmin: o.SizeArcmin})
	}
	return out
}

// letters folds a name to its letters and digits.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// targetsFile is where the targets of a rig lie: beside it.
func targetsFile(id string) string {
	return strings.TrimSuffix(rigFile(id), ".yaml") + ".targets.yaml"
}

// targets reads the targets of a rig; without a file the list is empty, and its version too.
func (s *server) targets(id string) (TargetList, error) {
	name := targetsFile(id)
	list := TargetList{File: name, Targets: []Target{}, Errors: []Defect{}}
	data, err := s.folder.read(name)
	if errors.Is(err, fs.ErrNotExist) {
		_, err := s.folder.read(rigFile(id))
		return list, err
	}
	if err != nil {
		return list, err
	}
	list.Version = s.folder.version(data, nil)
	s.readTargets(&list, data)
	return list, nil
}

// readTargets reads a list's text.
func (s *server) readTargets(list *TargetList, data []byte) {
	list.Text = string(data)
	got, err := sky.ParseTargets(data, s.folder.on(list.File))
	list.Errors = s.folder.defects(err)
	for _, t := range got {
		list.Targets = append(list.Targets, Target{Name: t.Name, RADeg: axes.Deg(t.Place.RA), DecDeg: axes.Deg(t.Place.Dec), Priority: t.Priority, SubS: t.Sub.Seconds(),
			WantedS: t.Wanted.Seconds(), ExtentDeg: axes.Deg(t.Extent), Filters: append([]string{}, t.Filters...), Notes: append([]string{}, t.Notes...)})
	}
}

// TargetDraft is the text of a list of targets that need not be on disk.
type TargetDraft struct {
	ID      string   `json:"id" minLength:"1" maxLength:"400" doc:"the rig's id"`
	Text    string   `json:"text" maxLength:"1048576"`
	Changes []Change `json:"changes,omitempty" maxItems:"100" doc:"paths are such as targets[0].sub_s, also in a list without the key targets"`
}

// editTargets reads a list that need not be on disk, after changes. A list without an entry is no defect here: it is about to get one.
func (s *server) editTargets(_ context.Context, in *struct{ Body TargetDraft }) (*body[TargetList], error) {
	q := in.Body
	list := TargetList{File: targetsFile(q.ID), Targets: []Target{}, Errors: []Defect{}}
	if err := s.folder.check(list.File); err != nil {
		return nil, s.wrong(err)
	}
	text := q.Text
	if len(q.Changes) > 0 {
		const key = "targets:\n"
		bare := strings.HasPrefix(bareList(text), "-")
		if bare {
			text = key + text
		}
		d, err := rig.EditDocument([]byte(text))
		for _, c := range q.Changes {
			if err == nil {
				err = change(d, c)
			}
		}
		if err != nil {
			return nil, s.wrong(err)
		}
		text = string(d.Bytes())
		if bare {
			text = strings.TrimPrefix(text, key)
		}
	}
	switch bareList(text) {
	case "", "targets:", "targets: []", "[]":
		list.Text = text
	default:
		s.readTargets(&list, []byte(text))
	}
	return &body[TargetList]{list}, nil
}

// bareList is a YAML text without the comments that have lines of their own, and without space about it.
func bareList(text string) string {
	var lines []string
	for l := range strings.Lines(text) {
		if !strings.HasPrefix(strings.TrimSpace(l), "#") {
			lines = append(lines, l)
		}
	}
	return strings.TrimSpace(strings.Join(lines, ""))
}

// putTargets writes a list that can be read over the version that the page's text was made from.
func (s *server) putTargets(_ context.Context, in *putIn) (*body[TargetList], error) {
	was, err := s.targets(in.ID)
	if err != nil {
		return nil, s.wrong(err)
	}
	changed := &Conflict{Title: "Conflict", Status: 409, Detail: was.File + " has changed on disk since it was read; nothing is written", Version: was.Version, Text: was.Text}
	if in.Body.Version != was.Version {
		return nil, changed
	}
	file, text := s.folder.on(was.File), []byte(in.Body.Text)
	switch {
	case strings.TrimSpace(in.Body.Text) == "" && was.Version == "":
	case strings.TrimSpace(in.Body.Text) == "":
		if err := os.Remove(file); err != nil {
			return nil, s.unwritten(was.File, err)
		}
	default:
		if _, err := sky.ParseTargets(text, file); err != nil {
			return nil, s.wrong(err)
		}
		d, err := rig.EditDocument(text)
		if was.Version != "" {
			if d, err = rig.OpenDocument(file); err == nil && string(d.Bytes()) != was.Text {
				return nil, changed
			}
			if err == nil {
				err = d.Replace(text)
			}
		}
		if err != nil {
			return nil, s.wrong(err)
		}
		if err := d.WriteFile(file); errors.Is(err, rig.ErrChanged) || errors.Is(err, fs.ErrExist) {
			return nil, changed
		} else if err != nil {
			return nil, s.unwritten(was.File, err)
		}
	}
	list, err := s.targets(in.ID)
	return &body[TargetList]{list}, s.wrong(err)
}
