package rig

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestListsAndNotes(t *testing.T) {
	insert := func(path, value string) func(*Document) error {
		return func(d *Document) error { return d.Insert(path, value) }
	}
	move := func(path string, to int) func(*Document) error {
		return func(d *Document) error { return d.Move(path, to) }
	}
	twice := func(path, name string) func(*Document) error {
		return func(d *Document) error { return d.Duplicate(path, name) }
	}
	note := func(path, text string) func(*Document) error {
		return func(d *Document) error { return d.Note(path, text) }
	}
	const block = "s:\n  # first\n  - name: a # one\n    l: 1\n  # above b\n  - {name: b, l: 2} # two\nt: 3\n"
	for _, c := range []struct {
		name, text string
		edit       func(*Document) error
		want       string
	}{
		{"insert", block, insert("s[1]", "{name: c}"), "s:\n  # first\n  - name: a # one\n    l: 1\n  - {name: c}\n  # above b\n  - {name: b, l: 2} # two\nt: 3\n"},
		{"insert by name", block, insert("s[a]", "{name: c}"), "s:\n  # first\n  - {name: c}\n  - name: a # one\n    l: 1\n  # above b\n  - {name: b, l: 2} # two\nt: 3\n"},
		{"append", block, insert("s[2]", "{name: c}"), "s:\n  # first\n  - name: a # one\n    l: 1\n  # above b\n  - {name: b, l: 2} # two\n  - {name: c}\nt: 3\n"},
		{"in brackets", "s: [1, {a: 2}] # c\n", insert("s[1]", "5"), "s: [1, 5, {a: 2}] # c\n"},
		{"into nothing in brackets", "s: [] # c\n", insert("s[0]", "5"), "s: [5] # c\n"},
		{"move down", block, move("s[0]", 1), "s:\n  # first\n  # above b\n  - {name: b, l: 2} # two\n  - name: a # one\n    l: 1\nt: 3\n"},
		{"move up", block, move("s[b]", 0), "s:\n  # first\n  # above b\n  - {name: b, l: 2} # two\n  - name: a # one\n    l: 1\nt: 3\n"},
		{"move in brackets", "s: [1, 2, 3]\n", move("s[2]", 0), "s: [3, 1, 2]\n"},
		{"no line break at the end", "s:\n- 1 # one\n- 2", move("s[0]", 1), "s:\n- 2\n- 1 # one"},
		{"CRLF", "s:\r\n- 1 # one\r\n- 2\r\n", move("s[0]", 1), "s:\r\n- 2\r\n- 1 # one\r\n"},
		{"twice", block, twice("s[b]", "c d"), "s:\n  # first\n  - name: a # one\n    l: 1\n  # above b\n  - {name: b, l: 2} # two\n  - {name: c d, l: 2}\nt: 3\n"},

		{"a note", "a: 1\nb: 2\n", note("a", "by tape"), "a: 1 # by tape\nb: 2\n"},
		{"another note", "a: 1  # old\nb: 2\n", note("a", "by tape"), "a: 1 # by tape\nb: 2\n"},
		{"no note", "a: \"x # y\" # old\nb: 2\n", note("a", ""), "a: \"x # y\"\nb: 2\n"},
		{"a note in two lines", "a: 1\n", note("a", "by\ntape"), "a: 1 # by tape\n"},
		{"of an entry in brackets", "s:\n  - {a: 1, b: 2} # old\n", note("s[0].b", "new"), "s:\n  - {a: 1, b: 2} # new\n"},
		{"of a section", "s:\n  a: 1\n", note("s", "new"), "s: # new\n  a: 1\n"},
		{"an apostrophe", "a: it's # old\n", note("a", "new"), "a: it's # new\n"},
	} {
		d := edit(t, c.text)
		if err := c.edit(d); err != nil || string(d.Bytes()) != c.want {
			t.Errorf("%s: %v\n got %q\nwant %q", c.name, err, d.Bytes(), c.want)
		}
	}
	for _, c := range []struct {
		name, text string
		edit       func(*Document) error
		want       string
	}{
		{"no list", "a: 1\n", insert("a[0]", "1"), "no entry of a list"},
		{"too far", block, insert("s[5]", "1"), "no entry of a list"},
		{"no such name", block, move("s[zz]", 1), "no entry of a list"},
		{"moved out", block, move("s[0]", 2), "nothing moves from 0 to 2"},
		{"moved from behind the last", block, move("s[2]", 0), "nothing moves from 2 to 0"},
		{"no name", "s: [1]\n", twice("s[0]", "x"), "no name"},
		{"a list in a list", "s:\n  - - 1\n    - 2\n", move("s[0][0]", 1), "cannot be changed in place"},
		{"a bad value", block, insert("s[0]", "["), "not YAML"},
		{"a note on nothing", "a: 1\n", note("b", "x"), "no such value"},
		{"a note in a text over several lines", "a: |\n  one\n  two\n", note("a", "x"), "a comment does not go behind"},
	} {
		d := edit(t, c.text)
		err := c.edit(d)
		if err == nil || !strings.Contains(err.Error(), c.want) || string(d.Bytes()) != c.text {
			t.Errorf("%s: %v (want %q), text %q", c.name, err, c.want, d.Bytes())
		}
	}
}

func TestAdoptAndSources(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("t.yaml", "tube:\n    class: x\n    train:\n        from_mm: 1\n        items:\n            # the first\n            - {name: a, l: 1} # one\n            # the second\n            - name: b\n              l: 2 # two\n")
	write("flow.yaml", "train: {items: [{name: a, l: 1}]}\n")
	write("h.txt", "0 5\n")
	const head = "legroom: 1\nsite:\n  horizon: h.txt\n"
	for _, c := range []struct{ name, text, path, want string }{
		{"a block", head + "tube:\n  from: t.yaml # mine\nz: 1\n", "tube.train.items[b].l",
			head + "tube:\n  from: t.yaml # mine\n  train:\n    items:\n      - {name: a, l: 1} # one\n      # the second\n      - name: b\n        l: 2 # two\nz: 1\n"},
		{"beside an override", head + "tube:\n  from: t.yaml\n  train:\n    from_mm: 2\n", "tube.train.items[0]",
			head + "tube:\n  from: t.yaml\n  train:\n    from_mm: 2\n    items:\n      - {name: a, l: 1} # one\n      # the second\n      - name: b\n        l: 2 # two\n"},
		{"in brackets", head + "tube: {from: t.yaml}\n", "tube.train.items[0].l", head + "tube: {from: t.yaml, train: {items: [{name: a, l: 1}, {name: b, l: 2}]}}\n"},
		{"from brackets", head + "tube:\n  from: flow.yaml\n", "tube.train.items[0].l", head + "tube:\n  from: flow.yaml\n  train: {items: [{name: a, l: 1}]}\n"},
		{"no list", head + "tube:\n  from: t.yaml\n", "tube.class", head + "tube:\n  from: t.yaml\n"},
		{"its own list", head + "tube:\n  from: t.yaml\n  parts: [1]\n", "tube.parts[0]", head + "tube:\n  from: t.yaml\n  parts: [1]\n"},
		{"nowhere", head + "tube:\n  from: t.yaml\n", "tube.nothing[0]", head + "tube:\n  from: t.yaml\n"},
		{"no file", head + "tube:\n  from: gone.yaml\n", "tube.train.items[0]", head + "tube:\n  from: gone.yaml\n"},
	} {
		d, err := Draft([]byte(c.text), filepath.Join(dir, "rig.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		if err := d.Adopt(c.path); err != nil || string(d.Bytes()) != c.want {
			t.Errorf("%s: %v\n got %q\nwant %q", c.name, err, d.Bytes(), c.want)
		}
	}
	got := Sources([]byte(head+"tube:\n  from: t.yaml\nmount:\n  from: gone.yaml\nsupport:\n  from: ../out.yaml\n"), filepath.Join(dir, "rig.yaml"))
	want := []string{filepath.Join(dir, "t.yaml"), filepath.Join(dir, "gone.yaml"), filepath.Join(dir, "h.txt")}
	if strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("sources %q, want %q", got, want)
	}
	if got := Sources([]byte("a: ["), "rig.yaml"); got != nil {
		t.Errorf("sources of what is not YAML: %q", got)
	}
}
