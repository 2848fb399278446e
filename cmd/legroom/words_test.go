package main

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// docs/words.md says of each command, flag, place, symbol and colour where it comes from, and of nothing that is gone.
func TestWordsAreAllNamed(t *testing.T) {
	doc := content(t, "../../docs/words.md")
	commands, flags := names(newRoot())
	same(t, "commands", commands, firstCells(t, doc, "Commands", "command"))
	same(t, "flags", flags, firstCells(t, doc, "Flags", "flag"))
	same(t, "places", found(t, "../../web/page/src/app/places.ts", `name: "([^"]+)", question`), firstCells(t, doc, "Words of the page", "place"))
	same(t, "symbols", found(t, "../../web/page/src/ui/Symbol.svelte", `(?m)^    (\w+): "M`), firstCells(t, doc, "Words of the page", "symbol"))
}

// names lists every command below the root and every flag of each. `openapi` is an argument of schema, and no command.
func names(root *cobra.Command) (commands, flags []string) {
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd("")
	commands = []string{"openapi"}
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		c.InitDefaultHelpFlag()
		c.Flags().VisitAll(func(f *pflag.Flag) { flags = append(flags, "--"+f.Name) })
		for _, sub := range c.Commands() {
			commands = append(commands, sub.Name())
			visit(sub)
		}
	}
	visit(root)
	return commands, flags
}

// The colours of docs/words.md are those of the page, theme by theme.
func TestColoursAreThoseOfThePage(t *testing.T) {
	css := content(t, "../../web/page/src/app/base.css")
	doc := content(t, "../../docs/words.md")
	var roles []string
	for i, theme := range []string{":root {", `:root[data-theme="dark"] {`, `:root[data-theme="red"] {`} {
		_, block, ok := strings.Cut(css, theme)
		if !ok {
			t.Fatalf("base.css has no %s", theme)
		}
		block, _, _ = strings.Cut(block, "}")
		colours := map[string]string{}
		for _, m := range regexp.MustCompile(`--([\w-]+): #([0-9a-f]{6});`).FindAllStringSubmatch(block, -1) {
			colours[m[1]] = strings.ToUpper(m[2])
		}
		if i == 0 {
			for role := range colours {
				roles = append(roles, role)
			}
			same(t, "colours", roles, firstCells(t, doc, "Hatches, lines, shapes", "role"))
		}
		for _, role := range roles {
			want, ok := colours[role]
			if !ok {
				want = "—"
			}
			row := regexp.MustCompile("(?m)^\\| `" + role + "` \\|(.*)$").FindStringSubmatch(doc)
			if row == nil {
				continue // said above
			}
			if got := strings.TrimSpace(strings.Split(row[1], "|")[i]); got != want {
				t.Errorf("%s: docs/words.md has %s for %s, and the page %s", theme, got, role, want)
			}
		}
	}
}

// found lists what a pattern's group matches in a file.
func found(t *testing.T, path, pattern string) []string {
	t.Helper()
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(content(t, path), -1) {
		out = append(out, m[1])
	}
	return out
}

// firstCells lists the names in the first column of the table that begins with a heading cell, below a heading of a document: the
// words in backquotes, or the whole cell when it has none.
func firstCells(t *testing.T, doc, heading, table string) []string {
	t.Helper()
	_, text, ok := strings.Cut(doc, "\n## "+heading+"\n")
	if !ok {
		t.Fatalf("no heading %q", heading)
	}
	text, _, _ = strings.Cut(text, "\n## ")
	_, rows, ok := strings.Cut(text, "\n| "+table+" |")
	if !ok {
		t.Fatalf("no table of %q below %q", table, heading)
	}
	var out []string
	for i, row := range strings.Split(rows, "\n") {
		if i < 2 { // the rest of the heading, the rule
			continue
		}
		if !strings.HasPrefix(row, "|") {
			break
		}
		cell := strings.TrimSpace(strings.Split(row, "|")[1])
		quoted := regexp.MustCompile("`([^`]+)`").FindAllStringSubmatch(strings.ReplaceAll(cell, "(an argument of `schema`)", ""), -1)
		if quoted == nil {
			out = append(out, cell)
		}
		for _, q := range quoted {
			out = append(out, q[1])
		}
	}
	return out
}

// same compares what there is with what is named.
func same(t *testing.T, what string, there, named []string) {
	t.Helper()
	if len(there) == 0 {
		t.Errorf("no %s found", what)
	}
	for _, n := range there {
		if !slices.Contains(named, n) {
			t.Errorf("%s: %q has no row in docs/words.md", what, n)
		}
	}
	for i, n := range named {
		if !slices.Contains(there, n) {
			t.Errorf("%s: docs/words.md names %q, and there is none", what, n)
		}
		if slices.Contains(named[:i], n) {
			t.Errorf("%s: docs/words.md names %q twice", what, n)
		}
	}
}
