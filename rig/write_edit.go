package rig

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// editor changes YAML text in place. It works on what documents look like; Document.change checks the outcome.
type editor struct {
	text  string
	lines []int // byte offset of each line
	bom   int   // bytes of a byte order mark in front
}

func (e *editor) index() {
	e.lines = []int{0}
	for i := range len(e.text) {
		if e.text[i] == '\n' {
			e.lines = append(e.lines, i+1)
		}
	}
	e.bom = len(e.text) - len(strings.TrimPrefix(e.text, "\ufeff"))
}

// offset is where a position stands in the text.
func (e *editor) offset(line, col int) int {
	if line > len(e.lines) {
		return len(e.text)
	}
	o := e.lines[line-1]
	if line == 1 {
		o += e.bom
	}
	for ; col > 1 && o < len(e.text); col-- {
		_, n := utf8.DecodeRuneInString(e.text[o:])
		o += n
	}
	return o
}

// lineEnd is the offset behind the last character of a line, its line break not counted.
func (e *editor) lineEnd(line int) int {
	end := len(e.text)
	if line < len(e.lines) {
		end = e.lines[line] - 1
	}
	if end > 0 && end > e.lines[line-1] && e.text[end-1] == '\r' {
		end--
	}
	return end
}

func (e *editor) splice(from, to int, s string) { e.text = e.text[:from] + s + e.text[to:] }

// newline is the line break that the document uses.
func (e *editor) newline() string {
	if i := strings.IndexByte(e.text, '\n'); i > 0 && e.text[i-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}

// end is the offset behind a value on one line, or −1.
func (e *editor) end(n *node) int {
	start := e.offset(n.start.Line, n.start.Col)
	switch {
	case n.flow:
		return e.offset(n.endLine, n.endCol) + 1
	case n.kind == scalar && start < len(e.text) && (e.text[start] == '"' || e.text[start] == '\''):
		return e.closing(start)
	case n.kind == scalar && strings.HasPrefix(e.text[start:], n.text):
		return start + len(n.text)
	case n.kind == nothing && n.text != "" && strings.HasPrefix(e.text[start:], n.text):
		return start + len(n.text)
	}
	return -1
}

// closing is the offset behind the quoted text that starts at i.
func (e *editor) closing(i int) int {
	q := e.text[i]
	for j := i + 1; j < len(e.text); j++ {
		switch {
		case q == '"' && e.text[j] == '\\':
			j++
		case e.text[j] == q && q == '\'' && j+1 < len(e.text) && e.text[j+1] == q:
			j++
		case e.text[j] == q:
			return j + 1
		}
	}
	return -1
}

// afterColon is the offset behind the colon of an entry.
func (e *editor) afterColon(en *entry) int {
	i := e.offset(en.at.Line, en.at.Col)
	if i < len(e.text) && (e.text[i] == '"' || e.text[i] == '\'') {
		i = e.closing(i)
	} else {
		i += len(en.key)
	}
	if i < 0 || i > len(e.text) {
		return -1
	}
	j := strings.IndexByte(e.text[i:], ':')
	if j < 0 {
		return -1
	}
	return i + j + 1
}

// walk goes down as far as the document goes: the nodes passed, and the steps that are left.
func walk(tree *node, steps []step) (passed []*node, rest []step) {
	passed = []*node{tree}
	for i, s := range steps {
		next := passed[len(passed)-1].step(s)
		if next == nil {
			return passed, steps[i:]
		}
		passed = append(passed, next)
	}
	return passed, nil
}

// entryAt gives the entry of a mapping under a step's key.
func entryAt(parent *node, s step) *entry {
	i := slices.IndexFunc(parent.entries, func(en entry) bool { return en.key == s.key })
	if i < 0 {
		return nil
	}
	return &parent.entries[i]
}

// put writes v at the steps.
func (e *editor) put(tree *node, steps []step, v *node) {
	passed, rest := walk(tree, steps)
	last := passed[len(passed)-1]
	if len(rest) == 0 {
		if len(steps) == 0 {
			return
		}
		e.replace(passed[len(passed)-2], steps[len(steps)-1], last, flowText(v))
		return
	}
	// What lacks is made around v, from the inside out, down to the one key or entry to add.
	for i := len(rest) - 1; i > 0; i-- {
		if rest[i].key != "" {
			v = &node{kind: mapping, entries: []entry{{key: rest[i].key, value: v}}}
		} else {
			v = &node{kind: list, items: []*node{v}}
		}
	}
	text := flowText(v)
	switch {
	case last.kind == nothing || !last.flow && len(last.entries)+len(last.items) == 0:
		if len(passed) < 2 {
			return
		}
		whole := "[" + text + "]"
		if rest[0].key != "" {
			whole = "{" + word(rest[0].key, false) + ": " + text + "}"
		}
		e.replace(passed[len(passed)-2], steps[len(steps)-len(rest)-1], last, whole)
	case last.flow:
		if rest[0].key != "" {
			text = word(rest[0].key, false) + ": " + text
		}
		bracket := e.offset(last.endLine, last.endCol)
		before := strings.TrimRight(e.text[:bracket], " \t\r\n")
		if c := before[len(before)-1]; c != '{' && c != '[' && c != ',' {
			text = ", " + text
		} else if c == ',' {
			text = " " + text
		}
		e.splice(len(before), bracket, text)
	case last.kind == mapping:
		e.insertLine(last.endLine, indentOf(last.entries[0].at), word(rest[0].key, false)+": "+text)
	case last.kind == list:
		_, col := e.dash(last.items[len(last.items)-1])
		e.insertLine(last.endLine, col, "- "+text)
	}
}

func indentOf(p Position) int { return p.Col - 1 }

// insertLine adds a line behind a line.
func (e *editor) insertLine(line, indent int, s string) {
	nl := e.newline()
	at := e.lineEnd(line)
	e.splice(at, at, nl+strings.Repeat(" ", indent)+s)
}

// dash finds the dash in front of a block list's entry, and its indent.
func (e *editor) dash(item *node) (offset, indent int) {
	o := e.offset(item.start.Line, item.start.Col)
	if item.kind == list && !item.flow && o < len(e.text) && e.text[o] == '-' {
		o = max(0, o-1) // a list's own position is its first dash
	}
	o = strings.LastIndexByte(e.text[:o], '-')
	if o < 0 {
		return 0, 0
	}
	bol := strings.LastIndexByte(e.text[:o], '\n') + 1
	return o, utf8.RuneCountInString(strings.TrimPrefix(e.text[bol:o], "\ufeff"))
}

// replace writes s in place of a value.
func (e *editor) replace(parent *node, s step, old *node, text string) {
	if end := e.end(old); end >= 0 {
		e.splice(e.offset(old.start.Line, old.start.Col), end, text)
		return
	}
	// A value over several lines, or none: write behind the key or the dash, and take its lines away.
	from := -1
	if s.key != "" {
		from = e.afterColon(entryAt(parent, s))
	} else {
		from, _ = e.dash(old)
		from++
	}
	if from < 0 {
		return
	}
	line := 1 + strings.Count(e.text[:from], "\n")
	if old.kind == nothing {
		e.splice(from, from, " "+text)
		return
	}
	if old.start.Line == line { // it starts beside the key or the dash
		e.splice(from, e.lineEnd(old.endLine), " "+text)
		return
	}
	e.splice(e.lineEnd(line), e.lineEnd(old.endLine), "")
	e.splice(from, from, " "+text)
}

// remove takes what the steps lead to away.
func (e *editor) remove(tree *node, steps []step) {
	passed, rest := walk(tree, steps)
	if len(rest) > 0 || len(steps) == 0 {
		return
	}
	parent, target, s := passed[len(passed)-2], passed[len(passed)-1], steps[len(steps)-1]
	siblings := len(parent.entries) + len(parent.items)
	if siblings == 1 && !parent.flow {
		if len(passed) > 2 {
			empty := "[]"
			if parent.kind == mapping {
				empty = "{}"
			}
			e.replace(passed[len(passed)-3], steps[len(steps)-2], parent, empty)
		}
		return
	}
	from := e.offset(target.start.Line, target.start.Col)
	i := parent.entryOf(s)
	if s.key != "" {
		i = slices.IndexFunc(parent.entries, func(en entry) bool { return en.key == s.key })
		from = e.offset(parent.entries[i].at.Line, parent.entries[i].at.Col)
	}
	next := -1 // where the next entry starts
	if i+1 < siblings {
		if s.key != "" {
			next = e.offset(parent.entries[i+1].at.Line, parent.entries[i+1].at.Col)
		} else {
			next = e.offset(parent.items[i+1].start.Line, parent.items[i+1].start.Col)
		}
	}
	switch {
	case parent.flow && next >= 0:
		e.splice(from, next, "")
	case parent.flow:
		end := e.end(target)
		if end < 0 {
			return
		}
		before := strings.TrimRight(e.text[:from], " \t\r\n")
		e.splice(len(strings.TrimSuffix(before, ",")), end, "")
	default:
		if s.key == "" {
			from, _ = e.dash(target)
		}
		bol := strings.LastIndexByte(e.text[:from], '\n') + 1
		if strings.TrimSpace(strings.TrimPrefix(e.text[bol:from], "\ufeff")) != "" { // it shares its line with a dash
			if next >= 0 {
				e.splice(from, next, "")
			}
			return
		}
		line := 1 + strings.Count(e.text[:from], "\n")
		endLine := max(target.endLine, line)
		end := len(e.text)
		if endLine < len(e.lines) {
			end = e.lines[endLine]
		}
		e.splice(bol, end, "")
	}
}
