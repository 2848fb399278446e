package web

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"legroom/rig"
)

// Setting is a value of the document that is no measured length, angle or mass: a word, a switch or a plain number.
type Setting struct {
	Path    string   `json:"path" doc:"in the document, such as support.legs.section"`
	Kind    string   `json:"kind" enum:"word,choice,switch,number"`
	Value   string   `json:"value" doc:"as a document writes it; empty when nothing is written and there is no default"`
	Choices []string `json:"choices,omitempty" doc:"choice: what may be written"`
	Min     *float64 `json:"min,omitempty"`
	Max     *float64 `json:"max,omitempty"`
	Above   bool     `json:"above,omitempty" doc:"min itself is not allowed"`
}

// settings lists what the document may say besides its quantities, in the order of its sections, for the sections that it
// has. What it left out comes with its default, where there is one. What has no meaning for its kind of support is not listed: a
// document that said it would be refused.
func settings(r *rig.Rig) []Setting {
	out := []Setting{}
	listSettings(reflect.ValueOf(r).Elem(), "", reflect.StructTag(""), &out)
	foreign := r.Support.Kind.Foreign()
	return slices.DeleteFunc(out, func(s Setting) bool {
		key, ok := strings.CutPrefix(s.Path, "support.")
		return ok && slices.Contains(foreign, key)
	})
}

func listSettings(v reflect.Value, path string, tag reflect.StructTag, out *[]Setting) {
	switch v.Interface().(type) {
	case rig.Length, rig.Angle, rig.Mass, rig.Horizon, rig.Joint:
		return
	}
	s := Setting{Path: path}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			key, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
			if !f.IsExported() || key == "" || key == "-" {
				continue
			}
			if path != "" {
				key = path + "." + key
			}
			listSettings(v.Field(i), key, f.Tag, out)
		}
		return
	case reflect.Slice:
		for i := range v.Len() {
			listSettings(v.Index(i), fmt.Sprintf("%s[%d]", path, i), tag, out)
		}
		return
	case reflect.Pointer:
		if !v.IsNil() {
			listSettings(v.Elem(), path, tag, out)
			return
		}
		if v.Type().Elem().Kind() != reflect.Float64 {
			return // a section that the document does not have
		}
		s.Kind, s.Value = "number", tag.Get("default")
	case reflect.String:
		s.Kind, s.Value = "word", v.String()
		if words := tag.Get("oneof"); words != "" {
			s.Kind, s.Choices = "choice", strings.Fields(words)
		}
	case reflect.Bool:
		s.Kind, s.Value = "switch", strconv.FormatBool(v.Bool())
	case reflect.Int:
		s.Kind, s.Value = "number", strconv.FormatInt(v.Int(), 10)
	case reflect.Float64:
		s.Kind, s.Value = "number", strconv.FormatFloat(v.Float(), 'g', -1, 64)
	default:
		panic("web: no setting is of kind " + v.Kind().String())
	}
	for name, to := range map[string]**float64{"min": &s.Min, "max": &s.Max, "above": &s.Min} {
		if text := tag.Get(name); text != "" && s.Kind == "number" {
			bound, err := strconv.ParseFloat(text, 64)
			if err != nil {
				panic("web: " + path + ": " + err.Error())
			}
			*to = &bound
			s.Above = s.Above || name == "above"
		}
	}
	if s.Above && s.Value == strconv.FormatFloat(*s.Min, 'g', -1, 64) {
		s.Value = "" // which no document can have written
	}
	*out = append(*out, s)
}
