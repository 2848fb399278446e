package rig

import "strings"

// Note writes the comment behind the value at path, such as where it was measured, in place of the one that is there; an
// empty note takes it away. Values on one line share its comment. Nothing is changed on error.
func (d *Document) Note(path, note string) error {
	steps, err := parsePath(path)
	if err != nil {
		return &Error{Problem: err.Error(), Remedy: "write a path such as support.legs.width_mm"}
	}
	tree, err := parseNodes([]byte(d.text), d.path)
	if err != nil {
		return asErrors(err)
	}
	passed, rest := walk(tree, steps)
	if len(rest) > 0 {
		return &Error{Path: path, Problem: "there is no such value in this document", Remedy: "set it first"}
	}
	n := passed[len(passed)-1]
	if n.kind == scalar && n.endLine > n.start.Line {
		return &Error{Path: path, Problem: "the value goes over several lines, and a comment does not go behind it", Remedy: "write it by hand"}
	}
	line := n.endLine
	if !n.flow && n.kind != scalar { // over several lines: behind its key
		line = n.at.Line
	}
	e := &editor{text: d.text}
	e.index()
	from, to := e.lines[line-1], e.lineEnd(line)
	text := e.text[from:to]
	if i := commentIn(text); i >= 0 {
		text = text[:i]
	}
	text = strings.TrimRight(text, " \t")
	if note = strings.Join(strings.Fields(note), " "); note != "" {
		text += " # " + note
	}
	e.splice(from, to, text)
	if got, err := parseNodes([]byte(e.text), d.path); err != nil || !same(got, tree) {
		return &Error{Path: path, Problem: "the line there is written in a way that a comment does not go behind", Remedy: "write it by hand"}
	}
	d.text = e.text
	return nil
}

// commentIn is where the comment of a line starts, −1 without one: at a # that stands first or behind a space, outside of quotes.
func commentIn(line string) int {
	quote := byte(0)
	for i := 0; i < len(line); i++ {
		c := line[i]
		opens := i == 0 || strings.IndexByte(" \t[{,:", line[i-1]) >= 0
		switch {
		case quote == '"' && c == '\\':
			i++
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case (c == '"' || c == '\'') && opens:
			quote = c
		case c == '#' && (i == 0 || line[i-1] == ' ' || line[i-1] == '\t'):
			return i
		}
	}
	return -1
}

// NoteOf gives the comment of a line of a document, such as where a length was measured.
func NoteOf(line string) string {
	i := commentIn(line)
	if i < 0 {
		return ""
	}
	return strings.TrimSpace(strings.TrimLeft(line[i:], "#"))
}
