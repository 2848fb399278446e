package rig

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// step is one step down a document: a key, an index, or an entry by its name.
type step struct {
	key   string // "" for an index or a name
	name  string // [filter wheel]
	index int
}

var pathStep = regexp.MustCompile(`^(?:\.?([A-Za-z_][A-Za-z0-9_]*)|\[([^\[\]]+)\])`)

// parsePath reads a path such as support.legs.foot_radius_mm, tube.train.items[2].length_mm (the first is 0) or
// tube.train.items[filter wheel].length_mm.
func parsePath(path string) ([]step, error) {
	if path == "" {
		return nil, fmt.Errorf("the path is empty")
	}
	var steps []step
	for rest := path; rest != ""; {
		m := pathStep.FindStringSubmatch(rest)
		if m == nil || (len(steps) == 0 && (m[1] == "" || rest[0] == '.')) || (len(steps) > 0 && m[1] != "" && rest[0] != '.') {
			return nil, fmt.Errorf("%q is not a path", clip(path))
		}
		rest = rest[len(m[0]):]
		switch i, err := strconv.Atoi(m[2]); {
		case m[1] != "":
			steps = append(steps, step{key: m[1]})
		case err == nil && i >= 0:
			steps = append(steps, step{index: i})
		default:
			steps = append(steps, step{name: strings.TrimSpace(m[2])})
		}
		if len(steps) > maxDepth {
			return nil, fmt.Errorf("%q has more than %d steps", clip(path), maxDepth)
		}
	}
	return steps, nil
}

func (s step) String() string {
	switch {
	case s.key != "":
		return s.key
	case s.name != "":
		return "[" + s.name + "]"
	}
	return fmt.Sprintf("[%d]", s.index)
}

// entryOf gives the index of the list's entry that s names; the list's length for the index behind the last; −1 for none.
func (n *node) entryOf(s step) int {
	if n.kind != list || s.key != "" {
		return -1
	}
	if s.name != "" {
		return slices.IndexFunc(n.items, func(item *node) bool {
			name := item.get("name")
			return name != nil && name.text == s.name
		})
	}
	if s.index > len(n.items) {
		return -1
	}
	return s.index
}

// step gives what s leads to, nil when there is nothing.
func (n *node) step(s step) *node {
	if s.key != "" {
		return n.get(s.key)
	}
	if i := n.entryOf(s); i >= 0 && i < len(n.items) {
		return n.items[i]
	}
	return nil
}

// with gives a copy of the tree with v at the path, or nothing there when v is null; sections that lack are made, and
// the index behind a list's last appends. It says why when the path leads nowhere.
func (n *node) with(steps []step, v *node) (*node, string) {
	if len(steps) == 0 {
		return v, ""
	}
	if n == nil || n.kind == nothing {
		n = &node{kind: mapping, start: v.start, at: v.at}
		if steps[0].key == "" {
			n.kind = list
		}
	}
	s := steps[0]
	out := *n
	if s.key != "" {
		if n.kind != mapping {
			return nil, fmt.Sprintf("%s is no key of %s", s.key, n.kind)
		}
		i := slices.IndexFunc(n.entries, func(e entry) bool { return e.key == s.key })
		var old *node
		if i >= 0 {
			old = n.entries[i].value
		}
		child, problem := old.with(steps[1:], v)
		if problem != "" {
			return nil, problem
		}
		out.entries = slices.Clone(n.entries)
		switch {
		case len(steps) == 1 && v.kind == nothing:
			if i < 0 {
				return nil, "there is no such key to take away"
			}
			out.entries = slices.Delete(out.entries, i, i+1)
		case i >= 0:
			out.entries[i].value = child
		default:
			out.entries = append(out.entries, entry{key: s.key, at: v.start, value: child})
		}
		return &out, ""
	}
	i := n.entryOf(s)
	if i < 0 {
		return nil, fmt.Sprintf("%s is no entry of the list, which has %d", s, len(n.items))
	}
	var old *node
	if i < len(n.items) {
		old = n.items[i]
	}
	child, problem := old.with(steps[1:], v)
	if problem != "" {
		return nil, problem
	}
	out.items = slices.Clone(n.items)
	switch {
	case len(steps) == 1 && v.kind == nothing:
		if old == nil {
			return nil, fmt.Sprintf("%s is no entry of the list, which has %d", s, len(n.items))
		}
		out.items = slices.Delete(out.items, i, i+1)
	case old != nil:
		out.items[i] = child
	default:
		out.items = append(out.items, child)
	}
	return &out, ""
}
