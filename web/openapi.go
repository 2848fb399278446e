package web

import (
	"reflect"
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
			if d := f.Tag.Get("jsonschema_description"); d != "" && p.Ref == "" {
				p.Description = d
			}
			for _, rule := range strings.Split(f.Tag.Get("jsonschema"), ",") {
				if word, ok := strings.CutPrefix(rule, "enum="); ok && p.Type == huma.TypeString {
					p.Enum = append(p.Enum, word)
				}
			}
		}
	}
}
