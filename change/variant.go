package change

import (
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"

	"legroom/rig"
)

// Edit is one change of a document: a value at a path, or what a file holds in its place.
type Edit struct {
	Path  string // of the document, or one of the short names
	Value string // as the document would write it; a plain number keeps the tolerance that is there
	File  string // instead of a value: a file in the folder of the document or below it
}

func (e Edit) String() string {
	if e.File != "" {
		return e.Path + " from " + e.File
	}
	return e.Path + "=" + e.Value
}

// Variant is a changed document.
type Variant struct {
	Name  string
	Edits []Edit
}

// Apply makes the changes in a document, keeping its comments, and gives the rig that follows. What had to be assumed besides is
// listed.
func (v *Variant) Apply(d *rig.Document) (r *rig.Rig, assumed []string, err error) {
	if r, err = d.Rig(); err != nil {
		return nil, nil, err
	}
	for _, e := range v.Edits {
		more, err := e.apply(d, r)
		if err == nil {
			r, err = d.Rig()
		}
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", e, err)
		}
		assumed = append(assumed, more...)
	}
	return r, assumed, nil
}

func (e *Edit) apply(d *rig.Document, r *rig.Rig) ([]string, error) {
	if e.File != "" {
		return nil, e.swap(d, r)
	}
	path, value := e.Path, strings.TrimSpace(e.Value)
	var assumed []string
	if n := shortName(path); n != nil {
		x, isNumber := number(value)
		if isNumber && n.added {
			old := r.Tube.AxisDistanceMM.Quantity // the one short name that is added to
			old.Value += x
			return nil, d.Set(n.path, old.String())
		}
		path = n.path
		if n.name == riser && isNumber && x == 0 {
			if r.Support.Extension == nil {
				return nil, nil
			}
			return nil, d.Delete("support.extension")
		}
		if n.name == riser && r.Support.Extension == nil {
			flow, words := newRiser(r)
			assumed = append(assumed, words)
			if err := d.Set("support.extension", flow); err != nil {
				return nil, err
			}
			var err error
			if r, err = d.Rig(); err != nil {
				return nil, err
			}
		}
	}
	if no := lacks(r, path); no != "" {
		return nil, errors.New(no)
	}
	if err := d.Adopt(path); err != nil {
		return nil, err
	}
	if x, ok := number(value); ok {
		if old := quantityAt(r, path, x); old != nil {
			q := *old
			q.Value = x
			value = q.String()
		}
	}
	return assumed, d.Set(path, value)
}

// number reads a plain number, without a tolerance.
func number(s string) (float64, bool) {
	x, err := strconv.ParseFloat(s, 64)
	return x, err == nil && plainNumber.MatchString(s)
}

var plainNumber = regexp.MustCompile(`^[+-]?[0-9.]+([eE][+-]?[0-9]+)?$`)

// quantityAt finds the quantity of the document that a path leads to, by what changes when it is set to x and to another value; nil
// when it leads to none that is there.
func quantityAt(r *rig.Rig, path string, x float64) *rig.Quantity {
	for _, q := range r.Quantities {
		if q.Path == path {
			return q
		}
	}
	for _, other := range []float64{x, x + 1} {
		c, err := r.With(path, strconv.FormatFloat(other, 'g', -1, 64))
		if err != nil || len(c.Quantities) != len(r.Quantities) {
			return nil
		}
		for i, q := range c.Quantities {
			if q.Value != r.Quantities[i].Value {
				return r.Quantities[i]
			}
		}
	}
	return nil
}

// maxSwap bounds what swap reads, bytes.
const maxSwap = 1 << 20

// swap puts what a file holds at the path: support, mount and tube are taken from it, anything else is written out.
func (e *Edit) swap(d *rig.Document, r *rig.Rig) error {
	name, err := filepath.Rel(filepath.Dir(r.Path), e.File)
	if err != nil || !filepath.IsLocal(name) {
		return fmt.Errorf("%q does not lie in the folder of %s or below it: copy it there", e.File, r.Path)
	}
	switch e.Path {
	case "support", "mount", "tube":
		return d.Set(e.Path, "{from: "+strconv.Quote(filepath.ToSlash(name))+"}")
	}
	data, err := rig.ReadFile(e.File, maxSwap)
	if err != nil {
		return fmt.Errorf("%s cannot be read: %w", e.File, err)
	}
	if err := rig.BoundYAML(data, e.File); err != nil {
		return err
	}
	// A file may hold the value itself, or a key of the path's last name with the value.
	last := e.Path[strings.LastIndexByte(e.Path, '.')+1:]
	var keys yaml.MapSlice
	if yaml.Unmarshal(data, &keys) == nil && len(keys) == 1 && fmt.Sprint(keys[0].Key) == last {
		if data, err = yaml.Marshal(keys[0].Value); err != nil {
			return err
		}
	}
	if err := d.Adopt(e.Path); err != nil {
		return err
	}
	return d.Set(e.Path, string(data))
}
