package web

import (
	"encoding/json"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"legroom/rig"
)

// describeQuantity says what the quantity at a path of a rig measures: its group, what it belongs to, a label, what the
// document's schema says of it, and its bounds.
func describeQuantity(r *rig.Rig, path string) Quantity {
	var q Quantity
	keys := strings.Split(path, ".")
	switch {
	case keys[0] == "tube" && len(keys) > 1 && keys[1] == "train":
		q.Group = "train"
	case keys[0] == "support" || keys[0] == "mount" || keys[0] == "tube":
		q.Group = keys[0]
	case strings.HasPrefix(keys[0], "parts["):
		q.Group = "extras"
	default:
		q.Group = "general"
	}
	q.Of, q.Label = words(r, keys)
	s := schemaAt(keys)
	q.Help = s.Description
	for _, n := range append(s.AnyOf, s) {
		if n.Minimum != nil {
			q.Min = n.Minimum
		}
		if n.ExclusiveMinimum != nil {
			q.Min, q.Above = n.ExclusiveMinimum, true
		}
		if n.Maximum != nil {
			q.Max = n.Maximum
		}
	}
	return q
}

var indexed = regexp.MustCompile(`^([a-z_]+)\[(\d+)\]$`)

// words says what a path is of, and which measure of it: the name of the list's entry or the section's key, and the last key
// without its unit.
func words(r *rig.Rig, keys []string) (of, label string) {
	v := reflect.ValueOf(r).Elem()
	for i, key := range keys {
		name, index := key, -1
		if m := indexed.FindStringSubmatch(key); m != nil {
			name = m[1]
			index, _ = strconv.Atoi(m[2])
		}
		if i == len(keys)-1 {
			label = plainKey(name)
			if index >= 0 {
				label += " " + component(v, name, index)
			}
			return of, label
		}
		of = plainKey(name)
		v = fieldOf(v, name)
		if index >= 0 && v.Kind() == reflect.Slice && index < v.Len() {
			v = v.Index(index)
			of += " " + strconv.Itoa(index+1)
			if n := fieldOf(v, "name"); n.Kind() == reflect.String && n.String() != "" {
				of = n.String()
			}
		}
	}
	return of, label
}

// plainKey turns a document's key into words.
func plainKey(key string) string {
	for _, unit := range []string{"_mm", "_deg", "_kg"} {
		key = strings.TrimSuffix(key, unit)
	}
	return strings.ReplaceAll(key, "_", " ")
}

// component names one number of a list of them: a size by the part's shape, otherwise a coordinate.
func component(part reflect.Value, key string, i int) string {
	names := []string{"x", "y", "z"}
	if key == "size_mm" {
		shape, _ := fieldOf(part, "shape").Interface().(rig.ShapeKind)
		switch shape {
		case rig.Cylinder, rig.Capsule:
			names = []string{"diameter", "length"}
		case rig.Cone:
			names = []string{"diameter at −z", "diameter at +z", "length"}
		case rig.Sphere:
			names = []string{"diameter"}
		}
	}
	if i < len(names) {
		return names[i]
	}
	return strconv.Itoa(i + 1)
}

// fieldOf gives the field of a section that a document writes under key; the zero Value when there is none.
func fieldOf(v reflect.Value, key string) reflect.Value {
	for v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	if v.Kind() != reflect.Struct {
		return reflect.Value{}
	}
	for i := range v.NumField() {
		if name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("yaml"), ","); name == key {
			return v.Field(i)
		}
	}
	return reflect.Value{}
}

// schema is what is read of the rig document's JSON Schema.
type schema struct {
	Ref              string             `json:"$ref"`
	Description      string             `json:"description"`
	Properties       map[string]*schema `json:"properties"`
	Items            *schema            `json:"items"`
	AnyOf            []*schema          `json:"anyOf"`
	Else             *schema            `json:"else"`
	Minimum          *float64           `json:"minimum"`
	ExclusiveMinimum *float64           `json:"exclusiveMinimum"`
	Maximum          *float64           `json:"maximum"`
	Defs             map[string]*schema `json:"$defs"`
}

var rigSchema = sync.OnceValue(func() *schema {
	s := &schema{}
	if err := json.Unmarshal(rig.Schema(), s); err != nil {
		panic("web: the rig document's schema: " + err.Error())
	}
	return s
})

// schemaAt follows a path down the rig document's schema; an empty one where it does not go.
func schemaAt(keys []string) *schema {
	root := rigSchema()
	at := root
	plain := func() {
		for at != nil && (at.Ref != "" || at.Else != nil) {
			if at.Else != nil { // written here, not taken from a file
				at = at.Else
				continue
			}
			at = root.Defs[strings.TrimPrefix(at.Ref, "#/$defs/")]
		}
	}
	for i, key := range keys {
		plain()
		m := indexed.FindStringSubmatch(key)
		if m != nil {
			key = m[1]
		}
		if at == nil || at.Properties[key] == nil {
			return &schema{}
		}
		at = at.Properties[key]
		if m != nil && at.Items != nil {
			help := at.Description
			at = at.Items
			if i == len(keys)-1 && at.Description == "" {
				with := *at
				with.Description = help
				at = &with
			}
		}
	}
	return at
}
