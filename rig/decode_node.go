package rig

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

const (
	maxBytes = 1 << 20 // of one file
	maxDepth = 32      // of lists and mappings in each other
	maxItems = 4000    // of one list or mapping
	maxKeys  = 10_000  // of one file; the parser's time grows with their square
	maxLines = 30_000  // of one file
	maxMarks = 100_000 // of one file: keys, values, brackets and commas
)

type kind int

const (
	nothing kind = iota // a key with no value, ~ or null
	scalar
	mapping
	list
)

// String names the kind in a message.
func (k kind) String() string {
	return [...]string{"empty", "a single value", "a mapping of keys", "a list"}[k]
}

// node is one value of a document. A tree of nodes never changes once built, so that rigs share it.
type node struct {
	kind    kind
	text    string   // of a scalar
	quoted  bool     // a scalar in quotes, or a block scalar: never a number
	flow    bool     // a list or mapping in brackets
	start   Position // of the value itself
	at      Position // where messages point: the key of a block list or mapping, else as start
	endLine int      // last line of the value
	endCol  int      // column of a flow list's or mapping's closing bracket
	entries []entry  // of a mapping
	items   []*node  // of a list
}

type entry struct {
	key   string
	at    Position
	value *node
}

// get gives the value under key; nil when there is none or n is no mapping.
func (n *node) get(key string) *node {
	if n != nil {
		for i := range n.entries {
			if n.entries[i].key == key {
				return n.entries[i].value
			}
		}
	}
	return nil
}

// keyAt gives the place of key, or of the mapping when it does not hold the key.
func (n *node) keyAt(key string) Position {
	for i := range n.entries {
		if n.entries[i].key == key {
			return n.entries[i].at
		}
	}
	return n.at
}

// parseNodes reads one YAML file into nodes: no more than 1 MiB, 32 levels, 10,000 keys, 4000 entries a list, one document, no
// anchors, aliases, merge keys or tags.
func parseNodes(data []byte, file string) (*node, error) {
	top := Position{File: file, Line: 1, Col: 1}
	if len(data) > maxBytes {
		return nil, tooLarge(file)
	}
	if !utf8.Valid(data) {
		return nil, &Error{Pos: top, Problem: "the file is not UTF-8 text", Remedy: "save it as UTF-8"}
	}
	text := strings.ReplaceAll(strings.TrimPrefix(string(data), "\ufeff"), "\r\n", "\n")
	if err := shallow(text, file); err != nil {
		return nil, err
	}
	doc, err := parseYAML(text, file)
	if err != nil {
		return nil, err
	}
	if doc == nil {
		return nil, &Error{Pos: top, Problem: "the file is empty", Remedy: "`legroom new` writes a document to start from"}
	}
	c := &nodes{file: file}
	n := c.node(doc, 0)
	if c.err != nil {
		return nil, c.err
	}
	return n, nil
}

func tooLarge(file string) *Error {
	return &Error{Pos: Position{File: file}, Problem: "the file is larger than " + size(maxBytes), Remedy: "a rig document is a few kilobytes of text"}
}

// parseYAML gives the body of the file's one document, nil when it holds none.
func parseYAML(text, file string) (body ast.Node, err error) {
	defer func() {
		// The library has been seen to panic on hostile text; that text is no document either.
		if r := recover(); r != nil {
			body, err = nil, &Error{Pos: Position{File: file, Line: 1, Col: 1}, Problem: "this is not YAML that can be read", Remedy: "write plain `key: value` lines"}
		}
	}()
	f, perr := parser.ParseBytes([]byte(text), 0, parser.AllowDuplicateMapKey())
	if perr != nil {
		var y yaml.Error
		e := &Error{Pos: Position{File: file, Line: 1, Col: 1}, Problem: "this is not YAML: " + firstLine(perr.Error()), Remedy: "check indentation, colons, quotes and brackets there"}
		if errors.As(perr, &y) {
			e.Problem = "this is not YAML: " + firstLine(y.GetMessage())
			if p := y.GetToken(); p != nil && p.Position != nil {
				e.Pos.Line, e.Pos.Col = p.Position.Line, max(p.Position.Column, 1)
			}
		}
		return nil, e
	}
	for _, d := range f.Docs {
		if d.Body == nil || d.Body.Type() == ast.CommentGroupType {
			continue
		}
		if body != nil || d.Body.Type() == ast.DirectiveType {
			return nil, &Error{Pos: at(file, d.Body.GetToken()), Problem: "the file holds more than one YAML document, or a directive", Remedy: "write one document a file, without `---` and `%` lines"}
		}
		body = d.Body
	}
	return body, nil
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}

func at(file string, t *token.Token) Position {
	if t == nil || t.Position == nil {
		return Position{File: file, Line: 1, Col: 1}
	}
	return Position{File: file, Line: t.Position.Line, Col: max(t.Position.Column, 1)}
}

// shallow refuses what would make the parser recurse deeply, from the tokens alone.
func shallow(text, file string) error {
	// A line of `- - - -` or `[[[[` costs the lexer more than its length; bound both before it runs.
	open := 0
	for i, line := 1, text; line != ""; i++ {
		var l string
		l, line, _ = strings.Cut(line, "\n")
		open = max(0, open+strings.Count(l, "[")+strings.Count(l, "{")-strings.Count(l, "]")-strings.Count(l, "}"))
		if len(l) > 20000 || open > 8*maxDepth || strings.Contains(l, strings.Repeat("- ", maxDepth+1)) || i > maxLines {
			return &Error{Pos: Position{File: file, Line: i, Col: 1}, Problem: "the file is longer, or the line longer or deeper, than a rig document can be", Remedy: fmt.Sprintf("write one key a line, at most %d levels and %d lines", maxDepth, maxLines)}
		}
	}
	var block []int // columns of the open block lists and mappings
	flow, keys := 0, 0
	for i, t := range lexer.Tokenize(text) {
		if i > maxMarks {
			return &Error{Pos: at(file, t), Problem: fmt.Sprintf("the file has more than %d keys, values and marks", maxMarks), Remedy: "a rig document has a few hundred"}
		}
		col := t.Position.Column
		if t.Type == token.MappingValueType || t.Type == token.MappingKeyType {
			if keys++; keys > maxKeys {
				return &Error{Pos: at(file, t), Problem: fmt.Sprintf("the file has more than %d keys", maxKeys), Remedy: "a rig document has a few hundred"}
			}
		}
		switch t.Type {
		case token.SequenceStartType, token.MappingStartType:
			flow++
		case token.SequenceEndType, token.MappingEndType:
			flow = max(0, flow-1)
		case token.SequenceEntryType, token.MappingValueType, token.MappingKeyType:
			if flow > 0 {
				continue
			}
			if t.Type == token.MappingValueType && t.Prev != nil {
				col = t.Prev.Position.Column
			}
			for len(block) > 0 && block[len(block)-1] >= col {
				block = block[:len(block)-1]
			}
			block = append(block, col)
		case token.AnchorType, token.AliasType, token.MergeKeyType, token.TagType:
			return &Error{Pos: at(file, t), Problem: fmt.Sprintf("YAML anchors, aliases, merge keys and tags (here %q) are not read", t.Value), Remedy: "write the value out, or share a section through `from: other.yaml`; put a text that starts so in quotes"}
		}
		if flow+len(block) > maxDepth {
			return &Error{Pos: at(file, t), Problem: fmt.Sprintf("lists and mappings are nested more than %d deep", maxDepth), Remedy: "a rig document needs no more than 8"}
		}
	}
	return nil
}

// nodes turns the library's tree into ours and keeps the first thing that it cannot take.
type nodes struct {
	file string
	err  *Error
}

func (c *nodes) refuse(t *token.Token, problem, remedy string) *node {
	if c.err == nil {
		c.err = &Error{Pos: at(c.file, t), Problem: problem, Remedy: remedy}
	}
	return &node{start: at(c.file, t), at: at(c.file, t)}
}

func (c *nodes) node(a ast.Node, depth int) *node {
	t := a.GetToken()
	if depth > maxDepth {
		return c.refuse(t, fmt.Sprintf("lists and mappings are nested more than %d deep", maxDepth), "a rig document needs no more than 8")
	}
	n := &node{start: at(c.file, t)}
	n.endLine = n.start.Line
	switch v := a.(type) {
	case *ast.NullNode:
		n.kind, n.text = nothing, strings.TrimSpace(t.Origin)
	case *ast.StringNode:
		n.kind, n.text = scalar, v.Value
		n.quoted = t.Type == token.SingleQuoteType || t.Type == token.DoubleQuoteType
		n.endLine += strings.Count(strings.TrimSpace(t.Origin), "\n")
	case *ast.LiteralNode:
		n.kind, n.text, n.quoted = scalar, v.Value.Value, true
		n.endLine += 1 + strings.Count(v.Value.GetToken().Origin, "\n")
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		n.kind, n.text = scalar, t.Value
	case *ast.MappingValueNode:
		c.mapping(n, []*ast.MappingValueNode{v}, depth)
	case *ast.MappingNode:
		n.flow = v.IsFlowStyle
		c.mapping(n, v.Values, depth)
		if v.End != nil {
			n.endLine, n.endCol = v.End.Position.Line, v.End.Position.Column
		}
	case *ast.SequenceNode:
		n.kind, n.flow = list, v.IsFlowStyle
		if len(v.Values) > maxItems {
			return c.refuse(t, fmt.Sprintf("the list has %d entries", len(v.Values)), fmt.Sprintf("at most %d are read", maxItems))
		}
		for _, item := range v.Values {
			if item == nil {
				return c.refuse(t, "the list has an entry with nothing in it", "remove its dash or write a value")
			}
			child := c.node(item, depth+1)
			n.items = append(n.items, child)
			n.endLine = max(n.endLine, child.endLine)
		}
		if v.End != nil {
			n.endLine, n.endCol = v.End.Position.Line, v.End.Position.Column
		}
	default:
		return c.refuse(t, fmt.Sprintf("%s is not read in a rig document", a.Type().YAMLName()), "write plain keys, numbers, words and lists")
	}
	n.at = n.start
	return n
}

func (c *nodes) mapping(n *node, values []*ast.MappingValueNode, depth int) {
	n.kind = mapping
	if len(values) > maxItems {
		c.refuse(values[0].GetToken(), fmt.Sprintf("the mapping has %d keys", len(values)), fmt.Sprintf("at most %d are read", maxItems))
		return
	}
	seen := map[string]Position{}
	for i, v := range values {
		kt := v.Key.GetToken()
		key, ok := v.Key.(*ast.StringNode)
		if !ok {
			c.refuse(kt, fmt.Sprintf("%q is not a key", kt.Value), "write plain words as keys")
			return
		}
		e := entry{key: key.Value, at: at(c.file, kt)}
		if first, twice := seen[e.key]; twice {
			if c.err == nil {
				c.err = &Error{Pos: e.at, Path: e.key, Problem: fmt.Sprintf("the key is here for the second time, first in line %d", first.Line), Remedy: "keep one of the two"}
			}
			return
		}
		seen[e.key] = e.at
		if v.Value == nil {
			c.refuse(kt, fmt.Sprintf("%q has no value", e.key), "write one, or remove the key")
			return
		}
		e.value = c.node(v.Value, depth+1)
		if !e.value.flow && e.value.kind != scalar {
			e.value.at = e.at
		}
		n.entries = append(n.entries, e)
		if i == 0 && !n.flow {
			n.start = e.at
		}
		n.endLine = max(n.endLine, e.value.endLine, e.at.Line)
	}
}
