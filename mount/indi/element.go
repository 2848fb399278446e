package indi

import (
	"bytes"
	"encoding/xml"
	"strconv"
	"strings"
)

// Op is what an element does.
type Op int8

const (
	Get     Op = iota + 1 // client: define the device's properties, or the named one
	New                   // client: a wish
	Def                   // device: here is a property
	Set                   // device: it changed
	Delete                // device: the property, or the whole device without a name, is gone
	Message               // device: a word to people
	Blobs                 // client: enableBLOB
)

// vectorOps are how elements with a vector start; how they go on is in vectorNames.
var vectorOps = map[Op]string{New: "new", Def: "def", Set: "set"}

// Element is one element of the stream. Which fields of its Vector count follows from Op.
type Element struct {
	Op Op
	Vector
	// Bad is the first value in it that cannot be read, though the element is well formed. The values are then not to be used.
	Bad error
}

// vectorElements maps names such as setNumberVector to what they are.
var vectorElements = func() map[string]Element {
	all := map[string]Element{}
	for op, start := range vectorOps {
		for kind, name := range kinds {
			all[start+name+"Vector"] = Element{Op: op, Vector: Vector{Kind: kind}}
		}
	}
	return all
}()

var plainElements = map[string]Op{"getProperties": Get, "delProperty": Delete, "message": Message, "enableBLOB": Blobs}

// wire writes the element with a newline behind it.
func (e Element) wire() []byte {
	w := &writer{}
	switch e.Op {
	case Get:
		w.open("getProperties", "version", "1.7", "device", e.Device, "name", e.Name)
		w.close("", "getProperties")
	case Blobs:
		w.open("enableBLOB", "device", e.Device)
		w.close("Never", "enableBLOB")
	case Delete:
		w.open("delProperty", "device", e.Device, "name", e.Name, "message", e.Message)
		w.close("", "delProperty")
	case Message:
		w.open("message", "device", e.Device, "message", e.Message)
		w.close("", "message")
	default:
		w.vector(e)
	}
	return w.Bytes()
}

type writer struct{ bytes.Buffer }

// open writes a start tag with those of the attributes that have a value.
func (w *writer) open(name string, attributes ...string) {
	w.WriteString("<" + name)
	for i := 0; i < len(attributes); i += 2 {
		if attributes[i+1] == "" {
			continue
		}
		w.WriteString(" " + attributes[i] + `="`)
		_ = xml.EscapeText(w, []byte(attributes[i+1])) // a buffer takes everything
		w.WriteString(`"`)
	}
	w.WriteString(">")
}

func (w *writer) close(text, name string) {
	_ = xml.EscapeText(w, []byte(text))
	w.WriteString("</" + name + ">\n")
}

func (w *writer) vector(e Element) {
	name := vectorOps[e.Op] + e.Kind.String() + "Vector"
	one := "one" + e.Kind.String()
	attributes := []string{"device", e.Device, "name", e.Name}
	if e.Op != New {
		attributes = append(attributes, "state", e.State.String(), "message", e.Message)
	}
	if e.Op == Def {
		one = "def" + e.Kind.String()
		attributes = append(attributes, "label", e.Label, "group", e.Group, "perm", e.Perm, "rule", e.Rule)
	}
	w.open(name, attributes...)
	w.WriteString("\n")
	for _, m := range e.Members {
		attributes := []string{"name", m.Name}
		if e.Op == Def {
			attributes = append(attributes, "label", m.Label)
			if e.Kind == Number {
				attributes = append(attributes, "format", m.Format,
					"min", decimalText(m.Min), "max", decimalText(m.Max), "step", decimalText(m.Step))
			}
		}
		w.open(one, attributes...)
		w.close(valueText(e.Kind, m), one)
	}
	w.close("", name)
}

func valueText(k Kind, m Member) string {
	switch k {
	case Number:
		return decimalText(m.Number)
	case Switch:
		if m.On {
			return "On"
		}
		return "Off"
	case Light:
		return m.Light.String()
	}
	return m.Text
}

// decimalText is the shortest text that reads back as the same number.
func decimalText(x float64) string {
	return strings.Replace(strconv.FormatFloat(x, 'g', -1, 64), "e+", "e", 1)
}
