package main

import (
	"path/filepath"
	"strings"
	"testing"
)

// A night in which nothing can be exposed answers no, as a script sees it, and is written all the same.
func TestNightWithNothingToExposeIsNo(t *testing.T) {
	file := filepath.Join(t.TempDir(), "plan.json")
	ask := []string{"night", terrace, "--date", "2026-06-21", "--target", "M 31", "--sun", "-85"}
	if out := must(t, answerNo, ask...); !strings.Contains(out, "nothing can be exposed tonight") {
		t.Errorf("%s", out)
	}
	if out := must(t, answerNo, append(ask, "--output", file)...); !strings.Contains(out, "plan.json") || !strings.Contains(content(t, file), `"schedule": []`) {
		t.Errorf("%s\n%s", out, content(t, file))
	}
}

// planned gives what legroom night says, which ends with 0, or with 1 where the schedule is empty.
func planned(t *testing.T, args ...string) string {
	t.Helper()
	r := legroom(t, "", args...)
	code := done
	if strings.Contains(r.out, "nothing can be exposed tonight") || strings.Contains(r.out, `"schedule": []`) {
		code = answerNo
	}
	if r.code != code {
		t.Fatalf("legroom %s: code %d, want %d; %s%s", strings.Join(args, " "), r.code, code, r.errors, r.out)
	}
	return r.out
}
