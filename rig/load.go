package rig

import (
	"errors"
	"fmt"
	"path/filepath"
	"reflect"
)

// FormatVersion is the version of the document that this program reads.
const FormatVersion = 1

// DefaultUsed is one value that the document left to the program.
type DefaultUsed struct {
	Path  string // such as tube.slide_mm
	Value string // as a document would write it; a tolerance alone reads `± 5 mm`
	Why   string
}

// Load reads the rig document at path, and the files that it names in its folder or below. A document that is not
// right gives Errors, one line a defect.
func Load(path string) (*Rig, error) {
	data, err := readFile(path)
	if err != nil {
		return nil, err
	}
	return Parse(data, path)
}

// readFile reads the document at path within Load's bounds; its error is an *Error.
func readFile(path string) ([]byte, error) {
	data, err := ReadFile(path, maxBytes)
	if errors.Is(err, errTooLarge) {
		return nil, tooLarge(path)
	}
	if err != nil {
		return nil, &Error{Pos: Position{File: path}, Problem: "the file cannot be read: " + err.Error(), Remedy: "name a rig document, or write one with `legroom new`"}
	}
	return data, nil
}

// Parse reads a rig document from memory. The path names it in messages, and its folder is where the files lie that the
// document names; with an empty path it may name none.
func Parse(data []byte, path string) (*Rig, error) {
	tree, err := parseNodes(data, path)
	if err != nil {
		return nil, asErrors(err)
	}
	d := &decoder{files: &folder{}}
	if path != "" {
		d.files.dir = filepath.Dir(path)
	}
	if err := checkVersion(tree); err != nil {
		return nil, Errors{err}
	}
	tree = d.resolve(tree, filepath.Base(path))
	if len(d.errs) > 0 {
		return nil, inOrder(d.errs, path)
	}
	r, err := d.rig(tree, path)
	if err == nil {
		r.files = d.files.named
	}
	return r, err
}

// checkVersion looks at the version first, since a newer document may have keys that mean nothing here.
func checkVersion(tree *node) *Error {
	v := tree.get("legroom")
	if v == nil || v.kind != scalar || v.text == fmt.Sprint(FormatVersion) {
		return nil // what is missing or of the wrong kind is reported with all else
	}
	var version int
	if _, err := fmt.Sscanf(v.text, "%d", &version); err == nil && version > FormatVersion && fmt.Sprint(version) == v.text {
		return &Error{Pos: v.start, Path: "legroom", Problem: fmt.Sprintf("the document is of version %d, and this program reads version %d", version, FormatVersion), Remedy: "use a newer program, or write the document anew with `legroom new`"}
	}
	return &Error{Pos: v.start, Path: "legroom", Problem: fmt.Sprintf("%q is not a version of the document", clip(v.text)), Remedy: fmt.Sprintf("write `legroom: %d`", FormatVersion)}
}

// rig decodes a document whose files are merged.
func (d *decoder) rig(tree *node, path string) (*Rig, error) {
	r := &Rig{Path: path, tree: tree}
	d.structure(tree, reflect.ValueOf(r).Elem(), "")
	if tree.kind == mapping {
		d.rules(r)
	}
	if len(d.errs) > 0 {
		return nil, inOrder(d.errs, path)
	}
	r.defaults = d.defaults
	r.list()
	return r, nil
}

// list rebuilds r.Quantities.
func (r *Rig) list() {
	r.Quantities = r.Quantities[:0:0]
	eachQuantity(reflect.ValueOf(r).Elem(), func(q *Quantity) {
		q.ID = len(r.Quantities)
		r.Quantities = append(r.Quantities, q)
	})
}

// eachQuantity visits the quantities that are set, in the order of the fields.
func eachQuantity(v reflect.Value, visit func(*Quantity)) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			eachQuantity(v.Elem(), visit)
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachQuantity(v.Index(i), visit)
		}
	case reflect.Struct:
		if t := v.Type(); t == lengthType || t == angleType || t == massType {
			if q := quantityOf(v); q.Set() {
				visit(q)
			}
			return
		}
		for _, f := range fieldsOf[v.Type()] {
			eachQuantity(v.Field(f.index), visit)
		}
	}
}

// Files lists the files that the document takes sections or its horizon from, one after the other, as paths that start with the
// folder of the document's own path.
func (r *Rig) Files() []string { return r.files }

// Defaults lists every value that the document left to the program, tolerances included.
func (r *Rig) Defaults() []DefaultUsed { return r.defaults }

// With gives the rig with one value of the document set, as if it had been written there: a number, a quantity, a word,
// or a list or mapping in brackets. The value null takes the key away. The rig itself is not changed; values changed
// in r since it was loaded are not seen.
func (r *Rig) With(path, value string) (*Rig, error) {
	name := "set " + clip(path) + "=" + clip(value)
	steps, err := parsePath(path)
	if err != nil {
		return nil, Errors{{Pos: Position{File: name}, Problem: err.Error(), Remedy: "write a path such as support.legs.width_mm or tube.train.items[2].length_mm"}}
	}
	v, err := parseNodes([]byte(value), name)
	if err != nil {
		return nil, asErrors(err)
	}
	tree, problem := r.tree.with(steps, v)
	if problem != "" {
		return nil, Errors{{Pos: Position{File: name}, Path: path, Problem: problem, Remedy: "name a value of this document"}}
	}
	d := &decoder{files: &folder{}}
	if r.Path != "" {
		d.files.dir = filepath.Dir(r.Path)
	}
	return d.rig(tree, r.Path)
}

// asErrors wraps a lone defect.
func asErrors(err error) error {
	var e *Error
	if errors.As(err, &e) {
		return Errors{e}
	}
	return err
}
