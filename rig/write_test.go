package rig

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func edit(t testing.TB, text string) *Document {
	t.Helper()
	d, err := EditDocument([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestSetAndDelete(t *testing.T) {
	for _, c := range []struct{ name, text, path, value, want string }{ // no value: delete
		{"a number", "a: 1 # one\nb: 2\n", "a", "460 ± 5", "a: 460 ± 5 # one\nb: 2\n"},
		{"after ±", "a: 1 ± 2 # one ± two\n", "a", "3", "a: 3 # one ± two\n"},
		{"in flow", "s: {a: 1 ± 2, b: [3, 4]} # c\n", "s.a", "5 ± 6", "s: {a: 5 ± 6, b: [3, 4]} # c\n"},
		{"a list's entry", "s: {a: 1 ± 2, b: [3, 4]} # c\n", "s.b[1]", "5", "s: {a: 1 ± 2, b: [3, 5]} # c\n"},
		{"quotes", "a: \"x # y\" # z\n", "a", "w", "a: w # z\n"},
		{"single quotes", "a: 'it''s' # z\n", "a", "w", "a: w # z\n"},
		{"a word that needs quotes", "a: b # z\n", "a", `"x: y"`, "a: \"x: y\" # z\n"},
		{"no value", "a: # z\nb: 1\n", "a", "2", "a: 2 # z\nb: 1\n"},
		{"null", "a: ~ # z\n", "a", "2", "a: 2 # z\n"},
		{"a new key", "s:\n  a: 1 # one\n  # after\nb: 2\n", "s.c", "3", "s:\n  a: 1 # one\n  c: 3\n  # after\nb: 2\n"},
		{"a new key, no line break", "s:\n  a: 1", "s.c", "3", "s:\n  a: 1\n  c: 3"},
		{"a new key in flow", "s: {a: 1} # z\n", "s.c", "3", "s: {a: 1, c: 3} # z\n"},
		{"into nothing in flow", "s: {} # z\n", "s.c", "3", "s: {c: 3} # z\n"},
		{"a trailing comma", "s: [1,]\n", "s[1]", "3", "s: [1, 3]\n"},
		{"a new section", "a: 1 # one\n", "s.b.c", "3", "a: 1 # one\ns: {b: {c: 3}}\n"},
		{"append", "s:\n  - a: 1 # one\n    b: 2\nc: 3\n", "s[1]", "{a: 5, b: 6}", "s:\n  - a: 1 # one\n    b: 2\n  - {a: 5, b: 6}\nc: 3\n"},
		{"append, no indent", "s:\n- 1\n- 2 # two\nc: 3\n", "s[2]", "4", "s:\n- 1\n- 2 # two\n- 4\nc: 3\n"},
		{"by name", "s:\n  - name: a b # one\n    l: 2 # two\n", "s[a b].l", "7", "s:\n  - name: a b # one\n    l: 7 # two\n"},
		{"a mapping for a word", "a: x # one\n", "a", "{b: 1}", "a: {b: 1} # one\n"},
		{"a word for a block", "a: # one\n  b: 1\n  c: 2\nd: 3\n", "a", "5", "a: 5 # one\nd: 3\n"},
		{"a word for a block's entry", "a:\n  - b: 1\n    c: 2\n  - 3\n", "a[0]", "5", "a:\n  - 5\n  - 3\n"},
		{"a quoted key", "\"a\": 1 # one\n", "a", "2", "\"a\": 2 # one\n"},
		{"CRLF", "a: 1 # one\r\ns:\r\n  b: 2\r\n", "s.c", "3", "a: 1 # one\r\ns:\r\n  b: 2\r\n  c: 3\r\n"},
		{"CRLF, a value", "a: 1\r\nb: 2\r\n", "a", "3", "a: 3\r\nb: 2\r\n"},
		{"a byte order mark", "\ufeffa: 1 # one\nb: 2\n", "a", "3", "\ufeffa: 3 # one\nb: 2\n"},
		{"wide letters before", "s: {é±: 1, b: 2}\n", "s.b", "3", "s: {é±: 1, b: 3}\n"},

		{"delete a key", "# head\na: 1 # one\nb: 2\n", "a", "", "# head\nb: 2\n"},
		{"delete a section", "a:\n  b: 1\n  # in it\n  c: 2\nd: 3\n", "a", "", "d: 3\n"},
		{"delete in flow", "s: {a: 1, b: 2, c: 3}\n", "s.b", "", "s: {a: 1, c: 3}\n"},
		{"delete the last in flow", "s: {a: 1, b: 2}\n", "s.b", "", "s: {a: 1}\n"},
		{"delete the only one in flow", "s: {a: 1}\n", "s.a", "", "s: {}\n"},
		{"delete an entry", "s:\n  - a: 1\n    b: 2\n  - c: 3 # three\n", "s[0]", "", "s:\n  - c: 3 # three\n"},
		{"delete the first key of an entry", "s:\n  - a: 1\n    b: 2 # two\n", "s[0].a", "", "s:\n  - b: 2 # two\n"},
		{"delete the only key", "s:\n  a: 1\nb: 2\n", "s.a", "", "s: {}\nb: 2\n"},
		{"delete the only entry", "s:\n  - 1\nb: 2\n", "s[0]", "", "s: []\nb: 2\n"},
		{"delete a flow entry of a block", "s:\n  - {a: 1}\n  - {b: 2} # two\n", "s[1]", "", "s:\n  - {a: 1}\n"},
	} {
		d := edit(t, c.text)
		var err error
		if c.value == "" {
			err = d.Delete(c.path)
		} else {
			err = d.Set(c.path, c.value)
		}
		if err != nil || string(d.Bytes()) != c.want {
			t.Errorf("%s: %v\n got %q\nwant %q", c.name, err, d.Bytes(), c.want)
		}
	}
}

func TestSetRefuses(t *testing.T) {
	const text = "a: 1\ns: [1, 2]\nm: {b: 1}\nw: |\n  two\n  lines\n"
	for _, c := range []struct{ path, value, want string }{
		{"a", "", "there is no value"}, {"a", "[", "not YAML"}, {"a", "x: y: z", "not YAML"}, {"a", "&x 1", "anchors"},
		{"a.b", "1", "b is no key of a single value"}, {"s.b", "1", "b is no key of a list"}, {"s[5]", "1", "[5] is no entry of the list, which has 2"},
		{"m[0]", "1", "[0] is no entry"}, {"a b", "1", "is not a path"}, {"", "1", "the path is empty"},
	} {
		d := edit(t, text)
		err := d.Set(c.path, c.value)
		if c.value == "" {
			if err == nil {
				t.Errorf("%s: taken", c.path)
			}
		} else if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s=%s: %v, want %s", c.path, c.value, err, c.want)
		}
		if string(d.Bytes()) != text {
			t.Errorf("%s=%s: the text has changed", c.path, c.value)
		}
	}
	if err := edit(t, text).Delete("s[7]"); err == nil {
		t.Error("an entry that is not there is deleted")
	}
}

// Any series of changes leaves a document that says exactly what the changes say, with every comment on a line of its
// own, and the comment behind every value that is still there, kept in order; setting what is there changes nothing.
func TestRoundTrip(t *testing.T) {
	texts := []string{goodText(t)}
	for _, o := range everyTemplate() {
		text, err := NewDocument(o)
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(text))
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom(texts).Draw(t, "document")
		d, err := EditDocument([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(1, 6).Draw(t, "changes") {
			tree, err := parseNodes(d.Bytes(), "")
			if err != nil {
				t.Fatal(err)
			}
			path := rapid.SampledFrom(scalars(tree, "")).Draw(t, "path")
			before := string(d.Bytes())
			steps, _ := parsePath(path)
			passed, _ := walk(tree, steps)
			if err := d.Set(path, flowText(passed[len(passed)-1])); err != nil {
				t.Fatalf("%s: %v", path, err)
			}
			if string(d.Bytes()) != before {
				t.Fatalf("%s: setting what is there changes the text", path)
			}
			value := rapid.SampledFrom([]string{"7", "-12.5 ± 3", "9 unmeasured", "word", `"a: b"`, "[1, 2]", "{x: 1}"}).Draw(t, "value")
			if err := d.Set(path, value); err != nil {
				t.Fatalf("%s=%s: %v", path, value, err)
			}
			if a, b := commentsOf(before), commentsOf(string(d.Bytes())); a != b {
				t.Fatalf("%s=%s: comments\n%s\nare now\n%s", path, value, a, b)
			}
			if rapid.Bool().Draw(t, "delete") {
				tree, _ := parseNodes(d.Bytes(), "")
				path := rapid.SampledFrom(scalars(tree, "")).Draw(t, "deleted")
				before := string(d.Bytes())
				if err := d.Delete(path); err != nil {
					t.Fatalf("delete %s: %v\n%s", path, err, before)
				}
				own := func(text string) string {
					var out []string
					for line := range strings.Lines(text) {
						if strings.HasPrefix(strings.TrimSpace(line), "#") {
							out = append(out, strings.TrimSpace(line))
						}
					}
					return strings.Join(out, "\n")
				}
				if own(before) != own(string(d.Bytes())) {
					t.Fatalf("delete %s: comments are gone\n%s\n%s", path, before, d.Bytes())
				}
			}
		}
	})
}

// scalars lists the paths of the single values.
func scalars(n *node, path string) []string {
	var out []string
	switch n.kind {
	case mapping:
		for _, e := range n.entries {
			out = append(out, scalars(e.value, join(path, e.key))...)
		}
	case list:
		for i, item := range n.items {
			out = append(out, scalars(item, path+step{index: i}.String())...)
		}
	default:
		out = []string{path}
	}
	return out
}

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	path := write(t, filepath.Join(dir, "rig.yaml"), goodText(t))
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	d, err := OpenDocument(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, value := range []string{"950 ± 2", "960"} { // twice: the first writing counts as read
		if err := d.Set("support.height_mm", value); err != nil {
			t.Fatal(err)
		}
		if err := d.WriteFile(path); err != nil {
			t.Fatal(err)
		}
	}
	if r := load(t, path); r.Support.HeightMM.Value != 960 {
		t.Errorf("%s", &r.Support.HeightMM)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	if r, err := d.Rig(); err != nil || r.Path != path {
		t.Errorf("%v", err)
	}

	write(t, path, goodText(t)+"# by another hand\n")
	if err := d.WriteFile(path); !errors.Is(err, ErrChanged) {
		t.Errorf("over a changed file: %v", err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if err := d.WriteFile(path); !errors.Is(err, ErrChanged) {
		t.Errorf("where the file is gone: %v", err)
	}
	other := write(t, filepath.Join(dir, "other.yaml"), "x: 1\n")
	if err := d.WriteFile(other); !errors.Is(err, fs.ErrExist) {
		t.Errorf("over another file: %v", err)
	}
	if err := edit(t, "a: 1\n").WriteFile(other); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a new document over a file: %v", err)
	}
	if err := edit(t, "a: 1\n").WriteFile(filepath.Join(dir, "none", "new.yaml")); err == nil {
		t.Error("into a folder that is not there")
	}
	if err := d.WriteFile(filepath.Join(dir, "new.yaml")); err != nil {
		t.Error(err)
	}
	if os.Symlink("new.yaml", filepath.Join(dir, "link.yaml")) == nil {
		l, err := OpenDocument(filepath.Join(dir, "link.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		if err := l.WriteFile(filepath.Join(dir, "link.yaml")); err != nil {
			t.Error(err)
		}
		if info, err := os.Lstat(filepath.Join(dir, "link.yaml")); err != nil || info.Mode()&fs.ModeSymlink == 0 {
			t.Error("the link is no link any more")
		}
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if strings.HasPrefix(f.Name(), ".") {
			t.Errorf("%s is left over", f.Name())
		}
	}
}
