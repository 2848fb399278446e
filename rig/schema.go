package rig

import (
	"embed"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/invopop/jsonschema"
)

// The types' own comments are the help that editors show.
//
//go:embed rig.go
var source embed.FS

// Schema gives the JSON Schema (2020-12) of a rig document, for editors. It knows keys, kinds, bounds, words and the
// form of quantities; what takes two keys to see, Load sees.
func Schema() []byte {
	r := &jsonschema.Reflector{FieldNameTag: "yaml", Anonymous: true, CommentMap: comments()}
	r.Mapper = func(t reflect.Type) *jsonschema.Schema {
		switch t {
		case lengthType, angleType, massType:
			return quantitySchema(&field{min: math.Inf(-1), max: math.Inf(1)})
		case horizonType:
			return horizonSchema()
		}
		return nil
	}
	s := r.Reflect(&Rig{})
	s.Title = "Rig document"
	for t, fs := range fieldsOf {
		def := s.Definitions[t.Name()]
		for i := range fs {
			old, _ := def.Properties.Get(fs[i].key)
			def.Properties.Set(fs[i].key, withRules(old, t.Field(fs[i].index).Type, &fs[i]))
		}
	}
	version, _ := s.Definitions["Rig"].Properties.Get("legroom")
	version.Const = FormatVersion
	conditions(s.Definitions)
	fromFiles(s)
	out, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		panic("rig: " + err.Error())
	}
	return append(out, '\n')
}

// withRules puts a field's tags into its schema.
func withRules(s *jsonschema.Schema, t reflect.Type, f *field) *jsonschema.Schema {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == lengthType || t == angleType || t == massType:
		q := quantitySchema(f)
		q.Description = s.Description
		s = q
	case t.Kind() == reflect.Slice && s.Items != nil:
		s.Items = withRules(s.Items, t.Elem(), f)
		return s
	case t.Kind() == reflect.Float64 || t.Kind() == reflect.Int:
		bound(s, f)
	case t.Kind() == reflect.String:
		for _, w := range f.oneof {
			s.Enum = append(s.Enum, w)
		}
		one := uint64(1)
		s.MinLength = &one
	}
	if f.def != "" && f.def != "{}" {
		s.Default = f.def
		if x, err := strconv.ParseFloat(f.def, 64); err == nil {
			s.Default = x
		}
	}
	return s
}

func bound(s *jsonschema.Schema, f *field) {
	if !math.IsInf(f.min, -1) {
		if f.above {
			s.ExclusiveMinimum = json.Number(format(f.min))
		} else {
			s.Minimum = json.Number(format(f.min))
		}
	}
	if !math.IsInf(f.max, 1) {
		s.Maximum = json.Number(format(f.max))
	}
}

// quantitySchema is a number within the field's bounds, or the text of one with its tolerance.
func quantitySchema(f *field) *jsonschema.Schema {
	n := &jsonschema.Schema{Type: "number"}
	bound(n, f)
	// The form of parseQuantity, with no sign where none makes sense, as ECMA-262 reads it.
	num := `(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?`
	sign := `[-+]?`
	if f.min >= 0 {
		sign = `\+?`
	}
	tol := `\s*(?:±|\+-|\+/-)\s*` + num
	behind := `(?:(?:` + tol + `)?(?:\s+unmeasured)?|` + tol + `\s+fitted)`
	if f.tol == "none" {
		behind = ""
	}
	return &jsonschema.Schema{AnyOf: []*jsonschema.Schema{n, {Type: "string", Pattern: `^\s*` + sign + num + behind + `\s*$`}}}
}

func horizonSchema() *jsonschema.Schema {
	two := uint64(2)
	one := uint64(1)
	pair := &jsonschema.Schema{Type: "array", MinItems: &two, MaxItems: &two, PrefixItems: []*jsonschema.Schema{
		{Type: "number", Minimum: "0", Maximum: "360"}, {Type: "number", Minimum: "-90", Maximum: "90"}}}
	return &jsonschema.Schema{AnyOf: []*jsonschema.Schema{{Type: "string", MinLength: &one}, {Type: "array", Items: pair}}}
}

// conditions tells what one key's word asks of the others: the part of Load's rules that editors can follow.
func conditions(defs jsonschema.Definitions) {
	when(defs["Support"], "kind", "tripod", []string{"legs"}, Tripod.Foreign())
	when(defs["Support"], "kind", "pier", []string{"diameter_mm"}, Pier.Foreign())
	when(defs["Item"], "section", "square", []string{"width_mm", "height_mm"}, []string{"diameter_mm"})
	when(defs["Item"], "section", "round", []string{"diameter_mm"}, []string{"width_mm", "height_mm"})
	when(defs["Train"], "outlet", "side", []string{"side_angle_deg", "start_mm"}, nil)
	when(defs["Train"], "outlet", "back", nil, []string{"side_angle_deg", "start_mm"})
	when(defs["Legs"], "section", "round", nil, []string{"depth_mm"})
	extra := defs["ExtraPart"]
	for _, shape := range []ShapeKind{Box, Cylinder, Cone, Capsule, Sphere} {
		when(extra, "shape", string(shape), nil, nil).Properties.Set("size_mm", exactly(len(sizeWords[shape])))
	}
	for _, key := range []string{"at_mm", "direction"} {
		p, _ := extra.Properties.Get(key)
		three := exactly(3)
		p.MinItems, p.MaxItems = three.MinItems, three.MaxItems
	}
}

func exactly(n int) *jsonschema.Schema {
	u := uint64(n)
	return &jsonschema.Schema{MinItems: &u, MaxItems: &u}
}

// when adds to a definition what must and must not be there when key has the word, said or by default; it gives the
// schema that then holds.
func when(def *jsonschema.Schema, key, word string, must, mustNot []string) *jsonschema.Schema {
	said := jsonschema.NewProperties()
	said.Set(key, &jsonschema.Schema{Const: word})
	cond := &jsonschema.Schema{Properties: said}
	if p, _ := def.Properties.Get(key); p.Default != word {
		cond.Required = []string{key}
	}
	then := &jsonschema.Schema{Required: must, Properties: jsonschema.NewProperties()}
	for _, k := range mustNot {
		then.Properties.Set(k, jsonschema.FalseSchema)
	}
	def.AllOf = append(def.AllOf, &jsonschema.Schema{If: cond, Then: then})
	return then
}

// fromFiles lets support, mount and tube take their keys from a file: then none of them need be here.
func fromFiles(s *jsonschema.Schema) {
	for _, name := range [...]string{"Support", "Mount", "Tube"} {
		part := name + "Override"
		overrides(s, name)
		over := s.Definitions[part]
		over.Properties.Set("from", &jsonschema.Schema{Type: "string", Description: "a file in this document's folder or below that holds these keys; those written here override its"})
		over.Required = []string{"from"}
		key := strings.ToLower(name)
		p, _ := s.Definitions["Rig"].Properties.Get(key)
		s.Definitions["Rig"].Properties.Set(key, &jsonschema.Schema{
			Description: p.Description,
			If:          &jsonschema.Schema{Required: []string{"from"}},
			Then:        &jsonschema.Schema{Ref: defs + part},
			Else:        &jsonschema.Schema{Ref: defs + name},
		})
	}
}

const defs = "#/$defs/"

// overrides makes a twin of a definition in which no key must be there, and of the mappings below it; entries of lists
// are whole.
func overrides(s *jsonschema.Schema, name string) {
	twin := name + "Override"
	if _, done := s.Definitions[twin]; done {
		return
	}
	was := s.Definitions[name]
	c := *was
	c.Required, c.AllOf = nil, nil // what goes with what shows once the file is read
	c.Properties = jsonschema.NewProperties()
	s.Definitions[twin] = &c
	for p := was.Properties.Oldest(); p != nil; p = p.Next() {
		v := *p.Value
		if below, ok := strings.CutPrefix(v.Ref, defs); ok {
			overrides(s, below)
			v.Ref = defs + below + "Override"
		}
		c.Properties.Set(p.Key, &v)
	}
}

// comments reads the comments on the document's types and their fields, as the reflector wants them.
func comments() map[string]string {
	const pkg = "legroom/rig."
	out := map[string]string{}
	text, err := source.ReadFile("rig.go")
	if err != nil {
		panic("rig: " + err.Error())
	}
	f, err := parser.ParseFile(token.NewFileSet(), "rig.go", text, parser.ParseComments)
	if err != nil {
		panic("rig: " + err.Error())
	}
	for _, d := range f.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.TYPE {
			continue
		}
		t := g.Specs[0].(*ast.TypeSpec)
		note := func(key string, groups ...*ast.CommentGroup) {
			for _, c := range groups {
				if c != nil {
					out[key] = strings.TrimSpace(strings.Join(strings.Fields(out[key]+" "+c.Text()), " "))
				}
			}
		}
		note(pkg+t.Name.Name, g.Doc)
		if st, ok := t.Type.(*ast.StructType); ok {
			for _, field := range st.Fields.List {
				for _, n := range field.Names {
					note(pkg+t.Name.Name+"."+n.Name, field.Doc, field.Comment)
				}
			}
		}
	}
	return out
}
