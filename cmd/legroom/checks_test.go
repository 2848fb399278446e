package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Every test that docs/checks.md names is there, and every package has a row.
func TestChecksAreThere(t *testing.T) {
	root := os.DirFS("../..")
	tests := map[string][]string{} // by package, of those with Go code
	err := fs.WalkDir(root, ".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (strings.HasPrefix(d.Name(), ".") && path != "." || d.Name() == "node_modules" || d.Name() == "testdata"):
			return fs.SkipDir
		case filepath.Ext(path) != ".go":
			return nil
		}
		dir := filepath.ToSlash(filepath.Dir(path))
		tests[dir] = append(tests[dir], testsIn(t, filepath.Join("../..", path))...)
		return nil
	})
	if err != nil || len(tests) < 20 {
		t.Fatalf("%d packages, %v", len(tests), err)
	}
	rows := regexp.MustCompile("(?m)^\\| `([^`]+)` \\|.*\\| ([^|]*) \\|$").FindAllStringSubmatch(content(t, "../../docs/checks.md"), -1)
	has := map[string]bool{}
	for _, row := range rows {
		if _, ok := tests[row[1]]; !ok {
			t.Errorf("docs/checks.md: there is no package %s", row[1])
			continue
		}
		named := regexp.MustCompile("`([^`]+)`").FindAllStringSubmatch(row[2], -1)
		if len(named) == 0 {
			t.Errorf("docs/checks.md: a row of %s names no test: %s", row[1], row[0])
		}
		for _, n := range named {
			dir, test, ok := strings.Cut(n[1], ".")
			if !ok {
				dir, test = row[1], n[1]
			}
			if !slices.Contains(tests[dir], test) {
				t.Errorf("docs/checks.md: %s has no test %s", dir, test)
			}
		}
		has[row[1]] = true
	}
	for dir := range tests {
		if !has[dir] {
			t.Errorf("docs/checks.md: no row of the package %s", dir)
		}
	}
}

// testsIn lists the test functions of a file.
func testsIn(t *testing.T, path string) []string {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, d := range f.Decls {
		fn, ok := d.(*ast.FuncDecl)
		if !ok || fn.Recv != nil {
			continue
		}
		if name := fn.Name.Name; strings.HasPrefix(name, "Test") || strings.HasPrefix(name, "Fuzz") || strings.HasPrefix(name, "Example") {
			out = append(out, name)
		}
	}
	return out
}
