package rig

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// ErrChanged says that the file on disk is not the one that was read.
var ErrChanged = errors.New("the file on disk has changed since it was read")

// Document is the text of a rig document, for changes that keep its comments and the order of its keys. What it holds
// need not be a valid rig; Rig tells.
type Document struct {
	path string // "" until it was read from or written to a file
	text string
	read [sha256.Size]byte // of the file when it was read or written last
}

// OpenDocument reads the document at path for editing. It must be YAML within Load's bounds.
func OpenDocument(path string) (*Document, error) {
	data, err := readFile(path)
	if err != nil {
		return nil, err
	}
	d, err := EditDocument(data)
	if err != nil {
		var e *Error
		if errors.As(err, &e) {
			e.Pos.File = path
		}
		return nil, err
	}
	d.path, d.read = path, sha256.Sum256(data)
	return d, nil
}

// EditDocument takes a document that is not in a file yet.
func EditDocument(data []byte) (*Document, error) {
	if _, err := parseNodes(data, ""); err != nil {
		return nil, asErrors(err)
	}
	return &Document{text: string(data)}, nil
}

// Bytes gives the text as it is now.
func (d *Document) Bytes() []byte { return []byte(d.text) }

// Rig reads the text as it is now.
func (d *Document) Rig() (*Rig, error) { return Parse([]byte(d.text), d.path) }

// Set writes value at path: a number, a quantity, a word, or a list or mapping in brackets. It changes what is there, with
// the comment behind it kept, or adds the key after its section's last, making sections that lack; the index behind a
// list's last appends. Paths: see Rig.With. Nothing is changed on error.
func (d *Document) Set(path, value string) error {
	v, err := parseNodes([]byte(value), "")
	if err != nil {
		return fmt.Errorf("%s: the value %q: %w", path, clip(value), err)
	}
	if v.kind == nothing {
		return &Error{Path: path, Problem: "there is no value to set", Remedy: "delete the key instead"}
	}
	return d.change(path, v)
}

// Delete takes the key or list entry at path away, with the comment behind it; comments on lines of their own stay.
func (d *Document) Delete(path string) error { return d.change(path, &node{kind: nothing}) }

// change edits the text and proves by reading it back that it now says what was wanted and nothing else has changed.
func (d *Document) change(path string, v *node) error {
	steps, err := parsePath(path)
	if err != nil {
		return &Error{Problem: err.Error(), Remedy: "write a path such as support.legs.width_mm or tube.train.items[2].length_mm"}
	}
	tree, err := parseNodes([]byte(d.text), d.path)
	if err != nil {
		return asErrors(err)
	}
	want, problem := tree.with(steps, v)
	if problem != "" {
		return &Error{Path: path, Problem: problem, Remedy: "name a value of this document"}
	}
	e := &editor{text: d.text}
	e.index()
	if v.kind == nothing {
		e.remove(tree, steps)
	} else {
		e.put(tree, steps, v)
	}
	if got, err := parseNodes([]byte(e.text), d.path); err != nil || !same(got, want) {
		return &Error{Path: path, Problem: "the text there is written in a way that cannot be changed in place", Remedy: "change it by hand"}
	}
	d.text = e.text
	return nil
}

// same tells whether two trees say the same, wherever their values stand and however they are quoted.
func same(a, b *node) bool {
	if a.kind != b.kind || len(a.entries) != len(b.entries) || len(a.items) != len(b.items) {
		return false
	}
	if a.kind == scalar && a.text != b.text {
		return false
	}
	for i := range a.entries {
		if a.entries[i].key != b.entries[i].key || !same(a.entries[i].value, b.entries[i].value) {
			return false
		}
	}
	for i := range a.items {
		if !same(a.items[i], b.items[i]) {
			return false
		}
	}
	return true
}

// WriteFile puts the text at path in one step: readers see the old file or the new one, never a part. Over the file
// that was read it gives ErrChanged when that has changed since; over any other file it refuses.
func (d *Document) WriteFile(path string) error {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real // keep a link a link
	}
	unlock, err := lockFolder(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer unlock()
	mode := fs.FileMode(0o644)
	switch old, err := ReadFile(path, maxBytes); {
	case errors.Is(err, fs.ErrNotExist):
		if d.path != "" && sameFile(d.path, path) {
			return fmt.Errorf("%s: %w: it is gone", path, ErrChanged)
		}
	case d.path == "" || !sameFile(d.path, path):
		return fmt.Errorf("%s: there is a file already, and it is not the one that was read: %w", path, fs.ErrExist)
	case errors.Is(err, errTooLarge): // than any that was read
		return fmt.Errorf("%s: %w", path, ErrChanged)
	case err != nil:
		return fmt.Errorf("%s: %w", path, err)
	case sha256.Sum256(old) != d.read:
		return fmt.Errorf("%s: %w", path, ErrChanged)
	default:
		if info, err := os.Stat(path); err == nil {
			mode = info.Mode().Perm()
		}
	}
	if err := replaceFile(path, []byte(d.text), mode); err != nil {
		return err
	}
	d.path, d.read = path, sha256.Sum256([]byte(d.text))
	return nil
}

// sameFile compares two paths with their links followed.
func sameFile(a, b string) bool {
	real := func(p string) string {
		if r, err := filepath.EvalSymlinks(p); err == nil {
			p = r
		}
		if abs, err := filepath.Abs(p); err == nil {
			p = abs
		}
		return p
	}
	return real(a) == real(b)
}

// replaceFile writes beside the file, waits until that is on the disk and renames it over the file.
func replaceFile(path string, data []byte, mode fs.FileMode) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if _, err = f.Write(data); err != nil {
		return err
	}
	if err = f.Chmod(mode); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	if dir, e := os.Open(filepath.Dir(path)); e == nil { // the rename itself; not every system can
		_ = dir.Sync()
		dir.Close()
	}
	return nil
}

// flowText writes a value on one line.
func flowText(n *node) string {
	var parts []string
	switch n.kind {
	case mapping:
		for _, e := range n.entries {
			parts = append(parts, word(e.key, false)+": "+flowText(e.value))
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case list:
		for _, item := range n.items {
			parts = append(parts, flowText(item))
		}
		return "[" + strings.Join(parts, ", ") + "]"
	case nothing:
		return "null"
	}
	return word(n.text, n.quoted)
}

// word writes a text, in quotes where it needs them.
func word(s string, quoted bool) string {
	plain := s != "" && s == strings.TrimSpace(s) && !strings.ContainsAny(s, "\"'\\,[]{}#:&*!|>%@`?\t\r\n") && s[0] != '-' && s != "~" && s != "null"
	if numberForm.MatchString(s) && !quoted || plain && !quoted {
		return s
	}
	if quantityForm.MatchString(s) {
		return s
	}
	if plain && !numberForm.MatchString(s) && s != "true" && s != "false" {
		return s
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\x%02x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
