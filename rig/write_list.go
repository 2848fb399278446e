package rig

import (
	"fmt"
	"slices"
	"strings"
)

// Insert writes value as a new entry of a list, before the one that path leads to; the index behind the last appends.
// Nothing is changed on error.
func (d *Document) Insert(path, value string) error {
	v, err := parseNodes([]byte(value), "")
	if err != nil {
		return fmt.Errorf("%s: the value %q: %w", path, clip(value), err)
	}
	return d.relist(path, func(l *listText, i int) string {
		l.insert(i, flowText(v), v)
		return ""
	})
}

// Move puts the entry of a list that path leads to where the list's entry to is, with the comments above and behind it.
// Nothing is changed on error.
func (d *Document) Move(path string, to int) error {
	return d.relist(path, func(l *listText, i int) string {
		if i == len(l.items) || to < 0 || to >= len(l.items) {
			return fmt.Sprintf("the list has %d entries, so that nothing moves from %d to %d", len(l.items), i, to)
		}
		text, item := l.texts[i], l.items[i]
		l.texts, l.items = slices.Delete(l.texts, i, i+1), slices.Delete(l.items, i, i+1)
		l.texts, l.items = slices.Insert(l.texts, to, text), slices.Insert(l.items, to, item)
		return ""
	})
}

// Duplicate writes the entry of a list that path leads to once more behind it, under another name. Nothing is changed on error.
func (d *Document) Duplicate(path, name string) error {
	return d.relist(path, func(l *listText, i int) string {
		if i == len(l.items) {
			return fmt.Sprintf("the list has %d entries", len(l.items))
		}
		if l.items[i].get("name") == nil {
			return "the entry has no name that could be told from the copy's"
		}
		copied, _ := l.items[i].with([]step{{key: "name"}}, &node{kind: scalar, text: name, quoted: true})
		l.insert(i+1, flowText(copied), copied)
		return ""
	})
}

// listText is a list with the text of its entries, the dash of a block list left out.
type listText struct {
	items []*node
	texts []string
	dash  string // in front of an entry on a line of its own; "" for a list in brackets
}

func (l *listText) insert(i int, text string, v *node) {
	l.texts, l.items = slices.Insert(l.texts, i, l.dash+text), slices.Insert(l.items, i, v)
}

// relist changes the list whose entry path leads to, and proves by reading it back that nothing else has changed.
func (d *Document) relist(path string, edit func(l *listText, i int) (problem string)) error {
	steps, err := parsePath(path)
	if err != nil {
		return &Error{Problem: err.Error(), Remedy: "write a path such as tube.train.items[2]"}
	}
	tree, err := parseNodes([]byte(d.text), d.path)
	if err != nil {
		return asErrors(err)
	}
	up, last := steps[:len(steps)-1], steps[len(steps)-1]
	passed, rest := walk(tree, up)
	n := passed[len(passed)-1]
	i := n.entryOf(last)
	if len(rest) > 0 || i < 0 {
		return &Error{Path: path, Problem: "it is no entry of a list of this document", Remedy: "name one such as tube.train.items[2]"}
	}
	e := &editor{text: d.text}
	e.index()
	l, from, to := e.list(n)
	if l == nil {
		return &Error{Path: path, Problem: "the list is written in a way that cannot be changed in place", Remedy: "change it by hand"}
	}
	if problem := edit(l, i); problem != "" {
		return &Error{Path: path, Problem: problem, Remedy: "name an entry of the list"}
	}
	between := e.newline()
	if n.flow {
		between = ", "
	}
	e.splice(from, to, strings.Join(l.texts, between))
	want, problem := tree.with(up, &node{kind: list, items: l.items})
	if got, err := parseNodes([]byte(e.text), d.path); problem != "" || err != nil || !same(got, want) {
		return &Error{Path: path, Problem: "the text there is written in a way that cannot be changed in place", Remedy: "change it by hand"}
	}
	d.text = e.text
	return nil
}

// list cuts a list into the text of its entries, which stand from one offset to another; nil when they do not stand one after
// the other. A comment on lines of its own goes with the entry below it, but for what stands above the first.
func (e *editor) list(n *node) (l *listText, from, to int) {
	l = &listText{items: slices.Clone(n.items)}
	if n.flow {
		from = e.offset(n.start.Line, n.start.Col) + 1
		to = e.offset(n.endLine, n.endCol)
		for _, item := range n.items {
			end := e.end(item)
			if end < 0 {
				return nil, 0, 0
			}
			l.texts = append(l.texts, e.text[e.offset(item.start.Line, item.start.Col):end])
		}
		return l, from, to
	}
	if len(n.items) == 0 {
		return nil, 0, 0
	}
	first, indent := e.dash(n.items[0])
	from = strings.LastIndexByte(e.text[:first], '\n') + 1
	if strings.TrimSpace(e.text[from:first]) != "" {
		return nil, 0, 0
	}
	l.dash = strings.Repeat(" ", indent) + "- "
	start := from
	for _, item := range n.items {
		to = e.lineEnd(item.endLine)
		if to < start {
			return nil, 0, 0
		}
		l.texts = append(l.texts, e.text[start:to])
		if item.endLine < len(e.lines) {
			start = e.lines[item.endLine]
		}
	}
	return l, from, to
}
