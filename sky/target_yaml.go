package sky

import (
	"errors"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"

	"legroom/rig"
)

const (
	maxTargetLines = 20_000 // of one YAML list
	maxTargetLine  = 2_000  // bytes of one line
	maxTargetDepth = 8      // of brackets, or of dashes in one line
)

// yaml reads the entries of a YAML text.
func (d *targetDecoder) yaml(text, file string) []targetEntry {
	body := d.yamlBody(text, file)
	if body == nil {
		return nil
	}
	if m, ok := yamlPairs(body); ok {
		if len(m) == 1 && m[0].Key.GetToken().Value == "targets" && m[0].Value != nil {
			body = m[0].Value
		} else {
			d.fail(yamlAt(file, m[0].Key.GetToken()), "", "a list of targets is expected, but this is a mapping of keys", "begin each target with a dash, below `targets:` or without it")
			return nil
		}
	}
	list, ok := body.(*ast.SequenceNode)
	if !ok {
		d.fail(yamlAt(file, body.GetToken()), "", "a list of targets is expected", "begin each target with a dash, such as `- M 42` or `- name: M 42`")
		return nil
	}
	var entries []targetEntry
	for i, item := range list.Values {
		path := fmt.Sprintf("targets[%d]", i)
		if item == nil {
			d.fail(yamlAt(file, list.GetToken()), path, "the list has an entry with nothing in it", "remove its dash or write a name")
			continue
		}
		if e, ok := d.yamlEntry(item, file, path); ok {
			entries = append(entries, e)
		}
	}
	return entries
}

// yamlEntry reads one target: a name alone, or a mapping.
func (d *targetDecoder) yamlEntry(item ast.Node, file, path string) (targetEntry, bool) {
	e := targetEntry{at: yamlAt(file, item.GetToken())}
	pairs, ok := yamlPairs(item)
	if !ok {
		text, ok := yamlText(item)
		if !ok {
			d.fail(e.at, path, "it is neither a name nor a mapping of keys", "write `- M 42`, or `- name: M 42` with further keys below it")
			return e, false
		}
		e.cells = []targetCell{{key: "name", text: text, at: e.at, keyAt: e.at}}
		return e, true
	}
	whole := true
	seen := map[string]int{}
	for i, p := range pairs {
		kt := p.Key.GetToken()
		c := targetCell{key: kt.Value, keyAt: yamlAt(file, kt)}
		if i == 0 {
			e.at = c.keyAt
		}
		c.at = c.keyAt
		if first, twice := seen[c.key]; twice {
			d.fail(c.keyAt, path+"."+targetClip(c.key), fmt.Sprintf("the key is here for the second time, first in line %d", first), "keep one of the two")
			whole = false
			continue
		}
		seen[c.key] = c.keyAt.Line
		if list, ok := p.Value.(*ast.SequenceNode); ok {
			c.list = true
			for _, w := range list.Values {
				word, ok := yamlText(w)
				if !ok {
					d.fail(c.keyAt, path+"."+targetClip(c.key), "its list holds something that is not a single value", "write words such as [L, R, G, B]")
					whole = false
					break
				}
				c.words = append(c.words, targetCell{text: word, at: yamlAt(file, w.GetToken())})
			}
		} else if text, ok := yamlText(p.Value); ok {
			c.text, c.at = text, yamlAt(file, p.Value.GetToken())
		} else {
			problem := "it has no value"
			if p.Value != nil && p.Value.Type() != ast.NullType {
				problem = "it is not a single value"
			}
			d.fail(c.keyAt, path+"."+targetClip(c.key), problem, "write one, or remove the key")
			whole = false
			continue
		}
		e.cells = append(e.cells, c)
	}
	return e, whole
}

// yamlBody parses the text and gives the body of its one document; nil, with the defect added, when there is none.
func (d *targetDecoder) yamlBody(text, file string) (body ast.Node) {
	top := rig.Position{File: file, Line: 1, Col: 1}
	defer func() {
		// The library has been seen to panic on hostile text; that text is no list either.
		if r := recover(); r != nil {
			body = nil
			d.fail(top, "", "this is not YAML that can be read", "write one target a line: `- M 42`")
		}
	}()
	if problem, line := yamlTooDeep(text); problem != "" {
		d.fail(rig.Position{File: file, Line: line, Col: 1}, "", problem, "write one key a line, with a dash before each target")
		return nil
	}
	f, err := parser.ParseBytes([]byte(text), 0, parser.AllowDuplicateMapKey())
	if err != nil {
		message, at := err.Error(), top
		var y yaml.Error
		if errors.As(err, &y) {
			message, at = y.GetMessage(), yamlAt(file, y.GetToken())
		}
		message, _, _ = strings.Cut(message, "\n")
		d.fail(at, "", "this is not YAML: "+message, "check indentation, colons, quotes and brackets there")
		return nil
	}
	for _, doc := range f.Docs {
		if doc.Body == nil || doc.Body.Type() == ast.CommentGroupType {
			continue
		}
		if body != nil || doc.Body.Type() == ast.DirectiveType {
			d.fail(yamlAt(file, doc.Body.GetToken()), "", "the file holds more than one YAML document, or a directive", "write one list a file, without `---` and `%` lines")
			return nil
		}
		body = doc.Body
	}
	return body
}

// yamlTooDeep finds what would make the parser slow or recurse deeply, before it runs.
func yamlTooDeep(text string) (problem string, line int) {
	open := 0
	for i, l := range strings.Split(text, "\n") {
		open = max(0, open+strings.Count(l, "[")+strings.Count(l, "{")-strings.Count(l, "]")-strings.Count(l, "}"))
		indent := len(l) - len(strings.TrimLeft(l, " \t"))
		switch {
		case i > maxTargetLines || len(l) > maxTargetLine:
			return "the list or this line is longer than a list of targets can be", i + 1
		case open > maxTargetDepth || strings.Contains(l, strings.Repeat("- ", maxTargetDepth)) || indent > 200:
			return "lists and mappings are nested too deep", i + 1
		}
	}
	return "", 0
}

func yamlAt(file string, t *token.Token) rig.Position {
	if t == nil || t.Position == nil {
		return rig.Position{File: file, Line: 1, Col: 1}
	}
	return rig.Position{File: file, Line: t.Position.Line, Col: max(t.Position.Column, 1)}
}

// yamlPairs gives the pairs of a mapping that holds any.
func yamlPairs(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch v := n.(type) {
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{v}, true
	case *ast.MappingNode:
		return v.Values, len(v.Values) > 0
	}
	return nil, false
}

// yamlText gives a single value as it is written.
func yamlText(n ast.Node) (string, bool) {
	switch v := n.(type) {
	case *ast.StringNode:
		return v.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	}
	return "", false
}
