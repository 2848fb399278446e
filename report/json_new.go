package report

import (
	"io"
	"strings"
	"unicode/utf8"

	"legroom/rig"
)

// WroteDoc is the document of a command that writes files: their paths, in the order of writing or of name.
type WroteDoc struct {
	Wrote []string `json:"wrote"`
}

// TemplatesDoc is the document of `legroom new --list`.
type TemplatesDoc struct {
	Templates []TemplateDoc `json:"templates"`
}

// TemplateDoc is one template that a rig can start from.
type TemplateDoc struct {
	Kind  string `json:"kind" jsonschema:"enum=support,enum=extension,enum=mount,enum=tube"`
	Name  string `json:"name"`
	Title string `json:"title"`
}

// Templates returns every template.
func Templates() TemplatesDoc {
	var d TemplatesDoc
	for _, t := range rig.Templates() {
		d.Templates = append(d.Templates, TemplateDoc(t))
	}
	return d
}

// LengthsDoc is the document of `legroom new --names`.
type LengthsDoc struct {
	Lengths []LengthDoc `json:"lengths"`
}

// LengthDoc is one length that `legroom new` asks for.
type LengthDoc struct {
	Name  string `json:"name" jsonschema_description:"as --set takes it"`
	Usual string `json:"usual" jsonschema_description:"the template's value"`
	Unit  string `json:"unit" jsonschema:"enum=mm,enum=deg"`
	Ask   string `json:"ask" jsonschema_description:"what to measure, and how"`
	Path  string `json:"path" jsonschema_description:"in the document; of a list when the length is of all of it"`
}

// Lengths returns the lengths that the templates of o ask for.
func Lengths(o rig.NewOptions) (LengthsDoc, error) {
	questions, err := rig.Questions(o.Support, o.Extension, o.Mount, o.Tube)
	if err != nil {
		return LengthsDoc{}, err
	}
	var d LengthsDoc
	for _, q := range questions {
		usual, err := q.Usual(o)
		if err != nil {
			return LengthsDoc{}, err
		}
		d.Lengths = append(d.Lengths, LengthDoc{Name: q.Name, Usual: usual, Unit: q.Unit, Ask: q.Ask, Path: q.Path})
	}
	return d, nil
}

// WriteTemplates writes the templates as text of at most 100 columns.
func WriteTemplates(w io.Writer, d TemplatesDoc) error {
	p := &page{}
	for _, t := range d.Templates {
		p.line("%s  %s  %s", pad(t.Kind, 9), pad(t.Name, 18), t.Title)
	}
	return p.writeTo(w)
}

// WriteLengths writes the lengths that a new rig asks for as text of at most 100 columns.
func WriteLengths(w io.Writer, d LengthsDoc) error {
	p := &page{}
	for _, q := range d.Lengths {
		first := pad(q.Name, 15) + "  " + padLeft(q.Usual+" "+q.Unit, 8) + "  "
		p.para(first, strings.Repeat(" ", utf8.RuneCountInString(first)), q.Ask)
	}
	return p.writeTo(w)
}
