package rig

import (
	"path/filepath"
	"strings"
)

// Draft takes a text that is to become the document at path, whatever stands there now: files that it names are looked for
// beside that.
func Draft(data []byte, path string) (*Document, error) {
	d, err := EditDocument(data)
	if err != nil {
		return nil, err
	}
	d.path = path
	return d, nil
}

// Replace puts another text in place of the document's, as its owner typed it.
func (d *Document) Replace(data []byte) error {
	if _, err := parseNodes(data, d.path); err != nil {
		return asErrors(err)
	}
	d.text = string(data)
	return nil
}

// Sources lists the files that a document takes sections or its horizon from, one after the other, as paths that start with the
// folder of the document's own path; also those that are not there. What cannot be read names none.
func Sources(data []byte, path string) []string {
	tree, err := parseNodes(data, path)
	if err != nil || path == "" {
		return nil
	}
	d := &decoder{files: &folder{dir: filepath.Dir(path)}}
	tree = d.resolve(tree, filepath.Base(path))
	if h := tree.get("site").get("horizon"); h != nil && h.kind == scalar {
		d.files.read(h.text)
	}
	return d.files.named
}

// Adopt makes ready to change an entry of a list that a section takes from a file, since an override replaces a list as a whole:
// it copies the list that path leads through into this document, comments and all. It does nothing when path leads through no
// such list.
func (d *Document) Adopt(path string) error {
	steps, err := parsePath(path)
	if err != nil {
		return &Error{Problem: err.Error(), Remedy: "write a path such as tube.train.items[2].length_mm"}
	}
	keys := 0
	for keys < len(steps) && steps[keys].key != "" {
		keys++
	}
	tree, err := parseNodes([]byte(d.text), d.path)
	if err != nil {
		return asErrors(err)
	}
	passed, rest := walk(tree, steps[:keys])
	if keys == len(steps) || len(rest) == 0 || tree.get(steps[0].key).get("from") == nil || d.path == "" {
		return nil
	}
	files := &decoder{files: &folder{dir: filepath.Dir(d.path)}}
	there, missing := walk(files.resolve(tree, filepath.Base(d.path)), steps[:keys])
	list := there[len(there)-1]
	if len(missing) > 0 || len(list.items) == 0 {
		return nil // what then changes the document says why it cannot
	}
	last := passed[len(passed)-1]
	block, ok := files.block(list)
	if !ok || last.flow || last.kind != mapping {
		return d.change(pathOf(steps[:keys]), list)
	}
	e := &editor{text: d.text}
	e.index()
	var lines []string
	indent := indentOf(last.entries[0].at)
	for i, s := range rest {
		lines = append(lines, strings.Repeat(" ", indent+2*i)+s.key+":")
	}
	for _, l := range block {
		if l != "" {
			l = strings.Repeat(" ", indent+2*len(rest)) + l
		}
		lines = append(lines, l)
	}
	at := e.lineEnd(last.endLine)
	e.splice(at, at, e.newline()+strings.Join(lines, e.newline()))
	want, problem := tree.with(steps[:keys], list)
	if got, err := parseNodes([]byte(e.text), d.path); problem != "" || err != nil || !same(got, want) {
		return d.change(pathOf(steps[:keys]), list)
	}
	d.text = e.text
	return nil
}

// block gives the lines of a block list as its file has them, without their common indent.
func (d *decoder) block(list *node) (lines []string, ok bool) {
	if list.flow {
		return nil, false
	}
	name, err := filepath.Rel(d.files.dir, list.start.File)
	if err != nil {
		return nil, false
	}
	data, problem, _ := d.files.read(filepath.ToSlash(name))
	if problem != "" {
		return nil, false
	}
	e := &editor{text: strings.ReplaceAll(string(data), "\r\n", "\n")}
	e.index()
	_, indent := e.dash(list.items[0])
	for line := list.items[0].start.Line; line <= list.endLine; line++ {
		l := strings.TrimRight(e.text[e.lines[line-1]:e.lineEnd(line)], " \t")
		cut := min(indent, len(l)-len(strings.TrimLeft(l, " ")))
		lines = append(lines, l[cut:])
	}
	return lines, true
}

// pathOf writes steps that are all keys.
func pathOf(steps []step) string {
	keys := make([]string, len(steps))
	for i, s := range steps {
		keys[i] = s.key
	}
	return strings.Join(keys, ".")
}

// From gives the file that each section is taken from, as this document names it; a section that is written here has none.
func (d *Document) From() map[string]string {
	out := map[string]string{}
	tree, err := parseNodes([]byte(d.text), d.path)
	if err != nil {
		return out
	}
	for _, e := range tree.entries {
		if n := e.value.get("from"); n != nil {
			out[e.key] = n.text
		}
	}
	return out
}
