package web

import (
	"reflect"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
)

// describe puts into the schemas what the documents of package report say of their fields in the tags of their own schemas.
func describe(doc *huma.OpenAPI) {
	registry := doc.Components.Schemas
	for name, schema := range registry.Map() {
		t := registry.TypeFromRef("#/components/schemas/" + name)
		if t == nil || t.Kind() != reflect.Struct {
			continue
		}
		for _, f := range reflect.VisibleFields(t) {
			key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			p := schema.Properties[key]
			if p == nil {
				continue
			}
			tags := strings.Split(f.Tag.Get("jsonschema"), ",")
			null := slices.Contains(tags, "nullable")
			if p.Ref != "" && null {
				p = &huma.Schema{OneOf: []*huma.Schema{p, {Type: "null"}}}
				schema.Properties[key] = p
			}
			if d := f.Tag.Get("jsonschema_description"); d != "" && p.Ref == "" {
				p.Description = d
			}
			for _, rule := range tags {
				if word, ok := strings.CutPrefix(rule, "enum="); ok && p.Type == huma.TypeString {
					p.Enum = append(p.Enum, word)
				}
			}
			if null && len(p.Enum) > 0 {
				p.Enum = append(p.Enum, nil)
			}
		}
	}
}
