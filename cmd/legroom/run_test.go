package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// The example rigs, seen from this folder.
const (
	terrace = "../../examples/terrace-long-refractor.yaml"
	karoo   = "../../examples/karoo-newtonian.yaml"
	pier    = "../../watch/testdata/pier.yaml" // few parts, no cable, no mass: quick where the form of an answer is looked at alone
)

// exampleRigs lists every example rig; in short mode, which the race detector runs in, one of each hemisphere.
func exampleRigs(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("../../examples/*.yaml")
	if err != nil || len(files) < 5 {
		t.Fatalf("example rigs: %v, %v", files, err)
	}
	if testing.Short() {
		return []string{terrace, karoo}
	}
	return files
}

// result is what a command left.
type result struct {
	code        int
	out, errors string
}

// legroom runs one command in this process, with input as its standard input.
func legroom(t *testing.T, input string, args ...string) result {
	t.Helper()
	var out, errs bytes.Buffer
	code := run(append([]string{}, args...), strings.NewReader(input), &out, &errs)
	return result{code, out.String(), errs.String()}
}

// must runs a command that has to end with code and, unless it is wrongUse, without a word on standard error.
func must(t *testing.T, code int, args ...string) string {
	t.Helper()
	r := legroom(t, "", args...)
	if r.code != code || (code != wrongUse && r.errors != "") {
		t.Fatalf("legroom %s: code %d, want %d; %s%s", strings.Join(args, " "), r.code, code, r.errors, r.out)
	}
	return r.out
}

// valid checks JSON text against `legroom schema NAME` and returns it as an object.
func valid(t *testing.T, name, text string) map[string]any {
	t.Helper()
	schema, err := jsonschema.UnmarshalJSON(strings.NewReader(must(t, done, "schema", name)))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("mem:///"+name, schema); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("mem:///" + name)
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		t.Fatalf("%s: %v in %.300s", name, err, text)
	}
	if err := s.Validate(v); err != nil {
		t.Errorf("%s: %v", name, err)
	}
	var out map[string]any
	if err := json.Unmarshal([]byte(text), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// at follows a path of keys such as by_declination.0.stop_h; it fails where a key is missing.
func at(t *testing.T, v any, path string) any {
	t.Helper()
	for _, k := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			next, ok := x[k]
			if !ok {
				t.Errorf("key %s of %s is missing", k, path)
				return nil
			}
			v = next
		case []any:
			if k != "0" || len(x) == 0 {
				t.Errorf("%s: no item %s in a list of %d", path, k, len(x))
				return nil
			}
			v = x[0]
		default:
			t.Errorf("%s: %v has no key %s", path, v, k)
			return nil
		}
	}
	return v
}

// narrow checks that text fits 100 columns.
func narrow(t *testing.T, what, text string) {
	t.Helper()
	if strings.TrimSpace(text) == "" {
		t.Errorf("%s: nothing written", what)
	}
	for i, l := range strings.Split(text, "\n") {
		if n := utf8.RuneCountInString(l); n > 100 {
			t.Errorf("%s: line %d has %d columns: %s", what, i+1, n, l)
		}
	}
}

// newRig writes a rig from the templates and returns its path.
func newRig(t *testing.T, more ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "mine.yaml")
	must(t, done, append([]string{"new", "--output", path, "--latitude-deg", "36.9", "--longitude-deg", "-2.4"}, more...)...)
	return path
}

// content reads a file that has to be there.
func content(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
