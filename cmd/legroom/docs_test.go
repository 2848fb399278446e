package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"legroom/examples"
)

var update = flag.Bool("update", false, "rewrite docs/reference.md")

// endless lists the commands that are not run from the docs: their flags are read alone. All but replay run until they are
// stopped; replay asks for a journal that such a run leaves.
var endless = []string{"serve", "demo", "watch", "sim", "replay"}

// Every command in an indented block of docs/*.md runs as it stands there, one document after the other in a folder of its
// own with the examples in it, ends with 0 or as its comment says ("# exit code 1"), and prints the lines that follow
// it in the block: all of them in order, where … stands for anything in a line, and alone on a line for any lines.
func TestDocs(t *testing.T) {
	if testing.Short() {
		t.Skip("SKIPPED in short mode: the commands of the docs have nothing to do with races")
	}
	docs, err := filepath.Glob("../../docs/*.md")
	if err != nil || len(docs) < 15 {
		t.Fatalf("docs: %v, %v", docs, err)
	}
	there := 0
	for _, doc := range docs {
		commands := commandsIn(content(t, doc))
		there += len(commands)
		t.Run(filepath.Base(doc), func(t *testing.T) {
			dir := t.TempDir()
			if err := os.CopyFS(filepath.Join(dir, "examples"), examples.Files); err != nil {
				t.Fatal(err)
			}
			if err := os.Mkdir(filepath.Join(dir, "docs"), 0o755); err != nil {
				t.Fatal(err)
			}
			t.Chdir(dir)
			for _, c := range commands {
				c.check(t)
			}
		})
	}
	if there < 30 {
		t.Errorf("the docs have only %d commands", there)
	}
}

// command is one command of a document, with the lines that it is said to print.
type command struct {
	line  int
	args  []string
	code  int
	shown []string
}

var exitComment = regexp.MustCompile(`#.*exit code (\d)`)

// commandsIn reads the commands of a document: lines of indented blocks that begin with "legroom ".
func commandsIn(text string) []command {
	var out []command
	in, more := false, "" // within what a command prints; the start of a command that goes on on the next line
	for i, l := range strings.Split(text, "\n") {
		l, indented := strings.CutPrefix(l, "    ")
		switch {
		case !indented && strings.TrimSpace(l) != "":
			in = false
		case more != "" || strings.HasPrefix(l, "legroom "):
			l, goesOn := strings.CutSuffix(strings.TrimSpace(l), "\\")
			if more += l; goesOn {
				continue
			}
			c := command{line: i + 1}
			if m := exitComment.FindStringSubmatch(more); m != nil {
				c.code, _ = strconv.Atoi(m[1])
			}
			plain, _, _ := strings.Cut(more, " #")
			c.args = words(plain)[1:]
			out, in, more = append(out, c), true, ""
		case in && indented:
			out[len(out)-1].shown = append(out[len(out)-1].shown, l)
		}
	}
	return out
}

// words splits a line as a shell does, of which the docs use double and single quotes alone.
func words(line string) []string {
	out := regexp.MustCompile(`(?:"[^"]*"|'[^']*'|[^\s"'])+`).FindAllString(line, -1)
	for i := range out {
		out[i] = strings.NewReplacer(`"`, "", `'`, "").Replace(out[i])
	}
	return out
}

func (c *command) check(t *testing.T) {
	t.Helper()
	name := fmt.Sprintf("line %d: legroom %s", c.line, strings.Join(c.args, " "))
	args, into := c.args, ""
	if i := slices.Index(args, ">"); i >= 0 && i == len(args)-2 {
		args, into = args[:i], args[i+1]
	}
	if slices.Contains(endless, args[0]) {
		cmd, rest, err := newRoot().Find(args)
		if err == nil {
			err = cmd.ParseFlags(rest)
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		return
	}
	var out, errs bytes.Buffer
	code := run(args, strings.NewReader(strings.Repeat("y\n", 12)), &out, &errs)
	if code != c.code {
		t.Errorf("%s: exit code %d, not %d: %s", name, code, c.code, errs.String())
		return
	}
	if into != "" {
		if err := os.WriteFile(into, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if code == wrongUse {
		out.WriteString(errs.String())
	}
	if len(c.shown) == 0 {
		return
	}
	if missing := shows(filled(out.String()), c.shown); missing != "" {
		t.Errorf("%s: prints nothing like %q where the document has it:\n%s", name, missing, out.String())
	}
}

// filled gives the lines of a text that are not empty, without the blanks at their ends.
func filled(s string) []string {
	var out []string
	for l := range strings.Lines(s) {
		if l = strings.TrimRight(l, " \n"); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// shows tells which of the lines shown is the first that does not stand in its place in printed, or nothing when all do.
func shows(printed, shown []string) (missing string) {
	skip := false // an … came before: any lines may
	for _, s := range filled(strings.Join(shown, "\n")) {
		if strings.TrimSpace(s) == "…" {
			skip = true
			continue
		}
		parts := strings.Split(s, "…")
		for i := range parts {
			parts[i] = regexp.QuoteMeta(parts[i])
		}
		like := regexp.MustCompile("^" + strings.Join(parts, ".*") + "$")
		at := slices.IndexFunc(printed, like.MatchString)
		if at < 0 || at > 0 && !skip {
			return s
		}
		printed, skip = printed[at+1:], false
	}
	if len(printed) > 0 && !skip {
		return "the end"
	}
	return ""
}

// The convention itself can fail: a document that shows what is not printed is noticed.
func TestDocsConvention(t *testing.T) {
	printed := []string{"one", "two 22 mm", "three"}
	for _, c := range []struct {
		shown, missing string
	}{
		{"one\n\ntwo 22 mm\nthree", ""}, {"…\nthree", ""}, {"one\n…", ""}, {"one\ntwo … mm\n…", ""}, {"…", ""},
		{"two 22 mm\n…", "two 22 mm"}, {"one\nthree", "three"}, {"one", "the end"}, {"…\nfour", "four"}, {"…\ntwo 2… mm\none\n…", "one"},
	} {
		if got := shows(printed, strings.Split(c.shown, "\n")); got != c.missing {
			t.Errorf("%q: %q is missing, not %q", c.shown, got, c.missing)
		}
	}
	got := commandsIn("legroom no\n\n    legroom a \"b c\" \\\n        --d  # exit code 1\n    shown\n\n      more\n\ntext\n    neither\n")
	if len(got) != 1 || got[0].code != 1 || !slices.Equal(got[0].args, []string{"a", "b c", "--d"}) ||
		!slices.Equal(filled(strings.Join(got[0].shown, "\n")), []string{"shown", "  more"}) {
		t.Errorf("%+v", got)
	}
}

// What a document links to is there: the file, and in a Markdown file the heading.
func TestDocsLinks(t *testing.T) {
	links := regexp.MustCompile(`\]\(([^)\s]+)\)`)
	var files []string
	for _, g := range []string{"../../docs/*.md", "../../*.md", "../../examples/*.md"} {
		some, err := filepath.Glob(g)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, some...)
	}
	found := 0
	for _, f := range files {
		for _, m := range links.FindAllStringSubmatch(content(t, f), -1) {
			to, anchor, _ := strings.Cut(m[1], "#")
			if strings.Contains(to, "://") {
				continue
			}
			found++
			path := f
			if to != "" {
				path = filepath.Join(filepath.Dir(f), to)
			}
			if _, err := os.Stat(path); err != nil {
				t.Errorf("%s: %v", f, err)
				continue
			}
			if anchor != "" && !slices.Contains(anchors(content(t, path)), anchor) {
				t.Errorf("%s: %s has no heading #%s", f, path, anchor)
			}
		}
	}
	if found < 40 {
		t.Errorf("only %d links found", found)
	}
}

// anchors lists the headings of a Markdown text as links name them.
func anchors(text string) []string {
	var out []string
	for _, m := range regexp.MustCompile(`(?m)^#+ (.*)$`).FindAllStringSubmatch(text, -1) {
		out = append(out, anchor(m[1]))
	}
	return out
}

// Every document stands in the index.
func TestDocsIndex(t *testing.T) {
	index := content(t, "../../docs/README.md")
	docs, err := filepath.Glob("../../docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range docs {
		if name := filepath.Base(d); name != "README.md" && !strings.Contains(index, "("+name+")") {
			t.Errorf("docs/README.md does not link to %s", name)
		}
	}
}

// docs/reference.md is what `legroom schema --format markdown` writes.
func TestReference(t *testing.T) {
	const path = "../../docs/reference.md"
	now := must(t, done, "schema", "--format", "markdown")
	if *update {
		if err := os.WriteFile(path, []byte(now), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if now != content(t, path) {
		t.Error(path + " is not of this schema: legroom schema --format markdown > docs/reference.md")
	}
	must(t, wrongUse, "schema", "limits", "--format", "markdown")
}
