package rig

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// folder reads the files that a document names, from its own folder and below only: a link that leads out is refused.
type folder struct {
	dir   string   // as the root document's path has it; "" when the document has no folder
	named []string // the files asked for, there or not
}

// open reads the file at the slash-separated path name below the folder.
func (f *folder) read(name string) (data []byte, problem, remedy string) {
	const inside = "name a file in the document's own folder or below it"
	switch {
	case f.dir == "":
		return nil, fmt.Sprintf("%q cannot be read, since this document was not read from a folder", name), "save the document first, or write the section out"
	case strings.ContainsRune(name, '\\') || path.IsAbs(name) || !filepath.IsLocal(filepath.FromSlash(name)):
		return nil, fmt.Sprintf("%q leads out of the document's folder", clip(name)), inside + ", with forward slashes"
	}
	root, err := os.OpenRoot(f.dir)
	if err != nil {
		return nil, fmt.Sprintf("the document's folder cannot be read: %v", reason(err)), ""
	}
	defer root.Close()
	name = filepath.FromSlash(path.Clean(name))
	f.named = append(f.named, filepath.Join(f.dir, name))
	info, err := root.Stat(name)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Sprintf("there is no file %q", clip(name)), inside
		}
		return nil, fmt.Sprintf("%q cannot be read: %v", clip(name), reason(err)), inside
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Sprintf("%q is not a plain file", clip(name)), inside
	}
	file, err := root.Open(name)
	if err != nil {
		return nil, fmt.Sprintf("%q cannot be read: %v", clip(name), reason(err)), inside
	}
	defer file.Close()
	data, err = readBounded(file, maxBytes)
	if errors.Is(err, errTooLarge) {
		return nil, fmt.Sprintf("%q is larger than %s", clip(name), size(maxBytes)), "a rig document is a few kilobytes of text"
	}
	if err != nil {
		return nil, fmt.Sprintf("%q cannot be read: %v", clip(name), reason(err)), inside
	}
	return data, "", ""
}

// reason is the system's own reason, without the path that the message names already.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// maxFromDepth bounds how many files may lead to one another.
const maxFromDepth = 8

// resolve gives the document with every `from:` of support, mount and tube replaced by what it names, merged with the
// keys beside it: those override the file's, mapping by mapping, a list as a whole.
func (d *decoder) resolve(root *node, name string) *node {
	if root.kind != mapping {
		return root
	}
	out := *root
	out.entries = slices.Clone(root.entries)
	for i, e := range out.entries {
		switch e.key {
		case "support", "mount", "tube":
			out.entries[i].value = d.section(e.value, e.key, []string{name})
		}
	}
	return &out
}

// section replaces n's `from:`; stack holds the names of the files that led here, the innermost last.
func (d *decoder) section(n *node, key string, stack []string) *node {
	from := n.get("from")
	if from == nil {
		return n
	}
	at := key + ".from"
	rest := *n
	rest.entries = slices.DeleteFunc(slices.Clone(n.entries), func(e entry) bool { return e.key == "from" })
	if from.kind != scalar {
		d.fail(from.at, at, "it is "+from.kind.String()+", but the name of a file is expected", "write `from: other.yaml`")
		return nil
	}
	name := path.Join(path.Dir(stack[len(stack)-1]), from.text)
	if slices.Contains(stack, name) {
		d.fail(from.start, at, fmt.Sprintf("%q leads back to itself", clip(from.text)), "name a file that does not take its "+key+" from here")
		return nil
	}
	if len(stack) > maxFromDepth {
		d.fail(from.start, at, fmt.Sprintf("more than %d files lead to one another", maxFromDepth), "name the file that holds the "+key+" itself")
		return nil
	}
	if path.IsAbs(from.text) {
		name = from.text
	}
	data, problem, remedy := d.files.read(name)
	if problem != "" {
		d.fail(from.start, at, problem, remedy)
		return nil
	}
	other, err := parseNodes(data, filepath.Join(d.files.dir, filepath.FromSlash(name)))
	if err != nil {
		var e *Error
		if errors.As(err, &e) {
			d.errs = append(d.errs, e)
		}
		return nil
	}
	if own := other.get(key); own != nil {
		other = own
	}
	if other.kind != mapping {
		d.fail(other.at, key, "it is "+other.kind.String()+", but a mapping of keys is expected", "write the "+key+"'s keys, or put them under `"+key+":`")
		return nil
	}
	other = d.section(other, key, append(slices.Clone(stack), name))
	if other == nil {
		return nil
	}
	return merge(other, &rest)
}

// merge gives base with over's keys on top.
func merge(base, over *node) *node {
	if base.kind != mapping || over.kind != mapping {
		return over
	}
	out := *over
	out.entries = slices.Clone(base.entries)
	for _, e := range over.entries {
		i := slices.IndexFunc(out.entries, func(b entry) bool { return b.key == e.key })
		if i < 0 {
			out.entries = append(out.entries, e)
			continue
		}
		out.entries[i] = entry{key: e.key, at: e.at, value: merge(out.entries[i].value, e.value)}
	}
	return &out
}
