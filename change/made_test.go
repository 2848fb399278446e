package change

import (
	"context"
	"flag"
	"math/rand/v2"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"legroom/rig"
)

// The tests' live heap is small and much goes through it: collecting it took up to two fifths of their time.
func init() { debug.SetGCPercent(400) }

// grid is how many points along each variable the solver is held against on every example; 0: a short run on one.
var grid = flag.Int("grid", 0, "points along each variable of the brute-force grids on all examples; 41 for the long run")

const terrace = "../examples/terrace-long-refractor.yaml"

func document(t testing.TB, file string) *rig.Document {
	t.Helper()
	d, err := rig.OpenDocument(file)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func examples(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) < 5 {
		t.Fatalf("%v: %v", files, err)
	}
	return files
}

func seeded(t testing.TB) *rand.Rand {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	return rand.New(rand.NewPCG(seed, 1))
}

func problem(t testing.TB, file, aim string, vars ...string) Problem {
	t.Helper()
	a, err := ParseAim(aim)
	if err != nil {
		t.Fatal(err)
	}
	p := Problem{Document: document(t, file), Aim: a}
	for _, s := range vars {
		v, err := ParseVariable(s)
		if err != nil {
			t.Fatal(err)
		}
		p.Variables = append(p.Variables, v)
	}
	return p
}

// searched runs the search alone, without measuring the result anew.
func searched(t testing.TB, p Problem) (*space, *Solution) {
	t.Helper()
	s, err := newSpace(&p)
	if err != nil {
		t.Fatal(err)
	}
	out, err := newSearch(s, nil).run(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return s, out
}

func contains(t *testing.T, err error, words ...string) {
	t.Helper()
	if err == nil {
		t.Fatalf("no error that says %q", words)
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%q does not say %q", err, w)
		}
	}
}
