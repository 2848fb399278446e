package main

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"github.com/invopop/jsonschema"

	"legroom/rig"
)

const referenceHead = `# The rig document, key by key

This page is written by the program itself, from the same rules by which it reads a document:

    legroom schema --format markdown > docs/reference.md

A document is one YAML file. Lengths are millimetres, angles degrees, masses kilograms: the end of a key's name says which. A measured value
may carry its tolerance, ` + "`460 ± 5`" + `, the word ` + "`unmeasured`" + ` when nobody has measured it, and ` + "`fitted`" + ` behind its tolerance when the
fit of a proof walk gave it. Without a tolerance a length has ± 5 mm, a leg's azimuth ± 3°, the axes' errors and the polar axis ± 0.5°, a wall
± 0.5 mm, another angle ± 1°, a mass none; an unmeasured length has ± 30 mm or ± 10%, whichever is more, an unmeasured angle ± 5°.
Keys that are not in these tables are refused, with the line and what would be right.

` + "`support`, `mount` and `tube`" + ` may each be taken from another file in the document's folder or below, by ` + "`from: FILE`" + `; what is written beside
it overrides that file.

What a shape's ` + "`size_mm`" + ` holds: box x, y, z; cylinder diameter, length along its z; cone the diameters at −z and at +z, length; capsule diameter,
length between the centres of its ends; sphere diameter. A part's place is that of its centre.

A key with ● must be there. How to measure the lengths is in [measure.md](measure.md).
`

// reference writes the rig document's schema as Markdown: a section for each kind of mapping, in the order in which a reader meets
// them, with a table of its keys.
func reference(w io.Writer) error {
	var s jsonschema.Schema
	if err := json.Unmarshal(rig.Schema(), &s); err != nil {
		return err
	}
	var names []string // definitions, as a reader meets them
	at := map[string][]string{}
	var meet func(name, path string)
	meet = func(name, path string) {
		if at[name] = append(at[name], path); len(at[name]) > 1 {
			return
		}
		names = append(names, name)
		for p := s.Definitions[name].Properties.Oldest(); p != nil; p = p.Next() {
			to, list := leads(p.Value)
			if to == "" || s.Definitions[to].Properties == nil {
				continue
			}
			below := strings.TrimPrefix(path+"."+p.Key, ".")
			if list {
				below += "[]"
			}
			meet(to, below)
		}
	}
	meet("Rig", "")
	var b strings.Builder
	b.WriteString(referenceHead)
	for _, name := range names {
		d := s.Definitions[name]
		title := "The document"
		if name != "Rig" {
			title = at[name][0]
		}
		fmt.Fprintf(&b, "\n## %s\n\n", title)
		if also := at[name]; len(also) > 1 {
			fmt.Fprintf(&b, "Also at `%s`.\n\n", strings.Join(also[1:], "`, `"))
		}
		if note := described(name, d.Description); note != "" {
			fmt.Fprintf(&b, "%s\n\n", note)
		}
		b.WriteString("| key | | takes | what it is |\n|---|---|---|---|\n")
		for p := d.Properties.Oldest(); p != nil; p = p.Next() {
			must := ""
			if slices.Contains(d.Required, p.Key) {
				must = "●"
			}
			fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", p.Key, must, takes(p.Value, at), strings.ReplaceAll(p.Value.Description, "|", `\|`))
		}
		for _, c := range d.AllOf {
			if r := rule(c); r != "" {
				fmt.Fprintf(&b, "\n%s\n", r)
			}
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// leads says which definition a key's mapping, or each entry of its list, is of.
func leads(s *jsonschema.Schema) (name string, list bool) {
	switch {
	case s.Ref != "":
		return strings.TrimPrefix(s.Ref, "#/$defs/"), false
	case s.Else != nil: // support, mount, tube: taken from a file or not
		return leads(s.Else)
	case s.Items != nil:
		name, _ := leads(s.Items)
		return name, true
	}
	return "", false
}

// takes says what a key may hold.
func takes(s *jsonschema.Schema, at map[string][]string) string {
	what := kind(s, at)
	if s.Default != nil {
		what += fmt.Sprintf("; %v when absent", s.Default)
	}
	return what
}

func kind(s *jsonschema.Schema, at map[string][]string) string {
	if name, list := leads(s); name != "" {
		if at[name] == nil { // a pair of names
			return "list of pairs of names"
		}
		link := fmt.Sprintf("[%s](#%s)", at[name][0], anchor(at[name][0]))
		if list {
			return "list of " + link
		}
		return link
	}
	switch {
	case len(s.AnyOf) == 2 && s.AnyOf[0].Type == "number":
		what := "number" + bounds(s.AnyOf[0])
		if strings.Contains(s.AnyOf[1].Pattern, "±") {
			what += ", ± tolerance"
		}
		return what
	case len(s.AnyOf) == 2:
		return "file of `azimuth altitude` lines, or list of such pairs"
	case len(s.Enum) > 0:
		var out []string
		for _, e := range s.Enum {
			out = append(out, fmt.Sprintf("`%v`", e))
		}
		return strings.Join(out, ", ")
	case s.Const != nil:
		return fmt.Sprintf("`%v`", s.Const)
	case s.Items != nil:
		return "list of: " + kind(s.Items, at)
	case s.Type == "string":
		return "text"
	case s.Type == "boolean":
		return "`true`, `false`"
	case s.Type == "integer":
		return "whole number" + bounds(s)
	}
	return s.Type + bounds(s)
}

func bounds(s *jsonschema.Schema) string {
	out := ""
	switch {
	case s.ExclusiveMinimum != "":
		out = " above " + string(s.ExclusiveMinimum)
	case s.Minimum != "" && s.Maximum != "":
		return fmt.Sprintf(" from %s to %s", s.Minimum, s.Maximum)
	case s.Minimum != "":
		out = " from " + string(s.Minimum)
	}
	if s.Maximum != "" {
		out += " to " + string(s.Maximum)
	}
	return out
}

// anchor is a heading as a link names it: small letters, blanks as hyphens, no other signs.
func anchor(heading string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ':
			return '-'
		case r == '-' || r == '_' || unicode.IsLetter(r) || unicode.IsDigit(r):
			return unicode.ToLower(r)
		}
		return -1
	}, heading)
}

// described is a definition's comment without the name of its type.
func described(name, text string) string {
	rest, ok := strings.CutPrefix(text, name+" ")
	is, _ := strings.CutPrefix(rest, "is ")
	switch {
	case !ok:
		return text
	case is != rest:
		return strings.ToUpper(is[:1]) + is[1:]
	case strings.HasPrefix(rest, "are "):
		return "They " + rest
	}
	return "It " + rest
}

// rule says in words what one key's word asks of the others.
func rule(c *jsonschema.Schema) string {
	said := c.If.Properties.Oldest()
	var mustNot, rules []string
	for p := c.Then.Properties.Oldest(); p != nil; p = p.Next() {
		if v, err := json.Marshal(p.Value); err == nil && string(v) == "false" {
			mustNot = append(mustNot, "`"+p.Key+"`")
		}
		if n := p.Value.MinItems; n != nil {
			rules = append(rules, fmt.Sprintf("`%s` has %d of them", p.Key, *n))
		}
	}
	if len(c.Then.Required) > 0 {
		rules = append(rules, "`"+strings.Join(c.Then.Required, "`, `")+"` must be there")
	}
	if len(mustNot) > 0 {
		rules = append(rules, strings.Join(mustNot, ", ")+" must not")
	}
	if len(rules) == 0 {
		return ""
	}
	return fmt.Sprintf("With `%s: %v`: %s.", said.Key, said.Value.Const, strings.Join(rules, "; "))
}
